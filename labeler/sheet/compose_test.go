package sheet_test

import (
	"errors"
	"strings"
	"testing"

	"cribgate/core/quantity"
	"cribgate/labeler/sheet"
	"cribgate/printtemplates"
)

// onPaper is a stock of 50 × 80 mm, three by two on A4 (ISO 216: 210 × 297 mm,
// from memory, not seen).
func onPaper(t testing.TB) printtemplates.Stock {
	t.Helper()
	s, err := printtemplates.Open("plate-50x80")
	if err != nil {
		t.Fatal(err)
	}
	s.Paper = printtemplates.Paper{
		Width: 210 * mm, Height: 297 * mm, First: sheet.Point{X: 20 * mm, Y: 30 * mm},
		Step: sheet.Point{X: 60 * mm, Y: 90 * mm}, Columns: 3, Rows: 2, Crop: true,
	}
	return s
}

func blanks(s printtemplates.Stock, n int) []sheet.Drawing {
	var all []sheet.Drawing
	for i := range n {
		all = append(all, sheet.Drawing{Title: string(rune('A' + i)), Width: s.Width, Height: s.Height})
	}
	return all
}

func TestCompose(t *testing.T) {
	stock := onPaper(t)
	pages, err := sheet.Compose(stock, blanks(stock, 9), 4)
	if err != nil {
		t.Fatal(err)
	}
	if len(pages) != 3 || len(pages[0].Placed) != 2 || len(pages[1].Placed) != 6 || len(pages[2].Placed) != 1 {
		t.Fatalf("%d pages of 9 tags from the fifth cell on", len(pages))
	}
	for _, c := range []struct {
		page, place int
		title       string
		at          sheet.Point
	}{
		{0, 0, "A", sheet.Point{X: 80 * mm, Y: 120 * mm}},
		{0, 1, "B", sheet.Point{X: 140 * mm, Y: 120 * mm}},
		{1, 0, "C", sheet.Point{X: 20 * mm, Y: 30 * mm}},
		{1, 5, "H", sheet.Point{X: 140 * mm, Y: 120 * mm}},
		{2, 0, "I", sheet.Point{X: 20 * mm, Y: 30 * mm}},
	} {
		if p := pages[c.page].Placed[c.place]; p.Title != c.title || p.At != c.at {
			t.Errorf("page %d, tag %d: %s at %v, want %s at %v", c.page+1, c.place+1, p.Title, p.At, c.title, c.at)
		}
	}
	if p := pages[0]; p.Title != "A to B" || p.Width != 210*mm || p.Height != 297*mm {
		t.Errorf("page 1 is %q, %s × %s", p.Title, p.Width, p.Height)
	}
	if pages[2].Title != "I" {
		t.Errorf("page 3 is %q", pages[2].Title)
	}
	if pages, err = sheet.Compose(stock, nil, 0); pages != nil || err != nil {
		t.Errorf("nothing gives %d pages, %v", len(pages), err)
	}
	stock.Paper = printtemplates.Paper{}
	if pages, err = sheet.Compose(stock, blanks(stock, 2), 0); err != nil || len(pages) != 2 ||
		pages[1].Width != 50*mm || pages[1].Height != 80*mm || pages[1].Placed[0].At != (sheet.Point{}) || pages[1].Crop != nil {
		t.Errorf("without paper: %+v, %v", pages, err)
	}
}

// box is the area of a path made of straight lines.
func box(p sheet.Path) (r sheet.Rect) {
	for i, s := range p {
		for _, q := range s.Points() {
			if i == 0 {
				r = sheet.Rect{Min: q, Max: q}
			}
			r.Min = sheet.Point{X: min(r.Min.X, q.X), Y: min(r.Min.Y, q.Y)}
			r.Max = sheet.Point{X: max(r.Max.X, q.X), Y: max(r.Max.Y, q.Y)}
		}
	}
	return r
}

// Crop marks lie on the page, in line with an edge of a printed blank, and
// touch no blank, whichever are printed.
func TestCropMarks(t *testing.T) {
	for _, gaps := range []sheet.Point{{X: 10 * mm, Y: 10 * mm}, {X: 0, Y: 3 * mm}, {X: 3 * mm, Y: 0}, {}} {
		stock := onPaper(t)
		p := &stock.Paper
		p.Step = sheet.Point{X: stock.Width + gaps.X, Y: stock.Height + gaps.Y}
		for first := range p.Cells() {
			for n := 1; first+n <= p.Cells(); n++ {
				pages, err := sheet.Compose(stock, blanks(stock, n), first)
				if err != nil {
					t.Fatal(err)
				}
				page := pages[0]
				onEdge := map[quantity.Length]bool{}
				for _, d := range page.Placed {
					for _, at := range []quantity.Length{d.At.X, d.At.X + d.Width} {
						onEdge[at] = false
					}
				}
				for _, mark := range page.Crop {
					r := box(mark)
					if r.Min.X < 0 || r.Min.Y < 0 || r.Max.X > page.Width || r.Max.Y > page.Height {
						t.Fatalf("mark %v is not on the page", r)
					}
					for cell := range p.Cells() {
						at := p.Cell(cell)
						if r.Min.X < at.X+stock.Width && r.Max.X > at.X && r.Min.Y < at.Y+stock.Height && r.Max.Y > at.Y {
							t.Fatalf("mark %v touches cell %d", r, cell)
						}
					}
					for edge := range onEdge {
						if (r.Min.X+r.Max.X)/2 == edge && r.Max.X-r.Min.X < mm {
							onEdge[edge] = true
						}
					}
				}
				for edge, marked := range onEdge {
					if !marked {
						t.Errorf("gaps %v, %d from cell %d: no mark at %s", gaps, n, first, edge)
					}
				}
			}
		}
	}
}

