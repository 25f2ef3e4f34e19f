package card_test

import (
	"errors"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/labeler/card"
	"cribgate/labeler/sheet"
)

// smallest is the smallest type that a card may have, 5.7 pt.
const smallest = 2 * quantity.Millimetre

var load = regexp.MustCompile(`^[0-9,]+ (lb|kg)$|^not allowed`)

// figuresOf counts the loads and refusals that a side shows.
func figuresOf(d sheet.Drawing) map[string]int {
	all := map[string]int{}
	for _, text := range d.Texts {
		if load.MatchString(text.String) {
			all[text.String]++
		}
	}
	return all
}

// wanted counts the loads and refusals that the cells of a side hold; refusals
// are numbered by their reasons, in the order in which they come.
func wanted(sections []card.Section, units ...quantity.Units) map[string]int {
	all := map[string]int{}
	var reasons []string
	for _, s := range sections {
		for _, row := range s.Rows {
			cells := row.Cells
			if !slices.ContainsFunc(cells, card.Cell.Allowed) {
				cells = cells[:1]
			}
			for _, c := range cells {
				if c.Allowed() {
					for _, u := range units {
						all[u.Mass(c.Load(u))]++
					}
					continue
				}
				text := "not allowed"
				for _, r := range c.Answer.Reasons {
					if !slices.Contains(reasons, r.String()) {
						reasons = append(reasons, r.String())
					}
					text += " " + string(rune('1'+slices.Index(reasons, r.String()))) + ")"
				}
				all[text]++
			}
		}
	}
	return all
}

// Whatever the sling: either it is refused, or both sides are drawn, with the
// loads of the cells and no others, in no type below the smallest.
func TestEverySlingIsDrawn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyRecord(t)
		r.Ident = strings.Repeat("W", rapid.IntRange(1, 16).Draw(t, "letters"))
		p, err := r.Pocket()
		if err != nil {
			return
		}
		sides, err := p.Draw()
		if err != nil {
			t.Fatal(err)
		}
		other := quantity.Imperial + quantity.Metric - r.Units
		for i, want := range []map[string]int{wanted(p.Front, r.Units, other), wanted(p.Back, r.Units)} {
			if got := figuresOf(sides[i]); !maps.Equal(got, want) {
				t.Fatalf("side %d shows %v, want %v", i+1, got, want)
			}
			for _, text := range sides[i].Texts {
				if text.Size < smallest {
					t.Fatalf("%q is set in %s", text.String, text.Size)
				}
			}
		}
	})
}

// The longest there is: every basis stamped on the largest chain of four legs,
// shortened, heated, with a margin.
func TestLongestFits(t *testing.T) {
	for _, c := range []struct {
		system rating.System
		size   string
		grade  rating.Grade
	}{{rating.US, "1-1/4", 80}, {rating.US, "1", 100}, {rating.EN, "32", 80}, {rating.EN, "32", 100}} {
		for _, units := range []quantity.Units{quantity.Imperial, quantity.Metric} {
			r := record(t)
			r.Ident, r.Units, r.Margin = "WWWWWWWWWWWWWWWW", units, 1000
			hot := quantity.Celsius(350)
			s := &r.Sling
			s.System, s.Grade, s.Size, s.Legs, s.Adjustable, s.Hottest = c.system, c.grade, size(t, c.system, c.size), 4, true, &hot
			s.Reach = rating.MaxReach
			s.Stamped = nil
			for legs := 1; legs <= 4; legs++ {
				for _, b := range rating.Bases(c.system, legs) {
					cell, ok := rating.TableCell(s.Grade, s.Size, legs, b)
					if ok && legs != 3 {
						s.Stamped = append(s.Stamped, rating.Stamp{Legs: legs, Basis: b, Load: cell.Load})
					}
				}
			}
			p, err := r.Pocket()
			if err != nil {
				t.Errorf("%s: %v", c.size, err)
				continue
			}
			if _, err := p.Draw(); err != nil {
				t.Errorf("%s, grade %d, %s: %v", c.size, c.grade, units, err)
			}
		}
	}
}

// More on the rating tag than there is room for is refused with the figure, never
// cut.
func TestTooMuchIsRefused(t *testing.T) {
	r := record(t)
	for range 40 {
		r.Sling.Stamped = append(r.Sling.Stamped, r.Sling.Stamped[0])
	}
	p, err := r.Pocket()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.Draw(); !errors.Is(err, sheet.ErrFit) || !strings.Contains(err.Error(), "in its smallest type of 2 mm") {
		t.Errorf("%v", err)
	}
}

// What a card must say to everyone who holds it.
func TestPocketWords(t *testing.T) {
	r := record(t)
	r.Margin = 10
	p, err := r.Pocket()
	if err != nil {
		t.Fatal(err)
	}
	sides, err := p.Draw()
	if err != nil {
		t.Fatal(err)
	}
	text := words(sides[0])
	for _, want := range []string{
		"CS-0417", "3/8 in, grade 80, 2 legs, reach 7 ft 10 1/2 in", "On the rating tag: 12,300 lb at 60° from horizontal.",
		"Printed 2 Mar 2026 from the record of 28 Feb 2026; the rating tag on the sling governs.",
		"Next thorough inspection due 10 Nov 2026: not for use after that day.",
		"Add 10 % to a load that was not weighed (site policy).",
		"supports, and never replaces, the competent person, the maker's instructions and the local law",
		"1) The legs would be too flat (US OSHA, Guidance on Safe Sling Use: alloy chain, angles).",
		"60° or more from horizontal", "under 30° from horizontal",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the front does not say %q:\n%s", want, text)
		}
	}
	for _, want := range []string{"CS-0417", "Only one of these at a time", "ASME B30.9: table 9-1.8.1-1", "EN 818-6: edges"} {
		if !strings.Contains(words(sides[1]), want) {
			t.Errorf("the back does not say %q", want)
		}
	}
}

// Where a part bears less than is stamped, the card does not send people back to
// the rating tag.
func TestWeakerPartGoverns(t *testing.T) {
	r := record(t)
	r.Sling.Weakest = 3000 * quantity.Pound
	p, err := r.Pocket()
	if err != nil {
		t.Fatal(err)
	}
	sides, err := p.Draw()
	if err != nil {
		t.Fatal(err)
	}
	text := words(sides[0])
	if want := "; a part bears less than is on the rating tag: these figures hold. Next"; !strings.Contains(text, want) || strings.Contains(text, "governs") {
		t.Errorf("the front does not say %q, or that the tag governs:\n%s", want, text)
	}
}

// words are a drawing's texts in the order in which they were set.
func words(d sheet.Drawing) string {
	var all []string
	for _, text := range d.Texts {
		all = append(all, text.String)
	}
	return strings.Join(all, " ")
}
