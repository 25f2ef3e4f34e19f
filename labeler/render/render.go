// Package render writes a laid-out page, one blank or a sheet of many, as PDF
// or PNG for a printer, as SVG for a laser or as DXF for an engraver. The
// writers draw the same list, a [sheet.Page], and decide nothing about it, so
// that what was proofed on a screen is what comes out of the machine.
//
// [SVG], [PNG] and [DXF] write one page; a [PDF] takes pages one by one. A
// symbol is one area without inner edges, so that no smoothing leaves light
// seams between its modules. The second colour is printed first and black over
// it. Output depends on nothing but the page: the same tags give the same
// bytes.
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

// add adds a path that lies on a drawing placed at a point. It is turned to run
// clockwise, since in one path with others two that run against each other would
// cancel out where they cross.
func (l *layer) add(p sheet.Path, at sheet.Point) {
	p = moved(p, at)
	if area(p) < 0 {
		p = reversed(p)
	}
	l.paths = append(l.paths, p)
}

// layers sorts a page by colour, in the order in which it is printed: each tint
// of the second colour, then black, which is there always. Letters come as
// outlines.
func layers(page sheet.Page) ([]layer, error) {
	var second []layer
	black := layer{name: "black"}
	for _, p := range page.Crop {
		black.add(p, sheet.Point{})
	}
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
			of(a.Colour, d.Tint).add(a.Path, d.At)
		}
		for _, t := range d.Texts {
			p, err := t.Outline()
			if err != nil {
				return nil, err
			}
			of(t.Colour, d.Tint).add(p, d.At)
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

// area is twice the area within a path's corners, holes taken off: above zero
// where it runs clockwise, with y downward.
func area(p sheet.Path) (sum int64) {
	var start, last sheet.Point
	cross := func(to sheet.Point) {
		sum += int64(last.X)*int64(to.Y) - int64(to.X)*int64(last.Y)
		last = to
	}
	for _, seg := range p {
		if seg.Op == sheet.Move {
			cross(start)
			start, last = seg.To[0], seg.To[0]
			continue
		}
		points := seg.Points()
		cross(points[len(points)-1])
	}
	cross(start)
	return sum
}

// reversed returns a path that runs the other way round.
func reversed(p sheet.Path) sheet.Path {
	out := make(sheet.Path, 0, len(p))
	for end := len(p); end > 0; {
		from := end - 1
		for p[from].Op != sheet.Move && from > 0 {
			from--
		}
		last := p[end-1].Points()
		out = append(out, sheet.Segment{Op: sheet.Move, To: [3]sheet.Point{last[len(last)-1]}})
		for i := end - 1; i > from; i-- {
			before := p[i-1].Points()
			seg := sheet.Segment{Op: p[i].Op, To: [3]sheet.Point{before[len(before)-1]}}
			if seg.Op == sheet.Cube {
				seg.To = [3]sheet.Point{p[i].To[1], p[i].To[0], before[len(before)-1]}
			}
			out = append(out, seg)
		}
		end = from
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
