package scan

import (
	"cmp"
	"math"
	"slices"
)

const (
	// mostPairs is how many pairs of marks a third is searched for, and mostSpots how many
	// places for it are looked at closely.
	mostPairs, mostSpots = 4, 3
	// pairFrom is how like a finder the better of two must be for a third to be searched
	// (found by trial, no source): what looks like one somewhere on a wall is not that good.
	pairFrom = 0.75
	// timingUnknown is what the marks at the ends of a diagonal, between which no timing line
	// lies, are taken to have of one (found by trial, no source).
	timingUnknown = 0.4
	// faint is from which likeness on a place counts as a finder where one is expected.
	faint = 0.3
)

// A pair is two marks that may be finders of one symbol.
type pair struct {
	a, b mark
	span float64 // between neighbours, in modules
	diag bool    // they lie at the ends of a diagonal
	fit  float64
}

// missing searches a third finder where two others say that it must be, and reads
// what they make together.
func (s *search) missing(sign float64) bool {
	for _, p := range s.pairs(sign) {
		if s.effort < 0 {
			return false
		}
		if s.layPair(p, sign) || s.third(p, sign) {
			return true
		}
	}
	return false
}

// pairs are marks that see each other along their sides or half way between them, the
// best first.
func (s *search) pairs(sign float64) []pair {
	s.link(sign)
	s.pairsKept = s.pairsKept[:0]
	for i, a := range s.marks {
		if s.effort -= len(s.marks); s.effort < 0 {
			break
		}
		for _, l := range s.linksOf(i) {
			b := s.marks[l.to]
			if l.to < i || max(a.likeness, b.likeness) < pairFrom {
				continue
			}
			timed := l.best()
			if _, ok := spanOf(b, a); !ok || s.crowded && timed < crowdTiming {
				continue
			}
			s.keepPair(pair{a: a, b: b, span: l.span, fit: a.likeness + b.likeness + timingWeight*timed})
		}
		if s.crowded {
			continue
		}
		for _, b := range s.marks[i+1:] {
			if max(a.likeness, b.likeness) < pairFrom {
				continue
			}
			if span, ok := diagonal(a, b); ok {
				s.keepPair(pair{a: a, b: b, span: span, diag: true, fit: a.likeness + b.likeness + timingWeight*timingUnknown})
			}
		}
	}
	return s.pairsKept
}

// keepPair puts a pair among the best, the best first.
func (s *search) keepPair(p pair) { s.pairsKept = keptBest(s.pairsKept, p, mostPairs, pair.worth) }

func (p pair) worth() float64 { return p.fit }

// diagonal tells whether two marks may be those at the ends of a symbol's diagonal,
// and how many modules the sides between have.
func diagonal(a, b mark) (span float64, ok bool) {
	for _, m := range [...][2]mark{{a, b}, {b, a}} {
		across, down := m[0].along(m[1].middle)
		if across, down = math.Abs(across), math.Abs(down); min(across, down) < 0.4*max(across, down) {
			return 0, false
		}
	}
	s, t := a.stretch(b.middle), b.stretch(a.middle)
	if !(s > 0.4*t && t > 0.4*s) {
		return 0, false
	}
	n := math.Hypot(b.middle.x-a.middle.x, b.middle.y-a.middle.y) / math.Sqrt(2*s*t)
	return n, n > leastSpan && n < mostSpan
}

