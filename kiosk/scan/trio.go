package scan

import (
	"math"
	"slices"
)

// A trio is three marks that may be the finders of one symbol: at the top left, and
// from there the next one to the right and the next one down, as far apart as span
// says, in modules. Which of the two is which is only known up to a mirror.
type trio struct {
	topLeft, topRight, bottomLeft mark
	span                          float64
	fit                           float64 // the better the larger
}

const (
	// mostMarks is how many marks are put together, and mostTrios how many of what
	// comes of it are looked at.
	mostMarks, mostTrios = 12, 6
	// The least and largest distance between finders, in modules: 21 modules less the
	// seven of one finder, and 177 (ISO/IEC 18004, from memory, not seen), with a fifth
	// for what a mark does not tell.
	leastSpan, mostSpan = 14 / 1.2, 170 * 1.2
)

// trios puts marks together, those that fit best first.
func trios(marks []mark, all []trio) []trio {
	for i, a := range marks {
		for j, b := range marks {
			if i == j {
				continue
			}
			right, ok := spanOf(a, b)
			if !ok {
				continue
			}
			for k, c := range marks {
				if k == i || k == j {
					continue
				}
				dx, dy, ex, ey := b.middle.x-a.middle.x, b.middle.y-a.middle.y, c.middle.x-a.middle.x, c.middle.y-a.middle.y
				if dx*ey-dy*ex <= 0 {
					continue
				}
				down, ok := spanOf(a, c)
				if !ok || !square(a, b.middle, c.middle) {
					continue
				}
				uneven := math.Abs(math.Log(right / down))
				if uneven > 0.4 {
					continue
				}
				all = append(all, trio{topLeft: a, topRight: b, bottomLeft: c, span: math.Sqrt(right * down),
					fit: a.likeness + b.likeness + c.likeness - uneven})
			}
		}
	}
	slices.SortStableFunc(all, func(a, b trio) int {
		switch {
		case a.fit > b.fit:
			return -1
		case a.fit < b.fit:
			return 1
		}
		return 0
	})
	return all[:min(len(all), mostTrios)]
}

// spanOf is how many modules lie between two marks, along a side of the first. By a
// projection the modules between grow or shrink evenly enough that the number is the
// distance over the mean of the modules at both ends (their geometric mean: so it is
// exact along a line).
func spanOf(a, b mark) (float64, bool) {
	across, down := a.along(b.middle)
	if across, down = math.Abs(across), math.Abs(down); min(across, down) > 0.6*max(across, down) {
		return 0, false
	}
	s, t := a.stretch(b.middle), b.stretch(a.middle)
	if !(s > 0.4*t && t > 0.4*s) {
		return 0, false
	}
	n := math.Hypot(b.middle.x-a.middle.x, b.middle.y-a.middle.y) / math.Sqrt(s*t)
	return n, n > leastSpan && n < mostSpan
}

// square tells whether two places lie along different sides of a mark.
func square(a mark, b, c point) bool {
	ba, bd := a.along(b)
	ca, cd := a.along(c)
	return (math.Abs(ba) > math.Abs(bd)) != (math.Abs(ca) > math.Abs(cd))
}

// like tells whether two trios are the same three finders.
func (t trio) like(o trio) bool {
	near := func(a, b mark) bool {
		return math.Hypot(a.middle.x-b.middle.x, a.middle.y-b.middle.y) < math.Sqrt(math.Abs(a.area()))
	}
	return near(t.topLeft, o.topLeft) && near(t.topRight, o.topRight) && near(t.bottomLeft, o.bottomLeft)
}

// scaled is the trio where a pixel is as many.
func (t trio) scaled(by float64) trio {
	t.topLeft, t.topRight, t.bottomLeft = t.topLeft.scaled(by), t.topRight.scaled(by), t.bottomLeft.scaled(by)
	return t
}
