package lift

import (
	"math"

	"cribgate/core/quantity"
)

// Tolerance is how near, relative to its size, a result of geometry counts as
// equal to a limit; for angles it is in degrees.
const Tolerance = 1e-9

// Point is a place in the drawing of the load, z up.
type Point struct{ X, Y, Z quantity.Length }

// Rig is a load as drawn, level, and the legs that it hangs from.
type Rig struct {
	Picks      []Point // 2, 3 or 4, one per leg that carries
	CG         Point   // centre of gravity
	Reach      quantity.Length
	Adjustable bool
	Hook       *quantity.Length // height of the hook in the drawing; for adjustable slings only, nil where not stated
}

// Fault says how the matter ended. The zero Fault is "not judged", so that a
// Hanging that nobody computed permits nothing.
type Fault uint8

// The faults.
const (
	NotJudged Fault = iota
	Hangs           // it hangs; the rest of the Hanging holds
	NoHookHeight
	ReachTooShort
	LegsUnequal
	WouldRoll
	WouldTip
)

// String names the fault for a log or a test.
func (f Fault) String() string {
	switch f {
	case Hangs:
		return "hangs"
	case NoHookHeight:
		return "hook height missing"
	case ReachTooShort:
		return "reach too short"
	case LegsUnequal:
		return "legs unequal"
	case WouldRoll:
		return "would roll"
	case WouldTip:
		return "would tip"
	}
	return "not judged"
}

// Leg is what one leg does, in the order of the picks.
type Leg struct {
	Tension float64 // largest share of the load it may have to carry
	Angle   float64 // smallest angle from horizontal, degrees, with the load hanging
	Length  float64 // mm: the reach, or what an adjustable leg is set to
}

// Hanging is how a load hangs. Unless Fault is Hangs nothing else in it holds.
// Where several positions are possible every figure is the worst of them.
type Hanging struct {
	Fault    Fault
	Tension  float64 // largest share of the load on one leg
	Flattest float64 // smallest angle of a leg from horizontal, degrees
	Tilt     float64 // how far from level, degrees
	Hook     float64 // largest height of the hook in the drawing, mm
	legs     [4]Leg
	n        int
	reach    float64
	opposed  bool
	pose     vec // where the hook stands in the drawing, in the position with the most tilt
}

// Legs lists the legs in the order of the picks; empty where the load does not hang.
func (h *Hanging) Legs() []Leg { return h.legs[:h.n] }

// Hang works out how the load of a rig hangs. It is [NotJudged] where the rig
// has fewer than two or more than four picks.
func Hang(r Rig) Hanging {
	if len(r.Picks) < 2 || len(r.Picks) > 4 {
		return Hanging{}
	}
	var h hang
	h.draw(r)
	switch {
	case r.Adjustable && r.Hook == nil:
		return Hanging{Fault: NoHookHeight}
	case h.n == 2:
		h.two()
	default:
		h.many()
	}
	if h.Fault == Hangs && !h.finite() {
		h.Fault = WouldTip
	}
	if h.Fault != Hangs {
		return Hanging{Fault: h.Fault}
	}
	return h.Hanging
}

// hang is a Hanging in the making.
type hang struct {
	Hanging
	picks      [4]vec
	cg         vec
	adjustable bool
	hook       float64
}

func (h *hang) draw(r Rig) {
	h.cg, h.adjustable = r.CG.vec(), r.Adjustable
	h.n, h.reach = len(r.Picks), mm(r.Reach)
	for i, p := range r.Picks {
		h.picks[i] = p.vec()
	}
	if r.Hook != nil {
		h.hook = mm(*r.Hook)
	}
	h.Flattest = math.Inf(1)
	h.Hook = math.Inf(-1)
	for i := range h.n {
		h.legs[i] = Leg{Angle: math.Inf(1), Length: h.reach}
	}
	h.opposed = h.n == 4 && opposed(h.picks, h.cg)
}

func (h *hang) end(f Fault) { h.Fault = f }

// longer tells whether an adjustable leg would have to be longer than the
// reach to get from a pick to the hook.
func (h *hang) longer(hook, pick vec) bool {
	return hook.minus(pick).length() > h.reach*(1+Tolerance)
}

// take keeps the worst of one possible position: hook and tensions of the legs
// that carry in it. Angles count for every leg, also one that is slack.
func (h *hang) take(hook vec, tension []float64, carry []int) {
	down := h.cg.minus(hook).unit()
	up := down.by(-1)
	for i := range h.n {
		leg := hook.minus(h.picks[i])
		angle := math.Atan2(leg.dot(up), leg.cross(up).length()) * 180 / math.Pi
		h.legs[i].Angle = min(h.legs[i].Angle, angle)
		h.Flattest = min(h.Flattest, angle)
		if h.adjustable {
			h.legs[i].Length = leg.length()
		}
	}
	for i, leg := range carry {
		h.legs[leg].Tension = max(h.legs[leg].Tension, tension[i])
		h.Tension = max(h.Tension, tension[i])
	}
	if tilt := down.degrees(vec{0, 0, -1}); h.Fault != Hangs || tilt > h.Tilt {
		h.Tilt, h.pose = tilt, hook
	}
	h.Hook = max(h.Hook, hook.z)
	h.Fault = Hangs
}

func (h *hang) finite() bool {
	for _, f := range [...]float64{h.Tension, h.Flattest, h.Tilt, h.Hook} {
		if math.IsNaN(f) || math.IsInf(f, 0) {
			return false
		}
	}
	return true
}
