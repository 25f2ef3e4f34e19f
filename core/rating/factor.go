package rating

import (
	"cribgate/core/quantity"
	"cribgate/core/source"
)

// Factor is the exact decimal by which a single-leg rating is multiplied for a
// number of legs at a basis; false where the basis does not go with so many
// legs. US: two or three legs × sine of the angle from horizontal, as the tables
// have it ([source.USMultipliers]). EN: the mode factors of EN 818-4
// ([source.ENMultipliers]). A fourth leg adds nothing in either.
func Factor(legs int, b Basis) (quantity.Ratio, bool) {
	switch c := class(legs); {
	case c == 1 && b == Vertical:
		return quantity.Ratio{Num: 1, Den: 1}, true
	case c == 2:
		switch b {
		case H60:
			return quantity.Ratio{Num: 17_320, Den: 10_000}, true
		case H45:
			return quantity.Ratio{Num: 14_142, Den: 10_000}, true
		case H30, B60:
			return quantity.Ratio{Num: 1, Den: 1}, true
		case B45:
			return quantity.Ratio{Num: 14, Den: 10}, true
		}
	case c == 3:
		switch b {
		case H60:
			return quantity.Ratio{Num: 25_980, Den: 10_000}, true
		case H45:
			return quantity.Ratio{Num: 21_213, Den: 10_000}, true
		case H30, B60:
			return quantity.Ratio{Num: 15, Den: 10}, true
		case B45:
			return quantity.Ratio{Num: 21, Den: 10}, true
		}
	}
	return quantity.Ratio{}, false
}

// FactorSource is the clause that the factors of a basis come from.
func FactorSource(b Basis) source.Clause {
	if b == B45 || b == B60 {
		return source.ENMultipliers
	}
	return source.USMultipliers
}
