package scan

import (
	"cmp"
	"math"
	"slices"
)

const (
	// mostPairs is how many pairs of marks a third is searched for.
	mostPairs = 6
	// faint is from which likeness on a place counts as a finder where one is expected.
	faint = 0.25
)

// A pair is two marks that may be neighbours of one symbol.
type pair struct {
	a, b mark
	span float64
	fit  float64
}

// missing searches a third finder where two others say that it must be, and a second
// where there is only one, and reads what they make together.
func (s *search) missing(sign float64) bool {
	for _, p := range s.pairs() {
		if s.third(p, sign) {
			return true
		}
		if s.effort < 0 {
			return false
		}
	}
	return false
}

// pairs are marks that see each other along their sides, the best first.
func (s *search) pairs() []pair {
	var all []pair
	for i, a := range s.marks {
		for _, b := range s.marks[i+1:] {
			span, ok := spanOf(a, b)
			if _, too := spanOf(b, a); ok && too {
				all = append(all, pair{a, b, span, a.likeness + b.likeness})
			}
		}
	}
	slices.SortStableFunc(all, func(a, b pair) int { return cmp.Compare(b.fit, a.fit) })
	return all[:min(len(all), mostPairs)]
}

// third searches beside either mark of a pair, on both sides of the line between
// them.
func (s *search) third(p pair, sign float64) bool {
	size := math.Hypot(p.b.middle.x-p.a.middle.x, p.b.middle.y-p.a.middle.y) / p.span
	r := s.level(size, modulePixels)
	r.raise()
	if len(r.out) == 0 {
		return false
	}
	var found []trio
	for _, ends := range [...][2]mark{{p.a, p.b}, {p.b, p.a}} {
		from, other := ends[0].scaled(1/r.shrink), ends[1].scaled(1/r.shrink)
		away := from.beside(other)
		for _, side := range [...]float64{1, -1} {
			m, ok := s.searchMark(r, from, other, point{away.x * side, away.y * side}, p.span, sign)
			if !ok {
				continue
			}
			t := trio{topLeft: from, topRight: other, bottomLeft: m, span: p.span, fit: m.likeness}
			if turn := cross(from.middle, other.middle, m.middle); turn < 0 {
				t.topRight, t.bottomLeft = m, other
			}
			found = append(found, t.scaled(r.shrink))
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

// searchMark searches for a finder some way from one, in steps of a module, with the
// sides that the mark and the other one of its pair have.
func (s *search) searchMark(r *relief, from, other mark, away point, span, sign float64) (mark, bool) {
	ahead := point{(other.middle.x - from.middle.x) / span, (other.middle.y - from.middle.y) / span}
	near, far, aside := int(span*0.65), int(span*1.45)+1, int(span*0.3)+1
	m := from
	var best mark
	for j := near; j <= far; j++ {
		for i := -aside; i <= aside; i++ {
			x, y := float64(i), float64(j)
			m.middle = point{from.middle.x + x*ahead.x + y*away.x, from.middle.y + x*ahead.y + y*away.y}
			if m.likeness = sign * r.likeness(m); m.likeness > best.likeness {
				best = m
			}
		}
	}
	s.effort -= 81 * (far - near + 1) * (2*aside + 1)
	if best.likeness < faint {
		return mark{}, false
	}
	best = r.climb(best, sign)
	return best, best.sound()
}
