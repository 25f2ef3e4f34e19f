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
			}, anchors: []anchor{{m, point{3.5, 3.5}}}}
			looks, ok := l.grow(&s.following.edging)
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
			if l.agrees >= grownFits && s.readLattice(l) {
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
		all[i].grid, all[i].anchors = l.grid.after(turn), nil
		for _, a := range l.anchors {
			all[i].anchors = append(all[i].anchors, a.after(turn))
		}
	}
	return all
}

// after is the anchor on the symbol that a quarter turn takes to this one.
func (a anchor) after(turn projection) anchor {
	across, down := a.across, a.down
	a.at = turn.inverse().at(a.at)
	a.across = point{turn[0][0]*across.x + turn[1][0]*down.x, turn[0][0]*across.y + turn[1][0]*down.y}
	a.down = point{turn[0][1]*across.x + turn[1][1]*down.x, turn[0][1]*across.y + turn[1][1]*down.y}
	return a
}

// grow leads a lattice that lies right at the top left to where dark and light meet, over
// more and more of it. It says at how many modules it looked, and whether there is
// anything to go by.
func (l *lattice) grow(e *edging) (looks int, ok bool) {
	n := l.pattern.modules
	for side, again := 8, false; ; side, again = farther(side, again, n) {
		by := nudge{half: float64(n) / 2, origin: point{3.5, 3.5}}
		looks += e.measure(l, func(column, row int) bool { return column <= side && row <= side })
		e.each(l, func(e edge) {
			looks += edgeLooks
			by.add(e, 1/(1+e.off*e.off/(strange*strange)))
		})
		last, edges := side == n && again, float64(by.edges)
		share := edges / float64(2*side*side)
		if share < busyFrom || last && (share < busyAll || by.square > strayed*strayed*edges) {
			return looks, false
		}
		small, solved := by.solved(growStiff(float64(side) / float64(n)))
		if l.grid = l.grid.after(small); !solved || !l.grid.finite() {
			return looks, false
		}
		if last {
			return looks, true
		}
	}
}

// farther is how far the next step goes: each is done twice, and then a little farther.
func farther(side int, again bool, last int) (int, bool) {
	if !again {
		return side, true
	}
	return min(side+1+side/12, last), false
}

// strange is how far from half way an edge lies that counts half: those of scratches lie
// anywhere (found by trial, no source).
const strange = 0.2

// growStiff is what a change of each number costs at one step, in edges: so that few edges
// near a finder do not throw what lies far from it about. The more of a symbol there is to
// go by, the less it costs to see it more from the side (found by trial, no source).
func growStiff(part float64) [unknowns]float64 {
	const place, dark = 0.05, 1
	lean := 0.002 / (part * part * part * part)
	return [unknowns]float64{place, place, place, place, place, place, lean, lean, dark, dark}
}
