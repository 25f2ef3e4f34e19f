package quantity

// Angle is an angle in half-thousandths of a degree, so that half of an
// included angle is exact. The zero Angle is none. From what it is measured is
// the business of the name it stands under.
type Angle int64

// Units of angle.
const (
	MilliDegree Angle = 2
	Degree            = 1000 * MilliDegree
)

// MilliDegrees is the angle in whole thousandths of a degree, the nearest, halves up.
func (a Angle) MilliDegrees() int64 { return nearest(int64(a), int64(MilliDegree)) }

// Degrees is the angle as a floating-point number of degrees, for geometry.
func (a Angle) Degrees() float64 { return float64(a) / float64(Degree) }

// String is the angle for people, in degrees, exact: "52°", "52.5°".
func (a Angle) String() string { return decimal(int64(a)*5, 10_000) + "°" }
