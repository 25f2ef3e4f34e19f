package scan

import (
	"context"
	"image"
	"math"
)

// A Grid is the modules of a symbol as a picture shows them, counted like those of
// a [Sighting] by column and row from the top left. It is laid whether or not what
// it says could be read. Where it could not, nobody has checked which way up it is:
// the finders say so, and a mirror shows it turned over. The zero value has no
// modules.
type Grid struct {
	modules int
	light   []uint8  // row by row
	corners [4]point // in pixels of the picture, clockwise from the top left as the symbol is meant to be seen
}

// known is how far from the middle, of 128, the light of a module must be to say
// anything: below it lies glare, grease or an edge that moved (found by trial on
// worn tags, no source).
const known = 12

// Modules is the number of modules on each side, without the margin.
func (g Grid) Modules() int { return g.modules }

// Light is how light a module is beside those around it: 0 as dark as the dark
// ones, 255 as light as the light ones, 128 half way between. The farther from
// that, the surer it is. Outside the grid it is 128.
func (g Grid) Light(column, row int) uint8 {
	if column < 0 || row < 0 || column >= g.modules || row >= g.modules {
		return 128
	}
	return g.light[row*g.modules+column]
}

// Dark tells whether a module is rather dark than light.
func (g Grid) Dark(column, row int) bool { return g.Light(column, row) < 128 }

// Known tells whether a module says anything: false where glare or grease leave
// neither dark nor light.
func (g Grid) Known(column, row int) bool {
	v := int(g.Light(column, row))
	return v < 128-known || v >= 128+known
}

// Beside tells whether a grid of another frame is laid where this one is, the same way
// up: each corner has moved by less than a quarter of a side. What hangs before a camera
// and is held by a hand moves less from one frame to the next.
func (g Grid) Beside(o Grid) bool {
	if g.modules != o.modules || g.modules == 0 {
		return false
	}
	for i, p := range g.corners {
		next, q := g.corners[(i+1)%len(g.corners)], o.corners[i]
		if !(math.Hypot(q.x-p.x, q.y-p.y) < math.Hypot(next.x-p.x, next.y-p.y)/4) { // nor for NaN
			return false
		}
	}
	return true
}

// move takes a grid from one picture to where that lies in another.
func (g *Grid) move(to projection) {
	for i, c := range g.corners {
		g.corners[i] = to.at(c)
	}
}

// Mean is what some grids show together, laid beside each other: the mean light of each
// module, so that what noise, glare or a blur hides in one and not in the next is seen.
// It lies where the first does. It is zero for none, or where they have not the same
// number of modules.
func Mean(grids ...Grid) Grid {
	if len(grids) == 0 {
		return Grid{}
	}
	m := Grid{modules: grids[0].modules, light: make([]uint8, len(grids[0].light)), corners: grids[0].corners}
	for i := range m.light {
		sum := 0
		for _, g := range grids {
			if g.modules != m.modules {
				return Grid{}
			}
			sum += int(g.light[i])
		}
		m.light[i] = uint8((sum + len(grids)/2) / len(grids))
	}
	return m
}

// Lay looks at a picture as [Reader.Locate] does, once it is its turn. Where a
// symbol was found and cannot be read, the error is [DamagedSymbol] and the grids
// are those that were laid, the likeliest first, a few at most; where it was read,
// its own grid is the only one. The error is otherwise as for Locate.
func (r *Reader) Lay(ctx context.Context, m *image.Gray) (Sighting, []Grid, error) {
	done, err := r.wait(ctx)
	if err != nil {
		return Sighting{}, nil, err
	}
	defer done()
	return lay(ctx, brightness(m))
}

func lay(ctx context.Context, p plane) (s Sighting, grids []Grid, err error) {
	defer func() {
		if recover() != nil {
			s, grids, err = Sighting{}, nil, DamagedImage
		}
	}()
	s, grids, err = findSent(ctx, p)
	if err != nil {
		return Sighting{}, grids, err
	}
	s.fit()
	return s, []Grid{s.Grid()}, nil
}

// Grid is the symbol's modules as the picture shows them, as the symbol is meant to
// be seen: a mirrored one is turned over, and of one that is light on dark the light
// modules are dark.
func (s Sighting) Grid() Grid {
	n := s.modules
	g := Grid{modules: n, light: make([]uint8, n*n)}
	far := float64(n)
	for i, c := range [...]point{{0, 0}, {far, 0}, {far, far}, {0, far}} {
		g.corners[i].x, g.corners[i].y = s.At(c.x, c.y)
	}
	mean := make([]float64, n*n)
	for y := range n {
		for x := range n {
			for _, d := range [...]point{{0.35, 0.35}, {0.65, 0.35}, {0.5, 0.5}, {0.35, 0.65}, {0.65, 0.65}} {
				mean[y*n+x] += s.Light(s.At(float64(x)+d.x, float64(y)+d.y)) / 5
			}
		}
	}
	const around = 4
	for y := range n {
		for x := range n {
			here := mean[y*n+x]
			dark, light := here, here
			for v := max(y-around, 0); v <= min(y+around, n-1); v++ {
				for u := max(x-around, 0); u <= min(x+around, n-1); u++ {
					dark, light = min(dark, mean[v*n+u]), max(light, mean[v*n+u])
				}
			}
			g.light[y*n+x] = 128
			if light > dark {
				share := (here - dark) / (light - dark)
				if s.inverted {
					share = 1 - share
				}
				g.light[y*n+x] = uint8(255*share + 0.5)
			}
		}
	}
	return g
}
