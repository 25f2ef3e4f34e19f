package pdf

import (
	"fmt"
	"strconv"

	"cribgate/core/quantity"
)

// A Page is a page under way. Lengths are counted from its top left corner, x
// to the right and y downward.
type Page struct {
	doc           *Writer
	width, height quantity.Length
	content       []byte
	ink           Ink
}

// Ink is a colour of light, as the red, green and blue of a screen (DeviceRGB;
// grey and black are DeviceGray, so that a printer takes its black ink for
// them). The zero Ink is black.
type Ink struct{ R, G, B uint8 }

func (p *Page) begin(width, height quantity.Length) {
	p.width, p.height, p.ink = width, height, Ink{}
	// From here on a unit is a micrometre and y runs downward.
	b := append(p.content[:0], unit...)
	b = append(b, " 0 0 -"...)
	b = append(b, unit...)
	b = append(b, " 0 "...)
	b = decimal(b, points(height))
	p.content = append(b, " cm\n"...)
}

// unit is a micrometre in points, 72/25,400, to one part in ten billion.
const unit = ".00283464566929"

// End writes the page.
func (p *Page) End() error { return p.doc.end(p) }

// Ink sets the colour of all that follows on the page. A page begins in black.
func (p *Page) Ink(c Ink) {
	if c == p.ink {
		return
	}
	p.ink = c
	b := decimal(p.content, float64(c.R)/255)
	if c.R == c.G && c.G == c.B {
		p.content = append(b, " g\n"...)
		return
	}
	b = decimal(append(b, ' '), float64(c.G)/255)
	b = decimal(append(b, ' '), float64(c.B)/255)
	p.content = append(b, " rg\n"...)
}

// Move begins a closed outline. The one before is closed.
func (p *Page) Move(x, y quantity.Length) { p.content = append(pair(p.content, x, y), "m\n"...) }

// Line draws on to a point.
func (p *Page) Line(x, y quantity.Length) { p.content = append(pair(p.content, x, y), "l\n"...) }

// Cube draws a cubic curve on to a point, over two control points.
func (p *Page) Cube(x1, y1, x2, y2, x, y quantity.Length) {
	b := pair(pair(pair(p.content, x1, y1), x2, y2), x, y)
	p.content = append(b, "c\n"...)
}

// Fill fills the outlines that were drawn since the last one, by the non-zero
// rule. Each is closed by it.
func (p *Page) Fill() { p.content = append(p.content, "f\n"...) }

func pair(b []byte, x, y quantity.Length) []byte {
	b = append(strconv.AppendInt(b, int64(x), 10), ' ')
	return append(strconv.AppendInt(b, int64(y), 10), ' ')
}

// A Grid draws outlines that run along the lines of a grid, counted in cells.
type Grid struct{ p *Page }

// Grid begins a grid of square cells with its top left corner at a point.
// Nothing else may be drawn on the page until [Grid.Fill].
func (p *Page) Grid(x, y, cell quantity.Length) Grid {
	b := append(p.content, "q "...)
	b = pair(b, cell, 0)
	b = pair(b, 0, cell)
	p.content = append(pair(b, x, y), "cm\n"...)
	return Grid{p}
}

// Move begins a closed outline. The one before is closed.
func (g Grid) Move(column, row int) { g.corner(column, row, 'm') }

// Line draws on to a corner of cells.
func (g Grid) Line(column, row int) { g.corner(column, row, 'l') }

func (g Grid) corner(column, row int, op byte) {
	b := append(cells(g.p.content, column), ' ')
	g.p.content = append(cells(b, row), ' ', op, '\n')
}

// cells adds a number that mostly has one or two digits.
func cells(b []byte, n int) []byte {
	switch {
	case n < 0 || n > 99:
		return strconv.AppendInt(b, int64(n), 10)
	case n > 9:
		return append(b, byte('0'+n/10), byte('0'+n%10))
	}
	return append(b, byte('0'+n))
}

// Fill fills the outlines, by the non-zero rule, and ends the grid.
func (g Grid) Fill() { g.p.content = append(g.p.content, "f Q\n"...) }

// A Stamp is an area that recurs in a document and is written once.
type Stamp struct {
	index, number int
}

// Stamp makes a stamp of closed outlines: draw draws them on a page of its own,
// from its own point 0, 0, and nothing else. Box is how far they reach from
// there in every direction. What inks it is the colour of the page at the time.
func (w *Writer) Stamp(box quantity.Length, draw func(*Page)) *Stamp {
	s := &Stamp{index: len(w.stamps), number: w.reserve()}
	w.stamps = append(w.stamps, s)
	p := Page{doc: w}
	draw(&p)
	p.Fill()
	more := fmt.Appendf(nil, "/Type/XObject/Subtype/Form/BBox[%d %d %d %d]", -box, -box, box, box)
	w.stream(s.number, more, p.content)
	return s
}

// Stamp puts a stamp with its own point 0, 0 at a point.
func (p *Page) Stamp(s *Stamp, x, y quantity.Length) {
	b := append(p.content, "q 1 0 0 1 "...)
	b = append(pair(b, x, y), "cm/S"...)
	b = strconv.AppendInt(b, int64(s.index), 10)
	p.content = append(b, " Do Q\n"...)
}

// Text sets one line of text with its baseline beginning at a point, without
// kerning. The em is size high. It fails, and the document with it, with
// ErrGlyph.
func (p *Page) Text(f *Font, size, x, y quantity.Length, line string) error {
	u := p.doc.use(f)
	b := append(p.content, "BT/F"...)
	b = strconv.AppendInt(b, int64(u.index), 10)
	b = append(b, " 1 Tf "...)
	b = pair(b, size, 0)
	b = pair(b, 0, -size)
	b = append(pair(b, x, y), "Tm<"...)
	for _, r := range line {
		code, err := u.code(r)
		if err != nil {
			err = fmt.Errorf("pdf: set %q: %w", line, err)
			p.doc.fail(err)
			return err
		}
		const digits = "0123456789abcdef"
		b = append(b, digits[code>>12], digits[code>>8&15], digits[code>>4&15], digits[code&15])
	}
	p.content = append(b, ">Tj ET\n"...)
	return nil
}
