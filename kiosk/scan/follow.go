package scan

import "math"

// An anchor is a mark and the place of the symbol that it is. Its sides are those of the
// symbol.
type anchor struct {
	mark // in pixels of the relief
	at   point
}

// anchors are those of a trio, each turned as the symbol lies.
func (t trio) anchors(p *pattern) []anchor {
	tie := p.tie()
	a, b, c := tie[0], tie[1], tie[3]
	return []anchor{
		{t.topLeft.facing(t.topRight.middle, a, b), a},
		{t.topRight.facing(t.topLeft.middle, b, a), b},
		{t.bottomLeft.facing(t.topLeft.middle, c, a), c},
	}
}

// far is how far a place on the symbol is from an anchor, along the longer side.
func (a *anchor) far(x, y float64) float64 { return max(math.Abs(x-a.at.x), math.Abs(y-a.at.y)) }

// A tied is a place of the symbol and where it lies, in pixels of the relief.
type tied struct{ module, pixel point }

// ties are what an anchor knows: its middle, and then the ends of its sides.
func (a *anchor) ties() (all [5]tied) {
	for i, d := range [...]point{{0, 0}, {3.5, 0}, {-3.5, 0}, {0, 3.5}, {0, -3.5}} {
		all[i] = tied{
			point{a.at.x + d.x, a.at.y + d.y},
			point{a.middle.x + d.x*a.across.x + d.y*a.down.x, a.middle.y + d.x*a.across.y + d.y*a.down.y},
		}
	}
	return all
}

const (
	// anchorWeight is what each of five places of a finder counts, in edges, unsure how
	// far from half way an edge lies that counts half: those of scratches lie anywhere
	// (found by trial, no source).
	anchorWeight, unsure = 10, 0.3
	// followFrom is how far from the finders edges are asked first: nearer than that, what
	// the finders say is right to less than half a module. followStep is how much farther
	// they are then each time, in knots' distances (found by trial, no source).
	followFrom, followStep = 5, 1. / 3
	// followLeast is the looks that are there to follow a lattice whatever is left: a tag's
	// takes some 300,000.
	followLeast = 600_000
)

// A following bends lattices. It is used again and again.
type following struct {
	edging
	across, down tension
	grown        float64 // how far dark has grown at either side, in modules
}

// hold bends a lattice as its anchors say, their middles and their sides: what lies
// between two finders is then nearly right although the plate is bent.
func (f *following) hold(l *lattice) bool {
	f.across, f.down = stiff, stiff
	s := sheetOf(l.pattern.modules)
	f.anchor(l, &s)
	f.grown = 0
	return f.solve(l, s)
}

// anchor takes in where the finders are.
func (f *following) anchor(l *lattice, s *sheet) {
	back := l.grid.inverse()
	for i := range l.anchors {
		for _, t := range l.anchors[i].ties() {
			p := back.at(t.pixel)
			k, w := s.around(t.module.x, t.module.y)
			f.across.add(k, &w, p.x-t.module.x, anchorWeight)
			f.down.add(k, &w, p.y-t.module.y, anchorWeight)
		}
	}
}

// solve bends the lattice.
func (f *following) solve(l *lattice, s sheet) bool {
	if !f.across.solve(&s.x) || !f.down.solve(&s.y) {
		return false
	}
	l.sheet = s
	return true
}

// follow leads a lattice that holds to its anchors along where dark and light meet,
// farther and farther from them, until it has gone over all of it. Which modules ought
// to be dark is not asked. It says at how many modules it looked; it ends where that is
// more than most.
func (f *following) follow(l *lattice, most int) (looks int, ok bool) {
	n := l.pattern.modules
	looks = solveLooks
	if !f.hold(l) {
		return looks, false
	}
	step := l.sheet.apart * followStep
	for reach := float64(followFrom); reach < float64(n)+2*step; reach += step {
		if looks > most {
			return looks, false
		}
		looks += solveLooks + f.measure(l, func(column, row int) bool {
			for i := range l.anchors {
				if l.anchors[i].far(float64(column)+0.5, float64(row)+0.5) <= reach {
					return true
				}
			}
			return false
		})
		f.across, f.down = stiff, stiff
		s := sheetOf(n)
		f.anchor(l, &s)
		var grown, weights float64
		f.each(l, func(e edge) {
			looks += edgeLooks
			off := e.off - e.grown()*f.grown
			weight := 1 / (1 + off*off/(unsure*unsure))
			grown += weight * e.grown() * e.off
			weights += weight
			k, w := s.around(e.at.x, e.at.y)
			old := l.sheet.at(e.at)
			if e.across {
				f.across.add(k, &w, old.x-e.at.x+off, weight)
			} else {
				f.down.add(k, &w, old.y-e.at.y+off, weight)
			}
		})
		if weights > 0 {
			f.grown += (grown/weights - f.grown) / 2
		}
		if !f.solve(l, s) {
			return looks, false
		}
	}
	l.agrees = l.agreement()
	return looks, true
}

// solveLooks is what it costs to solve for a sheet, in looks at one module (measured, no
// source).
const solveLooks = 5000
