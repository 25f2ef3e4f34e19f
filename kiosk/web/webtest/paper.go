package webtest

import (
	"context"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	paper "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"cribgate/core/required"
)

// The edges of a sheet A4, in inches (ISO 216, from memory, not seen).
const a4Width, a4Height = 210 / 25.4, 297 / 25.4

// Prints prints the page on A4, and gives what [Symbols] reads on each sheet.
func (p *Page) Prints(name string) [][]string {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	got, err := chromedp.Call(ctx, paper.PrintToPDF, paper.PrintToPDFParams{PaperWidth: a4Width, PaperHeight: a4Height, PreferCSSPageSize: new(true)})
	if err != nil {
		p.t.Fatalf("browser: print %s: %v", name, err)
	}
	return Symbols(p.t, name, got.Data)
}

// Symbols gives what the QR symbols hold that a reader finds on each page of a PDF, at
// 150 dots per inch. With CRIBGATE_SHOTS its pages are kept, by that name.
func Symbols(t testing.TB, name string, pdf []byte) (read [][]string) {
	t.Helper()
	dir := os.Getenv("CRIBGATE_SHOTS")
	if dir == "" {
		dir = t.TempDir()
	}
	file := filepath.Join(dir, name+".pdf")
	if err := os.WriteFile(file, pdf, 0o644); err != nil {
		t.Fatal(err)
	}
	page := filepath.Join(dir, name+"-page")
	if out, err := exec.CommandContext(t.Context(), required.Program(t, "pdftoppm"), "-r", "150", "-png", file, page).CombinedOutput(); err != nil {
		t.Fatalf("draw %s: %v: %s", name, err, out)
	}
	pictures, err := filepath.Glob(page + "-*.png")
	if err != nil {
		t.Fatal(err)
	}
	slices.Sort(pictures)
	for _, picture := range pictures {
		// zbarimg fails where it finds none, which is told by an empty list.
		out, err := exec.CommandContext(t.Context(), required.Program(t, "zbarimg"), "--quiet", "--raw", picture).Output()
		if _, none := errors.AsType[*exec.ExitError](err); err != nil && !none {
			t.Fatalf("read %s: %v", picture, err)
		}
		read = append(read, strings.Fields(string(out)))
	}
	return read
}
