package scan

import (
	"context"
	"image"
)

// A Grid is the modules of a symbol as a picture shows them, counted like those of
// a [Sighting] by column and row from the top left. It is laid whether or not what
// it says could be read. Where it could not, nobody has checked which way up it is:
// the finders say so, and a mirror shows it turned over. The zero value has no
// modules.
type Grid struct {
	modules int
	light   []uint8 // row by row
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
	s, grids, err = find(ctx, p, fullEffort, 0)
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
