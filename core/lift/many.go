package lift

import "math"

// minTriangle is the smallest triangle of picks, mm², that holds a load.
const minTriangle = 1 * (1 - Tolerance)

// slack is how far, as a part of the reach, a fourth leg may be from just
// reaching its pick (site policy, no source).
const slack = 0.02

// three is a choice of three picks out of three or four, with its own hook.
type three struct {
	carry [3]int
	spare int // the leg left over; -1 of three
	hook  vec
	// The circle through the picks, for legs of one length.
	centre, normal vec
	radius         float64
	outside        bool // the legs are longer than the radius
}

// threes lists the choices whose triangle is not too small. A fourth leg may be
// slack on a rigid load, so every three of four are looked at.
func (h *hang) threes() (list [4]three, n int) {
	choices := [...]three{
		{carry: [3]int{0, 1, 2}, spare: 3}, {carry: [3]int{0, 1, 3}, spare: 2},
		{carry: [3]int{0, 2, 3}, spare: 1}, {carry: [3]int{1, 2, 3}, spare: 0},
	}
	count := 4
	if h.n == 3 {
		count, choices[0].spare = 1, -1
	}
	for _, t := range choices[:count] {
		p := h.picks[t.carry[0]]
		a, b := h.picks[t.carry[1]].minus(p), h.picks[t.carry[2]].minus(p)
		cross := a.cross(b)
		// Three legs that are set to length need no circle, so there the
		// determinant alone judges a small triangle.
		if cross.length()/2 < minTriangle && !(h.n == 3 && h.adjustable) {
			continue
		}
		out := cross.cross(a).by(b.dot(b)).plus(b.cross(cross).by(a.dot(a))).by(1 / (2 * cross.dot(cross)))
		t.centre, t.radius = p.plus(out), out.length()
		t.outside = !h.adjustable && outside(h.reach, a, b, t.radius)
		if cross.z < 0 {
			cross = cross.by(-1)
		}
		t.normal = cross.by(1 / cross.length())
		list[n] = t
		n++
	}
	return list, n
}

// many hangs a load from three or four picks.
func (h *hang) many() {
	if !inside(h.cg, h.picks[:h.n]) {
		h.end(WouldTip)
		return
	}
	list, n := h.threes()
	if n == 0 {
		h.end(WouldTip)
		return
	}
	var f Fault
	if h.adjustable {
		f = h.set(list[:n])
	} else {
		f = h.hang(list[:n])
	}
	if f != Hangs {
		h.end(f)
		return
	}
	for _, t := range list[:n] {
		if !(h.cg.z < t.hook.z) {
			h.end(WouldTip)
			return
		}
	}
	h.end(WouldTip) // unless one of them holds
	for _, t := range list[:n] {
		if tension, holds := h.tensions(t); holds {
			h.take(t.hook, tension[:], t.carry[:])
		}
	}
}

// hang finds the hooks over legs of one length.
func (h *hang) hang(list []three) Fault {
	for _, t := range list {
		if !(t.normal.z > 0) { // an upright triangle has no hook over it
			return WouldTip
		}
	}
	for i := range list {
		t := &list[i]
		if !t.outside {
			return ReachTooShort
		}
		t.hook = t.centre.plus(t.normal.by(math.Sqrt(h.reach*h.reach - t.radius*t.radius)))
	}
	for _, t := range list {
		if t.spare < 0 {
			continue
		}
		miss := math.Abs(t.hook.minus(h.picks[t.spare]).length() - h.reach)
		if !(miss <= slack*h.reach*(1+Tolerance)) {
			return LegsUnequal
		}
	}
	return Hangs
}

// set puts the hook of an adjustable sling straight over the centre of gravity.
func (h *hang) set(list []three) Fault {
	hook := vec{h.cg.x, h.cg.y, h.hook}
	for _, p := range h.picks[:h.n] {
		if hook.z <= p.z {
			return NoHookHeight
		}
	}
	for _, p := range h.picks[:h.n] {
		if h.longer(hook, p) {
			return ReachTooShort
		}
	}
	for i := range list {
		list[i].hook = hook
	}
	return Hangs
}

// tensions solves T1 u1 + T2 u2 + T3 u3 = up for the three legs that carry;
// false where they cannot hold the load.
func (h *hang) tensions(t three) (tension [3]float64, holds bool) {
	var u [3]vec
	for i, leg := range t.carry {
		u[i] = t.hook.minus(h.picks[leg]).unit()
	}
	up := t.hook.minus(h.cg).unit()
	det := u[0].dot(u[1].cross(u[2]))
	tension = [3]float64{
		up.dot(u[1].cross(u[2])) / det,
		up.dot(u[2].cross(u[0])) / det,
		up.dot(u[0].cross(u[1])) / det,
	}
	return tension, math.Abs(det) > singular && !pushes(tension[:])
}
