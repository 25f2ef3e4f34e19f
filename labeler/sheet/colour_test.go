package sheet

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"cribgate/core/quantity"
	"cribgate/labeler/symbol"
	"cribgate/printtemplates"
)

// The vectors are computed from WCAG's formula (2.2, 1.4.3, from memory, not
// seen): 767676 on white is the lightest grey that passes.
func TestContrast(t *testing.T) {
	grey := func(v uint8) Tint { return Tint{v, v, v} }
	for _, c := range []struct {
		a, b Tint
		want float64
	}{
		{black, white, 21},
		{grey(0x76), white, 4.542},
		{white, grey(0x77), 4.478},
		{grey(0x94), white, 3.033},
		{grey(0x59), white, 7.005},
		{Tint{0x9B, 0x24, 0x23}, white, 7.864},
		{Tint{0xF9, 0xA8, 0x00}, black, 10.629},
		{Tint{0x23, 0x7F, 0x52}, white, 4.966},
		{white, white, 1},
	} {
		if got := contrast(c.a, c.b); math.Abs(got-c.want) > 0.0005 {
			t.Errorf("contrast of %v and %v = %.4f, want %.3f", c.a, c.b, got, c.want)
		}
	}
}

// flag opens the stock with an area of the period and gives it a content.
func flag(t *testing.T) (printtemplates.Stock, Content) {
	t.Helper()
	stock, err := printtemplates.Open("flag-200x45")
	if err != nil {
		t.Fatal(err)
	}
	s, err := symbol.Encode(strings.Repeat("A", symbol.BodyLen))
	if err != nil {
		t.Fatal(err)
	}
	due, ok := quantity.NewDate(2026, 11, 10)
	if !ok {
		t.Fatal("no such day")
	}
	return stock, Content{Symbol: s, Due: due, FirstYear: 2025, Facts: map[printtemplates.Word]string{
		printtemplates.ID: "CS-0417", printtemplates.Code: "3F2-9KQ-7TM",
	}}
}

// Every colour fills the area of the period, bears black letters and stands
// there in letters too; without one the area is empty and no word is said.
func TestPeriod(t *testing.T) {
	stock, content := flag(t)
	for _, c := range append(printtemplates.Colours(), printtemplates.NoColour) {
		content.Period = c
		d, err := Layout(stock, content)
		if err != nil {
			t.Fatal(err)
		}
		filled, said := 0, 0
		for _, a := range d.Ink {
			if a.Colour == Second {
				filled++
			}
		}
		for _, x := range d.Texts {
			if c != printtemplates.NoColour && strings.EqualFold(x.String, c.String()) {
				said++
			}
		}
		want := 1
		if c == printtemplates.NoColour {
			want = 0
			for _, x := range d.Texts {
				for _, other := range printtemplates.Colours() {
					if strings.EqualFold(x.String, other.String()) {
						t.Errorf("without a period: %q", x.String)
					}
				}
			}
		}
		if filled != want || said != want || (d.Tint != Tint{}) != (want == 1) || want == 1 && d.Tint != tintOf(c) {
			t.Errorf("%s: %d areas filled in %v, said %d times", c, filled, d.Tint, said)
		}
	}
}

func TestSecondColourRefusals(t *testing.T) {
	for _, c := range []struct {
		name   string
		spoil  func(*printtemplates.Stock, *Content)
		want   error
		figure string
	}{
		{"black on yellow", func(_ *printtemplates.Stock, c *Content) { c.Period = printtemplates.Yellow }, nil, ""},
		{"red letters on the blank", func(s *printtemplates.Stock, c *Content) {
			s.Fields[3].Second, c.Period = true, printtemplates.Red
		}, nil, ""},
		{"yellow letters on the blank", func(s *printtemplates.Stock, c *Content) {
			s.Fields[3].Second, c.Period = true, printtemplates.Yellow
		}, ErrContrast, `"CS-0417" in yellow on the blank has a contrast of ` + fmt.Sprintf("%.2f", contrast(tintOf(printtemplates.Yellow), white)) + ", at least 4.5"},
		{"yellow letters while there is no period", func(s *printtemplates.Stock, _ *Content) { s.Fields[3].Second = true }, nil, ""},
		{"red letters on red", func(s *printtemplates.Stock, c *Content) {
			s.Fields[0].Second, c.Period = true, printtemplates.Red
		}, ErrContrast, "in red on red has a contrast of 1.00"},
		{"letters half on the area", func(s *printtemplates.Stock, _ *Content) { s.Fields[0].At.Y = 12 * quantity.Millimetre }, ErrOverlap, "inside area of the period"},
		{"area in the quiet zone", func(s *printtemplates.Stock, _ *Content) {
			s.Period.Height = s.Symbol.At.Y - s.Period.At.Y + 1
		}, ErrOverlap, "quiet zone of the symbol lies 0.001 mm inside area of the period"},
		{"area beside the quiet zone", func(s *printtemplates.Stock, _ *Content) {
			s.Period.Height = s.Symbol.At.Y - s.Period.At.Y
		}, nil, ""},
		{"area over the edge", func(s *printtemplates.Stock, _ *Content) { s.Period.At.Y = 1 }, ErrEdge, "area of the period by"},
		{"area in the fold", func(s *printtemplates.Stock, _ *Content) {
			s.Lines, s.Period.Width = nil, 78*quantity.Millimetre+1
		}, ErrOverlap, "area of the period lies 0.001 mm inside the fold around the link"},
	} {
		stock, content := flag(t)
		c.spoil(&stock, &content)
		_, err := Layout(stock, content)
		if !errors.Is(err, c.want) || c.want != nil && !strings.Contains(err.Error(), c.figure) {
			t.Errorf("%s: error %v, want %v with %q", c.name, err, c.want, c.figure)
		}
	}
}

// A fixed second colour is the same whatever the period, which stands in
// letters then.
func TestFixedSecondColour(t *testing.T) {
	stock, err := printtemplates.Open("alu-90x55")
	if err != nil {
		t.Fatal(err)
	}
	_, content := flag(t)
	content.Period = printtemplates.Blue
	d, err := Layout(stock, content)
	if err != nil {
		t.Fatal(err)
	}
	if d.Tint != tintOf(printtemplates.Red) {
		t.Errorf("the second colour is %v", d.Tint)
	}
	second, period := 0, false
	for _, x := range d.Texts {
		if x.Colour == Second {
			second++
		}
		period = period || x.String == "Period BLUE"
	}
	if second == 0 || !period {
		t.Errorf("%d texts in the second colour; the period is said: %v", second, period)
	}
}
