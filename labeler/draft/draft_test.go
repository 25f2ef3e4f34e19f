package draft_test

import (
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"cribgate/labeler/draft"
)

func names(t *testing.T, dir string) string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var all []string
	for _, e := range entries {
		all = append(all, e.Name())
	}
	return strings.Join(all, " ")
}

func write(t *testing.T, name, text string) *draft.Draft {
	t.Helper()
	d, err := draft.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := io.WriteString(d, text); err != nil {
		t.Fatal(err)
	}
	return d
}

func TestDraft(t *testing.T) {
	dir := t.TempDir()
	out := filepath.Join(dir, "tag.png")
	part := fmt.Sprintf(".tag.png.%d.part", os.Getpid())
	for _, c := range []struct {
		name string
		do   func(d *draft.Draft) error
		want string
	}{
		{"begun", func(d *draft.Draft) error { return nil }, part},
		{"dropped while it is written", (*draft.Draft).Drop, ""},
		{"ended", (*draft.Draft).End, part},
		{"ended and dropped", func(d *draft.Draft) error { return first(d.End, d.Drop) }, ""},
		{"kept", func(d *draft.Draft) error { return first(d.End, d.Keep) }, "tag.png"},
		{"kept in place of another", func(d *draft.Draft) error { return first(d.End, d.Keep) }, "tag.png"},
		{"kept and dropped", func(d *draft.Draft) error { return first(d.End, d.Keep, d.Drop) }, ""},
		{"dropped twice", func(d *draft.Draft) error { return first(d.Drop, d.Drop) }, ""},
	} {
		d := write(t, out, c.name)
		if err := c.do(d); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		if got := names(t, dir); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
		if text, err := os.ReadFile(out); c.want == "tag.png" && (err != nil || string(text) != c.name) {
			t.Errorf("%s: the file holds %q, %v", c.name, text, err)
		}
	}
	if _, err := draft.Create(filepath.Join(dir, "none", "tag.png")); err == nil {
		t.Error("a draft in a folder that is not there")
	}
}

func first(steps ...func() error) error {
	for _, s := range steps {
		if err := s(); err != nil {
			return err
		}
	}
	return nil
}

// Where somebody has put a link in the draft's place, what the link leads to stays
// as it is.
func TestDraftIsANewFile(t *testing.T) {
	dir := t.TempDir()
	other, out := filepath.Join(dir, "other"), filepath.Join(dir, "tag.png")
	if err := os.WriteFile(other, []byte("as it was"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(other, filepath.Join(dir, fmt.Sprintf(".tag.png.%d.part", os.Getpid()))); err != nil {
		t.Skipf("no links here: %v", err)
	}
	d := write(t, out, "a tag")
	if err := first(d.End, d.Keep); err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{other: "as it was", out: "a tag"} {
		if got, err := os.ReadFile(name); err != nil || string(got) != want {
			t.Errorf("%s: %q, %v; want %q", filepath.Base(name), got, err, want)
		}
	}
}

// Drafts of a process that has ended are removed, and nothing else.
func TestSweep(t *testing.T) {
	gone := exec.Command(os.Args[0], "-test.run=^$")
	if err := gone.Run(); err != nil {
		t.Fatal(err)
	}
	dead, live := gone.Process.Pid, os.Getpid()
	dir := t.TempDir()
	swept := []string{fmt.Sprintf(".out.pdf.%d.part", dead), fmt.Sprintf(".a.b-001.svg.%d.part", dead)}
	stay := []string{
		fmt.Sprintf(".out.pdf.%d.part", live),           // still runs
		"." + "other.pdf." + fmt.Sprint(dead) + ".part", // not ours
		fmt.Sprintf("out.pdf.%d.part", dead), fmt.Sprintf(".out.pdf.%d", dead), fmt.Sprintf(".out.pdf.0%d.part", dead),
		fmt.Sprintf("..%d.part", dead), ".out.pdf.-1.part", ".out.pdf.0.part", ".out.pdf..part", ".out.pdf.x.part", "out.pdf",
	}
	for _, name := range append(slices.Clone(swept), stay...) {
		if err := os.WriteFile(filepath.Join(dir, name), nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	err := draft.Sweep(dir, func(name string) bool { return name != "other.pdf" })
	slices.Sort(stay)
	if got := names(t, dir); err != nil || got != strings.Join(stay, " ") {
		t.Errorf("left %q, %v; want %q", got, err, stay)
	}
	for _, name := range swept {
		if !draft.Is(name) {
			t.Errorf("%s is no draft", name)
		}
	}
	if draft.Is("out.pdf") {
		t.Error("out.pdf is a draft")
	}
	if err := draft.Sweep(filepath.Join(dir, "none"), draft.Is); err == nil {
		t.Error("a folder that is not there was swept")
	}
}

// A directory in the place of the file comes out before anything is written.
func TestDirectoryInItsPlace(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "tags.pdf")
	if err := os.Mkdir(name, 0o777); err != nil {
		t.Fatal(err)
	}
	if _, err := draft.Create(name); !errors.Is(err, draft.ErrDirectory) {
		t.Errorf("error %v", err)
	}
	if got := names(t, dir); got != "tags.pdf" {
		t.Errorf("left behind: %s", got)
	}
}
