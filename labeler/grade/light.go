package grade

import (
	"math"
	"slices"

	"cribgate/labeler/symbol"
)

// even finds the plane that the light parts are lit by, and with it the reflectance
// of the print. Light parts are those that the symbol that was meant leaves light;
// the ones that are more than a third off the plane are left out the second time,
// so that neither damage nor glare tilts it. The evenness is the light at the worst
// corner over that at the best.
func even(v View, light *cells, want symbol.Symbol) (s surface, evenness float64) {
	s = surface{View: v, base: 1}
	for pass := range 2 {
		var sums [3][4]float64
		for row := -margin; row < symbol.Modules+margin; row++ {
			for column := -margin; column < symbol.Modules+margin; column++ {
				if want.Dark(column, row) != v.Inverted() {
					continue
				}
				x, y := float64(column)+0.5, float64(row)+0.5
				here := light.at(column, row)
				if lit := s.lit(x, y); pass > 0 && math.Abs(here-lit) > lit/3 {
					continue
				}
				for i, r := range [3]float64{1, x, y} {
					for j, k := range [4]float64{1, x, y, here} {
						sums[i][j] += r * k
					}
				}
			}
		}
		s.base, s.across, s.down = plane(sums)
	}
	darkest, lightest := math.Inf(1), math.Inf(-1)
	for _, x := range [2]float64{0, symbol.Modules} {
		for _, y := range [2]float64{0, symbol.Modules} {
			darkest, lightest = min(darkest, s.lit(x, y)), max(lightest, s.lit(x, y))
		}
	}
	if !(darkest > 0) {
		return surface{View: v, base: 1}, 0
	}
	return s, darkest / lightest
}

// plane solves the normal equations of a plane by Cramer's rule.
func plane(m [3][4]float64) (base, across, down float64) {
	with := func(c int) float64 {
		a := [3][3]float64{}
		for i := range 3 {
			copy(a[i][:], m[i][:3])
			if c >= 0 {
				a[i][c] = m[i][3]
			}
		}
		return a[0][0]*(a[1][1]*a[2][2]-a[1][2]*a[2][1]) -
			a[0][1]*(a[1][0]*a[2][2]-a[1][2]*a[2][0]) +
			a[0][2]*(a[1][0]*a[2][1]-a[1][1]*a[2][0])
	}
	det := with(-1)
	return with(0) / det, with(1) / det, with(2) / det
}

// levels are the lightest and the darkest that the picture has of the symbol and
// its margin, the outermost fiftieth on each side left out, since a speck is no
// measure (common practice, no source; ISO/IEC 15415 takes the outermost, from
// memory, not seen).
type levels struct{ light, dark float64 }

func (c *cells) levels() levels {
	all := make([]float64, 0, side*side)
	for _, row := range c {
		all = append(all, row[:]...)
	}
	slices.Sort(all)
	return levels{light: all[len(all)-1-len(all)/50], dark: all[len(all)/50]}
}

// span is the difference between light and dark.
func (l levels) span() float64 { return l.light - l.dark }

// threshold is half way: below it a module is dark (ISO/IEC 15415, from memory, not
// seen).
func (l levels) threshold() float64 { return (l.light + l.dark) / 2 }

// modulation is how clearly a module is on its side of the threshold, 0 to 1
// (2 × |R − GT| / SC: ISO/IEC 15415, through a verifier manual), and below 0 where
// it is on the other.
func (l levels) modulation(reflectance float64, dark bool) float64 {
	m := 2 * (reflectance - l.threshold()) / l.span()
	if dark {
		m = -m
	}
	return min(m, 1)
}

// patch is how many neighbouring modules make glare.
const patch = 4

// glare tells whether neighbouring modules are dazzled: parts that ought to be dark
// stand in the picture at full white, where the light parts are not at it.
func glare(s surface, light *cells, want symbol.Symbol) bool {
	const full, below = 0.97, 0.90
	var dazzled [symbol.Modules][symbol.Modules]bool
	for row := range symbol.Modules {
		for column := range symbol.Modules {
			dazzled[row][column] = want.Dark(column, row) != s.Inverted() && light.at(column, row) >= full &&
				s.lit(float64(column)+0.5, float64(row)+0.5) < below
		}
	}
	return largest(dazzled) >= patch
}

// largest counts the largest group of set modules that touch at a side or corner.
func largest(set [symbol.Modules][symbol.Modules]bool) int {
	most := 0
	for row := range set {
		for column := range set[row] {
			if set[row][column] {
				most = max(most, take(&set, column, row))
			}
		}
	}
	return most
}

// take counts a group and clears it.
func take(set *[symbol.Modules][symbol.Modules]bool, column, row int) int {
	set[row][column] = false
	n := 1
	for y := max(row-1, 0); y <= min(row+1, symbol.Modules-1); y++ {
		for x := max(column-1, 0); x <= min(column+1, symbol.Modules-1); x++ {
			if set[y][x] {
				n += take(set, x, y)
			}
		}
	}
	return n
}
