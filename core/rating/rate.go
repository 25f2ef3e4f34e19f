package rating

import (
	"cribgate/core/quantity"
	"cribgate/core/source"
)

// Fault is a reason why a plate rates nothing.
type Fault uint8

// The faults.
const (
	NoListedRating Fault = 1 << iota // no table has a row and the maker's chart was not entered
	NoStampedRating
	StampTooHigh
	StampsDisagree
)

// Faults lists all faults, in the order in which a refusal names them.
func Faults() [4]Fault {
	return [4]Fault{NoListedRating, NoStampedRating, StampTooHigh, StampsDisagree}
}

// String is the reason code of a single fault; empty for none.
func (f Fault) String() string {
	switch f {
	case NoListedRating:
		return "no-listed-rating"
	case NoStampedRating:
		return "no-stamped-rating"
	case StampTooHigh:
		return "stamp-too-high"
	case StampsDisagree:
		return "stamps-disagree"
	}
	return ""
}

// Limits on how far a stamp may lie from its cell and from the others: site
// policy on top of the tables' own rounding ([source.StampRounding]); one step
// of series R40 is 6 % ([source.PreferredStep]).
var (
	stampLow    = quantity.Percent(95)
	stampHigh   = quantity.Ratio{Num: 1_025, Den: 1_000}
	stampSpread = quantity.Percent(107)
)

// Rating is what one leg of a sling may carry and why. It keeps the plate that
// it was made for, which must not change meanwhile. The zero Rating is of no
// sling, and every load it gives is not known, which permits nothing.
type Rating struct {
	plate *Plate
	// Single is the table's single-leg rating, or the maker's where no table
	// has a row; 0 where there is neither.
	Single       quantity.Mass
	SingleSource source.Clause
	// Leg is the rating of one leg; not known where Single is 0.
	Leg       quantity.Product
	LegSource source.Clause
	Faults    Fault // all faults together; 0 for none
}

// Rate finds the rating of one leg of a plate that [Plate.Check] accepts.
func Rate(p *Plate) Rating {
	r := Rating{plate: p}
	if cell, ok := TableCell(p.Grade, p.Size, 1, Vertical); ok {
		r.Single, r.SingleSource = cell.Load, cell.Source
	} else if p.Chart > 0 {
		r.Single, r.SingleSource = p.Chart, source.MakerChart
	} else {
		r.Faults |= NoListedRating
	}
	if len(p.Stamped) == 0 {
		r.Faults |= NoStampedRating
	}
	if r.Single > 0 {
		r.Leg, r.LegSource = r.Single.Exact(), r.SingleSource
	}
	var least, most quantity.Product
	for i, s := range p.Stamped {
		leg := s.leg()
		if i == 0 || least.More(leg) {
			least = leg
		}
		if i == 0 || leg.More(most) {
			most = leg
		}
		if r.Single == 0 {
			continue
		}
		cell, _, _ := r.Cell(s.Legs, s.Basis)
		switch s.fit(cell) {
		case TooHigh:
			r.Faults |= StampTooHigh
		case Lower:
			r.lower(leg, source.TagGoverns)
		}
	}
	if len(p.Stamped) > 1 && most.More(least.Times(stampSpread)) {
		r.Faults |= StampsDisagree
	}
	if p.Weakest > 0 && r.Single > 0 {
		r.lower(p.Weakest.Exact(), source.WeakestPart)
	}
	return r
}

func (r *Rating) lower(leg quantity.Product, why source.Clause) {
	if r.Leg.More(leg) {
		r.Leg, r.LegSource = leg, why
	}
}

// leg brings the stamped load back to one leg.
func (s Stamp) leg() quantity.Product {
	f, _ := Factor(s.Legs, s.Basis)
	return s.Load.Times(f.Inverse())
}

// Fit says how a stamp lies to its table cell. The zero Fit is not known.
type Fit uint8

// The fits.
const (
	UnknownFit Fit = iota // nothing to compare with
	Agrees                // within the rounding of the tables
	Lower                 // lower than the table: the stamp lowers the rating of the leg
	TooHigh               // higher than the table: the stamp is not believed
)

func (s Stamp) fit(cell quantity.Product) Fit {
	switch {
	case !cell.Known():
		return UnknownFit
	case s.Load.Exact().More(cell.Times(stampHigh)):
		return TooHigh
	case cell.Times(stampLow).More(s.Load.Exact()):
		return Lower
	}
	return Agrees
}

// Cell is the table cell for a number of legs and a basis, and its clause;
// where no table prints one, single × factor stands for it and printed is false.
// It is not known where there is no single-leg rating or no such factor.
func (r *Rating) Cell(legs int, b Basis) (load quantity.Product, why source.Clause, printed bool) {
	if r.Single == 0 {
		return quantity.Product{}, source.None, false
	}
	if cell, ok := TableCell(r.plate.Grade, r.plate.Size, legs, b); ok {
		return cell.Load.Exact(), cell.Source, true
	}
	f, _ := Factor(legs, b)
	return r.Single.Times(f), FactorSource(b), false
}

// Load is what so many legs at a basis may carry, straight, in balance and
// cold, and the clause that sets it. With byTag the load stamped for just this
// class of legs and this basis (the smallest, if several) is taken where there
// is one; otherwise the leg's rating × factor. It is never more than the printed
// cell, nor than the weakest component × factor.
func (r *Rating) Load(legs int, b Basis, byTag bool) (load quantity.Product, why source.Clause) {
	f, ok := Factor(legs, b)
	if !ok || !r.Leg.Known() {
		return quantity.Product{}, source.None
	}
	load, why = r.Leg.Times(f), FactorSource(b)
	if stamp, ok := r.plate.StampFor(legs, b); ok && byTag {
		load, why = stamp.Load.Exact(), source.TagGoverns
	}
	if cell, ok := TableCell(r.plate.Grade, r.plate.Size, legs, b); ok && load.More(cell.Load.Exact()) {
		load, why = cell.Load.Exact(), cell.Source
	}
	if w := r.plate.Weakest.Times(f); r.plate.Weakest > 0 && load.More(w) {
		load, why = w, source.WeakestPart
	}
	return load, why
}

// StampFor is the smallest load stamped for just this class of legs and this
// basis; false where none is.
func (p *Plate) StampFor(legs int, b Basis) (least Stamp, ok bool) {
	for _, s := range p.Stamped {
		if SameClass(s.Legs, legs) && s.Basis == b && (!ok || s.Load < least.Load) {
			least, ok = s, true
		}
	}
	return least, ok
}

// LargestStamp is the largest load stamped for any legs at any basis; 0 where
// nothing is stamped.
func (p *Plate) LargestStamp() quantity.Mass {
	var most quantity.Mass
	for _, s := range p.Stamped {
		most = max(most, s.Load)
	}
	return most
}
