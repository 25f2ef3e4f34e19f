package sheet

import (
	"math"

	"cribgate/core/quantity"
)

// Stroke is a straight line of a width, with square ends, as an area.
func Stroke(from, to Point, width quantity.Length) Path {
	dx, dy := float64(to.X-from.X), float64(to.Y-from.Y)
	long := math.Hypot(dx, dy)
	if long == 0 {
		return nil
	}
	x := quantity.Length(math.Round(-dy / long * float64(width) / 2))
	y := quantity.Length(math.Round(dx / long * float64(width) / 2))
	return polygon(pt(from.X+x, from.Y+y), pt(from.X-x, from.Y-y), pt(to.X-x, to.Y-y), pt(to.X+x, to.Y+y))
}

// Arc is a curved line of a width around a centre, from one direction to
// another in degrees, counted clockwise from the x axis, as an area.
func Arc(centre Point, radius, width quantity.Length, from, to float64) Path {
	const step = 3.0 // degrees; a chord then lies 0.03 % inside its arc
	n := max(1, int(math.Ceil(math.Abs(to-from)/step)))
	at := func(r quantity.Length, i int) Point {
		sin, cos := math.Sincos((from + (to-from)*float64(i)/float64(n)) * math.Pi / 180)
		return pt(centre.X+quantity.Length(math.Round(float64(r)*cos)), centre.Y+quantity.Length(math.Round(float64(r)*sin)))
	}
	var points []Point
	for i := 0; i <= n; i++ {
		points = append(points, at(radius+width/2, i))
	}
	for i := n; i >= 0; i-- {
		points = append(points, at(radius-width/2, i))
	}
	return polygon(points...)
}

func polygon(points ...Point) Path {
	var p Path
	for i, at := range points {
		if i == 0 {
			p.add(Move, at)
			continue
		}
		p.add(Line, at)
	}
	return p
}
