package fit

import (
	"cmp"
	"encoding/binary"
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
	// Against is what else is known to stand against it, which the gate does not ask:
	// a record in doubt, a sling set aside for another. It is not offered then.
	Against gate.Reason
}

// Rack holds slings so that many lifts can be asked about all of them. It is made
// by [NewRack], does not change, and may be used by as many goroutines as like.
type Rack struct {
	slings []Sling // by Ident
	metal  []int32 // of each sling, its place in metals
	metals []int32 // the first sling of each kind of metal
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
