package sheet

import (
	"cribgate/core/quantity"
	"cribgate/labeler/symbol"
)

// Op says how a segment runs.
type Op uint8

// The operations, with the points of Segment.To that they use.
const (
	Move Op = iota // 1: begin a closed outline
	Line           // 1
	Cube           // 3: control, control, end
)

// A Segment is one step of an outline.
type Segment struct {
	Op Op
	To [3]Point
}

// Points returns those of the segment's points that its operation uses.
func (s Segment) Points() []Point { return s.To[:[...]int{1, 1, 3}[s.Op]] }

// A Path is one or more closed outlines, filled by the non-zero rule.
type Path []Segment

func (p *Path) add(op Op, to ...Point) {
	s := Segment{Op: op}
	copy(s.To[:], to)
	*p = append(*p, s)
}

// control is how far the control point of a cubic lies from its end for a
// quarter of a circle: 4/3 × (√2 − 1) of the radius, which is true to 0.03 %.
func control(radius quantity.Length) quantity.Length {
	return quantity.Length(0.5522847498*float64(radius) + 0.5)
}

// circle returns a filled circle.
func circle(centre Point, radius quantity.Length) Path {
	var p Path
	p.circle(centre, radius, 1)
	return p
}

// ring returns the area between two circles around one centre.
func ring(centre Point, outer, inner quantity.Length) Path {
	p := circle(centre, outer)
	p.circle(centre, inner, -1) // against the way of the outer one, so that it cuts a hole
	return p
}

// circle adds a circle that runs clockwise, or with turn -1 the other way.
func (p *Path) circle(centre Point, r, turn quantity.Length) {
	c := control(r)
	at := func(x, y quantity.Length) Point { return pt(centre.X+x, centre.Y+turn*y) }
	p.add(Move, at(r, 0))
	p.add(Cube, at(r, c), at(c, r), at(0, r))
	p.add(Cube, at(-c, r), at(-r, c), at(-r, 0))
	p.add(Cube, at(-r, -c), at(-c, -r), at(0, -r))
	p.add(Cube, at(c, -r), at(r, -c), at(r, 0))
}

// frame returns the strip of a line's width along the inside of a rectangle
// with rounded corners.
func frame(corner Point, w, h, r, line quantity.Length) Path {
	var p Path
	p.rectangle(corner, w, h, r, false)
	p.rectangle(pt(corner.X+line, corner.Y+line), w-2*line, h-2*line, max(0, r-line), true)
	return p
}

// Rectangle returns a filled rectangle.
func Rectangle(r Rect) Path {
	var p Path
	p.rectangle(r.Min, r.Max.X-r.Min.X, r.Max.Y-r.Min.Y, 0, false)
	return p
}

// Modules returns the dark modules of a symbol as one area. Corner is that of the grid,
// the quiet zone outside it is the caller's to keep clear.
func Modules(s symbol.Symbol, corner Point, module quantity.Length) Path {
	var p Path
	for _, outline := range s.Contours() {
		for i, c := range outline {
			op := Line
			if i == 0 {
				op = Move
			}
			p.add(op, pt(corner.X+quantity.Length(c.X)*module, corner.Y+quantity.Length(c.Y)*module))
		}
	}
	return p
}

// rectangle adds a rectangle with rounded corners that runs clockwise, or
// mirrored and so the other way.
func (p *Path) rectangle(corner Point, w, h, r quantity.Length, mirrored bool) {
	at := func(x, y quantity.Length) Point {
		if mirrored {
			x = w - x
		}
		return pt(corner.X+x, corner.Y+y)
	}
	c := r - control(r)
	p.add(Move, at(r, 0))
	for _, side := range [][4]Point{
		{at(w-r, 0), at(w-c, 0), at(w, c), at(w, r)},
		{at(w, h-r), at(w, h-c), at(w-c, h), at(w-r, h)},
		{at(r, h), at(c, h), at(0, h-c), at(0, h-r)},
		{at(0, r), at(0, c), at(c, 0), at(r, 0)},
	} {
		p.add(Line, side[0])
		if r > 0 {
			p.add(Cube, side[1:]...)
		}
	}
}
