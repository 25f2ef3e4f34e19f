package quantity

import "math"

// Mass is a mass in units of 10 µg. A rated load is a mass too. The zero Mass is
// none; callers use it for "not known" where they say so.
type Mass int64

// Units of mass. A pound is 453.59237 g exactly (international yard and pound
// agreement of 1959).
const (
	Gram     Mass = 100_000
	Kilogram      = 1000 * Gram
	Tonne         = 1000 * Kilogram
	Pound    Mass = 45_359_237
)

// MinMass and MaxMass bound every mass that is read: 1 g to 10^12 g.
const (
	MinMass = Gram
	MaxMass = 1_000_000_000_000 * Gram
)

// MaxGrams and MaxPounds are the largest whole numbers of them within MaxMass.
const (
	MaxGrams  = int64(MaxMass / Gram)
	MaxPounds = int64(MaxMass / Pound)
)

// Of is n of a unit: quantity.Of(12_300, quantity.Pound). ok is false, and the
// mass 0, unless it lies from MinMass to MaxMass.
func Of(n int64, unit Mass) (m Mass, ok bool) {
	if n <= 0 || unit <= 0 || n > int64(MaxMass/unit) {
		return 0, false
	}
	if m = Mass(n) * unit; m < MinMass {
		return 0, false
	}
	return m, true
}

// Grams is the mass in whole grams, the nearest, halves up.
func (m Mass) Grams() int64 { return nearest(int64(m), int64(Gram)) }

// Kilograms is the mass in whole kilograms, the nearest, halves up.
func (m Mass) Kilograms() int64 { return nearest(int64(m), int64(Kilogram)) }

// Pounds is the mass in whole pounds, the nearest, halves up.
func (m Mass) Pounds() int64 { return nearest(int64(m), int64(Pound)) }

// Whole is the mass as a count of the unit; ok is false where it is no whole number of them.
func (m Mass) Whole(unit Mass) (n int64, ok bool) {
	return int64(m / unit), m%unit == 0
}

// Floor is the mass rounded down to a whole number of the unit: the safe side for what may be lifted.
func (m Mass) Floor(unit Mass) Mass { return Mass(floorDiv(int64(m), int64(unit))) * unit }

// Ceil is the mass rounded up to a whole number of the unit: the safe side for what is to be
// lifted. Where that would not fit it is the largest Mass.
func (m Mass) Ceil(unit Mass) Mass {
	f := m.Floor(unit)
	switch {
	case f == m:
		return m
	case f > math.MaxInt64-unit:
		return math.MaxInt64
	}
	return f + unit
}

// String is the mass for people, in kilograms to the nearest gram: "5,579.186 kg".
func (m Mass) String() string { return decimal(m.Grams(), 1000) + " kg" }

// InPounds is the mass for people in whole pounds, the nearest, halves up: "12,300 lb".
func (m Mass) InPounds() string { return group(m.Pounds()) + " lb" }

// InKilograms is the mass for people in whole kilograms, the nearest, halves up: "5,579 kg".
func (m Mass) InKilograms() string { return group(m.Kilograms()) + " kg" }

// InTonnes is the mass for people in tonnes to the nearest kilogram, halves up: "3.15 t".
func (m Mass) InTonnes() string { return decimal(m.Kilograms(), 1000) + " t" }
