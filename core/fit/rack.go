package fit

import (
	"cmp"
	"encoding/binary"
	"maps"
	"slices"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
)

// Sling is one sling as far as choosing asks. The zero Sling fits nothing.
type Sling struct {
	gate.Sling
	Ident    string // the owner's identification: the last key of every order
	Fittings event.Fittings
	Issues   int // how often it went out
	Against  Against
}

// Against is what else is known to stand against a sling, which the gate does not ask:
// a record in doubt, an open defect, a sling set aside for another. [Known] makes it.
// The zero Against is that nobody has asked, and such a sling is not offered.
type Against struct {
	asked   bool
	reasons int
	first   gate.Reason
	last    quantity.Date // of a lift; zero for any day
	then    gate.Reason   // what stands against one that ends later
}

// Known is what came of asking what else stands against a sling: with no reason,
// nothing does.
func Known(reasons ...gate.Reason) Against {
	a := Against{asked: true, reasons: len(reasons)}
	if len(reasons) > 0 {
		a.first = reasons[0]
	}
	return a
}

// After gives a with a reason that stands against lifts which end after a day, the
// earliest where there are several; the zero day bounds nothing.
func (a Against) After(day quantity.Date, reason gate.Reason) Against {
	if !day.IsZero() && (a.last.IsZero() || day.Before(a.last)) {
		a.last, a.then = day, reason
	}
	return a
}

// Lets tells whether nothing that is known stands against the sling for a lift that ends
// on a day; the zero day is that none is stated.
func (a Against) Lets(back quantity.Date) bool {
	return a.asked && a.reasons == 0 && !a.before(back)
}

// before tells whether something stands against a lift because it ends on a day.
func (a Against) before(back quantity.Date) bool { return !a.last.IsZero() && a.last.Before(back) }

// Rack holds slings so that many lifts can be asked about all of them. It is made
// by [NewRack], does not change, and may be used by as many goroutines as like.
type Rack struct {
	slings []Sling // by Ident
	metal  []int32 // of each sling, its place in metals
	metals []int32 // the first sling of each kind of metal
	kind   []int32 // see Kind
}

// NewRack makes a rack of slings. It keeps a copy of the list, whose slings must
// not change.
func NewRack(slings []Sling) *Rack {
	r := &Rack{slings: slices.Clone(slings), metal: make([]int32, len(slings))}
	slices.SortStableFunc(r.slings, func(a, b Sling) int { return cmp.Compare(a.Ident, b.Ident) })
	place := make(map[metal]int32)
	var key []byte
	for i := range r.slings {
		m := metalOf(&r.slings[i].Sling, &key)
		at, known := place[m]
		if !known {
			at = int32(len(r.metals))
			r.metals = append(r.metals, int32(i))
			place[m] = at
		}
		r.metal[i] = at
	}
	r.kind = r.kinds()
	return r
}

// Len is how many slings the rack holds.
func (r *Rack) Len() int { return len(r.slings) }

// Sling is the sling at a place of the rack, from 0, in the order of Ident.
func (r *Rack) Sling(at int) *Sling { return &r.slings[at] }

// metal is all of a sling that the gate asks about but what [gate.Standing] looks
// at: two slings of one metal differ in no other reason and in no figure.
type metal struct {
	system                 rating.System
	grade                  rating.Grade
	size                   rating.Size
	legs                   int
	reach                  quantity.Length
	adjustable             bool
	chart, weakest, master quantity.Mass
	hottest                quantity.Temperature
	heated                 bool
	askable                bool // tag and state are words of the gate
	stamps                 string
}

func metalOf(s *gate.Sling, stamps *[]byte) metal {
	m := metal{
		system: s.System, grade: s.Grade, size: s.Size, legs: s.Legs, reach: s.Reach, adjustable: s.Adjustable,
		chart: s.Chart, weakest: s.Weakest, master: s.Master,
		askable: s.RatingTag.String() != "" && s.State.String() != "",
	}
	if s.Hottest != nil {
		m.hottest, m.heated = *s.Hottest, true
	}
	b := (*stamps)[:0]
	for _, stamp := range s.Stamped {
		b = binary.AppendVarint(b, int64(stamp.Legs))
		b = append(b, byte(stamp.Basis))
		b = binary.AppendVarint(b, int64(stamp.Load))
	}
	m.stamps, *stamps = string(b), b
	return m
}

// Fitting gives every sling that fits a lift, in the order of the rack; of a lift
// that takes several, every one that could be one of them. The error is that of
// [Ask.Check].
func (r *Rack) Fitting(ask Ask, give func(*Offer)) error {
	if err := ask.Check(); err != nil {
		return err
	}
	r.judge(&ask, false, func(o Offer, m miss) {
		if m.wrong == gate.NotDecided {
			give(&o)
		}
	})
	return nil
}

// Kind is a number that alike one-leg slings of the rack have in common, and no
// other sling has ([rating.Alike]).
func (r *Rack) Kind(at int) int32 { return r.kind[at] }

// Build is a system and a grade.
type Build struct {
	System rating.System
	Grade  rating.Grade
}

// Builds lists what the rack is made of, the most frequent first.
func (r *Rack) Builds() []Build {
	count := map[Build]int{}
	for i := range r.slings {
		count[Build{r.slings[i].System, r.slings[i].Grade}]++
	}
	list := slices.Collect(maps.Keys(count))
	slices.SortFunc(list, func(a, b Build) int {
		return cmp.Or(cmp.Compare(count[b], count[a]), cmp.Compare(a.System, b.System), cmp.Compare(a.Grade, b.Grade))
	})
	return list
}

// kinds numbers slings by what they are alike in.
func (r *Rack) kinds() []int32 {
	list := make([]int32, len(r.slings))
	place := make(map[like]int32)
	next := int32(0)
	for i := range r.slings {
		key, ok := likeOf(&r.slings[i].Plate)
		at, known := place[key]
		if !ok || !known {
			at = next
			next++
		}
		if ok {
			place[key] = at
		}
		list[i] = at
	}
	return list
}
