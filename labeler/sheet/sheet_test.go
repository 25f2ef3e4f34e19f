package sheet_test

import (
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"cribgate/core/quantity"
	"cribgate/labeler/sheet"
	"cribgate/labeler/symbol"
	"cribgate/printtemplates"
)

var update = flag.Bool("update", false, "rewrite the golden draw lists")

const (
	mm   = quantity.Millimetre
	body = "CDEFGHIJKLMNOPQRSTUVWXYZ234567ABCDEFGHIJKLMNOPQRSTUVWXYZ234567AB"
)

func date(t testing.TB, text string) quantity.Date {
	t.Helper()
	d, err := quantity.ParseDate(text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// usual is a tag as it mostly is.
func usual(t testing.TB) sheet.Content {
	t.Helper()
	s, err := symbol.Encode(body)
	if err != nil {
		t.Fatal(err)
	}
	return sheet.Content{Symbol: s, Due: date(t, "2026-11-10"), FirstYear: 2025, Facts: map[printtemplates.Word]string{
		printtemplates.ID: "CS-0417", printtemplates.Size: "3/8 in", printtemplates.Grade: "Grade 80",
		printtemplates.Legs: "2 legs", printtemplates.Reach: "7 ft 10 1/2 in",
		printtemplates.LoadName: "Rated load", printtemplates.Load: "12,300 lb", printtemplates.Angle: "at 60° from horizontal",
		printtemplates.Inspected: "Nov 2025", printtemplates.Code: "3F2-9KQ-7TM",
	}}
}

func stocks(t testing.TB) []printtemplates.Stock {
	t.Helper()
	names, err := printtemplates.List()
	if err != nil {
		t.Fatal(err)
	}
	var all []printtemplates.Stock
	for _, name := range names {
		s, err := printtemplates.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, s)
	}
	return all
}

// list writes a drawing down for review: one thing a line.
func list(d sheet.Drawing) string {
	var b strings.Builder
	box := func(p sheet.Path) string {
		var lo, hi sheet.Point
		for i, s := range p {
			for _, q := range s.Points() {
				if i == 0 {
					lo, hi = q, q
				}
				lo = sheet.Point{X: min(lo.X, q.X), Y: min(lo.Y, q.Y)}
				hi = sheet.Point{X: max(hi.X, q.X), Y: max(hi.Y, q.Y)}
			}
		}
		return fmt.Sprintf("%d,%d to %d,%d in %d steps", lo.X, lo.Y, hi.X, hi.Y, len(p))
	}
	fmt.Fprintf(&b, "%s: %s × %s\n", d.Title, d.Width, d.Height)
	fmt.Fprintf(&b, "symbol %d,%d module %d smallest %d\n", d.Symbol.At.X, d.Symbol.At.Y, d.Symbol.Module, d.Symbol.Smallest)
	for _, x := range d.Texts {
		fmt.Fprintf(&b, "text %q font %d type %d at %d,%d width %d\n", x.String, x.Font, x.Size, x.At.X, x.At.Y, x.Width)
	}
	for _, a := range d.Ink {
		fmt.Fprintf(&b, "ink %s\n", box(a.Path))
	}
	for _, p := range d.Blank {
		fmt.Fprintf(&b, "blank %s\n", box(p))
	}
	return b.String()
}

func TestGolden(t *testing.T) {
	for _, stock := range stocks(t) {
		d, err := sheet.Layout(stock, usual(t))
		if err != nil {
			t.Error(err)
			continue
		}
		file := filepath.Join("testdata", stock.Name+".txt")
		got := list(d)
		if *update {
			if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if got != string(want) {
			t.Errorf("%s is laid out as\n%swant\n%s", stock.Name, got, want)
		}
	}
}

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
		{"text over text", plate(), func(s *printtemplates.Stock, _ *sheet.Content) { s.Fields[1].At = s.Fields[2].At }, sheet.ErrOverlap, `"Reach 7 ft 10 1/2 in"`},
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

// The longest that each word can be fits every stock: no tag is refused for
// what its owner or its serial happens to be.
func TestLongestFits(t *testing.T) {
	longest := map[printtemplates.Word]string{
		printtemplates.ID:        strings.Repeat("W", 16),
		printtemplates.Size:      "1-1/4 in",
		printtemplates.Grade:     "Grade 120",
		printtemplates.Legs:      "4 legs",
		printtemplates.Reach:     "429 ft 11 1/2 in",
		printtemplates.Load:      "262,143 lb",
		printtemplates.Angle:     "45° to 60° from vertical",
		printtemplates.Inspected: "not recorded",
		printtemplates.Status:    "HELD: not for use",
		printtemplates.Code:      "WWW-WWW-WWW",
	}
	for _, stock := range stocks(t) {
		for _, stays := range []bool{false, true} {
			content := usual(t)
			for w, text := range longest {
				content.Facts[w] = text
			}
			content.Due, content.FirstYear = date(t, "2028-08-28"), 2027
			if stays {
				content.Due = quantity.Date{}
			} else {
				content.Facts[printtemplates.Status] = ""
			}
			if _, err := sheet.Layout(stock, content); err != nil {
				t.Error(err)
			}
		}
	}
}

// The room that a stock gives to a line is really there: a line of any length
// fits or is refused as too long, and never comes to lie over something else.
func TestRoomIsThere(t *testing.T) {
	for _, stock := range stocks(t) {
		for _, word := range stock.Kind.Words() {
			if word == printtemplates.Due || word == printtemplates.Period {
				continue // of a closed list
			}
			fits := 0
			for n := 1; n <= 40; n++ {
				content := usual(t)
				content.Facts[word] = strings.Repeat("W", n)
				if word == printtemplates.Status {
					content.Due = quantity.Date{}
				}
				switch _, err := sheet.Layout(stock, content); {
				case err == nil:
					fits++
				case !errors.Is(err, sheet.ErrFit):
					t.Errorf("%d letters for {%s}: %v", n, word, err)
				}
			}
			if fits == 0 {
				t.Errorf("%s: nothing fits for {%s}", stock.Name, word)
			}
		}
	}
}

// A sling that stays in has no due marks, but says why.
func TestMarksFollowTheDueDay(t *testing.T) {
	solid := func(d sheet.Drawing) (n int) {
		for _, a := range d.Ink {
			if len(a.Path) == 5 { // one circle, not two
				n++
			}
		}
		return n
	}
	bold := func(d sheet.Drawing) (marks []string) {
		for _, x := range d.Texts {
			if x.Font == printtemplates.Bold && len(x.String) <= 4 {
				marks = append(marks, x.String)
			}
		}
		return marks
	}
	for _, stock := range stocks(t) {
		content := usual(t)
		d, err := sheet.Layout(stock, content)
		if err != nil {
			t.Fatal(err)
		}
		if got := fmt.Sprint(bold(d)); solid(d) != 2 || got != "[11 2026]" {
			t.Errorf("%s: %d solid marks, bold %s", stock.Name, solid(d), got)
		}
		content.Due = quantity.Date{}
		content.Facts[printtemplates.Status] = "HELD: not for use"
		if d, err = sheet.Layout(stock, content); err != nil {
			t.Fatal(err)
		}
		if solid(d) != 0 || bold(d) != nil {
			t.Errorf("%s: %d solid marks without a due day", stock.Name, solid(d))
		}
		if !strings.Contains(list(d), "HELD: not for use") {
			t.Errorf("%s: no status", stock.Name)
		}
		content.FirstYear = 0
		if d, err = sheet.Layout(stock, content); err != nil {
			t.Fatal(err)
		}
		if strings.Contains(list(d), `"2025"`) || len(d.Ink) != 16 {
			t.Errorf("%s: numbered years, or %d rings", stock.Name, len(d.Ink))
		}
	}
}

func BenchmarkLayout(b *testing.B) {
	stock, err := printtemplates.Open("plate-50x80")
	if err != nil {
		b.Fatal(err)
	}
	content := usual(b)
	for b.Loop() {
		if _, err := sheet.Layout(stock, content); err != nil {
			b.Fatal(err)
		}
	}
}
