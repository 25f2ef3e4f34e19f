package gate

import (
	"math"
	"math/big"

	"cribgate/core/lift"
	"cribgate/core/quantity"
)

// geometry takes how the load hangs from package lift, which has a second
// implementation of its own, and judges it. It gives what is allowed.
func (o *oracle) geometry(w *wireAnswer, after, required *big.Rat) *big.Rat {
	s, l := &o.q.Sling, o.q.Lift
	heat, edge := o.begin(after), o.edge()
	var zero int64
	w.Leg, w.LegAllowed, w.Tilt = &zero, &zero, &zero
	mm := func(n int64) quantity.Length { return quantity.Length(n * 1000) }
	point := func(p oraclePoint) lift.Point { return lift.Point{X: mm(p.X), Y: mm(p.Y), Z: mm(p.Z)} }
	rig := lift.Rig{CG: point(*l.CG), Reach: mm(*s.Reach), Adjustable: s.Adjustable}
	for _, p := range l.Picks {
		rig.Picks = append(rig.Picks, point(p))
	}
	if l.Hook != nil {
		hook := mm(*l.Hook)
		rig.Hook = &hook
	}
	h := lift.Hang(rig)
	if h.Fault != lift.Hangs {
		o.has[map[lift.Fault]string{lift.NoHookHeight: "lift-incomplete", lift.ReachTooShort: "reach-too-short",
			lift.LegsUnequal: "legs-unequal", lift.WouldRoll: "would-roll", lift.WouldTip: "would-tip"}[h.Fault]] = true
		return nil
	}
	if l.HookMax != nil && h.Hook > float64(*l.HookMax)+1e-9*math.Abs(float64(*l.HookMax)) && (*l.HookMax != 0 || h.Hook > 1e-9*float64(*s.Reach)) {
		o.has["reach-too-long"] = true
	}
	limit := int64(5000)
	if o.q.Policy != nil && o.q.Policy.Tilt != nil {
		limit = *o.q.Policy.Tilt
	}
	if h.Tilt > float64(limit)/1000+1e-9 {
		o.has["would-tilt"] = true
	}
	us, basis, flat := s.System == "us", "", h.Flattest+1e-9
	switch {
	case flat < 30:
		o.has["angle-too-flat"] = true
	case us && flat >= 60:
		basis = "h60"
	case us && flat >= 45:
		basis = "h45"
	case us:
		basis = "h30"
	case flat >= 45:
		basis = "b45"
	default:
		basis = "b60"
	}
	need, _ := required.Float64()
	leg := h.Tension * need
	legG, tilt := int64(math.Round(leg)), int64(math.Round(h.Tilt*1000))
	w.Leg, w.Tilt = &legG, &tilt
	if o.zero() {
		return nil
	}
	base := o.base(l.Legs, basis, !l.Singles)
	part := new(big.Rat).Quo(base, oracleFactors[basis][classOf(l.Legs)])
	if part.Cmp(o.leg) < 0 {
		part = o.leg
	}
	legAllowed := times(part, edge, o.short(), heat)
	allowed := times(base, edge, o.short(), heat)
	fitting := o.fitting(basis)
	if fitting != nil {
		allowed = lesser(allowed, times(fitting, heat))
	}
	if share := new(big.Rat).SetFloat64(h.Tension); share.Sign() > 0 {
		one := new(big.Rat).Quo(legAllowed, share)
		o.limits = append(o.limits, one, times(one, rat(15, 10)), times(allowed, rat(8, 10)), times(o.largest(), heat))
	}
	even := len(l.Picks) == 4 && h.Opposed() && h.Alike(15)
	if even && !us {
		even = h.SpreadAtLeast(15) && (required.Cmp(times(allowed, rat(8, 10))) <= 0 || h.Alike(1))
	}
	most, _ := legAllowed.Float64()
	if even {
		most *= 1.5
	}
	computed := o.q.Policy != nil && o.q.Policy.Angles != nil && *o.q.Policy.Angles == "computed"
	over := leg > most*(1+1e-9) || (even || !computed) && required.Cmp(allowed) > 0
	if computed {
		if fitting == nil && !l.Singles {
			fitting = o.largest()
		}
		over = over || fitting != nil && required.Cmp(times(fitting, heat)) > 0
	}
	if over {
		o.has["under-rated"] = true
	}
	g := nearestGram(legAllowed)
	w.LegAllowed = &g
	return allowed
}
