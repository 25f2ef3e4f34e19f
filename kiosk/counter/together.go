package counter

import (
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
)

// A LoanLift is a lift as it was stated for one sling or for several that share it.
type LoanLift struct {
	// Lift is what each sling is asked about, but for what only some slings are asked
	// (Singles, Shortened). Its Load is what hangs below, all of it; with OneHook,
	// Legs is how many slings hang on the hook.
	Lift  gate.Lift
	Share event.Share

	// Under a beam.
	Slings int           // that carry it together
	Beam   quantity.Mass // its own mass, counted
	Stated bool          // each sling's part is stated; else they are equal

	Crane   string             // see Ends
	Lower   event.LowerFitting // see Ends
	Weighed bool
	Drawn   bool // the angle was answered by drawings
}

// A Part is what is said of one sling of a lift. The zero value is a sling at its
// full length that carries an equal part.
type Part struct {
	Shortened gate.Shortening
	Carries   quantity.Mass // under a beam with stated parts: its own
}

// Many is how many slings share the lift, 0 where one carries it alone.
func (l LoanLift) Many() int {
	switch l.Share {
	case event.OneHook:
		return l.Lift.Legs
	case event.Beam:
		return l.Slings
	}
	return 0
}

// canBe tells whether slings can share the lift so: two or more do, and only what
// hangs below a beam has a beam, which weighs nothing or more.
func (l LoanLift) canBe() bool {
	switch l.Share {
	case "":
		return l.Slings == 0 && l.Beam == 0 && !l.Stated
	case event.OneHook:
		return l.Lift.Legs >= 2 && l.Slings == 0 && l.Beam == 0 && !l.Stated
	case event.Beam:
		return l.Slings >= 2 && l.Beam >= 0
	}
	return false
}

// Of is the lift as it is asked of one sling of it. A part under a beam that is
// equal is rounded up to the next whole unit, so that the parts never come to less
// than the whole.
func (l LoanLift) Of(s gate.Sling, part Part, units quantity.Units) gate.Lift {
	lift := l.Lift
	if s.Adjustable {
		lift.Shortened = part.Shortened
	}
	switch l.Share {
	case event.OneHook:
		lift.Singles = s.Legs == 1 && lift.Legs > 1 && lift.Hitch != gate.Basket
	case event.Beam:
		lift.Load = part.Carries
		if !l.Stated {
			lift.Load = l.Equal(units)
		}
	}
	return lift
}

// Equal is the equal part of each sling under a beam, in whole units of the crib.
func (l LoanLift) Equal(units quantity.Units) quantity.Mass {
	n := quantity.Mass(max(l.Slings, 1))
	unit := quantity.Pound
	if units == quantity.Metric {
		unit = quantity.Kilogram
	}
	return ((l.Lift.Load + l.Beam + n - 1) / n).Ceil(unit)
}

// Beside gives what stands against one more sling on a lift beside those that are
// on it already: that it is not like the first, or one too many.
func (l LoanLift) Beside(s gate.Sling, shortened gate.Shortening, first *Placed, already int) []gate.Reason {
	var codes []gate.Reason
	if l.Share == event.OneHook {
		plate, how := s.Plate, shortened
		if first != nil {
			plate, how = first.Plate, first.Shortened
		}
		if !rating.Alike(&plate, &s.Plate) || how != shortened {
			codes = append(codes, gate.NotAlike)
		}
	}
	if many := l.Many(); many > 0 && already >= many {
		codes = append(codes, gate.TooManyTogether)
	}
	return codes
}

// Placed is a sling that is on a lift already.
type Placed struct {
	Plate     rating.Plate
	Shortened gate.Shortening
}

// short gives what stands against all slings of a shared lift together.
func (l LoanLift) short(parts []Part) []gate.Reason {
	var codes []gate.Reason
	if len(parts) < l.Many() {
		codes = append(codes, gate.TooFewTogether)
	}
	if l.Share == event.Beam && l.Stated {
		left := l.Lift.Load + l.Beam
		for _, p := range parts {
			left -= min(p.Carries, left)
		}
		if left > 0 && len(codes) == 0 {
			codes = append(codes, gate.SharesShort)
		}
	}
	return codes
}
