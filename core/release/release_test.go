package release

import (
	"strings"
	"testing"
)

func TestWord(t *testing.T) {
	for v, want := range map[string]string{
		"": "dev", "(devel)": "dev", "v1.2.3": "v1.2.3", "v0.0.0-20261125-abc+dirty": "v0.0.0-20261125-abc+dirty",
		"v1\n": "dev", strings.Repeat("v", 81): "dev",
	} {
		if got := word(v); got != want {
			t.Errorf("%q: %q, want %q", v, got, want)
		}
	}
	if Version() == "" {
		t.Error("no version")
	}
}
