package command_test

import (
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"cribgate/core/event"
	"cribgate/store/keyring"
)

var many = flag.Int("many", 1500, "tags of the test of memory; 10000 are the whole")

// Printing thousands of tags into one PDF takes little more memory than printing
// a third of them, from lines and from a register.
func TestMemoryIsFlat(t *testing.T) {
	if testing.Short() {
		t.Skip("draws thousands of tags")
	}
	const (
		most   = 150 << 10 // kilobytes, however many tags there are
		perTag = 6         // kilobytes, of what is known of each and of what the collector leaves lying
	)
	program, dir := built(t), t.TempDir()
	key := filepath.Join(dir, "crib.key")
	k, err := keyring.Create(filepath.Join(dir, "keys"), zeros{})
	if err != nil {
		t.Fatal(err)
	}
	if err := keyring.WriteFile(key, k); err != nil {
		t.Fatal(err)
	}
	idents := make([]string, *many)
	for i := range idents {
		idents[i] = fmt.Sprintf("M-%06d", i)
	}
	crib := filepath.Join(dir, "crib")
	if err := found(crib, zeros{}, idents, func(event.SlingID, int) []event.Body { return nil }); err != nil {
		t.Fatal(err)
	}
	for name, args := range map[string]func(idents []string, file string) []string{
		"print": func(idents []string, file string) []string {
			var lines strings.Builder
			for _, ident := range idents {
				fmt.Fprintf(&lines, line+"\n", ident)
			}
			in := file + ".jsonl"
			if err := os.WriteFile(in, []byte(lines.String()), 0o600); err != nil {
				t.Fatal(err)
			}
			return []string{"print", "--template", "plate-50x80", "--in", in, "--key", key, "--out", file + ".pdf"}
		},
		"bulk": func(idents []string, file string) []string {
			list := file + ".list"
			if err := os.WriteFile(list, []byte(strings.Join(idents, "\n")), 0o600); err != nil {
				t.Fatal(err)
			}
			return []string{"bulk", "--template", "plate-50x80", "--register", crib, "--list", list, "--out", file + "-run"}
		},
	} {
		var took [2]int64
		for i, n := range []int{*many / 3, *many} {
			cmd := exec.Command(program, args(idents[:n], filepath.Join(dir, fmt.Sprint(name, n)))...)
			if out, err := cmd.CombinedOutput(); err != nil {
				t.Fatalf("%s of %d: %v\n%s", name, n, err, out)
			}
			took[i] = cmd.ProcessState.SysUsage().(*syscall.Rusage).Maxrss
		}
		t.Logf("%s: %d kB for %d tags, %d kB for %d", name, took[0], *many/3, took[1], *many)
		if grown := took[1] - took[0]; took[1] > most || grown > perTag*int64(*many) {
			t.Errorf("%s: %d kB for %d tags, %d more than for a third of them", name, took[1], *many, grown)
		}
	}
}

// line is a sling of the machine surface, but for its identification.
const line = `{"id":"%s","serial":3,"outcome":"fit","system":"us","grade":80,"size":"3/8","legs":2,"reach_mm":2400,"stamped":[{"legs":2,"basis":"h60","load_lb":12300}],"rating_tag":"legible","state":"in","inspected":"2025-11-10","due":"2026-11-10"}`
