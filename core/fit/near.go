package fit

import (
	"cmp"
	"slices"

	"cribgate/core/gate"
)

// Miss is a sling that nearly fits: one thing stands against it, and nothing else.
type Miss struct {
	Offer
	Wrong gate.Reason
}

// miss is why a sling is not offered; the zero miss is none.
type miss struct {
	wrong gate.Reason
	short int64
}

// nearest keeps the slings that come nearest to fitting.
type nearest struct {
	most int
	kept []nearly
}

type nearly struct {
	Offer
	miss
	tier int
}

// tier says how much it takes to put a thing right: a minute at the counter, another
// lift, or the work of someone else. False where no sling becomes fit by it.
func tier(wrong gate.Reason) (int, bool) {
	switch wrong {
	case gate.Unchecked, gate.DueBeforeReturn, gate.DefectBeforeReturn, gate.LiftIncomplete, gate.ReachUnknown, gate.FittingUnknown:
		return 0, true
	case gate.UnderRated, gate.AngleTooFlat, gate.ReachTooShort, gate.ReachTooLong, gate.LegsUnequal, gate.WouldTilt,
		gate.LegsMismatch, gate.HitchNotAllowed, gate.WrongFitting, gate.RingTooSmall, gate.TooFewTogether, gate.TooHot, gate.TooCold:
		return 1, true
	case gate.Retired, gate.Lost, gate.HeatScrapped, gate.SpecialLift, gate.WouldRoll, gate.WouldTip, gate.NotAlike:
		return 0, false
	}
	return 2, true
}

func (n *nearest) add(o Offer, m miss) {
	t, ok := tier(m.wrong)
	if !ok || n.most <= 0 {
		return
	}
	x := nearly{o, m, t}
	if len(n.kept) == n.most && !x.before(&n.kept[n.most-1]) {
		return
	}
	at, _ := slices.BinarySearchFunc(n.kept, x, func(a, b nearly) int {
		if a.before(&b) {
			return -1
		}
		return 1
	})
	if len(n.kept) == n.most {
		n.kept = n.kept[:n.most-1]
	}
	n.kept = slices.Insert(n.kept, at, x)
}

// before orders what nearly fits: what is soonest put right, then what is least
// under-rated, then as the fits are.
func (a *nearly) before(b *nearly) bool {
	order, _ := compare(&a.Offer, &b.Offer)
	return cmp.Or(cmp.Compare(a.tier, b.tier), cmp.Compare(a.wrong, b.wrong), cmp.Compare(a.short, b.short), order) < 0
}

func (n *nearest) list() []Miss {
	list := make([]Miss, len(n.kept))
	for i, x := range n.kept {
		list[i] = Miss{x.Offer, x.wrong}
	}
	return list
}
