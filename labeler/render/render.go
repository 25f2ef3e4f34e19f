// Package render writes a laid-out page, one blank or a sheet of many, as PDF,
// SVG or PNG. The three writers draw the same list, a [sheet.Page], and decide
// nothing about it, so that what was proofed on a screen is what comes out of
// the printer or the laser.
//
// [SVG] and [PNG] write one page; a [PDF] takes pages one by one. A symbol is
// one area without inner edges, so that no smoothing leaves light seams between
// its modules. The second colour is printed first and black over it. Output
// depends on nothing but the page: the same tags give the same bytes.
package render

import (
	"fmt"
	"slices"

	"cribgate/core/quantity"
	"cribgate/labeler/sheet"
)

// Options say what is drawn besides the ink. The zero Options draw the ink
// only.
type Options struct {
	// Outline draws the edge of the blank and of its hole as hairlines, for a
	// proof on paper or to line up a laser.
	Outline bool
}

// A layer is all that is printed in one colour, where it lies on the page.
type layer struct {
	name    string
	tint    sheet.Tint // of black: zero
	paths   []sheet.Path
	symbols []sheet.Symbol
}

// layers sorts a page by colour, in the order in which it is printed: each tint
// of the second colour, then black, which is there always. Letters come as
// outlines.
func layers(page sheet.Page) ([]layer, error) {
	var second []layer
	black := layer{name: "black", paths: slices.Clone(page.Crop)}
	of := func(c sheet.Colour, t sheet.Tint) *layer {
		if c == sheet.Black {
			return &black
		}
		i := slices.IndexFunc(second, func(l layer) bool { return l.tint == t })
		if i < 0 {
			i = len(second)
			name := "second"
			if i > 0 {
				name = fmt.Sprintf("second-%d", i+1)
			}
			second = append(second, layer{name: name, tint: t})
		}
		return &second[i]
	}
	for _, d := range page.Placed {
		if d.Symbol.Module > 0 {
			s := d.Symbol
			s.At.X += d.At.X
			s.At.Y += d.At.Y
			black.symbols = append(black.symbols, s)
		}
		for _, a := range d.Ink {
			l := of(a.Colour, d.Tint)
			l.paths = append(l.paths, moved(a.Path, d.At))
		}
		for _, t := range d.Texts {
			p, err := t.Outline()
			if err != nil {
				return nil, err
			}
			l := of(t.Colour, d.Tint)
			l.paths = append(l.paths, moved(p, d.At))
		}
	}
	return append(second, black), nil
}

// edges returns the outlines of the blanks and their holes on the page.
func edges(page sheet.Page) []sheet.Path {
	var all []sheet.Path
	for _, d := range page.Placed {
		for _, p := range d.Blank {
			all = append(all, moved(p, d.At))
		}
	}
	return all
}

// moved returns a path as it lies on the page on which its drawing is placed.
func moved(p sheet.Path, at sheet.Point) sheet.Path {
	if at == (sheet.Point{}) {
		return p
	}
	out := slices.Clone(p)
	for i := range out {
		for j := range out[i].To {
			out[i].To[j].X += at.X
			out[i].To[j].Y += at.Y
		}
	}
	return out
}

// corners returns the symbol's outlines in micrometres.
func corners(s sheet.Symbol) [][]sheet.Point {
	var all [][]sheet.Point
	for _, outline := range s.Contours() {
		points := make([]sheet.Point, len(outline))
		for i, c := range outline {
			points[i] = sheet.Point{
				X: s.At.X + quantity.Length(c.X)*s.Module,
				Y: s.At.Y + quantity.Length(c.Y)*s.Module,
			}
		}
		all = append(all, points)
	}
	return all
}
