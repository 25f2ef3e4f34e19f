package rating

import "fmt"

// System is the system of sizes and angles that a sling was stamped in. The
// zero System is none.
type System uint8

// The systems.
const (
	// US: inch sizes, loads by angle from horizontal.
	US System = iota + 1
	// EN: millimetre sizes, loads by angle from vertical.
	EN
)

// ParseSystem reads "us" or "en".
func ParseSystem(s string) (System, error) {
	switch s {
	case "us":
		return US, nil
	case "en":
		return EN, nil
	}
	return 0, fmt.Errorf("rating: system %q is not us or en", s)
}

// String is "us" or "en"; empty for none.
func (s System) String() string {
	switch s {
	case US:
		return "us"
	case EN:
		return "en"
	}
	return ""
}

// Grade is the grade of the chain. EN grades 8, 10 and 12 are written 80, 100
// and 120. The zero Grade is none.
type Grade uint8

// The grades.
const (
	Grade80  Grade = 80
	Grade100 Grade = 100
	Grade120 Grade = 120
)

// Known tells whether it is a grade of lifting chain that this package rates.
func (g Grade) Known() bool { return g == Grade80 || g == Grade100 || g == Grade120 }

// Basis is what a stamped or tabulated load is based on: one leg straight down,
// or several at an angle. The zero Basis is none.
type Basis uint8

// The bases. H is measured from horizontal (US), B from vertical (EN); each
// stands for its tabulated angle and everything steeper.
const (
	Vertical Basis = iota + 1 // one leg
	H60
	H45
	H30
	B45
	B60
)

var basisWords = [...]string{"", "vertical", "h60", "h45", "h30", "b45", "b60"}

// ParseBasis reads "vertical", "h60", "h45", "h30", "b45" or "b60".
func ParseBasis(s string) (Basis, error) {
	for b := Vertical; b <= B60; b++ {
		if basisWords[b] == s {
			return b, nil
		}
	}
	return 0, fmt.Errorf("rating: basis %q is not vertical, h60, h45, h30, b45 or b60", s)
}

// String is the spelling that ParseBasis reads; empty for none.
func (b Basis) String() string {
	if int(b) >= len(basisWords) {
		return ""
	}
	return basisWords[b]
}

// Words is the basis for people: "60° from horizontal", "up to 45° from vertical".
func (b Basis) Words() string {
	switch b {
	case Vertical:
		return "one leg straight down"
	case H60:
		return "60° from horizontal"
	case H45:
		return "45° from horizontal"
	case H30:
		return "30° from horizontal"
	case B45:
		return "up to 45° from vertical"
	case B60:
		return "45° to 60° from vertical"
	}
	return "no basis"
}

// Bases lists the bases that a load for so many legs may be stamped with, the
// steepest first.
func Bases(s System, legs int) []Basis {
	switch {
	case legs == 1 && (s == US || s == EN):
		return []Basis{Vertical}
	case s == US:
		return []Basis{H60, H45, H30}
	case s == EN:
		return []Basis{B45, B60}
	}
	return nil
}

// belongs tells whether the basis goes with that many legs in the system.
func (b Basis) belongs(s System, legs int) bool {
	switch b {
	case Vertical:
		return legs == 1
	case H60, H45, H30:
		return s == US && legs > 1
	case B45, B60:
		return s == EN && legs > 1
	}
	return false
}
