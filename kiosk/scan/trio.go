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
	// comes of it are looked at (found by trial, no source: a sheet that is printed with nested
	// squares has some ninety marks, each as like a finder as a finder).
	mostMarks, mostTrios = 160, 6
	// timingWeight is what timing lines weigh beside how like finders three marks are
	// together (found by trial, no source).
	timingWeight = 1.5
	// Where there are more sure marks than crowd, in three tags there are nine, they are of
	// something printed: then only what alternates by crowdTiming, which of 50 tags among such
	// did 50, is looked at, and what is at most crowdSpan apart, a symbol of version 10 and
	// some (found by trial, no source).
	crowd, crowdTiming, crowdSpan = 9, 0.45, 60
	// The least and largest distance between finders, in modules: 21 modules less the
	// seven of one finder, and 177 (ISO/IEC 18004, from memory, not seen), with a fifth
	// for what a mark does not tell.
	leastSpan, mostSpan = 14 / 1.2, 170 * 1.2
)

// putTogether makes trios of the marks, those that fit best first.
func (s *search) putTogether() {
	s.trios = s.trios[:0]
	for i := range s.marks {
		a, seen := &s.marks[i], s.linksOf(i)
		if s.effort -= len(seen) * len(seen) / pairsAtLook; s.effort < 0 {
			return
		}
		for j := range seen {
			right := &seen[j]
			for k := range seen {
				down := &seen[k]
				if right.ahead.down == down.ahead.down {
					continue
				}
				uneven := math.Abs(right.logSpan - down.logSpan)
				if uneven > mostUneven {
					continue
				}
				b, c := &s.marks[right.to], &s.marks[down.to]
				fit := a.likeness + b.likeness + c.likeness - uneven
				if n := len(s.trios); n == mostTrios && s.trios[n-1].fit >= fit+timingWeight || cross(a.middle, b.middle, c.middle) <= 0 {
					continue
				}
				timed := together(right, down)
				if s.crowded && timed < crowdTiming {
					continue
				}
				s.keepTrio(trio{topLeft: *a, topRight: *b, bottomLeft: *c, span: math.Sqrt(right.span * down.span), fit: fit + timingWeight*timed})
			}
		}
	}
}

const (
	// pairsAtLook is how many pairs of links are put together in the time of one look at a
	// module (measured, no source).
	pairsAtLook = 4
	// mostUneven is how far apart the logarithms of two sides of a symbol may be (found by
	// trial, no source).
	mostUneven = 0.4
)

// keepTrio puts a trio among the best, the best first.
func (s *search) keepTrio(t trio) { s.trios = keptBest(s.trios, t, mostTrios, trio.worth) }

func (t trio) worth() float64 { return t.fit }

// keptBest puts one among the best, at most so many, the best first.
func keptBest[T any](best []T, one T, most int, worth func(T) float64) []T {
	if n := len(best); n == most && worth(best[n-1]) >= worth(one) {
		return best
	}
	// Of those that are worth the same, the one that came first stays first.
	at, _ := slices.BinarySearchFunc(best, worth(one), func(o T, than float64) int {
		if worth(o) >= than {
			return -1
		}
		return 1
	})
	best = slices.Insert(best, at, one)
	return best[:min(len(best), most)]
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
	n := math.Sqrt(a.middle.apart(b.middle) / (s * t))
	return n, n > leastSpan && n < mostSpan
}

// likeness is how like finders the three are together.
func (t trio) likeness() float64 {
	return t.topLeft.likeness + t.topRight.likeness + t.bottomLeft.likeness
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
