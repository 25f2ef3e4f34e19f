package sheet

import (
	"fmt"
	"math"

	"cribgate/printtemplates"
)

// minContrast is the least contrast of letters and their ground (WCAG 2.2,
// 1.4.3, from memory, not seen). All letters are held to it, however large.
const minContrast = 4.5

var (
	black = Tint{}
	white = Tint{0xff, 0xff, 0xff} // what a blank without ink is taken for
)

// tintOf is what a colour of the closed list looks like.
func tintOf(c printtemplates.Colour) Tint {
	r, g, b := c.RGB()
	return Tint{r, g, b}
}

// colours settles what the second colour is and fills the period's area.
func (l *layout) colours(c Content) error {
	second := l.stock.Second
	if l.stock.Period.Width > 0 {
		second = c.Period
		box := rectOf(l.stock.Period)
		l.taken = append(l.taken, cover{what: "area of the period", box: box, ground: true})
		if second != printtemplates.NoColour {
			l.out.Ink = append(l.out.Ink, Area{Path: Rectangle(box), Colour: Second})
		}
	}
	if second != printtemplates.NoColour {
		l.out.Tint = tintOf(second)
		l.second = second
	}
	return nil
}

// ink is the colour of what the stock wants in the first or the second one.
// While the period has no colour, there is but the first.
func (l *layout) ink(second bool) Colour {
	if second && l.second != printtemplates.NoColour {
		return Second
	}
	return Black
}

// lines fills the stock's lines.
func (l *layout) lines(Content) error {
	for i, x := range l.stock.Lines {
		box := rectOf(x.Box)
		l.out.Ink = append(l.out.Ink, Area{Path: Rectangle(box), Colour: l.ink(x.Second)})
		l.take(fmt.Sprintf("line %d", i+1), box)
	}
	return nil
}

// readable refuses letters that are too faint on what they stand on.
func (l *layout) readable() error {
	if l.second == printtemplates.NoColour {
		return nil
	}
	for _, a := range l.taken {
		if !a.text {
			continue
		}
		on, ground := white, "the blank"
		for _, b := range l.taken {
			if a.standsOn(b) {
				on, ground = tintOf(l.second), l.second.String()
			}
		}
		ink, name := black, "black"
		if a.colour == Second {
			ink, name = tintOf(l.second), l.second.String()
		}
		if got := contrast(ink, on); got < minContrast {
			return fmt.Errorf("%w: %s in %s on %s has a contrast of %.2f, at least %.1f", ErrContrast, a.what, name, ground, got, minContrast)
		}
	}
	return nil
}

// contrast is the contrast ratio of WCAG 2.2 (from memory, not seen), 1 to 21.
func contrast(a, b Tint) float64 {
	light, dark := luminance(a), luminance(b)
	if light < dark {
		light, dark = dark, light
	}
	return (light + 0.05) / (dark + 0.05)
}

// luminance is the relative luminance of WCAG 2.2 (from memory, not seen).
func luminance(t Tint) float64 {
	linear := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(t.R) + 0.7152*linear(t.G) + 0.0722*linear(t.B)
}

func rectOf(b printtemplates.Box) Rect {
	return Rect{b.At, pt(b.At.X+b.Width, b.At.Y+b.Height)}
}
