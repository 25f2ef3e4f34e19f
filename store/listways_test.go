package store

import (
	"slices"
	"testing"

	"cribgate/core/quantity"
)

// An inspection lies before the day exactly when so many months after it are
// over before the sling is due, also where months have no 31st or 29th.
func TestInspectedBefore(t *testing.T) {
	first, _ := quantity.NewDate(2023, 12, 1)
	for months := 1; months <= 12; months++ {
		for i := range 500 {
			due := first.AddDays(i)
			from := inspectedBefore(due, months)
			for j := -40; j <= 40; j++ {
				d := from.AddDays(j)
				if got, want := d.Before(from), d.AddMonths(months).Before(due); got != want {
					t.Fatalf("%d months, due %s, inspected %s: before %s is %t, want %t", months, due, d, from, got, want)
				}
			}
		}
	}
	early, _ := quantity.NewDate(1, 1, 1)
	for _, d := range []quantity.Date{inspectedBefore(first, 0), inspectedBefore(quantity.Date{}, 6), inspectedBefore(early, 6)} {
		if !d.IsZero() {
			t.Errorf("%s, want no day", d)
		}
	}
}

// Places come in the order in which one walks along them.
func TestPlaceKey(t *testing.T) {
	walk := []string{
		"7", "007 A", "10", "A", "A-2", "A-9", "A-10", "A-10 PEG 2", "A-10 PEG 11", "a-99999999999", "B-1", "BAY 2", "BAY 12", "É-1", "",
	}
	keys := make([]string, len(walk))
	for i, place := range walk {
		keys[i] = placeKey(place)
	}
	if !slices.IsSorted(keys) || len(slices.Compact(slices.Clone(keys))) != len(keys) {
		t.Errorf("%q are not in the order of %q", keys, walk)
	}
	for _, same := range [][2]string{{"A-2", "a-02"}, {"B  3", " b 003 "}, {"", "  "}, {"A-0", "A-000"}} {
		if placeKey(same[0]) != placeKey(same[1]) {
			t.Errorf("%q and %q are not the same place", same[0], same[1])
		}
	}
}

// A place is in another where that one ends with a word or a number.
func TestPlaceIn(t *testing.T) {
	for _, c := range []struct {
		place, in string
		want      bool
	}{
		{"A-12", "A", true}, {"A-12", "a", true}, {"A-12", "A-", true}, {"A-12", "A-12", true}, {"A-12", "A-012", true},
		{"A-12", "A-1", false}, {"A-1", "A-12", false}, {"AB-1", "A", false}, {"A1", "A", true}, {"A-12 peg 3", "A-12", true},
		{"A-12 peg 3", "A-12 PEG", true}, {"A-12 pegs", "A-12 PEG", false}, {"Bay 2", "BAY", true}, {"BAY 20", "BAY 2", false},
		{"É-1", "é", true}, {"", "A", false}, {"A", "", false}, {"", "", true},
	} {
		if got := KeyOfPlace(c.place).In(KeyOfPlace(c.in)); got != c.want {
			t.Errorf("%q in %q: %t", c.place, c.in, got)
		}
		if !KeyOfPlace(c.place).In("") {
			t.Errorf("%q is not in every place", c.place)
		}
	}
}
