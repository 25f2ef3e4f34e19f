package scan

import (
	"cmp"
	"math"
	"slices"

	"cribgate/labeler/symbol"
)

// Where two finders of three are gone, the third still says which way the modules lie
// around it and how large they are. From there a lattice is grown outward: the places
// where dark and light meet say how it lies a little farther on, whatever the modules
// say, and so on to the far corner. How many modules there are only the version says, so
// this finds symbols as they are on tags.

const (
	// tagVersion is the version of tags.
	tagVersion = (symbol.Modules - 17) / 4
	// mostGrown is how many marks a lattice is grown from, and growFrom how like a finder
	// one must be.
	mostGrown, growFrom = 3, 0.7
	// busyFrom is which share of neighbours must differ for a symbol to lie there, while it
	// grows and when it has grown; half of them do in any, less where it is worn. strayed is
	// how far from half way between two neighbours that differ the place may lie, in the
	// mean square, where they meet. grownFits is how well a lattice must agree (found by
	// trial, no source).
	busyFrom, busyAll, strayed, grownFits = 0.07, 0.1, 0.18, 0.4
)

// grow reads what grows from single marks.
func (s *search) grow() bool {
	p := s.pattern(tagVersion)
	slices.SortStableFunc(s.marks, func(a, b mark) int { return cmp.Compare(b.likeness, a.likeness) })
	for _, m := range s.marks[:min(len(s.marks), mostGrown)] {
		if m.likeness < growFrom || s.effort < 0 || p == nil {
			return false
		}
		if slices.ContainsFunc(s.grownFrom, m.same) {
			continue
		}
		s.grownFrom = append(s.grownFrom, m)
		r := s.raised(s.level(math.Sqrt(math.Abs(m.area())), modulePixels))
		if len(r.out) == 0 {
			continue
		}
		m = m.scaled(1 / r.shrink)
		var best bestTwo
		for range 4 {
			m.across, m.down = m.down, point{-m.across.x, -m.across.y}
			l := lattice{on: r, sign: 1, pattern: p, grid: projection{
				{m.across.x, m.down.x, m.middle.x - 3.5*(m.across.x+m.down.x)},
				{m.across.y, m.down.y, m.middle.y - 3.5*(m.across.y+m.down.y)},
				{0, 0, 1},
			}}
			looks, ok := l.grow(&s.sampled.soft)
			s.effort -= looks
			if !ok {
				continue
			}
			for _, turned := range l.turnedAbout() {
				s.effort -= turned.refine(0.25, 0.06)
				best.add(turned)
			}
		}
		for _, l := range best.found() {
			if l.agrees >= grownFits && s.lay(l) {
				return true
			}
		}
	}
	return false
}

// turnedAbout are the ways up of a lattice that has a finder at the top left: it is that
// one or one of the two others.
func (l *lattice) turnedAbout() (all [3]lattice) {
	n := float64(l.pattern.modules)
	for i, turn := range [...]projection{
		{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}, {{0, 1, 0}, {-1, 0, n}, {0, 0, 1}}, {{0, -1, n}, {1, 0, 0}, {0, 0, 1}},
	} {
		all[i] = *l
		all[i].grid = l.grid.after(turn)
	}
	return all
}

// grow leads a lattice that lies right at the top left to where dark and light meet, over
// more and more of it. It says at how many modules it looked, and whether there is
// anything to go by.
func (l *lattice) grow(scratch *[]int16) (looks int, ok bool) {
	n := l.pattern.modules
	half := float64(n) / 2
	in := projection{{1 / half, 0, -3.5 / half}, {0, 1 / half, -3.5 / half}, {0, 0, 1}}
	out := in.inverse()
	last := 2 * n
	for until := 11; ; until = min(until+2+until/8, last) {
		var sums [unknowns][unknowns + 1]float64
		edges, square := 0, 0.0
		looks += n*n/4 + l.eachEdge(scratch, until, func(x, y float64, across bool, grown, off float64) {
			x, y = (x-3.5)/half, (y-3.5)/half
			row := [unknowns]float64{3: x, 4: y, 5: 1, 6: -y * x, 7: -y * y, 9: grown}
			if across {
				row = [unknowns]float64{0: x, 1: y, 2: 1, 6: -x * x, 7: -x * y, 8: grown}
			}
			for i, r := range row {
				if r == 0 {
					continue
				}
				for j := i; j < unknowns; j++ {
					sums[i][j] += r * row[j]
				}
				sums[i][unknowns] += r * off / half
			}
			edges++
			square += off * off
		})
		share := float64(edges) / float64(min(until*until, 2*n*n))
		if share < busyFrom || until == last && (share < busyAll || square > strayed*strayed*float64(edges)) {
			return looks, false
		}
		for i := range sums {
			for j := range i {
				sums[i][j] = sums[j][i]
			}
			sums[i][i] += growStiff[i]
		}
		v, solved := solve(sums)
		if !solved {
			return looks, false
		}
		small := projection{{1 + v[0], v[1], v[2]}, {v[3], 1 + v[4], v[5]}, {v[6], v[7], 1}}
		l.grid = l.grid.after(out.after(small).after(in))
		if !l.grid.finite() {
			return looks, false
		}
		if until == last {
			return looks, true
		}
	}
}

// growStiff is what a change of each number costs at one step, in edges: so that few edges
// near a finder do not throw what lies far from it about (found by trial, no source).
var growStiff = [unknowns]float64{0.05, 0.05, 0.05, 0.05, 0.05, 0.05, 0.002, 0.002, 1, 1}
