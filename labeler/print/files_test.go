package print

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"
)

// A draft is a new file: where somebody has put a link in its place, what the link
// leads to stays as it is.
func TestDraftIsANewFile(t *testing.T) {
	dir := t.TempDir()
	other, out := filepath.Join(dir, "other"), filepath.Join(dir, "tag.png")
	if err := os.WriteFile(other, []byte("as it was"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(other, filepath.Join(dir, fmt.Sprintf(".tag.png.%d.part", os.Getpid()))); err != nil {
		t.Skipf("no links here: %v", err)
	}
	var f files
	err := f.write(out, func(w io.Writer) error {
		_, err := io.WriteString(w, "a tag")
		return err
	})
	if err == nil {
		err = f.keep()
	}
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{other: "as it was", out: "a tag"} {
		if got, err := os.ReadFile(name); err != nil || string(got) != want {
			t.Errorf("%s: %q, %v; want %q", filepath.Base(name), got, err, want)
		}
	}
}
