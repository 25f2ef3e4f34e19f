package allot

import (
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"
)

var (
	rounds = flag.Int("rounds", 40, "random days to hold against brute force")
	seed   = flag.Uint64("seed", 0, "seed of the random days; 0 takes the clock")
)

func begin(t testing.TB) *rand.Rand {
	s := *seed
	if s == 0 {
		s = uint64(time.Now().UnixNano())
	}
	t.Logf("again with: go test ./core/allot -run %s -rounds %d -seed %d", t.Name(), *rounds, s)
	return rand.New(rand.NewPCG(s, 0))
}

// brute tries every way to serve wants, one after the other.
func brute(wants []Want, taken map[int32]bool) (most int, least int64) {
	if len(wants) == 0 {
		return 0, 0
	}
	w := wants[0]
	most, least = brute(wants[1:], taken) // left unserved
	var choose func(from int, chosen []Pick)
	choose = func(from int, chosen []Pick) {
		if len(chosen) == w.Takes {
			n, cost := brute(wants[1:], taken)
			n++
			for _, p := range chosen {
				cost += p.Cost
			}
			if n > most || n == most && cost < least {
				most, least = n, cost
			}
			return
		}
		for i := from; i < len(w.May); i++ {
			p := w.May[i]
			if taken[p.Sling] || w.Alike && len(chosen) > 0 && chosen[0].Kind != p.Kind {
				continue
			}
			taken[p.Sling] = true
			choose(i+1, append(chosen, p))
			taken[p.Sling] = false
		}
	}
	choose(0, nil)
	return most, least
}

func smallDay(m *rand.Rand) (wants []Want, slings int) {
	slings = 1 + m.IntN(8)
	kinds := make([]int32, slings)
	for i := range kinds {
		kinds[i] = int32(m.IntN(3))
	}
	plain := m.IntN(3) == 0
	for i := range 1 + m.IntN(5) {
		w := Want{Takes: 1}
		switch {
		case plain:
		case i == 0:
			w.Takes, w.Alike = 2+m.IntN(2), m.IntN(2) == 0
		case m.IntN(2) == 0:
			w.Takes, w.Alike = 1+m.IntN(3), m.IntN(2) == 0
		}
		for c := range slings {
			if m.IntN(10) < 6 {
				w.May = append(w.May, Pick{int32(c), kinds[c], int64(m.IntN(12))})
			}
		}
		wants = append(wants, w)
	}
	return wants, slings
}

// sound tells whether shares are what they say: wants served wholly, by slings that
// may, none twice, the alike ones alike.
func sound(wants []Want, s Shares) error {
	taken := map[int32]bool{}
	n, cost := 0, int64(0)
	for i, list := range s.Slings {
		if list == nil {
			continue
		}
		n++
		kind := int32(-1)
		for _, c := range list {
			at := slices.IndexFunc(wants[i].May, func(p Pick) bool { return p.Sling == c })
			if at < 0 || taken[c] {
				return fmt.Errorf("want %d has sling %d, which it may not or which is taken", i, c)
			}
			p := wants[i].May[at]
			if wants[i].Alike && kind >= 0 && kind != p.Kind {
				return fmt.Errorf("want %d has kinds %d and %d", i, kind, p.Kind)
			}
			kind, taken[c] = p.Kind, true
			cost += p.Cost
		}
		if len(list) != wants[i].Takes {
			return fmt.Errorf("want %d has %d of %d", i, len(list), wants[i].Takes)
		}
	}
	if len(s.Slings) != len(wants) || n != s.Served || cost != s.Cost {
		return fmt.Errorf("%d served at %d; it says %d at %d", n, cost, s.Served, s.Cost)
	}
	return nil
}

