package card_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/labeler/card"
)

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
						radius := quantity.Length(between(t, "radius", asks[2], 1_000)) * quantity.Millimetre
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
