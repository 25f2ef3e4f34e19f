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
		fmt.Sprintf("Choke tighter than on side 1, %s, round a %s or more", legWords(legs), a.radius(radius)),
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

// Temperatures far beyond the ends of every table; past them the gate says what
// it says there.
const (
	leastC, mostC = -100, 650
	leastF, mostF = -150, 1200
)

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
