package required_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"cribgate/core/required"
)

// fake is a test that ends by a panic with what it would have said.
type fake struct{}

func (fake) Helper()                           {}
func (fake) Fatalf(format string, args ...any) { panic("fails: " + fmt.Sprintf(format, args...)) }
func (fake) Skipf(format string, args ...any)  { panic("skips: " + fmt.Sprintf(format, args...)) }

// ends is how f ends the test, empty where it goes on.
func ends(f func(t required.TB)) (how any) {
	defer func() { how = recover() }()
	f(fake{})
	return nil
}

func TestProgram(t *testing.T) {
	dir := t.TempDir()
	there := filepath.Join(dir, "there")
	if err := os.WriteFile(there, []byte("#!/bin/sh\n"), 0o700); err != nil {
		t.Fatal(err)
	}
	t.Setenv("PATH", dir)
	for _, c := range []struct {
		set, name string
		ends      any
	}{
		{"", "there", nil},
		{"1", "there", nil},
		{"", "gone", "skips: SKIPPED, NOTHING PROVEN: gone is not installed"},
		{"1", "gone", "fails: CRIBGATE_REQUIRE is set, and gone is not installed"},
	} {
		t.Setenv(required.Everything, c.set)
		var path string
		if how := ends(func(t required.TB) { path = required.Program(t, c.name) }); how != c.ends {
			t.Errorf("%q, %s: %v, want %v", c.set, c.name, how, c.ends)
		}
		if c.ends == nil && path != there {
			t.Errorf("%q, %s: found at %q", c.set, c.name, path)
		}
	}
}
