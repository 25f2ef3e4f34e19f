// Package release names the build of the program, for envelopes, logs, reports
// and the foot of each page.
package release

import (
	"runtime/debug"
	"strings"
	"sync"
)

// Version is the version that the Go tool stamped into the binary: a release's
// tag, or the commit it was built from with "+dirty" where the tree differed from
// it; "dev" where nothing was stamped, as under "go run" and in tests. It is
// letters, digits, '-', '.', '+' and '_'.
func Version() string { return stamped() }

var stamped = sync.OnceValue(func() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "dev"
	}
	return word(info.Main.Version)
})

// word keeps a version that an envelope can spell.
func word(v string) string {
	plain := strings.IndexFunc(v, func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || strings.ContainsRune("-._+", r))
	}) < 0
	if v == "" || !plain || len(v) > 80 {
		return "dev"
	}
	return v
}
