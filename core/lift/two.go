package lift

import "math"

// two hangs a load from two picks. It rolls about the line through them until
// its centre of gravity G hangs below it; the hook lies in the plane of the line
// and G. Statics of a body hung from one hook; at level picks the tensions are
// those of US Army FM 5-125, T = W·D2·L1 / (H(D1+D2)).
func (h *hang) two() {
	p1, p2 := h.picks[0], h.picks[1]
	along := p2.minus(p1)
	s := along.length()
	if s == 0 {
		h.end(WouldTip)
		return
	}
	e := along.by(1 / s)
	foot := p1.plus(e.by(h.cg.minus(p1).dot(e)))
	off := h.cg.minus(foot)
	c := off.length()
	if c < 1-Tolerance || along.plan() == (vec{}) || !above(p1, along, h.cg) {
		h.end(WouldRoll)
		return
	}
	n := off.by(-1 / c)
	hook, fault := h.hookOverLine(e, n, s)
	if fault != Hangs {
		h.end(fault)
		return
	}
	u1, u2 := hook.minus(p1).unit(), hook.minus(p2).unit()
	up := hook.minus(h.cg).unit()
	// T1 u1 + T2 u2 = up, in the plane of e and n.
	a1, b1, a2, b2 := u1.dot(e), u1.dot(n), u2.dot(e), u2.dot(n)
	upE, upN := up.dot(e), up.dot(n)
	det := a1*b2 - a2*b1
	t := []float64{(upE*b2 - a2*upN) / det, (a1*upN - upE*b1) / det}
	if !(math.Abs(det) > singular) || pushes(t) {
		h.end(WouldTip)
		return
	}
	h.take(hook, t, []int{0, 1})
}

func (h *hang) hookOverLine(e, n vec, s float64) (vec, Fault) {
	p1, p2 := h.picks[0], h.picks[1]
	if !h.adjustable {
		if along := p2.minus(p1); 4*h.reach*h.reach <= along.dot(along) { // exact for whole millimetres
			return vec{}, ReachTooShort
		}
		middle := p1.plus(p2).by(0.5)
		return middle.plus(n.by(math.Sqrt(h.reach*h.reach - s*s/4))), Hangs
	}
	// Set so that it hangs level along the line: the hook is over G where "over"
	// leans with the line by as much as the line itself does.
	sin := e.z
	over := e.by(sin).plus(n.by(math.Hypot(e.x, e.y)))
	hook := h.cg.plus(over.by((h.hook - h.cg.z) / over.z))
	switch {
	case p1.z == p2.z && !(h.hook > p1.z), !(hook.minus(p1).dot(n) > 0):
		return vec{}, NoHookHeight
	case h.longer(hook, p1) || h.longer(hook, p2):
		return vec{}, ReachTooShort
	}
	return hook, Hangs
}

// singular is the size up to which a determinant of unit vectors counts as 0.
const singular = 1e-9

// pushes tells whether a leg would have to push, which a chain cannot: a
// tension below 0 by more than a millionth of the load.
func pushes(tension []float64) bool {
	for _, t := range tension {
		if !(t >= -1e-6) {
			return true
		}
	}
	return false
}
