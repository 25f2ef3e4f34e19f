package rating

import (
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
)

// tagBases are the bases in the order of their codes on a tag.
var tagBases = [...]Basis{1: Vertical, H60, H45, H30, B45, B60}

// most is the largest load that a tag's eighteen bits hold.
const most = 1<<18 - 1

// TagFacts is what a QR tag says of the plate: the stamp for the sling's own
// legs with the smallest basis code (the steepest angle), in whole pounds or
// kilograms, rounded down where it is neither. More is set where the plate says
// anything that is not on the tag.
func (p *Plate) TagFacts() tagcode.Facts {
	f := tagcode.Facts{
		EN: p.System == EN, Grade: uint8(p.Grade-Grade80)/20 + 1, Size: uint8(p.Size.Place()),
		Legs: uint8(p.Legs), Adjustable: p.Adjustable,
		More: len(p.Stamped) > 1 || p.Chart != 0 || p.Weakest != 0 || p.Master != 0,
	}
	if p.Reach/quantity.Millimetre < 1<<17 {
		f.Reach = p.Reach
	} else {
		f.More = true
	}
	for code, basis := range tagBases {
		for _, s := range p.Stamped {
			if code > 0 && f.Basis == 0 && s.Basis == basis && SameClass(s.Legs, p.Legs) {
				f.Basis = uint8(code)
				load(&f, s.Load)
			}
		}
	}
	f.More = f.More || f.Basis == 0 && len(p.Stamped) > 0
	return f
}

// load puts the stamped load on the tag: whole pounds, else whole kilograms,
// else kilograms rounded down.
func load(f *tagcode.Facts, m quantity.Mass) {
	n, whole := m.Whole(quantity.Pound)
	if !whole {
		n, whole = m.Whole(quantity.Kilogram)
		f.Kilograms = true
	}
	if !whole {
		n = int64(m.Floor(quantity.Kilogram) / quantity.Kilogram)
	}
	if n < 1 || n > most {
		f.Basis, f.Kilograms, f.More = 0, false, true
		return
	}
	f.Load = uint32(n)
	f.More = f.More || !whole
}

// FromTag is what a tag says of the plate of a sling that has no record. It
// serves to show it; what the tag leaves out is not there.
func FromTag(f tagcode.Facts) Plate {
	p := Plate{System: US, Grade: Grade80 + Grade(f.Grade-1)*20, Legs: int(f.Legs), Adjustable: f.Adjustable, Reach: f.Reach}
	if f.EN {
		p.System = EN
	}
	p.Size, _ = SizeAt(p.System, int(f.Size))
	unit := quantity.Pound
	if f.Kilograms {
		unit = quantity.Kilogram
	}
	if f.Basis > 0 && int(f.Basis) < len(tagBases) {
		p.Stamped = []Stamp{{Legs: p.Legs, Basis: tagBases[f.Basis], Load: quantity.Mass(f.Load) * unit}}
	}
	return p
}
