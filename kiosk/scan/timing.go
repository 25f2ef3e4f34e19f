package scan

import (
	"cmp"
	"math"
	"slices"
)

// A link is how one mark sees another that may be the finder beside it, and how well
// what lies between them alternates as a timing line does. Of what is printed nearly
// anything looks like a finder somewhere, and a sheet of nested squares everywhere; but
// between two of those hardly anything alternates.
type link struct {
	to            int // the number of the other mark
	ahead         direction
	span, logSpan float64 // how many modules lie between
	// alternates is how well what lies between agrees with a timing line of the versions
	// from first on, 1 without a fault: on the side to which the first mark's other side
	// points, and on the other.
	alternates [2][linkVersions]float64
	first      int
	crossed    bool // the other mark's own side points the other way
}

// linkVersions is how many versions a link is held against.
const linkVersions = 2

// A direction is which of a mark's sides leads to another, and which way.
type direction struct{ down, back bool }

// directionOf is that of a place so many steps across and down.
func directionOf(across, down float64) direction {
	if math.Abs(across) > math.Abs(down) {
		return direction{false, across < 0}
	}
	return direction{true, down < 0}
}

// aside is the step of a mark across the direction.
func (d direction) aside(m mark) point {
	if d.down {
		return m.across
	}
	return m.down
}

// side is on which side of a link in another direction what lies in this one is.
func (d direction) side() int {
	if d.back {
		return 1
	}
	return 0
}

// together is how well two timing lines that meet at a mark alternate, by the version by
// which they do best.
func together(right, down *link) float64 {
	best := -1.0
	for i := range linkVersions {
		j := right.first + i - down.first
		if j >= 0 && j < linkVersions {
			best = max(best, right.alternates[down.ahead.side()][i]+down.alternates[right.ahead.side()][j])
		}
	}
	return best / 2
}

// best is how well a link alternates on the side and by the version by which it does best.
func (l *link) best() float64 {
	best := -1.0
	for i := range l.alternates {
		best = max(best, slices.Max(l.alternates[i][:]))
	}
	return best
}

// link puts the marks in order, those first that are most like a finder, and finds what
// each of them sees, unless that was done.
func (s *search) link(sign float64) {
	if s.linked {
		return
	}
	slices.SortStableFunc(s.marks, func(a, b mark) int { return cmp.Compare(b.likeness, a.likeness) })
	s.marks = s.marks[:min(len(s.marks), mostMarks)]
	s.linked, s.crowded = true, len(s.marks) > crowd && s.marks[crowd].likeness >= surely
	s.links, s.linksFrom = s.links[:0], append(s.linksFrom[:0], 0)
	// At most half of what is left is spent so: what is least like a finder is not held
	// against timing lines then.
	enough := s.effort / 2
	for i, a := range s.marks {
		s.effort -= len(s.marks)
		for j, b := range s.marks {
			if i == j {
				continue
			}
			span, ok := spanOf(a, b)
			if !ok || s.crowded && span > crowdSpan {
				continue
			}
			l := link{to: j, ahead: directionOf(a.along(b.middle)), span: span, logSpan: math.Log(span)}
			if !(j < i && l.copies(s.linksOf(j), i)) && s.effort > enough {
				s.effort -= s.alternate(&l, a, b, sign)
			}
			s.links = append(s.links, l)
		}
		s.linksFrom = append(s.linksFrom, len(s.links))
	}
}

// linksOf are what a mark sees, by the others' numbers.
func (s *search) linksOf(mark int) []link { return s.links[s.linksFrom[mark]:s.linksFrom[mark+1]] }

// copies takes over what is known of a link from the other end, if it is.
func (l *link) copies(seen []link, from int) bool {
	at, ok := slices.BinarySearchFunc(seen, from, func(o link, from int) int { return o.to - from })
	if !ok {
		return false
	}
	o := &seen[at]
	l.first, l.alternates, l.crossed = o.first, o.alternates, o.crossed
	if o.crossed {
		l.alternates[0], l.alternates[1] = o.alternates[1], o.alternates[0]
	}
	return true
}

// alternate holds what lies between two marks against timing lines. It says at how many
// modules it looked.
func (s *search) alternate(l *link, a, b mark, sign float64) (looks int) {
	l.first = int(math.Floor((l.span - 10) / 4))
	r := s.alreadyRaised(s.level(math.Hypot(b.middle.x-a.middle.x, b.middle.y-a.middle.y)/l.span, modulePixels))
	v, w := l.ahead.aside(a), directionOf(b.along(a.middle)).aside(b)
	if l.crossed = v.x*w.x+v.y*w.y < 0; l.crossed {
		w = w.times(-1)
	}
	divide := a.shrinks(b)
	for side, by := range [...]float64{3, -3} { // from the middle to the line
		from := point{a.middle.x + by*v.x, a.middle.y + by*v.y}.times(1 / r.shrink)
		to := point{b.middle.x + by*w.x, b.middle.y + by*w.y}.times(1 / r.shrink)
		for i := range l.alternates[side] {
			if version := l.first + i; version >= 1 && version <= 40 {
				l.alternates[side][i] = sign * r.alternates(from, to, divide, version)
				looks += min(4*version+1, mostTiming)
			}
		}
	}
	return looks
}

// alreadyRaised is a level of which the relief is made, that or the nearest finer one, else
// a coarser one. What is too fine for those is held against timing lines again when it is
// tried.
func (s *search) alreadyRaised(level int) *relief {
	for i := level; i >= 0; i-- {
		if len(s.levels[i].out) > 0 {
			return &s.levels[i]
		}
	}
	for level+1 < len(s.levels) && len(s.levels[level].out) == 0 {
		level++
	}
	return &s.levels[level]
}

// alternates is how well what lies between two places agrees with a version's timing
// line that begins and ends five modules farther in; divide is what modules shrink by
// on the way.
func (r *relief) alternates(from, to point, divide float64, version int) float64 {
	if len(r.out) == 0 {
		return 0
	}
	line, all := 4*version+1, float64(4*version+10)
	dx, dy := to.x-from.x, to.y-from.y
	product, square := 0, 0
	for j := 0; j < line; j++ {
		if j == mostTiming/2 && line > mostTiming {
			j = line - mostTiming/2
		}
		t := float64(j+5) / all
		t = t * divide / (1 - t + t*divide)
		v := r.at(from.x+t*dx, from.y+t*dy)
		square += v * v
		if j%2 == 0 { // dark
			v = -v
		}
		product += v
	}
	n := float64(min(line, mostTiming))
	return float64(product) / math.Sqrt(n*float64(square)+1) * min(math.Sqrt(n/tagTiming), 1)
}

const (
	// tagTiming is how many modules a timing line has on tags: of a shorter one less can be
	// said.
	tagTiming = 4*tagVersion + 1
	// mostTiming is how many of a longer one are looked at, half of them at either end, where
	// it is known best where they lie (site policy, no source).
	mostTiming = tagTiming + 3
)
