package gate

import (
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/source"
)

// FromHorizontal is the angle of a leg from horizontal. Half an included angle
// is exact in the units of Angle.
func (a Angle) FromHorizontal() quantity.Angle {
	switch a.From {
	case FromVertical:
		return 90*quantity.Degree - a.Size
	case BetweenLegs:
		return 90*quantity.Degree - a.Size/2
	}
	return a.Size
}

// bandAt is the basis that an angle falls in: the next lower tabulated angle
// (US OSHA, Guidance on Safe Sling Use); for EN 45° from vertical belongs to the
// steeper band. steepAs tells whether the legs are at least so many degrees from
// horizontal. False where they are too flat for any.
func bandAt(s rating.System, steepAs func(degrees int64) bool) (rating.Basis, bool) {
	us := s == rating.US
	switch {
	case us && steepAs(60):
		return rating.H60, true
	case us && steepAs(45):
		return rating.H45, true
	case us && steepAs(30):
		return rating.H30, true
	case !us && steepAs(45):
		return rating.B45, true
	case !us && steepAs(30):
		return rating.B60, true
	}
	return 0, false
}

// chokeFactor is what is left when choked at an angle of choke; false where it
// is too sharp. Over 120° US OSHA table 3; below, the trade's chain choke chart.
func chokeFactor(p Choke, a quantity.Angle) (left quantity.Ratio, rule source.Clause, ok bool) {
	switch {
	case a > 120*quantity.Degree && p == ChokeStrict:
		return percent(75), source.ChokeStrict, true
	case a > 120*quantity.Degree:
		return percent(80), source.Choke120, true
	case a >= 90*quantity.Degree:
		return percent(65), source.ChokeBelow120, true
	case a >= 60*quantity.Degree:
		return percent(55), source.ChokeBelow120, true
	case a >= 30*quantity.Degree:
		return percent(40), source.ChokeBelow120, true
	}
	return whole, source.ChokeBelow120, false
}

// edgeFactor is what is left when the chain, of nominal size d, bears on
// something of radius r (trade instructions after EN 818-6).
func edgeFactor(r, d quantity.Length) quantity.Ratio {
	switch {
	case r > 2*d:
		return whole
	case r > d:
		return percent(70)
	}
	return percent(50)
}

// bendFactor is what a basket leaves of the chain around something of radius r,
// by 2r/d with the next lower row; false below 2. From memory, not seen.
func bendFactor(r, d quantity.Length) (quantity.Ratio, bool) {
	switch {
	case 2*r >= 6*d:
		return whole, true
	case 2*r >= 5*d:
		return percent(90), true
	case 2*r >= 4*d:
		return percent(80), true
	case 2*r >= 3*d:
		return percent(70), true
	case 2*r >= 2*d:
		return percent(60), true
	}
	return whole, false
}

// smaller is the smaller of two known fractions.
func smaller(a, b quantity.Ratio) quantity.Ratio {
	if order, _ := a.Cmp(b); order > 0 {
		return b
	}
	return a
}
