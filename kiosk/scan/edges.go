package scan

// An edging is where the modules of a lattice lie in its relief, and what stands out
// there, as far as it was asked for. It is used again and again.
type edging struct {
	places []point
	out    []int16
}

// notAsked is the out of a module that was left out.
const notAsked = -1000

// measure looks at those modules that are within.
func (e *edging) measure(l *lattice, within func(column, row int) bool) (modules int) {
	n := l.pattern.modules
	e.places, e.out = grown(e.places, n*n), grown(e.out, n*n)
	for row := range n {
		for column := range n {
			i := row*n + column
			if e.out[i] = notAsked; within(column, row) {
				e.places[i] = l.place(float64(column)+0.5, float64(row)+0.5)
				e.out[i] = int16(l.on.at(e.places[i].x, e.places[i].y))
				modules++
			}
		}
	}
	return modules
}

// each gives the edges between those modules that were measured.
func (e *edging) each(l *lattice, give func(edge)) {
	n := l.pattern.modules
	for row := range n {
		for column := range n {
			i := row*n + column
			if e.out[i] == notAsked {
				continue
			}
			if column+1 < n {
				if off, ok := e.crossing(l.on, i, i+1); ok {
					give(edge{at: point{float64(column) + 1, float64(row) + 0.5}, across: true, dark: e.out[i] < 0, off: off})
				}
			}
			if row+1 < n {
				if off, ok := e.crossing(l.on, i, i+n); ok {
					give(edge{at: point{float64(column) + 0.5, float64(row) + 1}, dark: e.out[i] < 0, off: off})
				}
			}
		}
	}
}

// distinct is how far two neighbours must stand out for the place where they meet to
// be looked for, of 64 for one usual difference (found by trial, no source).
const distinct = 24

// crossing is how far from half way between two modules the relief passes 0, where they
// differ.
func (e *edging) crossing(r *relief, i, j int) (off float64, ok bool) {
	here, next := e.out[i], e.out[j]
	if !(here > distinct && next < -distinct || here < -distinct && next > distinct) || here == notAsked || next == notAsked {
		return 0, false
	}
	p, q := e.places[i], e.places[j]
	from, last := 0.0, float64(here)
	for k := 1; k <= 4; k++ {
		to, v := float64(k)/4, float64(next)
		if k < 4 {
			v = float64(r.at(p.x+to*(q.x-p.x), p.y+to*(q.y-p.y)))
		}
		if (v < 0) != (here < 0) {
			from += (to - from) * last / (last - v)
			break
		}
		from, last = to, v
	}
	return from - 0.5, true
}

// edgeLooks is what an edge costs, with all that is then done with it, in looks at one
// module (measured, no source).
const edgeLooks = 8
