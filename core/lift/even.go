package lift

import (
	"math"

	"cribgate/core/quantity"
)

// EvenLeg is what each of two like legs carries of a load that hangs level, its
// centre of gravity in the middle between them: half the load over the sine of the
// angle that they lean from horizontal (US Army FM 5-125, from memory, not seen:
// T = W/N × L/V). It is rounded up, to the largest Mass where it is beyond that.
// An angle that is not above 0 and at most 90 degrees gives 0: nothing hangs so.
// Nothing is decided by it; three and four legs share a load in no way that is
// known from their angle alone.
func EvenLeg(load quantity.Mass, fromHorizontal quantity.Angle) quantity.Mass {
	if fromHorizontal <= 0 || fromHorizontal > 90*quantity.Degree || load <= 0 {
		return 0
	}
	const doubt = 1e-12 // of floating point, so that 10,000 lb at 30° reads 10,000 lb
	units := math.Ceil(float64(load) / 2 / math.Sin(fromHorizontal.Degrees()*math.Pi/180) * (1 - doubt))
	if !(units < math.MaxInt64) {
		return math.MaxInt64
	}
	return quantity.Mass(units)
}
