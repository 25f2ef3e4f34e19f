package card_test

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

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

// holds asks the gate again about a lift that the words of a cell describe, and
// compares all that the cell says.
func holds(t *rapid.T, r card.Record, c card.Cell, l gate.Lift, words string) {
	t.Helper()
	l.Use, l.Load = gate.UseOrdinary, quantity.Gram
	q := gate.Question{ID: "again", Now: r.Printed, Policy: r.Policy, Sling: r.Sling, Lift: &l}
	a, err := gate.Decide(q)
	if err != nil {
		t.Fatalf("%s: %v", words, err)
	}
	if a.May() != c.Allowed() || a.Allowed != c.Answer.Allowed || !slices.Equal(a.Reasons, c.Answer.Reasons) {
		t.Fatalf("%s: the gate says %v %v, the card %v %v", words, a.Allowed, a.Reasons, c.Answer.Allowed, c.Answer.Reasons)
	}
	for u, unit := range map[quantity.Units]quantity.Mass{quantity.Imperial: quantity.Pound, quantity.Metric: quantity.Kilogram} {
		if load := c.Load(u); c.Allowed() != (load > 0) || load > a.Allowed || c.Allowed() && load+unit <= a.Allowed {
			t.Fatalf("%s: %s printed where %s is allowed", words, load, a.Allowed)
		}
	}
}

// legsIn are the legs that a row's words allow.
func legsIn(t *rapid.T, words string) int {
	n := figures(words)
	return int(rapid.SampledFrom(n).Draw(t, "legs used"))
}

// What a person reads off the front, with any angle, choke and radius that its
// words cover, is what the gate says to that lift.
func TestFrontIsTheGates(t *testing.T) {
	cards := 0
	rapid.Check(t, func(t *rapid.T) {
		r := anyRecord(t)
		p, err := r.Pocket()
		if err != nil {
			return // TestWhoGetsNoCard
		}
		cards++
		if want := map[rating.System]int{rating.US: 4, rating.EN: 3}[r.Sling.System]; len(p.Columns) != want || len(p.Front) != 3 {
			t.Fatalf("%d columns, %d sections", len(p.Columns), len(p.Front))
		}
		for i, s := range p.Front {
			n := figures(s.Words)
			covered := 0
			for _, row := range s.Rows {
				for j, c := range row.Cells {
					l := gate.Lift{Hitch: gate.Straight + gate.Hitch(i), Legs: legsIn(t, row.Words), Centred: true}
					covered = max(covered, l.Legs)
					if len(row.Cells) > 1 {
						a := angleIn(t, p.Columns[j])
						l.Angle = &a
					}
					switch l.Hitch {
					case gate.Choked:
						choke := quantity.Angle(between(t, "choke", n[0], 180)) * quantity.Degree
						radius := quantity.Length(between(t, "radius", n[1], 1_000)) * quantity.Millimetre
						l.Choke, l.Edge = &choke, &radius
					case gate.Basket:
						radius := quantity.Length(between(t, "radius", n[0], 1_000)) * quantity.Millimetre
						l.Edge = &radius
					}
					holds(t, r, c, l, fmt.Sprintf("%s, %s, %v", s.Words, row.Words, l.Angle))
				}
			}
			if want := min(r.Sling.Legs, 3); len(s.Rows) != want {
				t.Fatalf("%s: %d rows for %d legs", s.Words, len(s.Rows), r.Sling.Legs)
			}
		}
	})
	if cards < 20 {
		t.Errorf("only %d random slings got a card", cards)
	}
}

// The same for the back: each row holds from its own figure up to the figure of
// the row above it.
func TestBackIsTheGates(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyRecord(t)
		p, err := r.Pocket()
		if err != nil {
			return
		}
		legs := r.Sling.Legs
		frontChoke, frontBasket := figures(p.Front[1].Words), figures(p.Front[2].Words)
		for _, s := range p.Back {
			// What the front covers, in whole units of the section, and what its
			// own words ask for.
			above, asks := int64(2_000), figures(s.Words)
			switch {
			case strings.HasPrefix(s.Words, "Choke tighter"):
				above = frontChoke[0]
			case strings.HasPrefix(s.Words, "Choke of"):
				above = frontChoke[1]
			case strings.HasPrefix(s.Words, "Basket"):
				above = frontBasket[0]
			}
			heat := strings.HasPrefix(s.Words, "Straight in heat")
			for i, row := range s.Rows {
				from, to := int64(0), above-1
				if n := figures(row.Words); len(n) > 0 {
					from = n[0]
				}
				if heat {
					from, to = heatsOf(r.Sling.System, row.Words, above)
				}
				for j, c := range row.Cells {
					l := gate.Lift{Hitch: gate.Straight, Legs: legs, Centred: true}
					switch {
					case strings.HasPrefix(s.Words, "Straight, off centre"):
						l.Centred = false
					case strings.HasPrefix(s.Words, "Straight, shortened"):
						l.Shortened = gate.Plain
					case strings.HasPrefix(s.Words, "Choke tighter"):
						choke := quantity.Angle(between(t, "choke", from, to)) * quantity.Degree
						radius := quantity.Length(between(t, "radius", asks[1], 1_000)) * quantity.Millimetre
						l.Hitch, l.Choke, l.Edge = gate.Choked, &choke, &radius
					case strings.HasPrefix(s.Words, "Choke of"):
						choke := quantity.Angle(between(t, "choke", asks[0], 180)) * quantity.Degree
						radius := quantity.Length(between(t, "radius", from, to)) * quantity.Millimetre
						l.Hitch, l.Choke, l.Edge = gate.Choked, &choke, &radius
					case strings.HasPrefix(s.Words, "Straight over"):
						radius := quantity.Length(between(t, "radius", from, to)) * quantity.Millimetre
						l.Edge = &radius
					case strings.HasPrefix(s.Words, "Basket round"):
						radius := quantity.Length(between(t, "radius", from, to)) * quantity.Millimetre
						l.Hitch, l.Edge, l.Legs = gate.Basket, &radius, min(legs, 2)
					case heat:
						l.Heat = degrees(r.Sling.System, between(t, "heat", from, to))
					default:
						t.Fatalf("nobody tests %q", s.Words)
					}
					if len(row.Cells) > 1 {
						a := angleIn(t, p.Columns[j])
						l.Angle = &a
					}
					holds(t, r, c, l, fmt.Sprintf("%s, %s, row %d", s.Words, row.Words, i))
				}
				above = from
				if heat {
					above = to
				}
			}
		}
	})
}

// heatsOf are the lowest and the highest temperature that a row's words cover,
// in whole degrees. above is the highest of the row before.
func heatsOf(s rating.System, words string, above int64) (from, to int64) {
	n := figures(words)
	low, high := int64(quantity.MinCelsius), int64(quantity.MaxCelsius)
	if s == rating.US {
		low, high = quantity.MinFahrenheit, quantity.MaxFahrenheit
	}
	switch {
	case strings.HasSuffix(words, "or colder"):
		return low, n[0]
	case strings.HasPrefix(words, "over"):
		return n[0] + 1, high
	case strings.HasPrefix(words, "up to"):
		return above + 1, n[0]
	}
	return n[0], n[1]
}

func degrees(s rating.System, n int64) *quantity.Temperature {
	t := quantity.Celsius(n)
	if s == rating.US {
		t = quantity.Fahrenheit(n)
	}
	return &t
}
