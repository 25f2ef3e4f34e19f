// Package quantity holds the masses, lengths, angles, temperatures and dates of
// this project as integers of a base unit that makes every published limit
// exact, so that "equal to the limit" is never a matter of rounding.
//
//	Mass         10 µg                exact for grams and for pounds of 453.59237 g
//	Length       1 µm                 exact for millimetres and hundredths of an inch
//	Angle        half of 1/1000°      exact for half an included angle
//	Temperature  ninth of 1 °C        exact for whole °C and whole °F
//	Date         day                  years 1 to 9999, Gregorian throughout
//
// A rated load times published factors is no whole number of anything. It is
// kept as a [Product], a mass times an exact fraction, and products are
// compared exactly, in 192 bits, without math/big.
//
// Nothing here decides anything. Text for people (String, Pounds, Inches…) may
// round and says how; nothing that decides may read it back. What the types
// cannot hold is never wrapped round: constructors say no, and a Product that
// cannot be known refuses every comparison that would permit something.
package quantity

import (
	"strconv"
	"strings"
)

// group writes n with a comma between thousands.
func group(n int64) string {
	s := strconv.FormatInt(n, 10)
	sign := ""
	if s[0] == '-' {
		sign, s = "-", s[1:]
	}
	for at := len(s) - 3; at > 0; at -= 3 {
		s = s[:at] + "," + s[at:]
	}
	return sign + s
}

// decimal writes n/unit, unit a power of ten, with no more digits than it takes.
func decimal(n, unit int64) string {
	sign := ""
	if n < 0 {
		sign, n = "-", -n
	}
	s := sign + group(n/unit)
	if rest := n % unit; rest != 0 {
		digits := strconv.FormatInt(unit+rest, 10)[1:]
		s += "." + strings.TrimRight(digits, "0")
	}
	return s
}

// floorDiv is n/unit rounded down, unit above zero.
func floorDiv(n, unit int64) int64 {
	q := n / unit
	if n%unit < 0 {
		q--
	}
	return q
}

// nearest is n/unit rounded to the nearest whole number, halves up.
func nearest(n, unit int64) int64 {
	q := floorDiv(n, unit)
	if n-q*unit >= unit-unit/2 {
		q++
	}
	return q
}
