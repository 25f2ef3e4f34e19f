package card

import (
	"fmt"
	"slices"
	"strconv"

	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
)

// radiusMost is a radius, in chain sizes, from which the gate takes nothing off
// any more; the edge factors end at 2 and the bend ratios at 3.
const radiusMost = 8

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

func chokedRound(legs int, radius quantity.Length) gate.Lift {
	return choked(legs, pulledTight, radius)
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
	c.Words = fmt.Sprintf("Choke of %d° or more, pulled tight by itself, round a %s or more",
		a.fullFrom(legs, a.tight(ample)), a.radius(a.fullFrom(legs, a.round(chokedRound))))
	b.Words = "Basket round a " + a.radius(a.fullFrom(legs, a.round(basket))) + " or more"
	return []Section{s, c, b}
}

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

// back are the conditions that take from the front's figures, for the legs that
// the sling has.
func (a *asker) back() []Section {
	legs := a.question.Sling.Legs
	var all []Section
	if legs > 1 {
		off := straight(legs)
		off.Centred = false
		all = append(all, Section{"Straight, off centre", []Row{a.row("or nobody has said that it is centred", off)}})
	}
	if a.question.Sling.Adjustable {
		short := straight(legs)
		short.Shortened = gate.Plain
		all = append(all, Section{"Straight, shortened", []Row{a.row("by a hook that does not support the chain", short)}})
	}
	under := min(legs, 2) // a basket of more is not allowed
	tight := a.tight(radiusMost * a.question.Sling.Size.Nominal())
	all = append(all,
		Section{"Choke that is tighter, " + legWords(legs), a.falling(tight(legs), func(n int64) string { return fmt.Sprintf("choke of %d° or more", n) })},
		Section{"Straight over an edge, " + legWords(legs), a.falling(a.round(overEdge)(legs), a.atLeast)},
		Section{"Choke round something smaller, " + legWords(legs), a.falling(a.round(chokedRound)(legs), a.atLeast)},
		Section{"Basket round something smaller, " + legWords(under), a.falling(a.round(basket)(under), a.atLeast)},
		Section{"Straight in heat or cold, " + legWords(legs), a.heat(legs)},
	)
	return slices.DeleteFunc(all, func(s Section) bool { return len(s.Rows) == 0 })
}

func (a *asker) atLeast(n int64) string { return a.radius(n) + " or more" }

func legWords(n int) string { return noBreak(rating.LegsFigure(n)) }

// falling turns spans into rows, from the one below the front's own downward.
// The lowest, which begins at 0, is anything less.
func (a *asker) falling(all []span, words func(n int64) string) []Row {
	var rows []Row
	for i := len(all) - 2; i >= 0; i-- {
		row := all[i].row
		row.Words = "less than that"
		if all[i].from > 0 {
			row.Words = words(all[i].from)
		}
		rows = append(rows, row)
	}
	return rows
}

// heat are the bands of the chain's temperature, in whole degrees of the
// sling's own system.
func (a *asker) heat(legs int) []Row {
	low, high, unit, degrees := int64(quantity.MinCelsius), int64(quantity.MaxCelsius), "\u00a0°C", quantity.Celsius
	if a.question.Sling.System == rating.US {
		low, high, unit, degrees = quantity.MinFahrenheit, quantity.MaxFahrenheit, "\u00a0°F", quantity.Fahrenheit
	}
	all := a.spans(low, high, func(n int64) gate.Lift {
		t := degrees(n)
		l := straight(legs)
		l.Heat = &t
		return l
	})
	var rows []Row
	for i, s := range all {
		row := s.row
		switch {
		case i == 0:
			row.Words = signed(s.to) + unit + " or colder"
		case i == len(all)-1:
			row.Words = "over " + signed(all[i-1].to) + unit
		case i == 1:
			row.Words = signed(s.from) + " to " + signed(s.to) + unit
		default:
			row.Words = "up to " + signed(s.to) + unit
		}
		rows = append(rows, row)
	}
	return rows
}

// signed is a number with a minus sign that is not a hyphen.
func signed(n int64) string {
	if n < 0 {
		return "−" + strconv.FormatInt(-n, 10)
	}
	return strconv.FormatInt(n, 10)
}
