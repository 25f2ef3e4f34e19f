package lift

import (
	"math"

	"cribgate/core/quantity"
)

// Picture is a load as it hangs, to be drawn: in whole millimetres, the plumb line
// through the hook at X = Y = 0, Z up from the lowest pick. X runs the way in which
// the picks are furthest apart, so that X and Z are the side view, X and Y the plan.
// Where several positions are possible it is the one with the most tilt. The zero
// Picture shows nothing.
type Picture struct {
	Hook  Point
	CG    Point
	Picks []Point // in the order of the rig
	Legs  []Leg   // of each pick
	// Box is the box around picks and centre of gravity that stands upright in the
	// drawing, as it hangs: four corners below, then the four above them.
	Box  [8]Point
	Tilt float64         // degrees from level
	Rise quantity.Length // of the hook over the lowest pick, rounded up
}

// Picture draws the rig that the hanging is of. It is the zero Picture where the
// load does not hang.
func (h *Hanging) Picture(r Rig) Picture {
	if h.Fault != Hangs || len(r.Picks) != h.n {
		return Picture{}
	}
	cg := r.CG.vec()
	turn := upright(cg.minus(h.pose).unit())
	var at []vec
	low, high := cg, cg
	for _, p := range r.Picks {
		v := p.vec()
		at = append(at, turn.of(v.minus(h.pose)))
		low = vec{min(low.x, v.x), min(low.y, v.y), min(low.z, v.z)}
		high = vec{max(high.x, v.x), max(high.y, v.y), max(high.z, v.z)}
	}
	turn = turn.then(along(at))
	floor := math.Inf(1)
	for i, p := range r.Picks {
		at[i] = turn.of(p.vec().minus(h.pose))
		floor = min(floor, at[i].z)
	}
	place := func(v vec) Point { return point(turn.of(v.minus(h.pose)).minus(vec{0, 0, floor})) }
	p := Picture{Hook: place(h.pose), CG: place(cg), Legs: h.Legs(), Tilt: h.Tilt, Rise: up(-floor)}
	for _, v := range r.Picks {
		p.Picks = append(p.Picks, place(v.vec()))
	}
	for i := range p.Box {
		corner := low
		if i%4 == 1 || i%4 == 2 {
			corner.x = high.x
		}
		if i%4 >= 2 {
			corner.y = high.y
		}
		if i >= 4 {
			corner.z = high.z
		}
		p.Box[i] = place(corner)
	}
	return p
}

// Even is a rig for drawing a lift of which only the legs are known: two to four
// picks of one height, evenly around the centre of gravity, over a span. The centre
// of gravity lies a quarter of the span below them.
func Even(legs int, span, reach quantity.Length) Rig {
	r := Rig{CG: Point{Z: -max(nearest(mm(span)/4), quantity.Millimetre)}, Reach: reach}
	for i := range legs {
		a := math.Pi + 2*math.Pi*float64(i)/float64(legs)
		if legs == 4 {
			a += math.Pi / 4
		}
		r.Picks = append(r.Picks, point(vec{math.Cos(a), math.Sin(a), 0}.by(mm(span)/2)))
	}
	return r
}

// One is the picture of a single upright leg.
func One(reach quantity.Length) Picture {
	return Picture{Hook: Point{Z: reach}, Picks: []Point{{}}, Legs: []Leg{{Tension: 1, Angle: 90, Length: mm(reach)}}, Rise: reach}
}

func point(v vec) Point { return Point{nearest(v.x), nearest(v.y), nearest(v.z)} }

// turning is a rotation, by its rows.
type turning [3]vec

func (t turning) of(v vec) vec { return vec{t[0].dot(v), t[1].dot(v), t[2].dot(v)} }

// then is t and after it a turn about the plumb line that brings a direction of the
// plan to X.
func (t turning) then(x vec) turning {
	return turning{t[0].by(x.x).plus(t[1].by(x.y)), t[1].by(x.x).minus(t[0].by(x.y)), t[2]}
}

// upright is the smallest rotation that brings down to straight down.
func upright(down vec) turning {
	z := down.by(-1)
	// Rodrigues about z × (0,0,1), whose length is the sine of the tilt.
	s := vec{z.y, -z.x, 0}
	f := 1 / (1 + z.z) // the hook is above the centre of gravity, so z.z is above 0
	return turning{
		{1 - z.x*z.x*f, -z.x * z.y * f, s.y},
		{-z.x * z.y * f, 1 - z.y*z.y*f, -s.x},
		z,
	}
}

// along is the direction in plan in which places are furthest apart, the first of
// them on the side of minus X.
func along(places []vec) vec {
	var middle vec
	for _, p := range places {
		middle = middle.plus(p.by(1 / float64(len(places))))
	}
	var xx, xy, yy float64
	for _, p := range places {
		d := p.minus(middle)
		xx, xy, yy = xx+d.x*d.x, xy+d.x*d.y, yy+d.y*d.y
	}
	a := math.Atan2(2*xy, xx-yy) / 2
	if math.Abs(xy) < 1e-9*(xx+yy) && math.Abs(xx-yy) < 1e-9*(xx+yy) {
		a = 0 // alike in every direction
	}
	x := vec{math.Cos(a), math.Sin(a), 0}
	if places[0].minus(middle).dot(x) > 0 {
		return x.by(-1)
	}
	return x
}
