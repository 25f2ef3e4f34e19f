package rating

import (
	"fmt"

	"cribgate/core/quantity"
)

// Stamp is one rated load stamped on the plate: for how many legs, on which
// basis, how much.
type Stamp struct {
	Legs  int
	Basis Basis
	Load  quantity.Mass
}

// Plate is what is stamped on a sling and known of its metal: all that a rating
// needs. The zero Plate is no sling; [Plate.Check] says what is wrong with one.
type Plate struct {
	System     System
	Grade      Grade
	Size       Size
	Legs       int             // 1 to 4
	Reach      quantity.Length // bearing point to bearing point; 0 unknown
	Adjustable bool            // legs can be shortened
	Stamped    []Stamp         // may be empty, which rates nothing
	Chart      quantity.Mass   // single-leg rating by the maker's chart; 0 none; counts where no table has a row
	Weakest    quantity.Mass   // single-leg rating of a component below the chain's; 0 none
	Master     quantity.Mass   // rated load of the upper fitting where it is below what the legs could bring; 0 none
}

// PlateError says which fact of a plate cannot be.
type PlateError struct {
	Field  string // as the machine surface names it, without the unit
	Reason string
}

// Error names the field and says why.
func (e *PlateError) Error() string { return e.Field + ": " + e.Reason }

// MaxReach is the longest reach that is read, 10^6 mm.
const MaxReach = 1_000_000 * quantity.Millimetre

// Check tells whether the facts of the plate can stand together. It says
// nothing about whether the sling may be used. The error is a *[PlateError].
func (p *Plate) Check() error {
	bad := func(field, format string, args ...any) error {
		return &PlateError{field, fmt.Sprintf(format, args...)}
	}
	switch {
	case p.System != US && p.System != EN:
		return bad("system", "neither us nor en")
	case !p.Grade.Known():
		return bad("grade", "%d is not 80, 100 or 120", p.Grade)
	case p.Size.system != p.System || p.Size.String() == "":
		return bad("size", "not a size of system %s", p.System)
	case p.Legs < 1 || p.Legs > 4:
		return bad("legs", "%d is not 1 to 4", p.Legs)
	case p.Reach < 0 || p.Reach > MaxReach || p.Reach%quantity.Millimetre != 0:
		return bad("reach", "%s is not whole millimetres from 1 to 1,000,000", p.Reach)
	}
	for i, s := range p.Stamped {
		field := "stamped"
		switch {
		case s.Legs < 1 || s.Legs > 4:
			return bad(field, "stamp %d: %d legs are not 1 to 4", i+1, s.Legs)
		case s.Legs > p.Legs:
			return bad(field, "stamp %d is for %d legs, the sling has %d", i+1, s.Legs, p.Legs)
		case !s.Basis.belongs(p.System, s.Legs):
			return bad(field, "stamp %d: basis %q does not belong to %d legs in system %s", i+1, s.Basis, s.Legs, p.System)
		case !loadInRange(s.Load):
			return bad(field, "stamp %d: load %s is not whole grams or pounds from 1 g to 10^12 g", i+1, s.Load)
		}
	}
	for _, m := range [...]struct {
		field string
		load  quantity.Mass
	}{{"chart", p.Chart}, {"weakest", p.Weakest}, {"master", p.Master}} {
		if m.load != 0 && !loadInRange(m.load) {
			return bad(m.field, "%s is not whole grams or pounds from 1 g to 10^12 g", m.load)
		}
	}
	return nil
}

// loadInRange tells whether a load is one that can be read and written: a
// whole number of grams or of pounds, within the bounds of every mass.
func loadInRange(m quantity.Mass) bool {
	if m < quantity.MinMass || m > quantity.MaxMass {
		return false
	}
	return m%quantity.Gram == 0 || m%quantity.Pound == 0
}

// class is the class of legs that the tables know: one, two, or three and four
// in one column (US OSHA, Guidance on Safe Sling Use, tables 1 and 2: "triple
// and quadruple"; EN 818-4). 0 for anything else.
func class(legs int) int {
	switch legs {
	case 1, 2, 3:
		return legs
	case 4:
		return 3
	}
	return 0
}

// SameClass tells whether two numbers of legs are rated alike.
func SameClass(a, b int) bool { return class(a) != 0 && class(a) == class(b) }

// Alike tells whether one-leg slings work on one hook as the legs of one sling do:
// of one system, size, grade and reach, which must be known (common practice, no
// source: [source.SinglesTogether]).
func Alike(a, b *Plate) bool {
	return a.Legs == 1 && b.Legs == 1 && a.System == b.System && a.Grade == b.Grade && a.Size == b.Size &&
		a.Reach == b.Reach && a.Reach > 0
}
