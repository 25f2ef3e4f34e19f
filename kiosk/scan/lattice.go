package scan

import "math"

// A lattice is a symbol's grid as it was laid over a relief: where modules of a
// pattern lie in it, and how well the pattern agrees with what is there.
type lattice struct {
	on      *relief
	sign    float64 // -1 for light on dark
	pattern *pattern
	grid    projection // modules to pixels of the relief, on a flat plate
	sheet   sheet      // and how it differs from that
	anchors []anchor   // the finders that it was laid through
	agrees  float64    // 1 where every fixed module is as it ought to be
}

// tie is the corner of the grid that the middles of the finders make: of the three
// and of the fourth that is not there.
func (p *pattern) tie() [4]point {
	far := float64(p.modules) - 3.5
	return [4]point{{3.5, 3.5}, {far, 3.5}, {far, far}, {3.5, far}}
}

// through lays a lattice of a pattern through the middles of its finders and the
// fourth place.
func (l *lattice) through(p *pattern, to [4]point) {
	l.pattern, l.grid = p, through(p.tie(), to)
}

// sums adds up what fixed modules show: times what they ought to be, and squared.
func (l *lattice) sums(all []fixed, product, square int) (int, int) {
	g, r, flat := &l.grid, l.on, l.sheet.apart == 0
	for i := range all {
		f := &all[i]
		p := point{f.x, f.y}
		if !flat {
			p = l.sheet.at(p)
		}
		w := 1 / (g[2][0]*p.x + g[2][1]*p.y + g[2][2])
		v := r.at((g[0][0]*p.x+g[0][1]*p.y+g[0][2])*w, (g[1][0]*p.x+g[1][1]*p.y+g[1][2])*w)
		product += v * f.light
		square += v * v
	}
	return product, square
}

// agreement is the cosine between the fixed modules of the pattern and what the
// relief shows where they lie.
func (l *lattice) agreement() float64 {
	p := l.pattern
	product, square := l.sums(p.finders, 0, 0)
	product, square = l.sums(p.timing, product, square)
	product, square = l.sums(p.alignment, product, square)
	product, square = l.sums(p.number, product, square)
	return l.sign * float64(product) / math.Sqrt(float64(p.fixed())*float64(square)+1)
}

// agreementOn is the agreement with some of the fixed modules.
func (l *lattice) agreementOn(some []fixed) float64 {
	product, square := l.sums(some, 0, 0)
	return l.sign * float64(product) / math.Sqrt(float64(len(some))*float64(square)+1)
}

// lastMark is how well the alignment mark that lies farthest from the finders agrees.
func (l *lattice) lastMark() float64 {
	const n = 25
	return l.agreementOn(l.pattern.alignment[len(l.pattern.alignment)-n:])
}

// begin lays the lattice through a trio, for a pattern, and a fourth place to which the
// finders' own modules point; flat completes a parallelogram instead.
func (l *lattice) begin(t trio, p *pattern, flat bool) {
	a, b, c := t.topLeft, t.topRight, t.bottomLeft
	// Along a side, a projection makes modules smaller by the square of what it divides
	// by.
	wb, wc := a.shrinks(b), a.shrinks(c)
	if flat {
		wb, wc = 1, 1
	}
	wd := max(wb+wc-1, 0.4)
	l.through(p, [4]point{a.middle, b.middle, {
		(b.middle.x*wb + c.middle.x*wc - a.middle.x) / wd,
		(b.middle.y*wb + c.middle.y*wc - a.middle.y) / wd,
	}, c.middle})
}

