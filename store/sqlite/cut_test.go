package sqlite

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A file that is shorter than it was is said to be cut, to the byte; one that is
// not is not.
func TestCut(t *testing.T) {
	path := create(t, schemaOf(step1))
	file, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	noHeader := append([]byte(nil), file...)
	noHeader[0] ^= 1
	for name, c := range map[string]struct {
		file []byte
		want string
	}{
		"whole":               {file, ""},
		"longer":              {append(append([]byte(nil), file...), 0), ""},
		"a byte short":        {file[:len(file)-1], "4095 bytes, of"},
		"a page short":        {file[:len(file)-4096], "0 bytes, of"},
		"one page":            {file[:4096], "which are 1 pages and 0 bytes"},
		"half a header":       {file[:50], "it has 50 bytes and no header"},
		"nothing":             {nil, "it has 0 bytes and no header"},
		"another file, short": {noHeader[:len(file)-1], ""},
	} {
		path := filepath.Join(t.TempDir(), "x")
		if err := os.WriteFile(path, c.file, 0o600); err != nil {
			t.Fatal(err)
		}
		got, err := Cut(path)
		if err != nil || (got == "") != (c.want == "") || !strings.Contains(got, c.want) {
			t.Errorf("%s: %q, %v, want %q", name, got, err, c.want)
		}
		if err := os.WriteFile(path+"-wal", []byte("x"), 0o600); err != nil {
			t.Fatal(err)
		}
		if got, err := Cut(path); err != nil || got != "" {
			t.Errorf("%s, with a log beside it: %q, %v", name, got, err)
		}
	}
	if _, err := Cut(filepath.Join(t.TempDir(), "none")); !errors.Is(err, ErrMissing) {
		t.Errorf("%v", err)
	}
}
