package counter

import (
	"context"
	"fmt"
	"slices"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/store"
)

// A Sight says how a sling stands in a count.
type Sight uint8

// The sights. The zero Sight is a sling that the count does not say anything of: it
// does not belong to the places that are counted, or is not in the crib, and was not
// seen.
const (
	NoSight    Sight = iota
	SeenThere        // at its own place, or where the place was not said
	WrongPlace       // it hangs where another place is on record
	OutButHere       // it is booked out, lost or retired, and was seen
	NotSeen          // it should hang there
	Elsewhere        // it is impounded or at a repairer's, and was not seen
)

// SightOf gives how a sling stands in a count of the places that begin so, of the
// whole rack where there are none. What went out after it was seen was seen there.
func SightOf(s state.Sling, count event.CountID, places []string) Sight {
	seen := s.Seen.Count == count && !count.IsZero()
	st := s.Details.Sling.State
	switch {
	case seen && (st == gate.StateLost || st == gate.StateRetired):
		return OutButHere
	case seen && st == gate.StateOut:
		if s.Loan.Since.After(s.Seen.At) {
			return SeenThere
		}
		return OutButHere
	case !Hangs(st):
		return NoSight
	case seen && atPlace(store.KeyOfPlace(s.Details.Place), store.KeyOfPlace(s.Seen.Place)):
		return SeenThere
	case seen:
		return WrongPlace
	case within(store.KeyOfPlace(s.Details.Place), places):
		if isElsewhere(s) {
			return Elsewhere
		}
		return NotSeen
	}
	return NoSight
}

// isElsewhere tells whether the record has a sling at a repairer's, or in the custody
// of whoever keeps it after an accident.
func isElsewhere(s state.Sling) bool {
	return s.Impound != (state.Impound{}) || s.Repair != (state.Repair{})
}

// SplitElsewhere takes those out of a list of what hangs that the record has at a
// repairer's or impounded, and that were not seen in a count: they need not hang there.
func SplitElsewhere(ctx context.Context, r store.Reader, pegs []store.Peg, count event.CountID) (here, elsewhere []store.Peg, err error) {
	for _, p := range pegs {
		if p.Stands == gate.StateHeld && (count.IsZero() || p.Seen != count) {
			s, err := r.Sling(ctx, p.ID)
			if err != nil {
				return nil, nil, fmt.Errorf("counter: what is held: %w", err)
			}
			if isElsewhere(s) {
				elsewhere = append(elsewhere, p)
				continue
			}
		}
		here = append(here, p)
	}
	return here, elsewhere, nil
}

// Hangs tells whether a sling of that state should hang in the rack.
func Hangs(st gate.State) bool {
	return st == gate.StateIn || st == gate.StateUnchecked || st == gate.StateHeld
}

// nowhere is where a sling was seen of which the place was not said.
var nowhere = store.KeyOfPlace("")

// atPlace tells whether a sling that hangs at a place was seen there.
func atPlace(own, seen store.PlaceKey) bool { return seen == nowhere || own.In(seen) }

// within tells whether a place is among those that are counted.
func within(own store.PlaceKey, places []string) bool {
	return len(places) == 0 || slices.ContainsFunc(places, func(p string) bool { return own.In(store.KeyOfPlace(p)) })
}

// Sighted lists what a count came to, as one walks along the rack. A sling that is
// lost, retired or booked out is in no list unless it was seen.
type Sighted struct {
	Seen       []store.Peg
	WrongPlace []store.Peg
	OutButHere []store.Peg
	NotSeen    []store.Peg
	Elsewhere  []store.Peg // at a repairer's or impounded, and not seen
}

// Tally counts the lists.
func (f Sighted) Tally() event.Tally {
	return event.Tally{Seen: len(f.Seen), WrongPlace: len(f.WrongPlace), OutButHere: len(f.OutButHere), NotSeen: len(f.NotSeen)}
}

// Sightings gives what a count of those places has come to so far, as the register
// stands now. It can be asked of the newest count only: a sling tells in which one
// it was seen last.
func Sightings(ctx context.Context, r store.Reader, count event.CountID, places []string) (Sighted, error) {
	var f Sighted
	hung, err := r.Pegs(ctx, "")
	if err != nil {
		return Sighted{}, fmt.Errorf("counter: what hangs: %w", err)
	}
	for _, p := range hung {
		switch {
		case p.Seen == count && atPlace(p.Place, p.SeenAt):
			f.Seen = append(f.Seen, p)
		case p.Seen == count:
			f.WrongPlace = append(f.WrongPlace, p)
		case within(p.Place, places):
			f.NotSeen = append(f.NotSeen, p)
		}
	}
	if f.NotSeen, f.Elsewhere, err = SplitElsewhere(ctx, r, f.NotSeen, count); err != nil {
		return Sighted{}, err
	}
	seen, err := r.SeenAt(ctx, count, "")
	if err != nil {
		return Sighted{}, fmt.Errorf("counter: what was seen: %w", err)
	}
	for _, p := range seen {
		if Hangs(p.Stands) {
			continue
		}
		s, err := r.Sling(ctx, p.ID)
		if err != nil {
			return Sighted{}, fmt.Errorf("counter: what was seen: %w", err)
		}
		if SightOf(s, count, places) == OutButHere {
			f.OutButHere = append(f.OutButHere, p)
		} else {
			f.Seen = append(f.Seen, p)
		}
	}
	return f, nil
}

// Within gives those that hang at the places that begin so; all where there are none.
func Within(pegs []store.Peg, places []string) []store.Peg {
	return slices.DeleteFunc(slices.Clone(pegs), func(p store.Peg) bool { return !within(p.Place, places) })
}
