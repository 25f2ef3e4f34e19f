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

// usualOf is content as it mostly is, of a kind.
func usualOf(t testing.TB, k printtemplates.Kind) sheet.Content {
	t.Helper()
	c := usual(t)
	c.Kind = k
	switch k {
	case printtemplates.Badge:
		c.Due, c.FirstYear, c.Facts = quantity.Date{}, 0, map[printtemplates.Word]string{
			printtemplates.Name: "Robin Field", printtemplates.Role: "Rigger", printtemplates.Crib: "North crib",
			printtemplates.Until: "10 Nov 2026", printtemplates.Code: "3F2-9KQ-7TM",
		}
	case printtemplates.Slip:
		c.Due, c.FirstYear = quantity.Date{}, 0
		for w, text := range map[printtemplates.Word]string{
			printtemplates.Name: "Robin Field", printtemplates.Crib: "North crib", printtemplates.Issued: "10 Nov 2025", printtemplates.Until: "10 Nov 2025",
			printtemplates.Lift: "Pump, 8,000 lb", printtemplates.Hitch: "Straight, legs 60° from horizontal",
			printtemplates.Required: "4,619 lb in each leg", printtemplates.Allowed: "7,100 lb in each leg", printtemplates.Record: "Entry 1,204",
		} {
			c.Facts[w] = text
		}
	}
	return c
}

// everyStock opens the stocks of all kinds.
func everyStock(t testing.TB) []printtemplates.Stock {
	t.Helper()
	var all []printtemplates.Stock
	for _, k := range []printtemplates.Kind{printtemplates.Tag, printtemplates.Badge, printtemplates.Slip} {
		some, err := printtemplates.OfKind(k)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, some...)
	}
	return all
}

func stocks(t testing.TB) []printtemplates.Stock {
	t.Helper()
	all, err := printtemplates.OfKind(printtemplates.Tag)
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// list writes a drawing down for review: one thing a line.
func list(d sheet.Drawing) string {
	var b strings.Builder
	box := func(p sheet.Path) string {
		r := box(p)
		return fmt.Sprintf("%d,%d to %d,%d in %d steps", r.Min.X, r.Min.Y, r.Max.X, r.Max.Y, len(p))
	}
	fmt.Fprintf(&b, "%s: %s × %s\n", d.Title, d.Width, d.Height)
	fmt.Fprintf(&b, "symbol %d,%d module %d smallest %d\n", d.Symbol.At.X, d.Symbol.At.Y, d.Symbol.Module, d.Symbol.Smallest)
	if d.Tint != (sheet.Tint{}) {
		fmt.Fprintf(&b, "second colour %02x%02x%02x\n", d.Tint.R, d.Tint.G, d.Tint.B)
	}
	in := func(c sheet.Colour) string {
		if c == sheet.Second {
			return " in second colour"
		}
		return ""
	}
	for _, x := range d.Texts {
		fmt.Fprintf(&b, "text %q font %d type %d at %d,%d width %d%s\n", x.String, x.Font, x.Size, x.At.X, x.At.Y, x.Width, in(x.Colour))
	}
	for _, a := range d.Ink {
		fmt.Fprintf(&b, "ink %s%s\n", box(a.Path), in(a.Colour))
	}
	for _, p := range d.Blank {
		fmt.Fprintf(&b, "blank %s\n", box(p))
	}
	return b.String()
}

func TestGolden(t *testing.T) {
	for _, stock := range everyStock(t) {
		content := usualOf(t, stock.Kind)
		if stock.Kind == printtemplates.Tag {
			content.Period = printtemplates.Yellow
		}
		d, err := sheet.Layout(stock, content)
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
			t.Error(err)
			continue
		}
		if got != string(want) {
			t.Errorf("%s is laid out as\n%swant\n%s", stock.Name, got, want)
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
			content.Period = printtemplates.Violet
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

// A slip may do without a symbol; nothing stands in its place then.
func TestWithoutSymbol(t *testing.T) {
	stock, err := printtemplates.Open("slip")
	if err != nil {
		t.Fatal(err)
	}
	content := usualOf(t, stock.Kind)
	with, err := sheet.Layout(stock, content)
	if err != nil {
		t.Fatal(err)
	}
	stock.Symbol, content.Symbol = printtemplates.Symbol{}, symbol.Symbol{}
	d, err := sheet.Layout(stock, content)
	if err != nil {
		t.Fatal(err)
	}
	if with.Symbol.Module == 0 || d.Symbol.Module != 0 || d.Symbol.Text() != "" || len(d.Texts) != len(with.Texts) {
		t.Errorf("modules of %s without a symbol, %d texts of %d", d.Symbol.Module, len(d.Texts), len(with.Texts))
	}
}

// A badge and a slip take names of sixty characters, the longest that a register
// has, as names mostly are.
func TestLongNamesFit(t *testing.T) {
	const name = "Maximiliane Rosamunde Hollerbusch-Wetterstein of North Basin"
	if n := len(name); n != 60 {
		t.Fatalf("the name has %d characters", n)
	}
	for _, stock := range everyStock(t) {
		content := usualOf(t, stock.Kind)
		for w, text := range map[printtemplates.Word]string{
			printtemplates.Name: name, printtemplates.Crib: name, printtemplates.Role: "Attendant", printtemplates.Code: "Slip 4294967295",
			printtemplates.Lift: name + ", 262,143 lb", printtemplates.Hitch: "straight, legs 30° from horizontal", printtemplates.ID: strings.Repeat("W", 16),
			printtemplates.Size: "1-1/4 in", printtemplates.Grade: "Grade 120", printtemplates.Legs: "4 legs", printtemplates.Reach: "429 ft 11 1/2 in",
			printtemplates.Load: "262,143 lb", printtemplates.Angle: "45° to 60° from vertical", printtemplates.Required: "262,143 lb", printtemplates.Allowed: "262,143 lb",
		} {
			content.Facts[w] = text
		}
		if stock.Kind == printtemplates.Tag {
			continue // TestLongestFits
		}
		if _, err := sheet.Layout(stock, content); err != nil {
			t.Error(err)
		}
	}
}

// The room that a stock gives to a line is really there: a line of any length
// fits or is refused as too long, and never comes to lie over something else.
func TestRoomIsThere(t *testing.T) {
	for _, stock := range everyStock(t) {
		for _, word := range stock.Kind.Words() {
			if word == printtemplates.Due || word == printtemplates.Period {
				continue // of a closed list
			}
			fits := 0
			for n := 1; n <= 40; n++ {
				content := usualOf(t, stock.Kind)
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
