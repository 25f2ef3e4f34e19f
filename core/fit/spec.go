package fit

import (
	"fmt"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/lift"
	"cribgate/core/quantity"
	"cribgate/core/rating"
)

// Spec is a sling as one would be ordered. The zero Spec is none. Specs are
// comparable.
type Spec struct {
	System rating.System
	Grade  rating.Grade
	Size   rating.Size
	Legs   int
	Reach  quantity.Length // 0 where any will do
	Lower  event.LowerFitting
	Inside quantity.Length // the upper link is to be wider than this; 0: any
}

// Words says the sling for people: "grade 80, 1/2 in, two legs, reach 2.5 m".
func (s Spec) Words(u quantity.Units) string {
	text := fmt.Sprintf("grade %d, %s, %s", s.Grade, s.Size.Words(), rating.LegsWords(s.Legs))
	if s.Reach > 0 {
		text += ", reach " + atLeast(u, s.Reach)
	}
	if s.Lower != "" {
		text += ", " + string(s.Lower)
	}
	if s.Inside > 0 {
		text += ", upper link wider inside than " + u.Length(s.Inside)
	}
	return text
}

// atLeast is a length for people that is rounded up, where they measure in inches.
func atLeast(u quantity.Units, l quantity.Length) string {
	if u == quantity.Imperial {
		l += quantity.Inch/2 - 1
		l = l.Floor(quantity.Inch / 2)
	}
	return u.Long(l)
}

// atMost is that rounded down.
func atMost(u quantity.Units, l quantity.Length) string {
	if u == quantity.Imperial {
		l = l.Floor(quantity.Inch / 2)
	}
	return u.Long(l)
}

// Sling is the sling that would come: stamped as the tables print it, inspected on
// the day.
func (s Spec) Sling(on quantity.Date) Sling {
	x := Sling{Ident: "new", Fittings: event.Fittings{Lower: s.Lower}, Against: Known()} // of a sling that is not there yet nothing is known
	x.Plate = rating.Plate{System: s.System, Grade: s.Grade, Size: s.Size, Legs: s.Legs, Reach: s.Reach}
	if s.Inside > 0 {
		x.Fittings.Inside = s.Inside + quantity.Millimetre
	}
	for _, b := range rating.Bases(s.System, s.Legs) {
		if cell, ok := rating.TableCell(s.Grade, s.Size, s.Legs, b); ok {
			x.Stamped = append(x.Stamped, rating.Stamp{Legs: s.Legs, Basis: b, Load: cell.Load})
		} else if single, ok := rating.TableCell(s.Grade, s.Size, 1, rating.Vertical); ok {
			f, _ := rating.Factor(s.Legs, b)
			x.Stamped = append(x.Stamped, rating.Stamp{Legs: s.Legs, Basis: b, Load: single.Load.Times(f).Floor().Floor(quantity.Pound)})
		}
	}
	x.RatingTag, x.State, x.Inspected, x.Due = gate.TagLegible, gate.StateIn, on, on.AddMonths(12)
	return x
}

// Reaches of slings to be ordered, and how far they are looked for (site policy, no
// source).
const (
	reachStep = 250 * quantity.Millimetre
	reachMost = 12 * quantity.Metre
)

// Smallest is the smallest sling of a system's tables, of a grade, that would do for
// the lift, with the shortest reach that does; each tried by the gate. Where the
// lift takes several, so many like it are meant. False where none would, or the
// lift cannot be asked.
func (a *Ask) Smallest(s rating.System, g rating.Grade) (Spec, bool) {
	if a.Check() != nil {
		return Spec{}, false
	}
	spec := Spec{System: s, Grade: g, Legs: a.Lift.Legs, Lower: a.Lift.Lower, Inside: a.Lift.Crane.Hook}
	if a.Lift.Singles {
		spec.Legs = 1
	}
	spans := a.Lift.Span > 0 || a.Lift.Picks != nil
	t := begun(a)
	for _, spec.Size = range rating.Sizes(s) {
		if _, ok := rating.TableCell(g, spec.Size, 1, rating.Vertical); !ok {
			continue
		}
		x := spec.Sling(a.Now)
		if !spans {
			if t.goes(&x.Sling) {
				return spec, true
			}
			continue
		}
		for x.Reach = reachStep; x.Reach <= reachMost; x.Reach += reachStep {
			if t.goes(&x.Sling) {
				spec.Reach = x.Reach
				return spec, true
			}
		}
	}
	return Spec{}, false
}

// Largest is the largest sling of a system's tables, of a grade, for the legs of the
// lift, with legs that stand at about 60° over its picks: where even that does not go,
// it is the lift that stands in the way. It stands for no sling of any rack. False
// where the tables have none.
func (a *Ask) Largest(b Build) (x Sling, ok bool) {
	spec := Spec{System: b.System, Grade: b.Grade, Legs: a.Lift.Legs, Reach: reachMost / 4, Lower: a.Lift.Lower, Inside: a.Lift.Crane.Hook}
	for _, z := range rating.Sizes(b.System) {
		if _, listed := rating.TableCell(b.Grade, z, 1, rating.Vertical); listed {
			spec.Size, ok = z, true
		}
	}
	if a.Lift.Singles {
		spec.Legs = 1
	}
	span := a.Lift.Span
	for _, p := range a.Lift.Picks {
		for _, q := range a.Lift.Picks {
			span = max(span, lift.Rectangle(max(p.X-q.X, q.X-p.X, 1), max(p.Y-q.Y, q.Y-p.Y, 1)))
		}
	}
	if span > 0 {
		spec.Reach = (span + quantity.Millimetre).Floor(quantity.Millimetre) // the legs of an even triangle stand at 60°
	}
	return spec.Sling(a.Now), ok
}

// trier asks the gate what would do if something were otherwise.
type trier struct {
	asker
	answer gate.Answer
}

func begun(a *Ask) *trier {
	t := new(trier)
	t.begin(a)
	return t
}

// goes tells whether a sling may go for the lift, whatever its tag, state and dates.
func (t *trier) goes(s *gate.Sling) bool {
	if t.of(s) != gate.NotDecided || gate.DecideInto(&t.answer, &t.q) != nil {
		return false
	}
	return gate.SetOf(t.answer.Reasons...)&^standing == 0
}
