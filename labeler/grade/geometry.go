package grade

import (
	"math"

	"cribgate/labeler/symbol"
)

// Bounds within which axial and grid non-uniformity are given (common practice, no
// source): at five times the symbol's width, a camera 12° askew makes opposite
// sides differ by 4 % and shortens one side by 2 %.
const (
	squareKeystone = 0.04
	squareSkew     = 3.0 // degrees
)

// A stance is how the camera stood to the symbol.
type stance struct {
	pixels   float64 // a module, at the shortest
	keystone float64 // the larger difference of two opposite sides, over their mean
	skew     float64 // degrees that the sides are off a right angle
	axial    float64 // difference of width and height of a module, over their mean
}

// square tells whether it stood straight enough to compare lengths.
func (s stance) square() bool { return s.keystone <= squareKeystone && s.skew <= squareSkew }

// stanceOf measures it on the grid that was found.
func stanceOf(v View) stance {
	const n = symbol.Modules
	along := func(x0, y0, x1, y1 float64) (dx, dy, length float64) {
		ax, ay := v.At(x0, y0)
		bx, by := v.At(x1, y1)
		return bx - ax, by - ay, math.Hypot(bx-ax, by-ay)
	}
	_, _, top := along(0, 0, n, 0)
	_, _, bottom := along(0, n, n, n)
	_, _, left := along(0, 0, 0, n)
	_, _, right := along(n, 0, n, n)
	rx, ry, width := along(0, n/2., n, n/2.)
	dx, dy, height := along(n/2., 0, n/2., n)

	s := stance{
		keystone: max(math.Abs(top-bottom)/(top+bottom), math.Abs(left-right)/(left+right)) * 2,
		skew:     math.Asin(min(math.Abs(rx*dx+ry*dy)/(width*height), 1)) * 180 / math.Pi,
		axial:    math.Abs(width-height) / (width + height) * 2,
		pixels:   math.Inf(1),
	}
	for _, c := range [...][2]float64{{0, 0}, {n - 1, 0}, {0, n - 1}, {n - 1, n - 1}, {n / 2, n / 2}} {
		_, _, w := along(c[0], c[1], c[0]+1, c[1])
		_, _, h := along(c[0], c[1], c[0], c[1]+1)
		s.pixels = min(s.pixels, w, h)
	}
	return s
}
