package fit

import (
	"cmp"
	"slices"

	"cribgate/core/gate"
	"cribgate/core/quantity"
)

// Offer is a sling that fits. The zero Offer is none.
type Offer struct {
	Sling    *Sling
	At       int            // its place in the rack
	Allowed  quantity.Mass  // what it may carry in this lift
	Required quantity.Mass  // of it: the load with its margin
	Flattest quantity.Angle // of its legs from horizontal; 0 where no angle counts
	Due      quantity.Date  // the day on which its inspection counts as due
	Idle     int            // legs that it has and this lift leaves hanging
	Look     bool           // somebody has to look whether its upper link seats on the crane's hook
	Ahead    Ahead          // why it stands before the next one
}

// Wasted is what the sling may carry in this lift and does not; 0 where a signed
// plan lets it carry more than the bands would.
func (o *Offer) Wasted() quantity.Mass { return max(0, o.Allowed-o.Required) }

// Choice is what a rack has for a lift. The zero Choice offers nothing.
type Choice struct {
	Fits []Offer // best first; for a lift that takes several alike, Sets in their order
	Near []Miss  // nearest first
	// Sets is for a lift that takes several slings: each set is a part of Fits of
	// which any so many go together, its first ones best. Singles are alike in a set;
	// slings under a beam need not be, and are one set.
	Sets  [][]Offer
	Takes int // slings that the lift needs
}

// Best is the slings to take: the first one, or the first of the first set. It is
// nil where nothing fits.
func (c *Choice) Best() []Offer {
	switch {
	case c.Takes == 1 && len(c.Fits) > 0:
		return c.Fits[:1]
	case c.Takes > 1 && len(c.Sets) > 0:
		return c.Sets[0][:c.Takes]
	}
	return nil
}

// found is what came out for one kind of metal.
type found struct {
	ends     gate.Reason // by which it ended before the gate was asked
	against  gate.ReasonSet
	allowed  quantity.Mass
	required quantity.Mass
	flattest quantity.Angle
	short    int64 // where it is under-rated: what is needed, per mille of what it may carry
	idle     int
	askable  bool
}

// standing holds the reasons of [gate.Standing].
var standing = gate.SetOf(gate.RatingTagUnfit, gate.AlreadyOut, gate.Unchecked, gate.Held, gate.Retired, gate.Lost,
	gate.NeverInspected, gate.NoDueDate, gate.ClockDoubt, gate.Overdue, gate.DueBeforeReturn)

// Choose judges every sling of the rack for a lift; near is how many are listed of
// those that nearly fit. The error is that of [Ask.Check]: nothing was judged.
// Memory is taken in a few pieces, none per sling.
func (r *Rack) Choose(ask Ask, near int) (Choice, error) {
	if err := ask.Check(); err != nil {
		return Choice{}, err
	}
	c := Choice{Takes: ask.Lift.Takes(), Fits: make([]Offer, 0, len(r.slings))}
	n := nearest{most: near}
	r.judge(&ask, near > 0 || c.Takes > 1, func(o Offer, m miss) {
		if m.wrong == gate.NotDecided {
			c.Fits = append(c.Fits, o)
		} else {
			n.add(o, m)
		}
	})
	slices.SortFunc(c.Fits, func(a, b Offer) int { order, _ := compare(&a, &b); return order })
	if c.Takes > 1 {
		c.together(ask.Lift.Singles, &n)
	}
	c.Near = n.list()
	for i := range c.Fits {
		c.Fits[i].Ahead = aheadOf(c.Fits, i)
	}
	return c, nil
}

