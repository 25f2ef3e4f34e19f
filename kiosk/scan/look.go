package scan

import (
	"cmp"
	"math"
	"slices"
)

const (
	// surely is from which likeness on a mark is a finder's. mostSure is how many such are
	// reason to go on: a symbol has three, and what has many more is something printed (site
	// policy, no source).
	surely, mostSure = 0.9, 3
	// seedEffort is what a seed costs, in looks at one module: most fit nowhere.
	seedEffort = 8 * looksAtMark
	// liker is how much more like a finder a mark must be to stand in for another of the
	// same one (found by trial, no source).
	liker = 0.02
	// mostVersions is how many versions a trio is tried with, contrary how little the
	// timing lines may agree before the fourth place is found (found by trial, no source: of
	// 608 lattices that read the least agreed by -0.1).
	mostVersions, contrary = 3, -0.15
	// trioFrom is how good three marks together must be to be worth a lattice, bentFrom how
	// like finders to be worth one that is bent (found by trial, no source: of 1,144 that read
	// the least was as good as 2.38 and as like as 2.52, and of 147 in frames without a symbol
	// nine in ten were not as good as 2.1; of 7 that read bent the least was as like as 2.94,
	// and one that is seen from the side as 2.2).
	trioFrom, bentFrom = 2.2, 2.0
)

// look looks for marks at one size and reads what they make together.
func (s *search) look(level int, sign float64) bool {
	r := s.raised(level)
	if len(r.out) == 0 {
		return false
	}
	seeds := &s.seeds[level]
	if sign > 0 { // and both kinds for later
		s.sweep.over(r)
		seeds[0], seeds[1] = s.sweep.dark.seeds(seeds[0][:0]), s.sweep.light.seeds(seeds[1][:0])
	}
	kind := 0
	if sign < 0 {
		kind = 1
	}
	fresh := false
	for _, seed := range seeds[kind] {
		if s.seen(seed, r.shrink) {
			continue
		}
		s.effort -= seedEffort
		if s.effort < 0 {
			return false
		}
		m, ok := r.markAt(seed, sign)
		s.effort -= r.counted()
		if ok && s.add(m.scaled(r.shrink)) {
			fresh = true
		}
	}
	return fresh && s.readTrios(sign)
}

// seen tells whether a seed lies in a mark that could hardly be more like a finder.
func (s *search) seen(seed seed, shrink float64) bool {
	at := point{seed.x * shrink, seed.y * shrink}
	for i := range s.marks {
		m := &s.marks[i]
		if m.likeness < surely {
			continue
		}
		if across, down := m.along(at); max(math.Abs(across), math.Abs(down)) < 1 {
			return true
		}
	}
	return false
}

// lookClosely looks for marks at every place, and reads what they make together.
func (s *search) lookClosely(order []int) bool {
	fresh := false
	s.effort = max(s.effort, s.afresh)
	for _, level := range order {
		r := s.raised(level)
		if level < order[0] || len(r.out) == 0 || s.effort < 0 { // in a large picture, nothing worn is that small
			continue
		}
		for _, c := range s.closely(r) {
			m, ok := r.markNear(c.seed)
			s.effort -= nearEffort + r.counted()
			if ok && s.add(m.scaled(r.shrink)) {
				fresh = true
			}
		}
	}
	if fresh && (s.readTrios(1) || s.without&noMissing == 0 && s.missing(1)) {
		return true
	}
	s.effort = max(s.effort, s.afresh)
	return s.grow()
}

// add puts a mark to the others, or in the place of one that is the same and less
// like a finder. It tells whether anything is new.
func (s *search) add(m mark) bool {
	if m.likeness >= surely && s.sure < mostSure {
		s.sure++
		s.promising(1. / 4)
	}
	for i, o := range s.marks {
		if o.same(m) {
			if m.likeness > o.likeness+liker {
				s.marks[i], s.linked = m, false
				return true
			}
			return false
		}
	}
	s.marks, s.linked = append(s.marks, m), false
	return true
}

// readTrios reads whatever three marks make together.
func (s *search) readTrios(sign float64) bool {
	s.link(sign)
	s.putTogether()
	for _, t := range s.trios {
		if t.fit < trioFrom || s.effort < 0 {
			break
		}
		if s.try(t, sign) {
			return true
		}
	}
	return false
}

// try lays lattices through a trio, and reads them.
func (s *search) try(t trio, sign float64) bool {
	for _, o := range s.tried {
		if o.like(t) {
			return false
		}
	}
	s.tried = append(s.tried, t)
	size := math.Hypot(t.topRight.middle.x-t.topLeft.middle.x, t.topRight.middle.y-t.topLeft.middle.y) / t.span
	r := s.raised(s.level(size, modulePixels))
	if len(r.out) == 0 {
		return false
	}
	t = t.scaled(1 / r.shrink)
	around := 2
	if s.without&noVersions != 0 {
		around = 0
	}
	// The timing lines lie between the three, wherever the fourth is, so they tell which
	// versions it may be.
	var begun []lattice
	number := int(math.Round((t.span - 10) / 4))
	for v := max(number-around, 1); v <= min(number+around, 40); v++ {
		p := s.pattern(v)
		if p == nil || s.effort < 0 {
			return false
		}
		l := lattice{on: r, sign: sign, anchors: t.anchors(p)}
		l.begin(t, p, s.without&noFourth != 0)
		l.agrees = l.agreementOn(p.timing)
		s.effort -= len(p.timing)
		begun = append(begun, l)
	}
	slices.SortStableFunc(begun, func(a, b lattice) int { return cmp.Compare(b.agrees, a.agrees) })
	var best bestTwo
	for _, l := range begun[:min(len(begun), mostVersions)] {
		if l.agrees < contrary {
			break
		}
		if s.without&noFourth == 0 {
			s.effort -= l.fourth()
		}
		l.agrees = l.agreement()
		best.add(l)
	}
	for _, l := range best.found() {
		if s.effort < -followLeast {
			return false
		}
		if !l.promising() {
			continue
		}
		if s.without&noRefine == 0 {
			s.effort -= l.refine(0.5, 0.06)
		}
		if s.lay(l) {
			return true
		}
	}
	return s.without&noFollow == 0 && t.likeness() >= bentFrom && s.tryBent(begun)
}
