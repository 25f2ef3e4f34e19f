package removal

import (
	"cribgate/core/quantity"
	"cribgate/core/source"
)

// B30.10: a throat opened by 5 %, not over 1/4 in: the smaller of the two rules.
const (
	throatPercent = 5
	throatMost    = quantity.Inch / 4
)

// leftTenths is what must be left of a hook's section (B30.10) and of any other
// part's dimension (EN 818-6): nine tenths.
const leftTenths = 9

// leastLeft is that share of a dimension, rounded up to a micrometre.
func leastLeft(original quantity.Length) quantity.Length { return (original*leftTenths + 9) / 10 }

// twistStep is a twist that is crossed by more than itself.
type twistStep struct {
	grade  Grade
	more   quantity.Angle
	clause source.Clause
}

var twistSteps = [...]twistStep{
	{Out, 10 * quantity.Degree, source.HookTwistCFR},
	{Hold, 3 * quantity.Degree, source.HookTwistSteps},
	{Note, 1 * quantity.Degree, source.HookTwistSteps},
}

func (a *assessment) assessHook(h Hook) {
	a.assessThroat(h)
	for _, s := range twistSteps {
		if h.Twist > s.more {
			a.add(Finding{Code: HookTwisted, Grade: s.grade, Leg: h.Leg, Clause: s.clause})
			break
		}
	}
	a.assessWear(Finding{Leg: h.Leg}, HookWorn, HookUnknown, h.SectionNew, h.Section, source.HookWear)
	if h.Latch == LatchBent || h.Latch == LatchMissing {
		a.add(Finding{Code: LatchFault, Grade: Out, Leg: h.Leg, Clause: source.HookLatch})
	}
}

// throatGrowth is by how much a throat may open, in hundredths of a micrometre.
func throatGrowth(original quantity.Length) quantity.Length {
	return min(original*throatPercent, throatMost*100)
}

func (a *assessment) assessThroat(h Hook) {
	if h.ThroatNew == 0 {
		a.add(Finding{Code: ThroatUnknown, Grade: Hold, Leg: h.Leg, Clause: source.OriginalKnown})
		return
	}
	growth := throatGrowth(h.ThroatNew)
	if (h.Throat-h.ThroatNew)*100 > growth {
		a.add(Finding{
			Code: ThroatOpen, Grade: Out, Leg: h.Leg, Clause: source.ThroatOpening,
			Value: h.Throat, Limit: h.ThroatNew + growth/100,
		})
	}
}

func (a *assessment) assessPart(p Part) {
	a.assessWear(Finding{Leg: p.Leg, What: p.What}, PartWorn, PartUnknown, p.New, p.Thinnest, source.PartWear)
}

// assessWear completes and adds f, which says where it is, for a dimension that
// must not fall below nine tenths of itself when new.
func (a *assessment) assessWear(f Finding, worn, unknown Code, original, left quantity.Length, clause source.Clause) {
	switch {
	case original == 0:
		f.Code, f.Grade, f.Clause = unknown, Hold, source.OriginalKnown
	case left*10 < original*leftTenths:
		f.Code, f.Grade, f.Clause = worn, Out, clause
		f.Value, f.Limit = left, leastLeft(original)
	default:
		return
	}
	a.add(f)
}