func TestEqualsBruteForce(t *testing.T) {
	m := begin(t)
	several := 0
	for range *rounds {
		wants, slings := smallDay(m)
		got, err := Solve(wants, slings, 1)
		if err != nil {
			t.Fatal(err)
		}
		if err := sound(wants, got); err != nil {
			t.Fatalf("%v\n%+v\n%+v", err, wants, got)
		}
		most, least := brute(wants, map[int32]bool{})
		if got.Served != most || got.Cost != least || !got.Proven || !got.Most {
			t.Fatalf("%d served at %d (proven %v); brute force serves %d at %d\n%+v", got.Served, got.Cost, got.Proven, most, least, wants)
		}
		if slices.ContainsFunc(wants, func(w Want) bool { return w.Takes > 1 }) && got.Served > 0 {
			several++
		}
	}
	if several < *rounds/4 {
		t.Errorf("only %d of %d days have lifts of several slings", several, *rounds)
	}
}

// tight is a day on which all lifts want the same few slings at costs of all sorts.
func tight(m *rand.Rand, lifts, slings int) []Want {
	wants := make([]Want, lifts)
	for i := range wants {
		wants[i].Takes = 1
		for c := range slings {
			if m.IntN(3) > 0 {
				wants[i].May = append(wants[i].May, Pick{int32(c), 0, int64(m.IntN(1 << 40))})
			}
		}
	}
	return wants
}

// several makes every fourth lift of a day one of two or three slings, half of those
// alike.
func several(m *rand.Rand, wants []Want) []Want {
	for i := range wants {
		if i%4 == 0 {
			wants[i].Takes, wants[i].Alike = 2+m.IntN(2), i%8 == 0
		}
		for j := range wants[i].May {
			wants[i].May[j].Kind = wants[i].May[j].Sling % 24
		}
	}
	return wants
}

// day is a day as large as they come: how scarce slings are is how few of them may
// serve anything.
func day(m *rand.Rand, lifts, slings int, scarce bool) []Want {
	wants := make([]Want, lifts)
	for i := range wants {
		wants[i].Takes = 1
		need := m.IntN(1000)
		if scarce {
			need = 900 + m.IntN(100) // all of them want the few that are strong
		}
		for c := range slings {
			if strength := c % 1000; strength >= need && (c*7+i)%3 != 0 {
				rank := int64(c * 31 % slings) // as among like slings
				wants[i].May = append(wants[i].May, Pick{int32(c), 0, int64(strength-need)*10_000*4_000_000 + rank})
			}
		}
	}
	return wants
}

// textbook is the assignment as textbooks have it, dense, rows by columns with a
// column of its own for leaving a row unserved; it gives the least total.
func textbook(cost [][]int64) int64 {
	n, w := len(cost), len(cost[0])
	u, v := make([]int64, n+1), make([]int64, w+1)
	row, way := make([]int, w+1), make([]int, w+1)
	for i := 1; i <= n; i++ {
		row[0] = i
		at := 0
		least := make([]int64, w+1)
		used := make([]bool, w+1)
		for j := range least {
			least[j] = never
		}
		for row[at] != 0 {
			used[at] = true
			r, next, delta := row[at], 0, int64(never)
			for j := 1; j <= w; j++ {
				if used[j] {
					continue
				}
				if d := cost[r-1][j-1] - u[r] - v[j]; d < least[j] {
					least[j], way[j] = d, at
				}
				if least[j] < delta {
					delta, next = least[j], j
				}
			}
			for j := 0; j <= w; j++ {
				if used[j] {
					u[row[j]] += delta
					v[j] -= delta
				} else {
					least[j] -= delta
				}
			}
			at = next
		}
		for at != 0 {
			row[at], at = row[way[at]], way[at]
		}
	}
	return -v[0]
}

// dense is the matrix of a day of single slings, and what leaving one costs.
func dense(wants []Want, slings int) ([][]int64, int64) {
	big := int64(1) << 52
	cost := make([][]int64, len(wants))
	for i, w := range wants {
		cost[i] = make([]int64, slings+len(wants))
		for j := range cost[i] {
			cost[i][j] = 1 << 57
		}
		cost[i][slings+i] = big
		for _, p := range w.May {
			cost[i][p.Sling] = p.Cost
		}
	}
	return cost, big
}