// judge gives every sling that fits, with a miss of none, and if near ones are wanted
// also those that one thing stands against. The ask was checked.
func (r *Rack) judge(ask *Ask, near bool, give func(Offer, miss)) {
	var x asker
	x.begin(ask)
	metals := r.ask(&x)
	q := gate.Question{Now: ask.Now, Policy: ask.Policy, Lift: &x.lift}
	for i := range r.slings {
		s, f := &r.slings[i], &metals[r.metal[i]]
		if !f.askable || !s.Against.asked || !near && (f.ends != gate.NotDecided || f.against != 0 || s.State != gate.StateIn) {
			continue
		}
		q.Sling.RatingTag, q.Sling.State, q.Sling.Inspected, q.Sling.Due = s.RatingTag, s.State, s.Inspected, s.Due
		stands, due := gate.Standing(&q)
		against := f.against | stands
		wrong, count := f.ends, against.Len()
		if wrong != gate.NotDecided {
			count++
		} else if count == 1 {
			wrong = against.First()
		}
		o := Offer{Sling: s, At: i, Allowed: f.allowed, Required: f.required, Flattest: f.flattest, Due: due, Idle: f.idle}
		if s.Against.reasons > 0 {
			wrong = s.Against.first
			count += s.Against.reasons
		}
		if s.Against.before(ask.Lift.ReturnBy) {
			wrong = s.Against.then
			count++
		}
		for _, more := range [...]gate.Reason{s.Fittings.Hangs(ask.Lift.Lower), s.Fittings.Seats(ask.Lift.Crane)} {
			switch more {
			case gate.NotDecided:
			case gate.SeatUnknown:
				o.Look = true
			default:
				wrong = more
				count++
			}
		}
		if count <= 1 {
			give(o, miss{wrong, f.short})
		}
	}
}

// ask asks the gate about every kind of metal.
func (r *Rack) ask(x *asker) []found {
	var a gate.Answer
	list := make([]found, len(r.metals))
	for i, first := range r.metals {
		s, f := &r.slings[first].Sling, &list[i]
		f.ends = x.of(s)
		if f.ends != gate.NotDecided && f.ends != gate.ReachTooLong {
			x.q.Lift = nil // only the sling can be asked about
		}
		if gate.DecideInto(&a, &x.q) != nil {
			continue // the sling is none that can be judged
		}
		f.against = gate.SetOf(a.Reasons...) &^ standing
		f.allowed, f.required, f.flattest = a.Allowed, a.Required, a.Flattest
		if may := a.Over.May / 1000; may > 0 {
			f.short = int64(a.Over.Needs / may)
		}
		f.idle = max(0, s.Legs-x.lift.Legs)
		if x.lift.Singles {
			f.idle = 0
		}
		f.askable = true
	}
	return list
}

// Ahead says why an offer stands before the next one. The zero Ahead is of the
// last, or the only one.
type Ahead uint8

// The reasons of the order, in their order.
const (
	NothingAfter Ahead = iota
	WastesLess
	FewerIdle
	DueLater
	UsedLess
	FirstByIdent
	OfAnotherSet // the next one belongs to a set that comes after
)

// Words is the reason for people; empty for none.
func (a Ahead) Words() string {
	switch a {
	case WastesLess:
		return "Wastes less of what it may carry in this lift than the next one."
	case FewerIdle:
		return "Fits as closely as the next one, and leaves fewer legs hanging idle."
	case DueLater:
		return "Fits as closely as the next one, and its inspection is due later."
	case UsedLess:
		return "Fits as closely as the next one, and has been out less often, so wear spreads."
	case FirstByIdent:
		return "As good as the next one in every way that counts here; by its identification."
	case OfAnotherSet:
		return "The last that is like those before it."
	}
	return ""
}

// compare gives the order of two offers and what decides it.
func compare(a, b *Offer) (order int, by Ahead) {
	if order = cmp.Compare(a.Allowed, b.Allowed); order != 0 {
		return order, WastesLess
	}
	if order = cmp.Compare(a.Idle, b.Idle); order != 0 {
		return order, FewerIdle
	}
	if order = b.Due.Compare(a.Due); order != 0 {
		return order, DueLater
	}
	if order = cmp.Compare(a.Sling.Issues, b.Sling.Issues); order != 0 {
		return order, UsedLess
	}
	return cmp.Compare(a.At, b.At), FirstByIdent
}

func aheadOf(list []Offer, i int) Ahead {
	if i+1 == len(list) {
		return NothingAfter
	}
	order, by := compare(&list[i], &list[i+1])
	if order > 0 {
		return OfAnotherSet
	}
	return by
}

// Offer judges the sling at one place of the rack; false where it does not fit, or
// the lift cannot be asked.
func (r *Rack) Offer(ask Ask, at int) (o Offer, ok bool) {
	one := Rack{slings: r.slings[at : at+1], metal: []int32{0}, metals: []int32{0}}
	err := one.Fitting(ask, func(found *Offer) { o, ok = *found, true })
	o.At = at
	return o, ok && err == nil
}
