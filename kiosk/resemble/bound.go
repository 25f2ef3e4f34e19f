package resemble

import (
	"cmp"
	"math"
	"math/bits"
	"slices"

	"cribgate/labeler/symbol"
)

const (
	// Chance is what a wrong answer is less likely than.
	Chance = 1e-12
	// MostGrids is how many grids one answer may try; those after are not looked at.
	MostGrids = 16
	// Stale is what a tag that stands on some frames of a sum, and not on the newest, is
	// less likely than to be answered all the same.
	Stale = 1e-3

	turns = 8 // four ways up, two sides
	masks = 8
)

// regions are the parts of a symbol of which each gives a set of modules.
var regions = [...]func(column, row int) bool{
	func(int, int) bool { return true },
	func(column, _ int) bool { return column < half },
	func(column, _ int) bool { return column >= half },
	func(_, row int) bool { return row < half },
	func(_, row int) bool { return row >= half },
	func(column, row int) bool { return column < half && row < half },
	func(column, row int) bool { return column >= half && row < half },
	func(column, row int) bool { return column < half && row >= half },
	func(column, row int) bool { return column >= half && row >= half },
}

const half = symbol.Modules / 2

// most is the largest k with which h independent modules keep what a set may spend:
// factor · B(h, k) ≤ spend. It is below 0 where even none is too many.
func most(h int, factor, spend float64) int {
	c, all := 1.0, 0.0 // C(h, j), and its sum; below 2^200, so that it fits
	for j := 0; j <= h; j++ {
		all += c
		if factor*math.Ldexp(all, -h) > spend {
			return j - 1
		}
		c = c * float64(h-j) / float64(j+1)
	}
	return h
}

// taken tells whether tag's pattern is so near to what is seen, on any of the sets, that
// it is there by chance with less than spend: when it could have been in so many ways,
// but for its mask.
func (s *system) taken(tag pattern, seen *view, ways, spend float64) bool {
	factor := ways * masks * math.Ldexp(1, s.pairs)
	for _, in := range regions {
		set := s.independent(seen.surest, in)
		differ := 0
		for _, i := range set {
			differ += int((tag[i%words]^seen.dark[i%words])>>(i/words)) & 1
		}
		if differ <= most(len(set), factor, spend/float64(len(regions))) {
			return true
		}
	}
	return false
}

// independent takes those modules of a region, in their order, whose sums are
// independent of those before.
func (s *system) independent(order []int, in func(column, row int) bool) (set []int) {
	var basis [256]sum // by highest bit
	var have [256]bool
	for _, i := range order {
		if !in(places[i].column, places[i].row) {
			continue
		}
		v := s.sums[i]
		for !v.isZero() {
			top := v.top()
			if !have[top] {
				basis[top], have[top] = v, true
				set = append(set, i)
				break
			}
			v.add(basis[top])
		}
		if len(set) == symbol.PairBits*s.pairs {
			break
		}
	}
	return set
}

// top is the highest bit of a sum that is not zero.
func (s sum) top() int {
	for i := len(s) - 1; i > 0; i-- {
		if s[i] != 0 {
			return 64*i + bits.Len64(s[i]) - 1
		}
	}
	return bits.Len64(s[0]) - 1
}

// sort lists the known modules, the surest first.
func (v *view) sort(g Grid) {
	if v.surest != nil {
		return
	}
	var sure [modules]int
	for i := range modules {
		if v.known[i%words]>>(i/words)&1 == 1 {
			c, r := v.turn.from(places[i].column, places[i].row)
			light := int(g.Light(c, r)) - 128
			sure[i] = max(light, -light)
			v.surest = append(v.surest, i)
		}
	}
	slices.SortStableFunc(v.surest, func(a, b int) int { return cmp.Compare(sure[b], sure[a]) })
}
