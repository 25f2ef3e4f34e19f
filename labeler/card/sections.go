package card

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
)

// radiusMost is a radius, in chain sizes, from which the gate takes nothing off
// any more; the edge factors end at 2 and the bend ratios at 3.
const radiusMost = 4

// Temperatures far beyond the ends of every table; past them the gate says what
// it says there.
const (
	leastC, mostC = -100, 650
	leastF, mostF = -150, 1200
)

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
	angle, radius := a.freeChoke(legs)
	all = append(all,
		a.tighter(legs, angle),
		Section{"Straight over an edge, " + legWords(legs), a.falling(a.round(overEdge)(legs), math.MaxInt64, a.atLeast)},
		a.smaller(legs, radius),
		Section{"Basket round something smaller, " + legWords(under), a.falling(a.round(basket)(under), a.freeBasket(legs), a.atLeast)},
		Section{"Straight in heat or cold, " + legWords(legs), a.heat(legs)},
	)
	return slices.DeleteFunc(all, func(s Section) bool { return len(s.Rows) == 0 })
}

// tighter are chokes tighter than the front's, with the radius from which on all
// of them hold.
func (a *asker) tighter(legs int, below int64) Section {
	spans := a.tight(radiusMost * a.question.Sling.Size.Nominal())(legs)
	var radius int64
	for _, s := range spans {
		if s.from < below {
			round := a.round(chokedAt(s.from))(legs)
			radius = max(radius, round[len(round)-1].from)
		}
	}
	return Section{
		fmt.Sprintf("Choke tighter than that, %s, round a %s or more", legWords(legs), a.radius(radius)),
		a.falling(spans, below, func(n int64) string { return fmt.Sprintf("choke of %d° or more", n) }),
	}
}

// smaller are chokes round something smaller than the front's, with the angle of
// choke from which on all of them hold.
func (a *asker) smaller(legs int, below int64) Section {
	spans := a.round(chokedAt(pulledTight))(legs)
	var angle int64
	for _, s := range spans {
		if s.from < below {
			tight := a.tight(millimetres(s.from))(legs)
			angle = max(angle, tight[len(tight)-1].from)
		}
	}
	return Section{
		fmt.Sprintf("Choke of %d° or more round something smaller, %s", angle, legWords(legs)),
		a.falling(spans, below, a.atLeast),
	}
}

func (a *asker) atLeast(n int64) string { return a.radius(n) + " or more" }

func legWords(n int) string { return noBreak(rating.LegsFigure(n)) }

// falling turns the spans that begin below a number into rows, downward. The
// lowest, which begins at 0, is anything less.
func (a *asker) falling(all []span, below int64, words func(n int64) string) []Row {
	var rows []Row
	for _, s := range slices.Backward(all) {
		if s.from >= below {
			continue
		}
		row := s.row
		row.Words = "less than that"
		if s.from > 0 {
			row.Words = words(s.from)
		}
		rows = append(rows, row)
	}
	return rows
}

// heat are the bands of the chain's temperature, in whole degrees of the
// sling's own system.
func (a *asker) heat(legs int) []Row {
	low, high, unit, degrees := int64(leastC), int64(mostC), "\u00a0°C", quantity.Celsius
	if a.question.Sling.System == rating.US {
		low, high, unit, degrees = leastF, mostF, "\u00a0°F", quantity.Fahrenheit
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
