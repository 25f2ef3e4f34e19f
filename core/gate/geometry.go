package gate

import (
	"math"

	"cribgate/core/lift"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/source"
)

// byGeometry judges a lift by its picks. Every leg is held against its own
// tension; beside that the whole is held against the band of the flattest leg,
// or under a signed plan against the upper fitting.
func (d *decision) byGeometry(a *Answer, f factors) {
	l := d.q.Lift
	d.hitch(&f)
	h := lift.Hang(lift.Rig{
		Picks: l.Picks, CG: *l.CG, Reach: d.q.Sling.Reach, Adjustable: d.q.Sling.Adjustable, Hook: l.Hook,
	})
	if reason := ending(h.Fault); reason != NotDecided {
		d.reasons.add(reason)
		return
	}
	if l.HookMax != nil && h.Over(*l.HookMax) {
		d.reasons.add(ReachTooLong)
	}
	if h.Tilted(d.q.Policy.MaxTilt) {
		d.reasons.add(WouldTilt)
	}
	a.Tilt = quantity.MilliDegree * quantity.Angle(math.Round(h.Tilt*1000))
	a.Flattest = quantity.MilliDegree * quantity.Angle(math.Floor(h.Flattest*1000+1e-6))
	band, ok := bandAt(d.q.Sling.System, func(degrees int64) bool { return h.Flattest >= float64(degrees)-lift.Tolerance })
	d.banded(a.Flattest, band, ok)
	leg := h.Tension * d.required.Float()
	a.Leg = massOf(leg)
	d.step("largest tension of a leg", Figure{kind: massFigure, mass: a.Leg}, source.LegTension)
	if d.reasons.any(nothingAllowed) {
		return
	}
	d.judgeLegs(a, &h, band, f, leg)
}

// ending is the reason by which the geometry ends; [NotDecided] where the load hangs.
func ending(f lift.Fault) Reason {
	switch f {
	case lift.Hangs:
		return NotDecided
	case lift.ReachTooShort:
		return ReachTooShort
	case lift.LegsUnequal:
		return LegsUnequal
	case lift.WouldRoll:
		return WouldRoll
	case lift.WouldTip:
		return WouldTip
	}
	return LiftIncomplete
}

func (d *decision) judgeLegs(a *Answer, h *lift.Hanging, band rating.Basis, f factors, leg float64) {
	l := d.q.Lift
	allowed, rule := d.allowed(l.Legs, band, f)
	legAllowed := d.legAllowed(band, f)
	a.Allowed, a.LegAllowed = allowed.Floor(), legAllowed.Floor()
	limit := legAllowed.Float()
	even := d.even(h, allowed)
	if a.Even = even; even {
		limit *= 1.5 // the tables rate four legs as three; two of four may carry a rigid load
		d.factor("four legs that hang evenly", quantity.Ratio{Num: 3, Den: 2}, source.EvenLegs)
	}
	under := func(o Over) {
		if !d.reasons.any(SetOf(UnderRated)) {
			a.Over = o
		}
		d.reasons.add(UnderRated)
	}
	computed := d.q.Policy.Angles == AnglesComputed
	if (!computed || even) && d.required.More(allowed) {
		under(a.over(l.Legs, band, rule))
	}
	if !(leg <= limit*(1+lift.Tolerance)) {
		under(Over{What: LegOver, Needs: a.Leg, May: massOf(limit)})
	}
	if most, rule, ok := d.signedCap(band); ok && computed && d.required.More(most.Times(f.heat)) {
		under(Over{What: FittingOver, Needs: a.Required, May: most.Times(f.heat).Floor(), Rated: rule})
	}
}

// legAllowed is what one leg may carry: its rating, or its part of the rated
// load of the legs where that is more.
func (d *decision) legAllowed(band rating.Basis, f factors) quantity.Product {
	l := d.q.Lift
	base, _ := d.rating.Load(l.Legs, band, l.byTag())
	factor, _ := rating.Factor(l.Legs, band)
	leg, rule := d.rating.Leg, d.rating.LegSource
	if part := base.Times(factor.Inverse()); part.More(leg) {
		leg, rule = part, source.TagGoverns
	}
	leg = leg.Times(f.edge).Times(f.short).Times(f.heat)
	d.mass("allowed for one leg", leg, rule)
	return leg
}

// even tells whether four legs hang evenly (EN 818-6, symmetry of loading, from
// memory but for the 80 %).
func (d *decision) even(h *lift.Hanging, allowed quantity.Product) bool {
	if len(d.q.Lift.Picks) != 4 || !h.Opposed() || !h.Alike(15) {
		return false
	}
	if d.q.Sling.System != rating.EN {
		return true
	}
	return h.SpreadAtLeast(15) && (h.Alike(1) || !d.required.More(allowed.Times(percent(80))))
}

// signedCap is what the load is held against under a signed plan: the upper
// fitting's own rating where it is known, else the largest stamped load; false
// for singles, which are stamped one by one.
func (d *decision) signedCap(band rating.Basis) (most quantity.Product, rule source.Clause, ok bool) {
	if most, ok := d.fitting(band); ok {
		return most, source.UpperFitting, true
	}
	if d.q.Lift.Singles {
		return quantity.Product{}, source.None, false
	}
	return d.q.Sling.LargestStamp().Exact(), source.TagGoverns, true
}

// massOf is the nearest mass to a number of Mass's units, or the largest one.
func massOf(units float64) quantity.Mass {
	if !(units < math.MaxInt64) {
		return math.MaxInt64
	}
	return quantity.Mass(math.Round(units))
}
