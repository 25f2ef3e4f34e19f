package card_test

import (
	"regexp"
	"strconv"
	"strings"

	"pgregory.net/rapid"

	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/labeler/card"
)

// anyRecord draws a sling that may well get a card, of either system, and a
// policy.
func anyRecord(t *rapid.T) card.Record {
	r := record(t)
	s := &r.Sling
	s.System = rapid.SampledFrom([]rating.System{rating.US, rating.EN}).Draw(t, "system")
	s.Grade = rapid.SampledFrom([]rating.Grade{80, 100, 120}).Draw(t, "grade")
	s.Size = rapid.SampledFrom(rating.Sizes(s.System)).Draw(t, "size")
	s.Legs = rapid.IntRange(1, 4).Draw(t, "legs")
	s.Adjustable = rapid.Bool().Draw(t, "adjustable")
	single := quantity.Mass(rapid.Int64Range(1_000, 30_000).Draw(t, "chart")) * quantity.Kilogram
	if cell, ok := rating.TableCell(s.Grade, s.Size, 1, rating.Vertical); ok {
		single = cell.Load
	} else {
		s.Chart = single
	}
	less := func(name string, percent int64) quantity.Mass {
		return single.Times(quantity.Percent(percent)).Floor().Floor(quantity.Gram)
	}
	part := rapid.Int64Range(60, 100).Draw(t, "stamped, per cent")
	s.Stamped = nil
	for legs := 1; legs <= s.Legs; legs++ {
		for _, b := range rating.Bases(s.System, legs) {
			if f, ok := rating.Factor(legs, b); ok && (legs == s.Legs && len(s.Stamped) == 0 || rapid.IntRange(0, 3).Draw(t, "stamp it") == 0) {
				load := less("stamp", part).Times(f).Floor().Floor(quantity.Gram)
				s.Stamped = append(s.Stamped, rating.Stamp{Legs: legs, Basis: b, Load: load})
			}
		}
	}
	if rapid.IntRange(0, 3).Draw(t, "weakest part") == 0 {
		s.Weakest = less("weakest", rapid.Int64Range(50, 120).Draw(t, "weakest, per cent"))
	}
	if rapid.IntRange(0, 3).Draw(t, "upper fitting") == 0 {
		s.Master = less("master", rapid.Int64Range(40, 300).Draw(t, "master, per cent"))
	}
	if rapid.IntRange(0, 3).Draw(t, "was hot") == 0 {
		h := quantity.Celsius(rapid.Int64Range(100, 560).Draw(t, "hottest"))
		s.Hottest = &h
	}
	r.Policy.Choke = rapid.SampledFrom([]gate.Choke{gate.ChokeListed, gate.ChokeStrict}).Draw(t, "choke")
	r.Units = rapid.SampledFrom([]quantity.Units{quantity.Imperial, quantity.Metric}).Draw(t, "units")
	r.Margin = rapid.IntRange(0, 1000).Draw(t, "margin")
	return r
}

// between draws a whole number, and its ends often.
func between(t *rapid.T, name string, from, to int64) int64 {
	return rapid.OneOf(rapid.Just(from), rapid.Just(to), rapid.Int64Range(from, to)).Draw(t, name)
}

// angleIn draws an angle within a column, as the column's words have it.
func angleIn(t *rapid.T, c card.Column) gate.Angle {
	from, to := int64(1), int64(90_000)
	n := figures(c.Words)
	switch {
	case strings.HasSuffix(c.Words, "or more"):
		from = n[0] * 1000
	case strings.HasPrefix(c.Words, "up to"):
		from, to = 0, n[0]*1000
	case strings.HasPrefix(c.Words, "under"):
		to = n[0]*1000 - 1
	case strings.HasPrefix(c.Words, "over"):
		from, to = n[0]*1000+1, 89_999
	case c.From == "from horizontal":
		from, to = n[0]*1000, n[1]*1000-1
	default:
		from, to = n[0]*1000+1, n[1]*1000
	}
	a := gate.Angle{From: gate.FromHorizontal, Size: quantity.Angle(between(t, "angle", from, to)) * quantity.MilliDegree}
	if c.From == "from vertical" {
		a.From = gate.FromVertical
	}
	return a
}

var figure = regexp.MustCompile(`−?[0-9]+`)

// figures are the whole numbers in a text, but for those in brackets.
func figures(text string) []int64 {
	before, _, _ := strings.Cut(text, " (")
	var all []int64
	for _, s := range figure.FindAllString(before, -1) {
		n, err := strconv.ParseInt(strings.Replace(s, "−", "-", 1), 10, 64)
		if err != nil {
			panic(err)
		}
		all = append(all, n)
	}
	return all
}
