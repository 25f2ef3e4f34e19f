package scan

import "math"

// eliminate solves n equations in n unknowns, which stand row by row with the right-hand
// side last; that is where the answer stands afterwards. It is false where they have
// none. It is Gauss and Jordan's elimination with the largest pivot of each column.
func eliminate(m []float64, n int) bool {
	width := n + 1
	row := func(i int) []float64 { return m[i*width:][:width] }
	for c := range n {
		best := c
		for r := c + 1; r < n; r++ {
			if math.Abs(row(r)[c]) > math.Abs(row(best)[c]) {
				best = r
			}
		}
		top, other := row(c), row(best)
		if !(math.Abs(other[c]) > 1e-9) {
			return false
		}
		if best != c {
			for k := c; k < width; k++ {
				top[k], other[k] = other[k], top[k]
			}
		}
		for r := range n {
			of := row(r)
			if r == c || of[c] == 0 {
				continue
			}
			f := of[c] / top[c]
			for k := c; k < width; k++ {
				of[k] -= f * top[k]
			}
		}
	}
	for i := range n {
		row(i)[n] /= row(i)[i]
	}
	return true
}
