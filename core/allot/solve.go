package allot

import (
	"cmp"
	"errors"
	"slices"
)

// A Want is one lift: how many slings it takes and which may serve it. It is served
// with all of them or not at all.
type Want struct {
	Takes int // slings, 1 to 12
	Alike bool
	May   []Pick
}

// A Pick is a sling that may serve a want.
type Pick struct {
	Sling int32
	Kind  int32 // slings of one kind are alike; asked only where the want is Alike
	Cost  int64 // 0 or more
}

// Shares says who gets what. The zero Shares serves nobody.
type Shares struct {
	Slings [][]int32 // of each want, ascending; nil where it is not served
	Served int
	Cost   int64 // of all picks taken
	// Most says that no other way serves more wants, and Proven that besides none
	// serves as many at a whole grain of cost less. Both are always so where each want
	// takes one sling. With wants that take several they are so unless the search was
	// cut short, and what is given is then the best found.
	Most, Proven bool
}

// ErrWant reports a want or pick that cannot be: too many slings, a cost below zero
// or too large, a sling that there is not.
var ErrWant = errors.New("allot: a want that cannot be")

// MaxSteps is how many picks are looked at, one by one, before the search for the best
// way to serve wants of several slings is cut short: some tenths of a second of one
// core (our own choice, no source). It counts work and not time, so that one question
// has one answer.
const MaxSteps = 60_000_000

const (
	maxTakes = 12
	lcm      = 27_720 // of 1 to 12, so that a part of a want is a whole number
	maxBig   = int64(1) << 60
	noKind   = int32(-1)
)

// What is decided of a want of several slings.
const (
	undecided int8 = iota
	served
	left
)

// value is how good a way is: parts of wants left unserved, each of lcm, and then the
// cost of what was handed out. Less is better.
type value struct{ unserved, cost int64 }

// beats tells whether a way that can come to no less than a may still be better than
// one that came to b: fewer whole wants unserved, or as many at a grain less.
func (a value) beats(b value, grain int64) bool {
	if whole := (a.unserved + lcm - 1) / lcm * lcm; whole != b.unserved {
		return whole < b.unserved
	}
	return a.unserved < b.unserved || a.cost/grain < b.cost/grain
}

// Solve serves as many wants as there are slings for, each sling at most one of
// them, and of all ways to serve so many the one of least cost.
//
// Where each want takes one sling it is an assignment, solved exactly. Wants of
// several slings make it harder (with three or more it is as hard as packing sets),
// so they are first taken apart into single slings that count a part of a want each;
// where the best way to serve those serves every want wholly or not at all, it is the
// best way. Where it does not, each way to decide the first want that came out in
// pieces is tried, and what cannot become better than the best so far is left out.
//
// Costs of wants that take several are compared in whole grains, 1 or more: what is
// less than a grain only decides which way is tried first.
func Solve(wants []Want, slings int, grain int64) (Shares, error) {
	if grain < 1 {
		return Shares{}, ErrWant
	}
	s, err := prepare(wants, slings)
	if err != nil {
		return Shares{}, err
	}
	s.grain, s.limit = grain, MaxSteps
	s.round()
	s.search()
	return s.shares(), nil
}

// solver is one problem being solved.
type solver struct {
	wants   []Want
	edges   [][]edge  // of each want, by cost, no more than could ever be needed
	kinds   [][]int32 // of each want that takes several alike, kinds that have enough, cheapest first
	byKind  []map[int32][]edge
	big     int64
	grain   int64
	limit   int64 // of steps
	floor   int64 // wants that no way can serve, by the first try
	m       *matching
	of      []int // of each row of the matching, its want
	tries   int
	cut     bool
	decided []int8
	kind    []int32
	best    value // of the best found
	got     [][]int32
}

func prepare(wants []Want, slings int) (*solver, error) {
	demand, most := 0, int64(0)
	for _, w := range wants {
		if w.Takes < 1 || w.Takes > maxTakes {
			return nil, ErrWant
		}
		demand += w.Takes
		for _, p := range w.May {
			if p.Cost < 0 || p.Sling < 0 || int(p.Sling) >= slings {
				return nil, ErrWant
			}
			most = max(most, p.Cost)
		}
	}
	// Leaving one want unserved costs more than all slings that could be handed out.
	n := int64(max(demand, 1))
	if most > (maxBig-lcm)/n-1 {
		return nil, ErrWant
	}
	s := &solver{wants: wants, m: newMatching(slings),
		decided: make([]int8, len(wants)), kind: make([]int32, len(wants)),
		edges: make([][]edge, len(wants)), kinds: make([][]int32, len(wants)), byKind: make([]map[int32][]edge, len(wants))}
	s.big = (most*n/lcm + 1) * lcm
	for i, w := range wants {
		if s.edges[i] = cheapest(w.May, demand); w.Takes > 1 && w.Alike {
			s.sort(i, demand)
		}
	}
	return s, nil
}

// cheapest are the picks in the order of cost, as many as rows are wanted in all:
// of so many one is always free, so a dearer one is never needed.
func cheapest(may []Pick, demand int) []edge {
	list := make([]edge, len(may))
	for i, p := range may {
		list[i] = edge{p.Cost, p.Sling}
	}
	if len(list) > demand {
		selectFirst(list, demand)
		list = list[:demand:demand]
	}
	slices.SortFunc(list, order)
	return list
}

func order(a, b edge) int {
	if a.cost != b.cost {
		return cmp.Compare(a.cost, b.cost)
	}
	return cmp.Compare(a.col, b.col)
}

// selectFirst brings the n first of a list to its front, in any order.
func selectFirst(list []edge, n int) {
	for len(list) > n {
		// The middle of three as the pivot keeps sorted lists quick.
		a, b, c := list[0], list[len(list)/2], list[len(list)-1]
		if order(b, a) < 0 {
			a, b = b, a
		}
		if order(c, b) < 0 {
			b = c
			if order(b, a) < 0 {
				b = a
			}
		}
		i, j := 0, len(list)-1
		for i <= j {
			for order(list[i], b) < 0 {
				i++
			}
			for order(b, list[j]) < 0 {
				j--
			}
			if i <= j {
				list[i], list[j] = list[j], list[i]
				i, j = i+1, j-1
			}
		}
		switch {
		case n <= j:
			list = list[:j+1]
		case n >= i:
			list, n = list[i:], n-i
			if n == 0 {
				return
			}
		default:
			return
		}
	}
}

// sort finds the kinds of which a want could be served.
func (s *solver) sort(i, demand int) {
	all := map[int32][]Pick{}
	for _, p := range s.wants[i].May {
		all[p.Kind] = append(all[p.Kind], p)
	}
	s.byKind[i] = map[int32][]edge{}
	least := map[int32]int64{}
	for k, picks := range all {
		if len(picks) < s.wants[i].Takes {
			continue
		}
		s.byKind[i][k] = cheapest(picks, demand)
		for _, e := range s.byKind[i][k][:s.wants[i].Takes] {
			least[k] += e.cost
		}
		s.kinds[i] = append(s.kinds[i], k)
	}
	slices.SortFunc(s.kinds[i], func(a, b int32) int { return cmp.Or(cmp.Compare(least[a], least[b]), cmp.Compare(a, b)) })
	// Kinds that have too few are no help to it.
	if len(s.kinds[i]) < len(all) {
		s.edges[i] = cheapest(slices.DeleteFunc(slices.Clone(s.wants[i].May), func(p Pick) bool { return s.byKind[i][p.Kind] == nil }), demand)
	}
}
