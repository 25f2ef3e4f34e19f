package quantity

// Units are the units that a text for people leads with. Whatever they are,
// nothing is decided in them. The zero Units read as Imperial.
type Units uint8

// The two sets of units.
const (
	Imperial Units = iota + 1 // pounds, inches, °F
	Metric                    // kilograms, millimetres, °C
)

// ParseUnits reads "lb-in" or "kg-mm"; false for anything else.
func ParseUnits(s string) (Units, bool) {
	for _, u := range []Units{Imperial, Metric} {
		if s == u.String() {
			return u, true
		}
	}
	return 0, false
}

// String is the spelling that ParseUnits reads.
func (u Units) String() string {
	if u == Metric {
		return "kg-mm"
	}
	return "lb-in"
}

// Other are the units that stand in small print beside these.
func (u Units) Other() Units {
	if u == Metric {
		return Imperial
	}
	return Metric
}

// Mass is a mass in whole pounds or kilograms, the nearest, halves up.
func (u Units) Mass(m Mass) string {
	if u == Metric {
		return m.InKilograms()
	}
	return m.InPounds()
}

// MassUnit is the mass that figures are given in whole: a pound or a kilogram.
func (u Units) MassUnit() Mass {
	if u == Metric {
		return Kilogram
	}
	return Pound
}

// MassDown is a mass in whole pounds or kilograms, rounded down: the safe side for what
// may be lifted.
func (u Units) MassDown(m Mass) string { return u.Mass(m.Floor(u.MassUnit())) }

// Length is a length in inches or millimetres.
func (u Units) Length(l Length) string {
	if u == Metric {
		return l.String()
	}
	return l.InInches()
}

// Measured is a length as a gauge shows it: exact in millimetres, to the nearest
// ten-thousandth of an inch, which is finer than any gauge of a crib.
func (u Units) Measured(l Length) string { return u.measured(l, int64(Inch)/2) }

// MeasuredLimit is a limit as Measured has lengths: one that is the most is rounded
// down, one that is the least up.
func (u Units) MeasuredLimit(l Length, most bool) string {
	if most {
		return u.measured(l, 0)
	}
	return u.measured(l, int64(Inch)-1)
}

func (u Units) measured(l Length, add int64) string {
	if u == Metric {
		return l.String()
	}
	return decimal((int64(l)*10_000+add)/int64(Inch), 10_000) + " in"
}

// Long is a length of something that hangs, for people: in feet and inches to the
// nearest half inch, halves up, or in metres to the millimetre.
func (u Units) Long(l Length) string {
	if u == Metric {
		return l.InMetres()
	}
	return l.HalfInch().InFeet()
}

// Temperature is a temperature in whole degrees, the nearest, halves up.
func (u Units) Temperature(t Temperature) string {
	if u == Metric {
		return t.InCelsius()
	}
	return t.InFahrenheit()
}
