package crib

import (
	"fmt"
	"math/rand/v2"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/tagcode"
)

// marks are what invented makers stamp.
var marks = []string{"BRINDLE-IX", "THREE HERONS", "ODD ANVIL", "TARNWICK", "MOTH & MAUL"}

// A share is a choice and how often it is made, in parts of the sum of all.
type share[T any] struct {
	of    int
	thing T
}

func choose[T any](r *rand.Rand, shares []share[T]) T {
	sum := 0
	for _, s := range shares {
		sum += s.of
	}
	n := r.IntN(sum)
	for _, s := range shares {
		if n -= s.of; n < 0 {
			return s.thing
		}
	}
	panic("crib: shares do not add up")
}

// The mix of a yard's rack; common practice, no source.
var (
	systems  = []share[rating.System]{{97, rating.US}, {3, rating.EN}}
	usGrades = []share[rating.Grade]{{50, rating.Grade80}, {40, rating.Grade100}, {10, rating.Grade120}}
	enGrades = []share[rating.Grade]{{60, rating.Grade80}, {40, rating.Grade100}}
	usChain  = []share[string]{{5, "9/32"}, {12, "5/16"}, {31, "3/8"}, {28, "1/2"}, {15, "5/8"}, {6, "3/4"}, {2, "7/8"}, {1, "1"}}
	us120    = []share[string]{{10, "9/32"}, {20, "5/16"}, {35, "3/8"}, {25, "1/2"}, {10, "5/8"}}
	enChain  = []share[string]{{25, "8"}, {35, "10"}, {25, "13"}, {15, "16"}}
	legs     = []share[int]{{30, 1}, {40, 2}, {8, 3}, {22, 4}}
	feet     = []share[quantity.Length]{{10, 3}, {15, 4}, {15, 5}, {20, 6}, {15, 8}, {12, 10}, {5, 12}, {5, 16}, {3, 20}}
	metres   = []share[quantity.Length]{{20, 1}, {40, 2}, {30, 3}, {10, 5}}
	services = []share[due.Service]{{94, due.Normal}, {4, due.Severe}, {2, due.Special}}
)

// lowers are what hangs at the lower ends, most often a hook with a latch; like the
// width of an upper link, seven times the chain's size, common practice, no source.
var lowers = []event.LowerFitting{event.LatchHook, event.LatchHook, event.LatchHook, event.LockingHook, event.GrabHook, event.LatchHook, event.Shackle}

// An oddity is what is wrong with single slings of a large rack.
type oddity uint8

const (
	sound     oddity = iota
	misread          // a stamp entered higher than the table allows
	lowStamp         // stamped lower than the table, which then rates the leg
	weakHook         // a component below the chain
	heated           // known to have been hot
	wornPlate        // the maker's tag cannot be fully read
)

var oddities = []share[oddity]{{970, sound}, {3, misread}, {8, lowStamp}, {8, weakHook}, {6, heated}, {5, wornPlate}}

// ident names the n-th sling of so many, from 1.
func ident(n, of int) string {
	if of > 9999 {
		return fmt.Sprintf("QB-%06d", n)
	}
	return fmt.Sprintf("QB-%04d", n)
}

// first is a plain sling that every crib has: two legs of 3/8 in grade 80, all
// of its loads stamped.
func first() rating.Plate {
	size, err := rating.ParseSize(rating.US, "3/8")
	if err != nil {
		panic(err)
	}
	p := rating.Plate{System: rating.US, Grade: rating.Grade80, Size: size, Legs: 2, Reach: wholeMM(8 * quantity.Foot)}
	stamp(&p, rating.H60, rating.H45, rating.H30)
	return p
}

// bought draws a plate.
func bought(r *rand.Rand) rating.Plate {
	p := rating.Plate{System: choose(r, systems), Legs: choose(r, legs)}
	size := ""
	switch {
	case p.System == rating.EN:
		p.Grade, size, p.Reach = choose(r, enGrades), choose(r, enChain), choose(r, metres)*quantity.Metre
	default:
		p.Grade, size, p.Reach = choose(r, usGrades), choose(r, usChain), wholeMM(choose(r, feet)*quantity.Foot)
		if p.Grade == rating.Grade120 {
			size = choose(r, us120)
		}
	}
	var err error
	if p.Size, err = rating.ParseSize(p.System, size); err != nil {
		panic(err)
	}
	p.Adjustable = p.Legs > 1 && r.IntN(10) < 3
	bases := rating.Bases(p.System, p.Legs)
	if r.IntN(2) == 0 {
		bases = bases[:1]
	}
	stamp(&p, bases...)
	return p
}

func wholeMM(l quantity.Length) quantity.Length { return l - l%quantity.Millimetre }

// stamp puts on the plate what the tables have, or where they print nothing
// single × factor rounded down to 100 lb.
func stamp(p *rating.Plate, bases ...rating.Basis) {
	r := rating.Rate(p)
	for _, b := range bases {
		cell, _, printed := r.Cell(p.Legs, b)
		load := cell.Floor()
		if !printed {
			load = load.Floor(100 * quantity.Pound)
		}
		p.Stamped = append(p.Stamped, rating.Stamp{Legs: p.Legs, Basis: b, Load: load})
	}
}

// spoil makes a plate odd.
func spoil(s *gate.Sling, o oddity) {
	unit := 100 * quantity.Pound
	if s.System == rating.EN {
		unit = 10 * quantity.Kilogram
	}
	scale := func(m quantity.Mass, pct int64) quantity.Mass {
		return max(m.Times(quantity.Percent(pct)).Floor().Floor(unit), unit)
	}
	switch o {
	case misread:
		s.Stamped[0].Load = scale(s.Stamped[0].Load, 120)
	case lowStamp:
		s.Stamped = s.Stamped[:1]
		s.Stamped[0].Load = scale(s.Stamped[0].Load, 90)
	case weakHook:
		s.Weakest = scale(rating.Rate(&s.Plate).Single, 85)
	case heated:
		hot := quantity.Fahrenheit(450)
		if s.System == rating.EN {
			hot = quantity.Celsius(230)
		}
		s.Hottest = &hot
	case wornPlate:
		s.RatingTag = gate.TagPartial
	}
}

// hang gives the details under which the n-th sling is registered on a day. It
// was last inspected, by somebody else's book, within the year before.
func hang(r *rand.Rand, n, of int, plate rating.Plate, odd oddity, day quantity.Date) event.Details {
	d := event.Details{
		Ident:   ident(n, of),
		Sling:   gate.Sling{Plate: plate, RatingTag: gate.TagLegible, State: gate.StateIn},
		Maker:   marks[r.IntN(len(marks))],
		Place:   fmt.Sprintf("%c-%02d", 'A'+plate.Size.Place(), n%97+1),
		Outcome: tagcode.Fit, Service: choose(r, services),
	}
	if plate.System == rating.EN {
		d.Place = "M" + d.Place
	}
	if n%6 != 0 { // of the others nobody has recorded any
		d.Fittings = event.Fittings{Inside: wholeMM(7 * plate.Size.Nominal()), Lower: lowers[n%len(lowers)]}
	}
	spoil(&d.Sling, odd)
	back := 10 + r.IntN(340)
	switch d.Service {
	case due.Severe:
		d.Months, back = 3, 5+r.IntN(80)
	case due.Special:
		d.Months, back = 6, 5+r.IntN(160)
	}
	d.Sling.Inspected = day.AddDays(-back)
	return d
}
