package print_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"go.uber.org/goleak"

	"cribgate/labeler/print"
	"cribgate/labeler/sheet"
)

// Tags come out in the order in which they went in, whichever was drawn first.
func TestOrder(t *testing.T) {
	tags := several(t, 200)
	j := print.Job{Stock: stock(t, "plate-50x80"), Out: filepath.Join(t.TempDir(), "out.pdf")}
	_, err := j.Write(t.Context(), tags, func(drawn []print.Drawn) error {
		if len(drawn) != len(tags) {
			t.Fatalf("%d of %d tags drawn", len(drawn), len(tags))
		}
		for i, d := range drawn {
			if d.Tag != tags[i] || d.Printed.Mask != encode(t, tags[i]).Mask() || d.Printed.Level != "H" {
				t.Fatalf("tag %d is %+v", i, d)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// A job that ends early leaves nobody at work.
func TestEndsWhole(t *testing.T) {
	defer goleak.VerifyNone(t)
	tags := several(t, 200)
	tags[3].Ident = strings.Repeat("W", 40)
	dir := t.TempDir()
	j := print.Job{Stock: stock(t, "plate-50x80"), Out: filepath.Join(dir, "out.pdf")}
	if _, err := j.Write(t.Context(), tags, nil); !errors.Is(err, sheet.ErrFit) {
		t.Errorf("a tag that does not fit: %v", err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := j.Write(ctx, tags, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("ended: %v", err)
	}
	if got := listDir(t, dir); got != "" {
		t.Errorf("left %s", got)
	}
}

// Drafts that a killed run left of the same files go, and no others.
func TestSweepsItsOwn(t *testing.T) {
	gone := exec.Command(os.Args[0], "-test.run=^$")
	if err := gone.Run(); err != nil {
		t.Fatal(err)
	}
	for out, c := range map[string]struct{ drafts, left string }{
		"out.svg": {"out.svg out-001.svg out-1234.svg", "out-01.svg out-x.svg out.pdf other-001.svg xout.svg out-001.png"},
		"out.pdf": {"out.pdf out-001.pdf", "out-001.svg tags.pdf"},
	} {
		dir := t.TempDir()
		draft := func(name string) string { return fmt.Sprintf(".%s.%d.part", name, gone.Process.Pid) }
		for _, name := range strings.Fields(c.drafts + " " + c.left) {
			if err := os.WriteFile(filepath.Join(dir, draft(name)), nil, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		j := print.Job{Stock: stock(t, "plate-50x80"), Out: filepath.Join(dir, out)}
		if _, err := j.Write(t.Context(), several(t, 1), nil); err != nil {
			t.Fatal(err)
		}
		got := " " + listDir(t, dir) + " "
		for _, name := range strings.Fields(c.drafts) {
			if strings.Contains(got, " "+draft(name)+" ") {
				t.Errorf("%s: the draft of %s is still there", out, name)
			}
		}
		for _, name := range strings.Fields(c.left) {
			if !strings.Contains(got, " "+draft(name)+" ") {
				t.Errorf("%s: the draft of %s is gone", out, name)
			}
		}
	}
}

// On a sheet of many, tags go from place to place, and a sheet that was begun is
// used up first.
func TestPlaces(t *testing.T) {
	s := stock(t, "sheet-a4")
	cells := s.Paper.Cells()
	if cells < 3 {
		t.Fatalf("a sheet of %d places", cells)
	}
	for _, c := range []struct {
		out         string
		first, tags int
		want        string // where the first and the last tag are
		files       string
	}{
		{"out.pdf", 0, 1, "out.pdf 1 1, out.pdf 1 1", "out.pdf"},
		{"out.pdf", cells - 1, 2, fmt.Sprintf("out.pdf 1 %d, out.pdf 2 1", cells), "out.pdf"},
		{"out.svg", 1, cells - 1, fmt.Sprintf("out.svg 1 2, out.svg 1 %d", cells), "out.svg"},
		{"out.svg", 1, cells, "out-001.svg 1 2, out-002.svg 1 1", "out-001.svg out-002.svg"},
	} {
		dir := t.TempDir()
		j := print.Job{Stock: s, Out: filepath.Join(dir, c.out), First: c.first}
		out, err := j.Begin(c.tags)
		if err != nil {
			t.Fatal(err)
		}
		var places []print.Place
		for _, tag := range several(t, c.tags) {
			_, d, err := j.Draw(tag)
			if err != nil {
				t.Fatal(err)
			}
			at, err := out.Add(d)
			if err != nil {
				t.Fatal(err)
			}
			places = append(places, at)
		}
		if err := errors.Join(out.Finish(), out.Keep()); err != nil {
			t.Fatal(err)
		}
		spell := func(p print.Place) string { return fmt.Sprintf("%s %d %d", p.File, p.Page, p.Cell) }
		if got := spell(places[0]) + ", " + spell(places[len(places)-1]); got != c.want {
			t.Errorf("%s, %d tags from %d: at %s, want %s", c.out, c.tags, c.first, got, c.want)
		}
		if got := listDir(t, dir); got != c.files {
			t.Errorf("%s, %d tags from %d: wrote %s, want %s", c.out, c.tags, c.first, got, c.files)
		}
	}
	for _, first := range []int{-1, cells} {
		if _, err := (print.Job{Stock: s, Out: filepath.Join(t.TempDir(), "out.pdf"), First: first}).Begin(1); !errors.Is(err, sheet.ErrPaper) {
			t.Errorf("from place %d of %d: %v", first+1, cells, err)
		}
	}
}

// A stream holds as many pages as its format can.
func TestStreamSeveral(t *testing.T) {
	tags := several(t, 3)
	for _, c := range []struct {
		stock  string
		format print.Format
		want   string
	}{
		{"plate-50x80", print.PDF, ""},
		{"plate-50x80", print.SVG, `3 pages as ".svg": a file holds one page`},
		{"sheet-a4", print.SVG, ""},
	} {
		var b bytes.Buffer
		err := print.Job{Stock: stock(t, c.stock)}.Stream(t.Context(), &b, c.format, tags...)
		if c.want == "" && (err != nil || b.Len() == 0) || c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
			t.Errorf("%s as %s: %d bytes, %v", c.stock, c.format, b.Len(), err)
		}
	}
}
