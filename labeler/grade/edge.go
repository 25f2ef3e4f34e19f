package grade

import (
	"math"
	"slices"

	"cribgate/labeler/symbol"
)

// An edge is a side between two modules of the symbol, one dark and one light, as
// the picture shows it.
type edge struct {
	x, y    float64 // the middle of the side, in modules
	across  bool    // the modules lie side by side, else one above the other
	off     float64 // how far the half-way reflectance lies from it, away from dark, in modules
	toRight bool    // light lies to the right or below
	rise    float64 // in how many modules it goes from a fifth to four fifths
	timing  bool    // it belongs to a timing line
}

// edges measures every edge of the symbol that was meant, as far as it is there: one
// whose two modules are not on their sides has none.
func edges(s surface, l levels, c *cells, want symbol.Symbol) []edge {
	var all []edge
	add := func(column, row, right, below int) {
		dark := want.Dark(column, row)
		if dark == want.Dark(column+right, row+below) {
			return
		}
		here, there := c.at(column, row), c.at(column+right, row+below)
		if (here < l.threshold()) != dark || (there < l.threshold()) == dark {
			return
		}
		e := edge{
			x: float64(column+right) + 0.5*float64(below), y: float64(row+below) + 0.5*float64(right),
			across: right == 1, toRight: dark,
			timing: symbol.PartOf(column, row) == symbol.Timing || symbol.PartOf(column+right, row+below) == symbol.Timing,
		}
		if e.measure(s, l) {
			all = append(all, e)
		}
	}
	for row := range symbol.Modules {
		for column := range symbol.Modules {
			if column+1 < symbol.Modules {
				add(column, row, 1, 0)
			}
			if row+1 < symbol.Modules {
				add(column, row, 0, 1)
			}
		}
	}
	return all
}

// measure goes from the middle of the dark module to the middle of the light one.
func (e *edge) measure(s surface, l levels) bool {
	const points = 32
	var profile [points + 1]float64
	for i := range profile {
		along := float64(i)/points - 0.5
		if !e.toRight {
			along = -along
		}
		for _, beside := range [3]float64{-0.2, 0, 0.2} {
			v := 0.0
			if e.across {
				v = s.at(e.x+along, e.y+beside)
			} else {
				v = s.at(e.x+beside, e.y+along)
			}
			profile[i] += (v - l.dark) / l.span() / 3
		}
	}
	half := slices.IndexFunc(profile[:], func(v float64) bool { return v >= 0.5 })
	if half < 1 {
		return false
	}
	at := func(i int, level float64) float64 { // where the profile passes level before i
		return (float64(i) - (profile[i]-level)/(profile[i]-profile[i-1])) / points
	}
	e.off = at(half, 0.5) - 0.5
	// Backward to a fifth and forward to four fifths; a profile that never gets
	// there is as wide as it was looked at.
	from, to := 0.0, 1.0
	for i := half; i > 0; i-- {
		if profile[i-1] <= 0.2 {
			from = at(i, 0.2)
			break
		}
	}
	for i := half; i <= points; i++ {
		if profile[i] >= 0.8 {
			to = at(i, 0.8)
			break
		}
	}
	e.rise = to - from
	return true
}

// rise is how wide edges are in the middle, in the worse of the two directions:
// a hand that shakes widens the ones across its way.
func rise(all []edge) float64 {
	return max(median(all, true), median(all, false))
}

// median is that of the rises along one direction, 1 where there are none.
func median(all []edge, across bool) float64 {
	var rises []float64
	for _, e := range all {
		if e.across == across {
			rises = append(rises, e.rise)
		}
	}
	if len(rises) == 0 {
		return 1
	}
	slices.Sort(rises)
	return rises[len(rises)/2]
}

// growth is by how much of a module dark runs on the timing lines are too wide, over
// both of their sides; negative where they are too narrow. It is NaN where no timing
// line is left.
func growth(all []edge) float64 {
	sum, n := 0.0, 0
	for _, e := range all {
		if e.timing {
			sum += e.off
			n++
		}
	}
	return 2 * sum / float64(n)
}

// wander is how far the grid strays from an even one at the worst place, in modules:
// the mean move of the edges within a window of seven modules, what modules grow by
// taken out. It is NaN where edges are missing all over. A grid that strays by half a
// module has no edges there: its modules read as their neighbours, and count as
// wrong codewords.
func wander(all []edge) float64 {
	const reach, step = 3.5, 2
	worst := math.NaN()
	for row := reach; row <= symbol.Modules-reach; row += step {
		for column := reach; column <= symbol.Modules-reach; column += step {
			x, okX := drift(all, column, row, reach, true)
			y, okY := drift(all, column, row, reach, false)
			if okX && okY {
				worst = math.Max(math.Hypot(x, y), nanAsZero(worst))
			}
		}
	}
	return worst
}

func nanAsZero(v float64) float64 {
	if math.IsNaN(v) {
		return 0
	}
	return v
}

// drift is the mean move to the right, or down, of the edges near a place. Edges
// with light to the right and to the left are averaged apart, so that growth does
// not count as a move.
func drift(all []edge, x, y, reach float64, across bool) (float64, bool) {
	const least = 3 // edges of each kind
	var sum [2]float64
	var n [2]int
	for _, e := range all {
		if e.across != across || math.Abs(e.x-x) > reach || math.Abs(e.y-y) > reach {
			continue
		}
		if e.toRight {
			sum[0] += e.off
			n[0]++
		} else {
			sum[1] -= e.off
			n[1]++
		}
	}
	if n[0] < least || n[1] < least {
		return 0, false
	}
	return (sum[0]/float64(n[0]) + sum[1]/float64(n[1])) / 2, true
}
