package gate

import (
	"errors"
	"fmt"

	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/source"
	"cribgate/core/strict"
)

// Verdict is what an answer comes to. The zero Verdict refuses.
type Verdict uint8

// The verdicts.
const (
	Refuse Verdict = iota
	Issue
)

// String is "issue" or "refuse".
func (v Verdict) String() string {
	if v == Issue {
		return "issue"
	}
	return "refuse"
}

// Scope says what an answer is about and so which of its figures hold. The zero
// Scope is of an answer that nobody gave.
type Scope uint8

// The scopes.
const (
	Undecided  Scope = iota
	SlingAlone       // no lift: Capacity holds
	ByAngle          // a lift by its angle: Required and Allowed hold
	ByGeometry       // a lift by its picks: Leg, LegAllowed and Tilt hold too
)

// Capacity is what the sling's own legs may carry, straight or choked, at a basis.
type Capacity struct {
	Basis  rating.Basis
	Choked bool
	Load   quantity.Mass
}

// Answer is what the gate says to a question. Masses are exact to 10 µg and
// rounded when printed; no verdict follows from them. The zero Answer refuses.
type Answer struct {
	ID         string
	Scope      Scope
	Reasons    []Reason // in the order of the closed list; none issues
	Required   quantity.Mass
	Allowed    quantity.Mass
	Leg        quantity.Mass // largest tension of a leg; the largest Mass where it is beyond that
	LegAllowed quantity.Mass
	Even       bool           // four legs that hang evenly: a leg is held against 1.5 × LegAllowed
	Tilt       quantity.Angle // to the nearest thousandth of a degree
	Capacity   []Capacity
	Working    []Step // how it came about; only from [Explain]

	// Facts for [Reason.Text]; zero where they do not apply.
	System   rating.System
	Grade    rating.Grade
	Due      quantity.Date  // the inspection counts as due on this day
	Flattest quantity.Angle // of the flattest leg from horizontal, rounded down
	Over     Over
}

// Over says which comparison found the sling under-rated.
type Over struct {
	What  OverWhat
	Needs quantity.Mass
	May   quantity.Mass
	Rated source.Clause // that sets what it may carry, before reductions; none for a leg

	// For SlingOver: for how many legs and at which basis the sling was rated.
	Legs  int
	Basis rating.Basis
}

// OverWhat names the thing that would carry too much.
type OverWhat uint8

// The things that can be under-rated.
const (
	NothingOver OverWhat = iota
	SlingOver
	LegOver
	FittingOver
)

// Verdict is Issue exactly where a decision was made and found no reason
// against it.
func (a Answer) Verdict() Verdict {
	if a.Scope != Undecided && len(a.Reasons) == 0 {
		return Issue
	}
	return Refuse
}

// May tells whether the sling may go out.
func (a Answer) May() bool { return a.Verdict() == Issue }

// ErrUndecided reports an attempt to write an answer that nobody gave.
var ErrUndecided = errors.New("gate: nothing was decided")

// MarshalJSON is the answer as one line of the machine surface, masses to the
// nearest gram, halves up. An answer that nobody gave is [ErrUndecided].
func (a Answer) MarshalJSON() ([]byte, error) {
	if a.Scope == Undecided {
		return nil, ErrUndecided
	}
	var w strict.Writer
	w.Begin()
	w.Str("id", a.ID)
	w.Str("verdict", a.Verdict().String())
	w.List("reasons")
	for _, r := range a.Reasons {
		w.ItemStr(r.String())
	}
	w.End()
	if a.Scope == SlingAlone {
		w.Obj("capacity")
		for _, c := range a.Capacity {
			w.Int(c.name(), c.Load.Grams())
		}
		w.End()
	} else {
		w.Int("required_g", a.Required.Grams())
		w.Int("allowed_g", a.Allowed.Grams())
	}
	if a.Scope == ByGeometry {
		w.Int("leg_g", a.Leg.Grams())
		w.Int("leg_allowed_g", a.LegAllowed.Grams())
		w.Int("tilt_mdeg", a.Tilt.MilliDegrees())
	}
	w.End()
	line, err := w.Bytes()
	if err != nil {
		return nil, fmt.Errorf("gate: write an answer: %w", err)
	}
	return line, nil
}

func (c Capacity) name() string {
	if c.Choked {
		return "choke_g"
	}
	return c.Basis.String() + "_g"
}
