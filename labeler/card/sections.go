package card

import (
	"fmt"

	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
)

// radiusMost is a radius, in chain sizes, from which the gate takes nothing off
// any more; the edge factors end at 2 and the bend ratios at 3.
const radiusMost = 4

// legsUsed lists the numbers of legs that a sling can be used with, in the
// words of the tables: three and four are one class.
func legsUsed(legs int) []Row {
	rows := []Row{{Words: "1 leg, straight down"}, {Words: "2 legs"}, {Words: "3 legs"}, {Words: "3 or 4 legs"}}
	if legs == 4 {
		return []Row{rows[0], rows[1], rows[3]}
	}
	return rows[:legs]
}

// carrying is how many legs the row at a place of legsUsed stands for.
func carrying(place, legs int) int {
	if place == 2 {
		return legs
	}
	return place + 1
}

// pulledTight is an angle of choke in the widest band, which a choke that is
// left to pull tight by itself has.
const pulledTight = 180

func straight(legs int) gate.Lift { return gate.Lift{Hitch: gate.Straight, Legs: legs, Centred: true} }

func choked(legs int, degrees int64, radius quantity.Length) gate.Lift {
	angle := quantity.Angle(degrees) * quantity.Degree
	return gate.Lift{Hitch: gate.Choked, Legs: legs, Centred: true, Choke: &angle, Edge: &radius}
}

func chokedAt(degrees int64) func(legs int, radius quantity.Length) gate.Lift {
	return func(legs int, radius quantity.Length) gate.Lift { return choked(legs, degrees, radius) }
}

func overEdge(legs int, radius quantity.Length) gate.Lift {
	l := straight(legs)
	l.Edge = &radius
	return l
}

func basket(legs int, radius quantity.Length) gate.Lift {
	return gate.Lift{Hitch: gate.Basket, Legs: legs, Centred: true, Edge: &radius}
}

func millimetres(n int64) quantity.Length { return quantity.Length(n) * quantity.Millimetre }

// front are the sling's hitches with nothing that takes from them.
func (a *asker) front() []Section {
	legs := a.question.Sling.Legs
	ample := radiusMost * a.question.Sling.Size.Nominal()
	var s, c, b Section
	for i, row := range legsUsed(legs) {
		n := carrying(i, legs)
		s.Rows = append(s.Rows, a.row(row.Words, straight(n)))
		c.Rows = append(c.Rows, a.row(row.Words, choked(n, pulledTight, ample)))
		if n == 1 {
			row.Words = "1 leg under the load"
		}
		b.Rows = append(b.Rows, a.row(row.Words, basket(n, ample)))
	}
	s.Words = "Straight"
	angle, radius := a.freeChoke(legs)
	c.Words = fmt.Sprintf("Choke of %d° or more, round a %s or more", angle, a.radius(radius))
	b.Words = "Basket round a " + a.radius(a.freeBasket(legs)) + " or more"
	return []Section{s, c, b}
}

// freeChoke is the angle of choke and the radius from which on both together
// take nothing from the front's figures for a choke.
func (a *asker) freeChoke(legs int) (angle, radius int64) {
	angle = a.fullFrom(legs, a.tight(radiusMost*a.question.Sling.Size.Nominal()))
	return angle, a.fullFrom(legs, a.round(chokedAt(angle)))
}

// freeBasket is the radius from which on the front's figures for a basket hold.
func (a *asker) freeBasket(legs int) int64 { return a.fullFrom(legs, a.round(basket)) }

// fullFrom is the first number of the last span, for the number of legs where
// it is the highest: from there on all figures of the front hold.
func (a *asker) fullFrom(legs int, all func(legs int) []span) int64 {
	var from int64
	for i := range legsUsed(legs) {
		spans := all(carrying(i, legs))
		from = max(from, spans[len(spans)-1].from)
	}
	return from
}

// tight gives the bands of the angle of choke, in whole degrees.
func (a *asker) tight(radius quantity.Length) func(legs int) []span {
	return func(legs int) []span {
		return a.spans(0, pulledTight, func(n int64) gate.Lift { return choked(legs, n, radius) })
	}
}

// round gives the bands of the radius that the chain bears on, in whole
// millimetres.
func (a *asker) round(l func(legs int, radius quantity.Length) gate.Lift) func(legs int) []span {
	most := radiusMost * a.question.Sling.Size.Nominal().Millimetres()
	return func(legs int) []span {
		return a.spans(0, most, func(n int64) gate.Lift { return l(legs, millimetres(n)) })
	}
}

// radius is a radius for people, in inches rounded up to a sixteenth.
func (a *asker) radius(mm int64) string {
	text := fmt.Sprintf("radius %d\u00a0mm", mm)
	if a.question.Sling.System == rating.US {
		sixteenths := (millimetres(mm)*16 + quantity.Inch - 1) / quantity.Inch
		text += " (" + noBreak(quantity.SixtyFourthsUp(int64(sixteenths)*4).InInches()) + ")"
	}
	return text
}
