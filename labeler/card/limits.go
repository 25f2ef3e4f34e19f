package card

import (
	"fmt"

	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/removal"
	"cribgate/core/source"
)

// A Slot is a thickness that a link must not fall below.
type Slot struct {
	Least  quantity.Length // what is thinner fails, what is just this does not
	Mean   bool            // held against the mean of two diameters at right angles; otherwise against the smaller
	Grade  removal.Grade   // of a link that fails
	Clause source.Clause
}

// slots finds the thicknesses that package removal fails a link against, the
// stricter first, by asking about links that do fail.
func slots(grade rating.Grade, size rating.Size) ([]Slot, error) {
	ask := func(d1, d2 quantity.Length) (removal.Finding, bool, error) {
		return found(grade, size, removal.Found{Links: []removal.Link{{Leg: 1, At: 1, D1: d1, D2: d2}}}, removal.LinkWorn, removal.LinkThin)
	}
	own, ok, err := ask(removal.MinLength, removal.MinLength)
	if err != nil || !ok {
		return nil, fmt.Errorf("card: no least thickness for %s: %w", size.Words(), err)
	}
	// One thin diameter beside a thick one keeps the mean up: what still finds
	// it worn goes by the smaller one.
	single, ok, err := ask(removal.MinLength, 2*own.Limit)
	if err != nil || !ok {
		return nil, fmt.Errorf("card: no least diameter for %s: %w", size.Words(), err)
	}
	all := []Slot{{Least: own.Limit, Mean: single.Code != own.Code, Grade: own.Grade, Clause: own.Clause}}
	other := single
	if !all[0].Mean {
		if other, ok, err = ask(own.Limit, own.Limit); err != nil {
			return nil, err
		} else if !ok { // the other one asks for no more
			return all, nil
		}
	}
	all = append(all, Slot{Least: other.Limit, Mean: !all[0].Mean, Grade: other.Grade, Clause: other.Clause})
	if all[1].Least > all[0].Least {
		all[0], all[1] = all[1], all[0]
	}
	return all, nil
}

// A Line is a length that a run of links must not pass.
type Line struct {
	Most   quantity.Length // what is longer fails, what is just this does not
	Grade  removal.Grade   // of a run that fails
	Clause source.Clause
}

// lines finds the lengths that package removal fails a run against whose length
// when new is the nominal one, the shortest first.
func lines(grade rating.Grade, size rating.Size, links int64) ([]Line, error) {
	nominal := removal.NominalRun(size, links)
	var all []Line
	for length := 2 * nominal; ; {
		f, ok, err := found(grade, size, removal.Found{Runs: []removal.Run{{Leg: 1, Links: links, New: nominal, Length: length}}}, removal.Longer)
		if err != nil {
			return nil, err
		}
		if !ok {
			return all, nil
		}
		all = append([]Line{{f.Limit, f.Grade, f.Clause}}, all...)
		length = f.Limit
	}
}

// found asks package removal and picks the finding of one of the codes.
func found(grade rating.Grade, size rating.Size, f removal.Found, codes ...removal.Code) (removal.Finding, bool, error) {
	a, err := removal.Assess(removal.Question{
		ID: "card", Sling: removal.Sling{Grade: grade, Size: size, Legs: 1}, Found: f,
	})
	if err != nil {
		return removal.Finding{}, false, fmt.Errorf("card: ask for the limits of %s, grade %d: %w", size.Words(), grade, err)
	}
	for _, f := range a.Findings {
		for _, c := range codes {
			if f.Code == c {
				return f, true, nil
			}
		}
	}
	return removal.Finding{}, false, nil
}
