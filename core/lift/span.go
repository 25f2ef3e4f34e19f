package lift

import (
	"math"

	"cribgate/core/quantity"
)

// Like legs that stand evenly around the plumb line, on picks of one height. Span
// is the distance of the picks of two legs, and the diameter of the circle through
// the picks of three or four. Results are rounded to the safe side and never by
// less than [Tolerance], so that what comes out even reads even.

// nudge is how much of a unit of the result floating point may be off.
const nudge = 1e-6

// Lean is the angle from horizontal at which legs of a reach stand over a span,
// rounded down to a thousandth of a degree. False where the reach is no longer than
// half the span, or the span is not above 0.
func Lean(span, reach quantity.Length) (fromHorizontal quantity.Angle, ok bool) {
	if span <= 0 || 2*reach <= span {
		return 0, false
	}
	h := math.Acos(float64(span)/(2*float64(reach))) * 180 / math.Pi
	a := quantity.MilliDegree * quantity.Angle(math.Floor(h*1000+nudge))
	return a, a > 0
}

// Rise is how high the hook stands over the picks, rounded up to a millimetre.
// False as for [Lean].
func Rise(span, reach quantity.Length) (height quantity.Length, ok bool) {
	if span <= 0 || 2*reach <= span {
		return 0, false
	}
	half := mm(span) / 2
	return up(math.Sqrt(mm(reach)*mm(reach) - half*half)), true
}

// ReachFor is the shortest reach whose legs stand at an angle over a span or
// steeper, rounded up to a millimetre. False where the angle is not above 0° and
// below 90°, or the span not above 0.
func ReachFor(span quantity.Length, fromHorizontal quantity.Angle) (reach quantity.Length, ok bool) {
	if span <= 0 || fromHorizontal <= 0 || fromHorizontal >= 90*quantity.Degree {
		return 0, false
	}
	return up(mm(span) / 2 / math.Cos(fromHorizontal.Degrees()*math.Pi/180)), true
}

// SpanFor is the span over which legs of a reach stand at an angle, to the nearest
// millimetre. It is for drawing.
func SpanFor(reach quantity.Length, fromHorizontal quantity.Angle) quantity.Length {
	return nearest(2 * mm(reach) * math.Cos(fromHorizontal.Degrees()*math.Pi/180))
}

// Rectangle is the span of four picks at the corners of a rectangle: its diagonal,
// rounded up to a millimetre. 0 where a side is not above 0.
func Rectangle(length, width quantity.Length) quantity.Length {
	if length <= 0 || width <= 0 {
		return 0
	}
	return up(math.Hypot(mm(length), mm(width)))
}

// Triangle is the span of three picks that are equally far from each other: the
// diameter of the circle through them, rounded up to a millimetre. 0 where the side
// is not above 0.
func Triangle(side quantity.Length) quantity.Length {
	if side <= 0 {
		return 0
	}
	return up(2 * mm(side) / math.Sqrt(3))
}

// Closes tells whether the length of a leg, how far its pick is from the plumb line
// and how high the hook stands over the pick can be of one lift: the leg is within a
// hundredth of itself of what the other two make it (site policy, no source: as near
// as a tape is read under a hook). Published examples have failed it.
func Closes(leg, across, height quantity.Length) bool {
	return leg > 0 && math.Abs(math.Hypot(mm(across), mm(height))-mm(leg)) <= mm(leg)/100*(1+Tolerance)
}

// up rounds millimetres up to a whole one.
func up(mm float64) quantity.Length {
	return quantity.Length(math.Ceil(mm-nudge)) * quantity.Millimetre
}

// nearest rounds millimetres to the nearest whole one.
func nearest(mm float64) quantity.Length {
	return quantity.Length(math.Round(mm)) * quantity.Millimetre
}
