package rating

import (
	"fmt"
	"math/bits"

	"cribgate/core/quantity"
	"cribgate/core/source"
)

// StampFinding compares one stamp with its table cell.
type StampFinding struct {
	Stamp   Stamp
	Cell    quantity.Mass // the cell, or single × factor to 10 µg; 0 where there is nothing to compare with
	Printed bool          // the cell is printed in a table
	Source  source.Clause // of the cell
	// PerMille is how far the stamp lies above its cell in tenths of a per
	// cent, below it as a negative number, rounded away from 0.
	PerMille int
	Fit      Fit
}

// PlateFinding is what a plate's stamps say together. The zero PlateFinding
// comes with an error of CheckStamps only.
type PlateFinding struct {
	Rating Rating
	Stamps []StampFinding
}

// CheckStamps compares every stamp of a plate with the tables, for a page that
// shows it while the plate is typed. The error is a *[PlateError]: what is typed
// so far cannot be a plate.
func CheckStamps(p Plate) (PlateFinding, error) {
	if err := p.Check(); err != nil {
		return PlateFinding{}, fmt.Errorf("rating: check stamps: %w", err)
	}
	f := PlateFinding{Rating: Rate(&p)}
	for _, s := range p.Stamped {
		cell, why, printed := f.Rating.Cell(s.Legs, s.Basis)
		found := StampFinding{Stamp: s, Cell: cell.Floor(), Printed: printed, Source: why, Fit: s.fit(cell)}
		if found.Cell > 0 {
			found.PerMille = perMille(s.Load, found.Cell)
		}
		f.Stamps = append(f.Stamps, found)
	}
	return f, nil
}

// perMille is (load − cell) / cell in thousandths, away from 0; the largest int
// where it is beyond that.
func perMille(load, cell quantity.Mass) int {
	diff, sign := uint64(load-cell), 1
	if load < cell {
		diff, sign = uint64(cell-load), -1
	}
	hi, lo := bits.Mul64(diff, 1_000)
	const most = 1 << 40
	if hi >= uint64(cell) {
		return sign * most
	}
	q, rest := bits.Div64(hi, lo, uint64(cell))
	if rest > 0 {
		q++
	}
	return sign * int(min(q, most))
}

// Percent is the difference from the cell for people: "+1.6 %", "−5.1 %", "0 %".
func (f StampFinding) Percent() string {
	n, sign := f.PerMille, "+"
	switch {
	case n == 0:
		return "0 %"
	case n < 0:
		n, sign = -n, "−"
	}
	if n%10 == 0 {
		return fmt.Sprintf("%s%d %%", sign, n/10)
	}
	return fmt.Sprintf("%s%d.%d %%", sign, n/10, n%10)
}

// Words says in one sentence what the stamp means for the rating.
func (f StampFinding) Words(u quantity.Units) string {
	load := u.Mass(f.Stamp.Load)
	from := "The table has " + u.Mass(f.Cell)
	if !f.Printed {
		from = "Single leg times factor gives " + u.Mass(f.Cell)
	}
	switch f.Fit {
	case Agrees:
		if f.PerMille == 0 {
			return from + ", as stamped."
		}
		return fmt.Sprintf("%s; %s stamped agrees with it (%s).", from, load, f.Percent())
	case Lower:
		return fmt.Sprintf("%s; %s stamped is lower (%s), so the stamp rates the leg.", from, load, f.Percent())
	case TooHigh:
		return fmt.Sprintf("%s; %s stamped is more than that by over 2.5 %% (%s): read the plate again.", from, load, f.Percent())
	}
	return fmt.Sprintf("Nothing to compare %s stamped with.", load)
}

// Words lists, one sentence each, why the plate rates nothing; empty where it
// can be rated.
func (f PlateFinding) Words() []string {
	var words []string
	for _, fault := range Faults() {
		if f.Rating.Faults&fault != 0 {
			words = append(words, fault.Words())
		}
	}
	return words
}

// Words says in one sentence what a single fault means.
func (f Fault) Words() string {
	switch f {
	case NoListedRating:
		return "No table lists this size and grade, and no rating from the maker's chart is on record."
	case NoStampedRating:
		return "No rated load from the plate is on record."
	case StampTooHigh:
		return "A rated load on record is higher than the table allows for this size and grade."
	case StampsDisagree:
		return "The rated loads on record contradict each other."
	}
	return ""
}
