package lift

import (
	"math"

	"cribgate/core/quantity"
)

// Over tells whether the hook would stand higher than limit in the drawing.
func (h *Hanging) Over(limit quantity.Length) bool {
	m := mm(limit)
	size := math.Abs(m)
	if m == 0 {
		size = h.reach
	}
	return !(h.Hook <= m+size*Tolerance)
}

// Height is the largest height of the hook in the drawing, rounded up to a
// millimetre; 0 where the load does not hang.
func (h *Hanging) Height() quantity.Length {
	if h.Fault != Hangs {
		return 0
	}
	return up(h.Hook)
}

// Tilted tells whether the load would hang further from level than limit.
func (h *Hanging) Tilted(limit quantity.Angle) bool {
	return !(h.Tilt <= limit.Degrees()+Tolerance)
}

// Alike tells whether all legs lie within so many degrees of each other.
func (h *Hanging) Alike(degrees float64) bool {
	steepest := math.Inf(-1)
	for _, leg := range h.Legs() {
		steepest = max(steepest, leg.Angle)
	}
	return steepest-h.Flattest <= degrees+Tolerance
}

// SpreadAtLeast tells whether every leg is at least so many degrees from vertical.
func (h *Hanging) SpreadAtLeast(degrees float64) bool {
	for _, leg := range h.Legs() {
		if !(90-leg.Angle >= degrees-Tolerance) {
			return false
		}
	}
	return h.n > 0
}

// Opposed tells whether four picks are two pairs of opposites as seen from the
// centre of gravity in plan: in some pairing both pairs within 15° of a straight
// line through it (EN 818-6, symmetry of loading, from memory, not seen). A pick
// straight over or under the centre of gravity has no opposite.
func (h *Hanging) Opposed() bool { return h.opposed }

func opposed(picks [4]vec, cg vec) bool {
	var to [4]vec
	for i, p := range picks {
		to[i] = p.minus(cg).plan()
		if to[i] == (vec{}) {
			return false
		}
	}
	straight := func(i, j int) bool { return to[i].degrees(to[j]) >= 165-Tolerance }
	return straight(0, 1) && straight(2, 3) || straight(0, 2) && straight(1, 3) || straight(0, 3) && straight(1, 2)
}
