package scan

import "math"

// layPair lays lattices through two marks alone, by their own sides: where a third
// finder is covered, two say with theirs how the whole plane lies, somewhat
// roughly, and what is left of timing lines and alignment mark says the rest.
func (s *search) layPair(p pair, sign float64) bool {
	size := math.Sqrt(math.Sqrt(math.Abs(p.a.area() * p.b.area())))
	r := s.raised(s.level(size, modulePixels))
	if len(r.out) == 0 {
		return false
	}
	a, b := p.a.scaled(1/r.shrink), p.b.scaled(1/r.shrink)
	var best bestTwo
	number := int(math.Round((p.span - 10) / 4))
	for v := max(number-1, 1); v <= min(number+1, 40); v++ {
		pattern := s.pattern(v)
		if pattern == nil {
			continue
		}
		tie := pattern.tie()
		topLeft, topRight, bottomLeft := tie[0], tie[1], tie[3]
		places := [][2]point{{topLeft, topRight}, {topRight, topLeft}, {topLeft, bottomLeft}, {bottomLeft, topLeft}}
		if p.diag {
			places = [][2]point{{topRight, bottomLeft}, {bottomLeft, topRight}}
		}
		for _, at := range places {
			anchors := []anchor{{a.facing(b.middle, at[0], at[1]), at[0]}, {b.facing(a.middle, at[1], at[0]), at[1]}}
			grid, ok := planeOf(anchors)
			if !ok {
				continue
			}
			l := lattice{on: r, sign: sign, pattern: pattern, grid: grid, anchors: anchors}
			l.agrees = l.agreement()
			s.effort -= pattern.fixed()
			best.add(l)
		}
	}
	for _, l := range best.found() {
		if !l.promising() {
			continue
		}
		s.effort -= l.refine(1.5, 0.06)
		if s.lay(l) {
			return true
		}
	}
	return false
}

// facing turns a mark by quarters until the other one lies, by the mark's sides, in the
// direction in which a place of the symbol lies from another.
func (m mark) facing(other, from, to point) mark {
	best, most := m, math.Inf(-1)
	for range 4 {
		across, down := m.along(other)
		if dot := across*(to.x-from.x) + down*(to.y-from.y); dot > most {
			best, most = m, dot
		}
		m.across, m.down = m.down, point{-m.across.x, -m.across.y}
	}
	return best
}

// planeOf is the projection of modules to pixels that agrees best with anchors: with the
// middle of each, and with the ends of its sides.
func planeOf(anchors []anchor) (projection, bool) {
	// In steps of a good part of a symbol, so that the numbers are of one size.
	const unit = 20
	origin := anchors[0].middle
	const n, width = 8, 9
	var sums [n * width]float64
	add := func(module, pixel point, weight float64) {
		x, y := module.x/unit, module.y/unit
		u, v := (pixel.x-origin.x)/unit, (pixel.y-origin.y)/unit
		for _, row := range [...][9]float64{
			{x, y, 1, 0, 0, 0, -u * x, -u * y, u},
			{0, 0, 0, x, y, 1, -v * x, -v * y, v},
		} {
			for i := range n {
				for j := range width {
					sums[i*width+j] += weight * row[i] * row[j]
				}
			}
		}
	}
	for i := range anchors {
		for j, t := range anchors[i].ties() {
			weight := 1.
			if j == 0 { // the middle
				weight = 4
			}
			add(t.module, t.pixel, weight)
		}
	}
	if !eliminate(sums[:], n) {
		return projection{}, false
	}
	h := func(i int) float64 { return sums[i*width+n] }
	in := projection{{1. / unit, 0, 0}, {0, 1. / unit, 0}, {0, 0, 1}}
	out := projection{{unit, 0, origin.x}, {0, unit, origin.y}, {0, 0, 1}}
	grid := out.after(projection{{h(0), h(1), h(2)}, {h(3), h(4), h(5)}, {h(6), h(7), 1}}).after(in)
	return grid, grid.finite()
}
