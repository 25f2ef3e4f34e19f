package gate

import (
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/source"
)

// factors is what the lift leaves of a rating, all known fractions.
type factors struct {
	choke, edge, short, heat, balance quantity.Ratio
}

// byTag tells whether the load stamped for just these legs and this angle
// stands for itself; for a basket and for singles the leg's rating × factor
// always counts.
func (l *Lift) byTag() bool { return l.Hitch != Basket && !l.Singles }

// allowed is what the sling may carry with so many legs at a basis, and the
// clause that sets it. It is not known, which permits nothing, where the sling has
// no rating.
func (d *decision) allowed(legs int, band rating.Basis, f factors) (allowed quantity.Product, rule source.Clause) {
	base, rule := d.rating.Load(legs, band, d.q.Lift.byTag())
	d.massAt("rated load of the legs", band, base, rule)
	allowed = base.Times(f.choke).Times(f.edge).Times(f.short).Times(f.heat).Times(f.balance)
	if upper, why, ok := d.upper(band); ok {
		d.mass("upper fitting carries at most", upper, why)
		least := quantity.Least(allowed, upper.Times(f.heat))
		if allowed.More(least) {
			rule = why
		}
		allowed = least
	}
	d.mass("allowed for this lift", allowed, rule)
	return allowed, rule
}

// over says what would carry more than it may by the clause that sets the
// allowance: the upper fitting, or the sling as it is rated for so many legs at a
// basis.
func (a *Answer) over(legs int, band rating.Basis, rule source.Clause) Over {
	if rule == source.UpperFitting {
		return Over{What: FittingOver, Needs: a.Required, May: a.Allowed, Rated: rule}
	}
	return Over{What: SlingOver, Needs: a.Required, May: a.Allowed, Rated: rule, Legs: legs, Basis: band}
}

// upper is what the upper fitting may carry: its own rating where it is known
// (singles have one each), and in a basket never more than the largest load
// stamped on the sling. False where neither is given.
func (d *decision) upper(band rating.Basis) (most quantity.Product, rule source.Clause, ok bool) {
	l := d.q.Lift
	most, ok = d.fitting(band)
	rule = source.UpperFitting
	if stamp := d.q.Sling.LargestStamp(); l.Hitch == Basket && stamp > 0 {
		if !ok || most.More(stamp.Exact()) {
			most, rule = stamp.Exact(), source.BasketNeverAbove
		}
		ok = true
	}
	return most, rule, ok
}

// fitting is the rating of the upper fitting, of all fittings together for
// singles; false where it is not given.
func (d *decision) fitting(band rating.Basis) (quantity.Product, bool) {
	s, l := &d.q.Sling, d.q.Lift
	if s.Master == 0 {
		return quantity.Product{}, false
	}
	f := whole
	if l.Singles {
		f, _ = rating.Factor(l.Legs, band)
	}
	return s.Master.Times(f), true
}

// capacity is what the sling's own legs may carry without a stated lift.
func (d *decision) capacity(after quantity.Ratio) []Capacity {
	s := &d.q.Sling
	choke := percent(80)
	rule := source.Choke120
	if d.q.Policy.Choke == ChokeStrict {
		choke, rule = percent(75), source.ChokeStrict
	}
	list := make([]Capacity, 0, 3)
	add := func(b rating.Basis, choked bool, f quantity.Ratio) {
		c := Capacity{Basis: b, Choked: choked}
		if !d.reasons.any(nothingAllowed) {
			load, why := d.rating.Load(s.Legs, b, true)
			if load = load.Times(f); choked {
				why = rule
			}
			if s.Master > 0 {
				load = quantity.Least(load, s.Master.Exact())
			}
			load = load.Times(after)
			c.Load = load.Floor()
			d.mass("may carry, "+c.words(), load, why)
		}
		list = append(list, c)
	}
	for _, b := range rating.Bases(s.System, s.Legs) {
		add(b, false, whole)
		if b == rating.Vertical {
			add(b, true, choke)
		}
	}
	return list
}

func (c Capacity) words() string {
	if c.Choked {
		return "one leg choked over 120°"
	}
	return c.Basis.Words()
}