// A whole sheet has a mark before and behind each of its ten edges and one in
// each gap that the edge comes by; a single one in the corner has those of its
// four edges.
func TestCropMarksCount(t *testing.T) {
	stock := onPaper(t)
	for _, c := range []struct{ first, n, want int }{
		{0, 6, 6*3 + 4*4},
		{5, 1, 2*3 + 2*3},
	} {
		pages, err := sheet.Compose(stock, blanks(stock, c.n), c.first)
		if err != nil {
			t.Fatal(err)
		}
		if got := len(pages[0].Crop); got != c.want {
			t.Errorf("%d from cell %d: %d marks, want %d", c.n, c.first, got, c.want)
		}
	}
}

func TestComposeRefuses(t *testing.T) {
	for _, c := range []struct {
		name  string
		first int
		spoil func(*printtemplates.Paper)
		want  string // empty: composed
	}{
		{"last cell", 5, func(*printtemplates.Paper) {}, ""},
		{"cell after the last", 6, func(*printtemplates.Paper) {}, "cell 7 of 6"},
		{"cell before the first", -1, func(*printtemplates.Paper) {}, "cell 0 of 6"},
		{"second cell without paper", 1, func(p *printtemplates.Paper) { *p = printtemplates.Paper{} }, "cell 2 of 1"},
		{"just on the paper", 0, func(p *printtemplates.Paper) { p.First.X, p.Crop = 40*mm, false }, ""},
		{"over the right edge", 0, func(p *printtemplates.Paper) { p.First.X, p.Crop = 40*mm+1, false }, "the last blank is 0.001 mm over the right edge"},
		{"over the bottom edge", 0, func(p *printtemplates.Paper) { p.Step.Y = 187*mm + 1 }, "the last blank is 0.001 mm over the bottom edge"},
		{"over the left edge", 0, func(p *printtemplates.Paper) { p.First.X = -1 }, "the first blank is 0.001 mm over the edge"},
		{"blanks overlap", 0, func(p *printtemplates.Paper) { p.Step.X = 50*mm - 1 }, "blanks overlap by 0.001 mm"},
		{"blanks side by side", 0, func(p *printtemplates.Paper) { p.Step.X = 50 * mm }, ""},
		{"room for crop marks", 0, func(p *printtemplates.Paper) { p.First.Y = 4 * mm }, ""},
		{"no room for crop marks", 0, func(p *printtemplates.Paper) { p.First.Y = 4*mm - 1 }, "3.999 mm from a blank to the edge, and crop marks need 4 mm"},
		{"no room at the far edge", 0, func(p *printtemplates.Paper) { p.First.Y = 123*mm + 1 }, "3.999 mm from a blank to the edge"},
		{"gap for crop marks", 0, func(p *printtemplates.Paper) { p.Step.Y = 83 * mm }, ""},
		{"gap too small for crop marks", 0, func(p *printtemplates.Paper) { p.Step.Y = 83*mm - 1 }, "2.999 mm between blanks, and crop marks need 3 mm or none"},
		{"small gap and no crop marks", 0, func(p *printtemplates.Paper) { p.Step.Y, p.Crop = 80*mm+1, false }, ""},
	} {
		stock := onPaper(t)
		c.spoil(&stock.Paper)
		pages, err := sheet.Compose(stock, blanks(stock, 1), c.first)
		switch {
		case c.want == "" && err != nil:
			t.Errorf("%s: %v", c.name, err)
		case c.want != "" && (!errors.Is(err, sheet.ErrPaper) || !strings.Contains(err.Error(), c.want) || pages != nil):
			t.Errorf("%s: %d pages, error %v, want %q", c.name, len(pages), err, c.want)
		}
	}
	stock := onPaper(t)
	if _, err := sheet.Compose(stock, []sheet.Drawing{{Title: "A", Width: 50 * mm, Height: 79 * mm}}, 0); !errors.Is(err, sheet.ErrPaper) {
		t.Errorf("a drawing of another size: error %v", err)
	}
}
