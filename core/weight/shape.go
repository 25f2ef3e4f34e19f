package weight

import (
	"errors"
	"fmt"
	"math/bits"

	"cribgate/core/quantity"
)

// Shape is a solid whose size is a few lengths. The zero Shape is none.
type Shape uint8

// The shapes, with what each asks for.
const (
	Plate  Shape = iota + 1 // Length, Width, Thickness; also a block, or water in a tank
	Square                  // bar: Length, Width
	Round                   // bar, or water in a pipe: Length, Diameter
	Pipe                    // Length, Diameter outside, Thickness of the wall
)

var shapeWords = [...]string{"", "plate", "square", "round", "pipe"}

// ParseShape reads the code of a shape; false for any other word.
func ParseShape(code string) (Shape, bool) {
	for s := Plate; s <= Pipe; s++ {
		if s.String() == code {
			return s, true
		}
	}
	return 0, false
}

// String is the code that ParseShape reads; empty for none.
func (s Shape) String() string {
	if int(s) >= len(shapeWords) {
		return ""
	}
	return shapeWords[s]
}

// Size is the size of a shape; what the shape does not ask for stays 0.
type Size struct {
	Length, Width, Diameter, Thickness quantity.Length
}

// MaxLength is the largest length of a size.
const MaxLength = 100 * quantity.Metre

// SizeError names the length that is missing, out of range or not of this shape.
type SizeError struct {
	Field  string // length, width, diameter, thickness
	Reason string
}

// Error names the length and says why.
func (e *SizeError) Error() string { return "weight: " + e.Field + ": " + e.Reason }

// ErrNone reports a shape or material that is none.
var ErrNone = errors.New("weight: no shape or no material")

// Of is what so many of a solid weigh, rounded up; it is an estimate. The error is a
// *[SizeError], or [ErrNone].
func Of(m Material, s Shape, size Size, pieces int) (quantity.Mass, error) {
	if m.Density() == 0 || s.String() == "" {
		return 0, ErrNone
	}
	if err := s.check(size); err != nil {
		return 0, err
	}
	if pieces < 1 || pieces > 10_000 {
		return 0, &SizeError{"pieces", fmt.Sprintf("%d is not 1 to 10,000", pieces)}
	}
	volume := cubic(s.area(size), size.Length) // mm³
	// A cubic metre is 10⁹ mm³ and a kilogram 10⁸ of Mass's units.
	hi, lo := bits.Mul64(volume, uint64(m.Density()))
	if hi != 0 {
		return 0, tooHeavy
	}
	each := (lo + 9) / 10
	if each > uint64(quantity.MaxMass)/uint64(pieces) {
		return 0, tooHeavy
	}
	return quantity.Mass(each) * quantity.Mass(pieces), nil
}

var tooHeavy = &SizeError{"length", "the whole would weigh more than 10^12 g"}

func (s Shape) check(z Size) error {
	asks := map[string]bool{"length": true, "width": s == Plate || s == Square, "diameter": s == Round || s == Pipe, "thickness": s == Plate || s == Pipe}
	for _, f := range [...]struct {
		name string
		l    quantity.Length
	}{{"length", z.Length}, {"width", z.Width}, {"diameter", z.Diameter}, {"thickness", z.Thickness}} {
		switch {
		case !asks[f.name] && f.l != 0:
			return &SizeError{f.name, "not of this shape"}
		case asks[f.name] && (f.l <= 0 || f.l > MaxLength):
			return &SizeError{f.name, f.l.String() + " is not above 0 and up to 100 m"}
		}
	}
	if s == Pipe && 2*z.Thickness >= z.Diameter {
		return &SizeError{"thickness", "the wall leaves no bore"}
	}
	return nil
}

// area is the section in square micrometres, rounded up.
func (s Shape) area(z Size) uint64 {
	w, d, t := uint64(z.Width), uint64(z.Diameter), uint64(z.Thickness)
	switch s {
	case Plate:
		return w * t
	case Square:
		return w * w
	case Round:
		return circle(d * d)
	}
	bore := d - 2*t
	return circle(d*d - bore*bore)
}

// circle is π/4 of a square, by 355/113, which is above π by less than a
// ten-millionth.
func circle(square uint64) uint64 { return (square*355 + 451) / 452 }

// cubic is area × length in cubic millimetres, rounded up.
func cubic(area uint64, length quantity.Length) uint64 {
	const each = 1_000_000_000 // µm³ in a mm³
	hi, lo := bits.Mul64(area, uint64(length))
	lo, carry := bits.Add64(lo, each-1, 0)
	q, _ := bits.Div64(hi+carry, lo, each) // hi is below each: 10^16 × 10^8 / 2^64 is under 10^5
	return q
}
