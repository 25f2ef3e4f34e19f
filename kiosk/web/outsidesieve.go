package web

import (
	"cmp"
	"slices"
	"strconv"

	"cribgate/core/event"
)

// pressingOut are what the page can be narrowed to, counted.
func pressingOut(out []away, l look) (sieves []Sieve) {
	for _, p := range pressing {
		one := look{with: l.with, at: l.at, only: p.name, by: l.by}
		n := 0
		for _, a := range out {
			if one.shows(a) {
				n++
			}
		}
		sieves = append(sieves, Sieve{Label: p.label, Count: itoa(n), Path: one.path(), Here: p.name == l.only})
	}
	return sieves
}

// riggersOut are those who have something, most first.
func riggersOut(out []away, l look, w words) []Sieve {
	count := map[event.PersonID]int{}
	for _, a := range out {
		count[a.sling.Loan.Rigger]++
	}
	people := make([]event.PersonID, 0, len(count))
	for p := range count {
		if !p.IsZero() {
			people = append(people, p)
		}
	}
	slices.SortFunc(people, func(a, b event.PersonID) int {
		return cmp.Or(count[b]-count[a], cmp.Compare(w.name(a), w.name(b)))
	})
	to := look{only: l.only, at: l.at}
	sieves := []Sieve{{Label: "Everyone", Count: strconv.Itoa(len(out)), Path: to.path(), Here: l.with.IsZero() && l.by != "rigger"}}
	to.by = "rigger"
	sieves = append(sieves, Sieve{Label: "By rigger", Path: to.path(), Here: l.by == "rigger"})
	to.by = ""
	for _, p := range people {
		to.with = p
		sieves = append(sieves, Sieve{Label: w.name(p), Count: strconv.Itoa(count[p]), Path: to.path(), Here: p == l.with})
	}
	return sieves
}

// areasOut are the machines and areas where something is kept, by name.
func areasOut(out []away, l look) []Sieve {
	count := map[string]int{}
	for _, a := range out {
		if a.sling.Loan.Area != "" {
			count[a.sling.Loan.Area]++
		}
	}
	if len(count) == 0 {
		return nil
	}
	to := look{only: l.only, with: l.with}
	sieves := []Sieve{{Label: "Everywhere", Path: to.path(), Here: l.at == "" && l.by != "area"}}
	to.by = "area"
	sieves = append(sieves, Sieve{Label: "By area", Path: to.path(), Here: l.by == "area"})
	to.by = ""
	for _, area := range areas(out) {
		to.at = area
		sieves = append(sieves, Sieve{Label: area, Count: itoa(count[area]), Path: to.path(), Here: area == l.at})
	}
	return sieves
}

// areas are the names of areas that are in use, in the order of the alphabet.
func areas(out []away) (names []string) {
	for _, a := range out {
		if a.sling.Loan.Area != "" {
			names = append(names, a.sling.Loan.Area)
		}
	}
	slices.Sort(names)
	return slices.Compact(names)
}
