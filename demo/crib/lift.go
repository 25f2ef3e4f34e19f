package crib

import (
	"fmt"
	"math/rand/v2"

	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
)

// How lifts are rigged here; common practice, no source.
var (
	steep    = []share[quantity.Angle]{{10, 75}, {15, 70}, {10, 65}, {35, 60}, {5, 50}, {20, 45}, {5, 40}} // from horizontal
	off      = []share[quantity.Angle]{{20, 15}, {30, 30}, {30, 40}, {15, 45}, {5, 50}}                    // from vertical
	singles  = []share[gate.Hitch]{{60, gate.Straight}, {35, gate.Choked}, {5, gate.Basket}}
	multiple = []share[gate.Hitch]{{93, gate.Straight}, {5, gate.Choked}, {2, gate.Basket}}
	// loads are parts of what the gate allows, in per cent. The last share is
	// of riggers who ask for too much.
	loads = []share[[2]int]{{40, [2]int{15, 50}}, {35, [2]int{50, 75}}, {22, [2]int{75, 92}}, {3, [2]int{105, 150}}}
)

// wanted states a lift for a sling, as a rigger would who knows what the
// sling is good for: mostly within it, now and then not, and now and then not
// stated to the end.
func wanted(r *rand.Rand, s gate.Sling, p gate.Policy, margin int, now, back quantity.Date) (gate.Lift, error) {
	l := gate.Lift{Use: gate.UseOrdinary, Legs: s.Legs, ReturnBy: back, Centred: r.IntN(100) < 97, Load: quantity.Pound}
	l.Hitch = choose(r, singles)
	if s.Legs > 1 {
		l.Hitch = choose(r, multiple)
	}
	if r.IntN(10) < 6 {
		l.Margin = margin
	}
	if l.Hitch == gate.Basket && s.Legs > 2 {
		l.Hitch = gate.Straight // of three and four legs there is no basket
	}
	if l.Hitch == gate.Basket || s.Legs > 1 {
		l.Angle = angle(r, s.System)
	}
	if l.Hitch != gate.Straight {
		bend := s.Size.Nominal() * quantity.Length(3+r.IntN(4))
		l.Edge = &bend
	}
	if l.Hitch == gate.Choked && r.IntN(100) < 97 {
		pull := quantity.Angle(95+r.IntN(60)) * quantity.Degree
		l.Choke = &pull
	}
	if s.Adjustable && r.IntN(100) < 15 {
		l.Shortened = gate.Cradled
	}
	if r.IntN(200) == 0 {
		l.Use = gate.UsePeople
	}
	answer, err := gate.Decide(gate.Question{ID: "size", Now: now, Policy: p, Sling: s, Lift: &l})
	if err != nil {
		return gate.Lift{}, fmt.Errorf("size a load: %w", err)
	}
	unit := 50 * quantity.Pound
	if s.System == rating.EN {
		unit = 25 * quantity.Kilogram
	}
	part := choose(r, loads)
	load := answer.Allowed.Times(quantity.Percent(int64(part[0] + r.IntN(part[1]-part[0])))).Floor()
	l.Load = max(load.Floor(unit), unit)
	return l, nil
}

func angle(r *rand.Rand, s rating.System) *gate.Angle {
	if s == rating.EN {
		return &gate.Angle{From: gate.FromVertical, Size: choose(r, off) * quantity.Degree}
	}
	return &gate.Angle{From: gate.FromHorizontal, Size: choose(r, steep) * quantity.Degree}
}
