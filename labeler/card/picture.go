package card

import (
	"math"

	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/labeler/sheet"
)

// legDrawn is the length of a leg in the pictures; all are drawn alike, so that
// flat and steep are seen.
const legDrawn = 7 * mm

// pastDrawn is the angle from horizontal at which legs too flat for any band are
// drawn.
const pastDrawn = 15

// picture draws two legs at the flattest angle of a column, the hook at apex,
// and an arc where the angle is measured. What is too flat is struck out.
func picture(apex sheet.Point, c Column) []sheet.Path {
	const line, thin = 500 * quantity.Micrometre, 200 * quantity.Micrometre
	h := float64(c.Flattest.Size.MilliDegrees()) / 1000
	if c.Flattest.From == gate.FromVertical {
		h = 90 - h
	}
	if c.Over {
		h = pastDrawn
	}
	sin, cos := math.Sincos(h * math.Pi / 180)
	across, down := quantity.Length(math.Round(float64(legDrawn)*cos)), quantity.Length(math.Round(float64(legDrawn)*sin))
	left, right := pt(apex.X-across, apex.Y+down), pt(apex.X+across, apex.Y+down)
	paths := []sheet.Path{
		sheet.Stroke(apex, left, line),
		sheet.Stroke(apex, right, line),
		sheet.Rectangle(box(left.X-500, left.Y+250, right.X+500, left.Y+1250)),
	}
	switch {
	case c.Over:
		paths = append(paths,
			sheet.Stroke(pt(apex.X-4*mm, apex.Y+5*mm), pt(apex.X+4*mm, apex.Y), line),
			sheet.Stroke(pt(apex.X-4*mm, apex.Y), pt(apex.X+4*mm, apex.Y+5*mm), line))
	case c.Flattest.From == gate.FromVertical:
		paths = append(paths,
			sheet.Stroke(apex, pt(apex.X, apex.Y+down), thin),
			sheet.Arc(apex, 3*mm, thin, 90, 180-h))
	default:
		paths = append(paths, sheet.Arc(left, 3*mm, thin, 0, -h))
	}
	return paths
}
