package quantity

// Length is a length in micrometres. The zero Length is none.
type Length int64

// Units of length. An inch is 25.4 mm exactly (international yard and pound
// agreement of 1959).
const (
	Micrometre Length = 1
	Millimetre        = 1000 * Micrometre
	Metre             = 1000 * Millimetre
	Inch       Length = 25_400
	Foot              = 12 * Inch
)

// SixtyFourthsDown is n/64 in rounded down to a micrometre: the safe side for a
// measured thickness or an upper limit.
func SixtyFourthsDown(n int64) Length { return Length(floorDiv(n*int64(Inch), 64)) }

// SixtyFourthsUp is n/64 in rounded up to a micrometre: the safe side for a
// measured opening or a lower limit.
func SixtyFourthsUp(n int64) Length { return -SixtyFourthsDown(-n) }

// Floor is the length rounded down to a whole number of the unit.
func (l Length) Floor(unit Length) Length { return Length(floorDiv(int64(l), int64(unit))) * unit }

// Micrometres is the length as a bare count, for the wire.
func (l Length) Micrometres() int64 { return int64(l) }

// Millimetres is the length in whole millimetres, the nearest, halves up.
func (l Length) Millimetres() int64 { return nearest(int64(l), int64(Millimetre)) }

// String is the length for people, in millimetres, exact: "9.35 mm".
func (l Length) String() string { return decimal(int64(l), int64(Millimetre)) + " mm" }

// HalfInch is the length to the nearest half inch, halves up: as near as anybody
// measures the reach of a sling.
func (l Length) HalfInch() Length { return Length(nearest(int64(l), int64(Inch/2))) * (Inch / 2) }

// InMetres is the length for people in metres to the nearest millimetre: "2.4 m".
func (l Length) InMetres() string { return decimal(l.Millimetres(), 1000) + " m" }

// InInches is the length for people in inches and a fraction, to the nearest
// sixty-fourth, halves up: `94 1/2 in`.
func (l Length) InInches() string {
	n := l.sixtyFourths()
	if n < 0 {
		return "-" + inches(-n)
	}
	return inches(n)
}

// InFeet is the length for people in feet and inches, to the nearest
// sixty-fourth of an inch, halves up: `7 ft 10 1/2 in`.
func (l Length) InFeet() string {
	n, sign := l.sixtyFourths(), ""
	if n < 0 {
		n, sign = -n, "-"
	}
	const foot = 12 * 64
	switch {
	case n < foot:
		return sign + inches(n)
	case n%foot == 0:
		return sign + group(n/foot) + " ft"
	}
	return sign + group(n/foot) + " ft " + inches(n%foot)
}

// sixtyFourths is the nearest count of 1/64 in, halves up. Where the product
// would pass 64 bits it counts whole inches first.
func (l Length) sixtyFourths() int64 {
	whole := floorDiv(int64(l), int64(Inch))
	return whole*64 + nearest((int64(l)-whole*int64(Inch))*64, int64(Inch))
}

func inches(sixtyFourths int64) string {
	whole, num, den := sixtyFourths/64, sixtyFourths%64, int64(64)
	for num != 0 && num%2 == 0 {
		num, den = num/2, den/2
	}
	switch {
	case num == 0:
		return group(whole) + " in"
	case whole == 0:
		return group(num) + "/" + group(den) + " in"
	}
	return group(whole) + " " + group(num) + "/" + group(den) + " in"
}