// third searches where the third of a pair may be: beside either mark, on both sides
// of the line between them; or at the two other corners where they lie across.
func (s *search) third(p pair, sign float64) bool {
	size := math.Sqrt(math.Sqrt(math.Abs(p.a.area() * p.b.area())))
	r := s.raised(s.level(size, modulePixels))
	if len(r.out) == 0 {
		return false
	}
	a, b := p.a.scaled(1/r.shrink), p.b.scaled(1/r.shrink)
	var found []trio
	add := func(corner, one, other mark, fit float64) {
		t := trio{topLeft: corner, topRight: one, bottomLeft: other, span: p.span, fit: fit}
		if cross(corner.middle, one.middle, other.middle) < 0 {
			t.topRight, t.bottomLeft = other, one
		}
		found = append(found, t.scaled(r.shrink))
	}
	if p.diag {
		across, down := a.along(b.middle)
		for _, step := range [...]point{
			{across * a.across.x / p.span, across * a.across.y / p.span},
			{down * a.down.x / p.span, down * a.down.y / p.span},
		} {
			to := point{(b.middle.x-a.middle.x)/p.span - step.x, (b.middle.y-a.middle.y)/p.span - step.y}
			if m, ok := s.searchMark(r, a, step, to, p.span, sign); ok {
				add(m, a, b, m.likeness)
			}
		}
	} else {
		for _, ends := range [...][2]mark{{a, b}, {b, a}} {
			from, other := ends[0], ends[1]
			away := from.beside(other)
			ahead := point{(other.middle.x - from.middle.x) / p.span, (other.middle.y - from.middle.y) / p.span}
			for _, side := range [...]float64{1, -1} {
				m, ok := s.searchMark(r, from, point{away.x * side, away.y * side}, ahead, p.span, sign)
				if ok {
					add(from, other, m, m.likeness)
				}
			}
		}
	}
	slices.SortStableFunc(found, func(a, b trio) int { return cmp.Compare(b.fit, a.fit) })
	for _, t := range found {
		if s.try(t, sign) {
			return true
		}
	}
	return false
}

// cross is twice the area of a triangle, positive where it turns from x to y.
func cross(a, b, c point) float64 { return (b.x-a.x)*(c.y-a.y) - (b.y-a.y)*(c.x-a.x) }

// beside is the step along that side of a mark which does not lead to the other.
func (m mark) beside(other mark) point {
	if across, down := m.along(other.middle); math.Abs(across) > math.Abs(down) {
		return m.down
	}
	return m.across
}

// searchMark searches for a finder a span away from a mark, give or take what a
// projection does to it, in steps of a module, with the mark's own sides, larger
// and smaller. aside is a step the other way.
func (s *search) searchMark(r *relief, from mark, away, aside point, span, sign float64) (mark, bool) {
	if s.effort < 0 {
		return mark{}, false
	}
	near, far, wide := int(span*0.6), int(span*1.5)+1, int(span*0.3)+1
	var spots [mostSpots]mark
	for _, scale := range [...]float64{0.8, 1.12} {
		m := mark{across: from.across.times(scale), down: from.down.times(scale)}
		for j := near; j <= far; j++ {
			for i := -wide; i <= wide; i++ {
				x, y := float64(i), float64(j)
				m.middle = point{from.middle.x + x*aside.x + y*away.x, from.middle.y + x*aside.y + y*away.y}
				if m.likeness = sign * r.likeness(m); m.likeness > spots[mostSpots-1].likeness {
					keep(&spots, m)
				}
			}
		}
	}
	s.effort -= 2 * looksAtMark * (far - near + 1) * (2*wide + 1)
	var best mark
	for _, m := range spots {
		if m.likeness <= 0 {
			break
		}
		m.likeness = sign * r.likeness(m)
		if m = r.climb(m, sign); m.likeness > best.likeness && m.sound() {
			best = m
		}
	}
	s.effort -= r.counted()
	return best, best.likeness >= faint
}

func (p point) times(by float64) point { return point{p.x * by, p.y * by} }

// keep puts a spot among the best ones, the best first, one of those close together.
func keep(spots *[mostSpots]mark, m mark) {
	at := mostSpots - 1
	for i, o := range spots {
		if o.likeness > 0 && o.same(m) {
			if o.likeness >= m.likeness {
				return
			}
			at = i
			break
		}
	}
	for spots[at] = m; at > 0 && spots[at].likeness > spots[at-1].likeness; at-- {
		spots[at], spots[at-1] = spots[at-1], spots[at]
	}
}