func TestEqualsTextbook(t *testing.T) {
	m := begin(t)
	for range max(2, *rounds/20) {
		lifts, slings := 2+m.IntN(30), 20+m.IntN(200)
		wants := day(m, lifts, slings, m.IntN(2) == 0)
		got, err := Solve(wants, slings, 1)
		if err != nil {
			t.Fatal(err)
		}
		if err := sound(wants, got); err != nil {
			t.Fatal(err)
		}
		cost, big := dense(wants, slings)
		if want := textbook(cost); int64(lifts-got.Served)*big+got.Cost != want {
			t.Fatalf("%d of %d served at %d; the textbook's total is %d", got.Served, lifts, got.Cost, want)
		}
	}
}

func TestWantsThatCannotBe(t *testing.T) {
	for _, w := range []Want{
		{Takes: 0}, {Takes: 13}, {Takes: 1, May: []Pick{{Sling: 3}}}, {Takes: 1, May: []Pick{{Sling: -1}}},
		{Takes: 1, May: []Pick{{Cost: -1}}}, {Takes: 1, May: []Pick{{Cost: 1 << 61}}},
	} {
		if got, err := Solve([]Want{w}, 3, 1); !errors.Is(err, ErrWant) || got.Slings != nil {
			t.Errorf("%+v: %+v, %v", w, got, err)
		}
	}
	if got, err := Solve(nil, 0, 1); err != nil || got.Served != 0 || !got.Proven {
		t.Errorf("nothing wanted: %+v, %v", got, err)
	}
	if got, err := Solve([]Want{{Takes: 2}}, 0, 1); err != nil || got.Served != 0 || len(got.Slings) != 1 || !got.Proven {
		t.Errorf("nothing there: %+v, %v", got, err)
	}
}

// packing is a day of lifts of three slings each, which is as hard as packing sets.
func packing(m *rand.Rand, lifts, slings int) []Want {
	wants := make([]Want, lifts)
	for i := range wants {
		wants[i].Takes = 3
		for c := range slings {
			if m.IntN(6) == 0 {
				wants[i].May = append(wants[i].May, Pick{int32(c), 0, int64(m.IntN(1000))})
			}
		}
	}
	return wants
}

// Where the search is cut short, what was found is sound and says that it is not
// proven; it serves no fewer than taking the lifts in turn does.
func TestCutShort(t *testing.T) {
	wants := packing(rand.New(rand.NewPCG(5, 6)), 90, 120)
	s, err := prepare(wants, 120)
	if err != nil {
		t.Fatal(err)
	}
	s.grain, s.limit = 1, MaxSteps/100
	s.round()
	s.search()
	got := s.shares()
	if got.Proven {
		t.Fatalf("%d served, proven: this day is not hard enough", got.Served)
	}
	if err := sound(wants, got); err != nil {
		t.Fatal(err)
	}
	taken, inTurn := map[int32]bool{}, 0
	for _, w := range wants {
		var free []int32
		for _, p := range w.May {
			if !taken[p.Sling] && len(free) < w.Takes {
				free = append(free, p.Sling)
			}
		}
		if len(free) == w.Takes {
			inTurn++
			for _, c := range free {
				taken[c] = true
			}
		}
	}
	t.Logf("%d served, most %v; in turn %d", got.Served, got.Most, inTurn)
	if got.Served < inTurn {
		t.Errorf("%d served; in turn %d", got.Served, inTurn)
	}
}

func BenchmarkSolve(b *testing.B) {
	const lifts, slings = 500, 5000
	m := rand.New(rand.NewPCG(1, 2))
	for name, wants := range map[string][]Want{
		"ordinary": day(m, lifts, slings, false),
		"scarce":   day(m, lifts, slings, true),
		"tight":    tight(m, lifts, 480),
		"several":  several(m, tight(m, lifts, 480)),
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				s, err := Solve(wants, slings, 1)
				if err != nil || !s.Proven && name != "several" {
					b.Fatal(s.Served, err)
				}
				b.ReportMetric(float64(s.Served), "served")
			}
		})
		if name == "several" { // no assignment any more
			continue
		}
		b.Run(name+"/textbook", func(b *testing.B) {
			cost, _ := dense(wants, slings)
			for b.Loop() {
				textbook(cost)
			}
		})
	}
}
