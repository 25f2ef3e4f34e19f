package sheet_test

import (
	"errors"
	"strings"
	"testing"

	"cribgate/core/quantity"
	"cribgate/labeler/sheet"
	"cribgate/labeler/symbol"
	"cribgate/printtemplates"
)

// spoil changes one thing of a stock that is otherwise sound.
func TestRefusals(t *testing.T) {
	plate := func() printtemplates.Stock {
		s, err := printtemplates.Open("plate-50x80")
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	disc := func() printtemplates.Stock {
		s, err := printtemplates.Open("disc-70")
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	for _, c := range []struct {
		name  string
		stock printtemplates.Stock
		spoil func(*printtemplates.Stock, *sheet.Content)
		want  error  // nil: laid out
		words string // in the refusal
	}{
		{"as it is", plate(), func(*printtemplates.Stock, *sheet.Content) {}, nil, ""},
		{"module at its least", plate(), func(s *printtemplates.Stock, _ *sheet.Content) { s.Symbol.Smallest = 680 }, nil, ""},
		{"module under its least", plate(), func(s *printtemplates.Stock, _ *sheet.Content) { s.Symbol.Smallest = 681 }, sheet.ErrModule, "0.68 mm, at least 0.681 mm"},
		{"module that is no whole micrometre", plate(), func(s *printtemplates.Stock, _ *sheet.Content) { s.Symbol.Side = 45*680 - 1 }, nil, ""},
		{"long text shrinks", plate(), func(_ *printtemplates.Stock, c *sheet.Content) {
			c.Facts[printtemplates.ID] = strings.Repeat("W", 16)
		}, nil, ""},
		{"text too long", plate(), func(_ *printtemplates.Stock, c *sheet.Content) {
			c.Facts[printtemplates.ID] = strings.Repeat("W", 17)
		}, sheet.ErrFit, "in its smallest type of 2.9 mm and has 45 mm"},
		{"letter that the font lacks", plate(), func(_ *printtemplates.Stock, c *sheet.Content) {
			c.Facts[printtemplates.ID] = "A⌀1"
		}, sheet.ErrGlyph, "U+2300"},
		{"broken UTF-8", plate(), func(_ *printtemplates.Stock, c *sheet.Content) {
			c.Facts[printtemplates.ID] = "A\xff1"
		}, sheet.ErrGlyph, "not UTF-8"},
		{"control character", plate(), func(_ *printtemplates.Stock, c *sheet.Content) {
			c.Facts[printtemplates.ID] = "A\x011"
		}, sheet.ErrGlyph, "U+0001"},
		// The hole ends at 8 mm and keeps 1 mm clear; the symbol begins at 10.2 mm.
		{"hole just clear of the quiet zone", plate(), func(s *printtemplates.Stock, _ *sheet.Content) { s.Hole.Centre.Y = 6700 }, nil, ""},
		{"hole in the quiet zone", plate(), func(s *printtemplates.Stock, _ *sheet.Content) { s.Hole.Centre.Y = 6701 }, sheet.ErrOverlap, "quiet zone of the symbol lies 0.001 mm inside the hole"},
		{"hole over the edge", plate(), func(s *printtemplates.Stock, _ *sheet.Content) { s.Hole.Centre.Y = 2499 }, sheet.ErrEdge, "hole by 0.001 mm"},
		{"symbol at the edge", plate(), func(s *printtemplates.Stock, _ *sheet.Content) { s.Symbol.At.X = 999; s.Marks = printtemplates.Marks{} }, sheet.ErrEdge, "quiet zone of the symbol by 0.001 mm"},
		{"symbol clear of the edge", plate(), func(s *printtemplates.Stock, _ *sheet.Content) {
			s.Symbol.At.X = 1000
			s.Marks = printtemplates.Marks{}
		}, nil, ""},
		{"symbol in the marks", plate(), func(s *printtemplates.Stock, _ *sheet.Content) { s.Symbol.At.X = 7000 }, sheet.ErrOverlap, "quiet zone"},
		{"text in the quiet zone", plate(), func(s *printtemplates.Stock, _ *sheet.Content) { s.Fields[0].At.Y = 44000 }, sheet.ErrOverlap, "quiet zone"},
		{"text over text", plate(), func(s *printtemplates.Stock, _ *sheet.Content) { s.Fields[3].At = s.Fields[4].At }, sheet.ErrOverlap, `"at 60° from horizontal" lies`},
		{"disc as it is", disc(), func(*printtemplates.Stock, *sheet.Content) {}, nil, ""},
		{"symbol over the round edge", disc(), func(s *printtemplates.Stock, _ *sheet.Content) {
			s.Symbol.At = sheet.Point{X: 3000, Y: 20000}
		}, sheet.ErrEdge, "quiet zone"},
		{"ring over the round edge", disc(), func(s *printtemplates.Stock, _ *sheet.Content) {
			s.Marks.Months[2].Ring = sheet.Point{X: 35000, Y: 67701}
		}, sheet.ErrEdge, "mark 3 by 0.001 mm"},
		{"due year before the marks", plate(), func(_ *printtemplates.Stock, c *sheet.Content) { c.FirstYear = 2027 }, sheet.ErrYear, "2026 is not from 2027 to 2030"},
		{"due year in the last mark", plate(), func(_ *printtemplates.Stock, c *sheet.Content) { c.FirstYear = 2023 }, nil, ""},
		{"due year and no numbers", plate(), func(_ *printtemplates.Stock, c *sheet.Content) { c.FirstYear = 0 }, sheet.ErrYear, "2026, and the year marks have no numbers"},
		{"due year after the marks", plate(), func(_ *printtemplates.Stock, c *sheet.Content) { c.FirstYear = 2022 }, sheet.ErrYear, "2026 is not from 2022 to 2025"},
		{"badge on a tag's stock", plate(), func(_ *printtemplates.Stock, c *sheet.Content) { c.Kind = printtemplates.Badge }, sheet.ErrKind, "this is a badge, the stock is for a tag"},
		{"no identification", plate(), func(_ *printtemplates.Stock, c *sheet.Content) { c.Facts[printtemplates.ID] = "" }, sheet.ErrMissing, "{id}"},
		{"no short code", plate(), func(_ *printtemplates.Stock, c *sheet.Content) { delete(c.Facts, printtemplates.Code) }, sheet.ErrMissing, "{code}"},
		{"neither due nor status", plate(), func(_ *printtemplates.Stock, c *sheet.Content) { c.Due = quantity.Date{} }, sheet.ErrMissing, "{due}"},
		{"no symbol", plate(), func(_ *printtemplates.Stock, c *sheet.Content) { c.Symbol = symbol.Symbol{} }, sheet.ErrMissing, "the symbol"},
		{"just clear of a fold", plate(), func(s *printtemplates.Stock, _ *sheet.Content) {
			s.Clear = []printtemplates.Clear{{What: "fold", Box: printtemplates.Box{At: sheet.Point{X: 8700, Y: 11000}, Width: 1000, Height: 1000}}}
		}, nil, ""},
		{"in a fold", plate(), func(s *printtemplates.Stock, _ *sheet.Content) {
			s.Clear = []printtemplates.Clear{{What: "fold", Box: printtemplates.Box{At: sheet.Point{X: 8700, Y: 11000}, Width: 1001, Height: 1000}}}
		}, sheet.ErrOverlap, "quiet zone of the symbol lies 0.001 mm inside the fold"},
		{"line in the quiet zone", plate(), func(s *printtemplates.Stock, _ *sheet.Content) {
			s.Lines = []printtemplates.Line{{Box: printtemplates.Box{At: sheet.Point{X: 10000, Y: 40700}, Width: 9000, Height: 100}}}
		}, sheet.ErrOverlap, "line 1 lies 0.1 mm inside quiet zone"},
	} {
		content := usual(t)
		c.spoil(&c.stock, &content)
		d, err := sheet.Layout(c.stock, content)
		if !errors.Is(err, c.want) || c.want != nil && !strings.Contains(err.Error(), c.words) {
			t.Errorf("%s: error %v, want %v with %q", c.name, err, c.want, c.words)
		}
		if err != nil && d.Texts != nil {
			t.Errorf("%s: a drawing beside the error", c.name)
		}
	}
}
