package card

import (
	"path/filepath"
	"strings"
	"testing"

	"cribgate/core/quantity"
	"cribgate/core/tagcode"
	"cribgate/labeler/sheet"
	"cribgate/labeler/symbol"
)

// TestSlipHeadIsRead: each page of a slip has where the register stood as a symbol that
// is read off paper as it comes from a printer of 150 dots per inch.
func TestSlipHeadIsRead(t *testing.T) {
	head := tagcode.Head{At: 1234567, Hash: [32]byte{0x3f, 0x2a, 0x9c, 1}}
	want, err := head.Text()
	if err != nil {
		t.Fatal(err)
	}
	for _, paper := range Papers() {
		if paper.Name != "a4" && paper.Name != "letter" {
			continue
		}
		l := Loan{Title: "Slip for T. Brandt", Under: "North Sluice crib.", Foot: "Printed 2 Mar 2026. The register stands at " + head.String() + ".", Head: head}
		for range 8 {
			l.Lines = append(l.Lines, LoanLine{Ident: "NS-0417", MakeUp: "3/8 in", May: "May carry 7,100 lb.", Lift: "Lift 1: 4,000 lb.", Back: "Needed back by 4 Mar 2026."})
		}
		pages, err := l.Draw(paper)
		if err != nil || len(pages) != 2 {
			t.Fatalf("%s: %d pages, %v", paper.Name, len(pages), err)
		}
		for n, page := range pages {
			clearOf(t, page)
			out := filepath.Join(t.TempDir(), "page")
			run(t, "pdftoppm", "-r", "150", "-png", "-singlefile", pdfOf(t, page), out)
			if got := strings.TrimSpace(run(t, "zbarimg", "--quiet", "--raw", out+".png")); got != want {
				t.Errorf("%s, page %d: reads %q, want %q", paper.Name, n+1, got, want)
			}
		}
	}
	if _, err := (Loan{Title: "x", Lines: []LoanLine{{Ident: "NS-0417"}}, Head: tagcode.Head{At: -1}}).Draw(Papers()[0]); err == nil {
		t.Error("a head that is none was drawn")
	}
}

// clearOf measures the symbol, the largest area of the page: its modules are no less
// than 0.4 mm wide, and four of them around it are clear.
func clearOf(t *testing.T, page sheet.Drawing) {
	t.Helper()
	var modules sheet.Path
	for _, area := range page.Ink {
		if len(area.Path) > len(modules) {
			modules = area.Path
		}
	}
	grid := sheet.Rect{Min: pt(page.Width, page.Height)}
	for _, seg := range modules {
		at := seg.To[0]
		grid.Min, grid.Max = pt(min(grid.Min.X, at.X), min(grid.Min.Y, at.Y)), pt(max(grid.Max.X, at.X), max(grid.Max.Y, at.Y))
	}
	module := (grid.Max.X - grid.Min.X) / symbol.Modules
	if module < 400*quantity.Micrometre || grid.Max.Y-grid.Min.Y != symbol.Modules*module {
		t.Fatalf("modules of %s in %s by %s", module, grid.Max.X-grid.Min.X, grid.Max.Y-grid.Min.Y)
	}
	quiet := box(grid.Min.X-4*module, grid.Min.Y-4*module, grid.Max.X+4*module, grid.Max.Y+4*module)
	touches := func(r sheet.Rect) bool {
		return r.Min.X < quiet.Max.X && r.Max.X > quiet.Min.X && r.Min.Y < quiet.Max.Y && r.Max.Y > quiet.Min.Y
	}
	for _, text := range page.Texts {
		if touches(text.Ink) {
			t.Errorf("%q lies in the quiet zone", text.String)
		}
	}
	for _, area := range page.Ink {
		for _, seg := range area.Path {
			if at := seg.To[0]; len(area.Path) != len(modules) && touches(sheet.Rect{Min: at, Max: pt(at.X+1, at.Y+1)}) {
				t.Errorf("ink at %v lies in the quiet zone", at)
			}
		}
	}
	if quiet.Max.X > page.Width || quiet.Max.Y > page.Height {
		t.Errorf("the quiet zone ends at %v, off the page", quiet.Max)
	}
}