// fourth searches the fourth place of a lattice that was begun: where the last alignment
// mark agrees best, around where it is. It says at how many modules it looked.
func (l *lattice) fourth() (looks int) {
	p := l.pattern
	if len(p.alignment) == 0 {
		return 0
	}
	to := l.corners()
	start, span := to[2], float64(p.modules)-7
	right := point{(to[1].x - to[0].x) / span, (to[1].y - to[0].y) / span}
	down := point{(to[3].x - to[0].x) / span, (to[3].y - to[0].y) / span}
	// The mark alone is easily mistaken for others, so of the places where it agrees best
	// the one is taken where everything does.
	type place struct {
		at    point
		agree float64
	}
	var places [8]place
	far := int(3 + span/5)
	for j := -far; j <= far; j++ {
		for i := -far; i <= far; i++ {
			x, y := float64(i), float64(j)
			to[2] = point{start.x + x*right.x + y*down.x, start.y + x*right.y + y*down.y}
			l.through(p, to)
			next := place{to[2], l.lastMark() - 0.1*math.Hypot(x, y)/float64(far)}
			for k := range places {
				if next.agree > places[k].agree {
					places[k], next = next, places[k]
				}
			}
		}
	}
	to[2] = start
	best := to
	l.through(p, to)
	agrees := l.agreement()
	for _, c := range places {
		if c.agree <= 0 {
			break
		}
		to[2] = c.at
		l.through(p, to)
		if a := l.agreement(); a > agrees {
			agrees, best = a, to
		}
	}
	l.through(p, best)
	return 25*(2*far+1)*(2*far+1) + len(places)*p.fixed()
}

// place takes a place on the symbol to the relief.
func (l *lattice) place(x, y float64) point { return l.grid.at(l.sheet.at(point{x, y})) }

// size is the length of a module in the middle, in pixels of the relief.
func (l *lattice) size() float64 {
	m := float64(l.pattern.modules) / 2
	a, b, c := l.grid.at(point{m, m}), l.grid.at(point{m + 1, m}), l.grid.at(point{m, m + 1})
	return math.Sqrt(math.Abs(cross(a, b, c)))
}

// inPicture takes modules of a flat plate to pixels of the picture.
func (l *lattice) inPicture() projection {
	k := l.on.shrink
	return projection{{k, 0, 0}, {0, k, 0}, {0, 0, 1}}.after(l.grid)
}

// refine moves the four places, one after another, to where all fixed modules agree
// best, by steps from so many modules down to so many. It says at how many modules it
// looked.
func (l *lattice) refine(from, until float64) (looks int) {
	tie, to := l.pattern.tie(), l.corners()
	span := float64(l.pattern.modules) - 7
	size := math.Hypot(to[1].x-to[0].x, to[1].y-to[0].y) / span
	best := l.agreement()
	kept := l.grid
	for step := from; step >= until; step /= 2 {
		for range 4 {
			moved := false
			for i := range 8 {
				for _, by := range [...]float64{step * size, -step * size} {
					next := to
					if i%2 == 0 {
						next[i/2].x += by
					} else {
						next[i/2].y += by
					}
					l.grid = through(tie, next)
					looks++
					if a := l.agreement(); a > best {
						best, to, kept, moved = a, next, l.grid, true
						break
					}
				}
			}
			if !moved {
				break
			}
		}
	}
	l.grid, l.agrees = kept, best
	return looks * l.pattern.fixed()
}

// corners are where the tie of the pattern lies.
func (l *lattice) corners() (to [4]point) {
	for i, p := range l.pattern.tie() {
		to[i] = l.grid.at(p)
	}
	return to
}

// bestTwo are the two lattices of some that agree best, the best first. The zero value
// has none.
type bestTwo struct {
	kept [2]lattice
	n    int
}

func (b *bestTwo) add(l lattice) {
	switch {
	case b.n == 0 || l.agrees > b.kept[0].agrees:
		b.kept[0], b.kept[1] = l, b.kept[0]
	case b.n == 1 || l.agrees > b.kept[1].agrees:
		b.kept[1] = l
	default:
		return
	}
	b.n = min(b.n+1, len(b.kept))
}

func (b *bestTwo) found() []lattice { return b.kept[:b.n] }
