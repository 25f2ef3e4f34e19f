package card

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"cribgate/core/required"
	"cribgate/labeler/render"
	"cribgate/labeler/sheet"
)

func run(t *testing.T, name string, args ...string) string {
	t.Helper()
	var out, warned bytes.Buffer
	cmd := exec.Command(required.Program(t, name), args...)
	cmd.Stdout, cmd.Stderr = &out, &warned
	if err := cmd.Run(); err != nil {
		t.Fatalf("%s %q: %v\n%s", name, args, err, warned.String())
	}
	return out.String()
}

func fileOf(t *testing.T, name string, write func(f *os.File) error) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := write(f); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

func pdfOf(t *testing.T, pages ...sheet.Drawing) string {
	t.Helper()
	return fileOf(t, "card.pdf", func(f *os.File) error {
		p := render.NewPDF(f, render.Options{})
		for _, d := range pages {
			if err := p.Add(d.Page()); err != nil {
				return err
			}
		}
		return p.Close()
	})
}
