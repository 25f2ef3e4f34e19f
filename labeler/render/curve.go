package render

import (
	"math"

	"cribgate/core/quantity"
	"cribgate/labeler/sheet"
)

// flatten turns a path into closed outlines of straight pieces, none of which
// lies farther than CurveTolerance from its curve, before it is rounded to
// micrometres. The last point of an outline is not the first one again.
func flatten(p sheet.Path) [][]sheet.Point {
	var all [][]sheet.Point
	var points []sheet.Point
	end := func() {
		for len(points) > 1 && points[len(points)-1] == points[0] {
			points = points[:len(points)-1]
		}
		if len(points) > 2 { // fewer enclose nothing
			all = append(all, points)
		}
	}
	for _, seg := range p {
		switch seg.Op {
		case sheet.Move:
			end()
			points = []sheet.Point{seg.To[0]}
		case sheet.Line:
			points = append(points, seg.To[0])
		case sheet.Cube:
			points = cube(points, points[len(points)-1], seg.To)
		}
	}
	end()
	return all
}

// cube adds the pieces of a cubic curve. With n equal steps a chord lies no
// farther from the curve than an eighth of its largest second derivative over
// n squared, which is at most six times the larger bend of its control points.
func cube(points []sheet.Point, from sheet.Point, to [3]sheet.Point) []sheet.Point {
	x := [4]float64{float64(from.X), float64(to[0].X), float64(to[1].X), float64(to[2].X)}
	y := [4]float64{float64(from.Y), float64(to[0].Y), float64(to[1].Y), float64(to[2].Y)}
	bend := max(math.Hypot(x[0]-2*x[1]+x[2], y[0]-2*y[1]+y[2]), math.Hypot(x[1]-2*x[2]+x[3], y[1]-2*y[2]+y[3]))
	n := max(1, math.Ceil(math.Sqrt(6*bend/8/float64(CurveTolerance))))
	for i := 1.0; i <= n; i++ {
		t := i / n
		points = append(points, sheet.Point{X: along(x, t), Y: along(y, t)})
	}
	return points
}

// along is a coordinate of the curve at t from 0 to 1, to the micrometre.
func along(v [4]float64, t float64) quantity.Length {
	u := 1 - t
	return quantity.Length(math.Round(u*u*u*v[0] + 3*u*u*t*v[1] + 3*u*t*t*v[2] + t*t*t*v[3]))
}
