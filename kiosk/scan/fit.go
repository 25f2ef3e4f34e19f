package scan

import "math"

const (
	// fitRounds is how often the edges are measured anew at most; four do for nearly
	// all pictures.
	fitRounds = 24
	// still is the largest move of a corner, in modules, that ends the fit.
	still = 0.005
	// step is what makes an edge: how far two neighbours' light must differ, as
	// a share of the difference between the symbol's light and dark.
	step = 0.4
)

// fit moves the grid until the edges between modules that differ lie where two
// modules meet: of each pair of neighbours the place between their middles where the
// light is half way, all of them by least squares. By how much dark has grown, in
// the print or in the camera, is found along with it, so that it does not move the
// grid. Which modules ought to be dark is not asked, so damage does no harm. A fit
// that does not hold keeps the grid as the finders gave it.
func (s *Sighting) fit() {
	before, wrong := s.grid, s.misfit()
	for range fitRounds {
		move, ok := s.correction()
		if !ok {
			break
		}
		s.grid = s.grid.after(move)
		if s.cornersMoved(move) < still {
			break
		}
	}
	if !s.grid.finite() || !(s.misfit() <= wrong) {
		s.grid = before
	}
}

// cornersMoved is the farthest that a correction moves a corner, in modules.
func (s *Sighting) cornersMoved(move projection) float64 {
	n := float64(s.modules)
	far := 0.0
	for _, c := range [...]point{{0, 0}, {n, 0}, {0, n}, {n, n}} {
		p := move.at(c)
		far = max(far, math.Hypot(p.x-c.x, p.y-c.y))
	}
	return far
}

// An edge is where a light and a dark neighbour meet: the middle of the
// side that they share, and how far from it, to the right or downward, the
// light is half way.
type edge struct {
	at     point
	across bool // the neighbours lie side by side, else one above the other
	dark   bool // the left or upper one is the darker
	off    float64
}

// grown is which way an edge lies off where dark has grown: 1, or -1 where the first
// neighbour is the lighter.
func (e edge) grown() float64 {
	if e.dark {
		return 1
	}
	return -1
}

// edges measures every edge within the symbol.
func (s *Sighting) edges() []edge {
	n := s.modules
	middle := make([]float64, n*n)
	dark, light := math.Inf(1), math.Inf(-1)
	for y := range n {
		for x := range n {
			v := s.Light(s.At(float64(x)+0.5, float64(y)+0.5))
			middle[y*n+x] = v
			if !math.IsNaN(v) { // it lies in the picture
				dark, light = min(dark, v), max(light, v)
			}
		}
	}
	var all []edge
	add := func(x, y int, across bool) {
		here := middle[y*n+x]
		var next float64
		e := edge{at: point{float64(x) + 1, float64(y) + 0.5}, across: across}
		if across {
			next = middle[y*n+x+1]
		} else {
			next = middle[(y+1)*n+x]
			e.at = point{float64(x) + 0.5, float64(y) + 1}
		}
		e.dark = here < next
		if !(math.Abs(here-next) > step*(light-dark)) { // not for NaN either
			return
		}
		if off, ok := s.crossing(e, here, next); ok {
			e.off = off
			all = append(all, e)
		}
	}
	for y := range n {
		for x := range n {
			if x+1 < n {
				add(x, y, true)
			}
			if y+1 < n {
				add(x, y, false)
			}
		}
	}
	return all
}

// crossing goes from the middle of one module to that of its neighbour, over a
// third of their width, and finds where the light passes half way: first in
// steps, then by halving the step that holds it.
func (s *Sighting) crossing(e edge, from, to float64) (float64, bool) {
	const steps, halvings = 12, 6
	half := (from + to) / 2
	passed := func(along float64) bool {
		v := 0.0
		for _, beside := range [...]float64{-1. / 6, 0, 1. / 6} {
			if e.across {
				v += s.Light(s.At(e.at.x+along, e.at.y+beside)) / 3
			} else {
				v += s.Light(s.At(e.at.x+beside, e.at.y+along)) / 3
			}
		}
		return (v-half)*(to-from) >= 0
	}
	for i := 1; i <= steps; i++ {
		high := float64(i)/steps - 0.5
		if !passed(high) {
			continue
		}
		low := high - 1./steps
		for range halvings {
			if middle := (low + high) / 2; passed(middle) {
				high = middle
			} else {
				low = middle
			}
		}
		return (low + high) / 2, true
	}
	return 0, false
}

// misfit is the mean square of the edges' distances, in modules.
func (s *Sighting) misfit() float64 {
	sum, edges := 0.0, s.edges()
	for _, e := range edges {
		sum += e.off * e.off
	}
	return sum / float64(len(edges))
}

// correction is the projection of the symbol onto itself that takes the edges to
// where they were measured, and whether there are edges enough to tell.
func (s *Sighting) correction() (projection, bool) {
	edges := s.edges()
	if len(edges) < 8*unknowns {
		return projection{}, false
	}
	half := float64(s.modules) / 2
	by := nudge{half: half, origin: point{half, half}}
	for _, e := range edges {
		by.add(e, 1)
	}
	return by.solved([unknowns]float64{})
}
