package resemble

import (
	"flag"
	"math"
	"math/big"
	"math/bits"
	"math/rand/v2"
	"testing"

	"cribgate/labeler/symbol"
)

var (
	rounds = flag.Int("rounds", 2000, "how many grids are shown that are of no tag that is known")
	seed   = flag.Uint64("seed", 1, "of what is drawn by lot")
)

const base32 = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567"

func lot(r *rand.Rand, n int) string {
	b := make([]byte, n)
	for i := range b {
		b[i] = base32[r.IntN(32)]
	}
	return string(b)
}

// A crib prints tags that share all but number, a little of the facts, and seal.
type crib struct {
	r      *rand.Rand
	prefix string
	level  symbol.Level
	key    string
}

func newCrib(r *rand.Rand, prefix string) crib {
	c := crib{r, prefix, symbol.LevelH, "C" + lot(r, 6)}
	if prefix != "" {
		c.level = symbol.LevelQ
	}
	return c
}

func (c crib) number() string { return c.key + lot(c.r, 13) }

// tag is one of the sling with that number.
func (c crib) tag(t testing.TB, number string) symbol.Symbol {
	t.Helper()
	facts := "AB" + string(base32[c.r.IntN(4)]) + "DCBAQEHJKMABCDEFGHI"
	text := number + facts[:38-len(number)]
	s, err := symbol.Again(c.prefix+text+lot(c.r, 64-len(text)), symbol.Version, c.level, c.r.IntN(8))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func id(n int) (d Digest) {
	d[0], d[1], d[2] = byte(n), byte(n>>8), byte(n>>16)
	return d
}

func filled(t testing.TB, c crib, n int) (*Index, []symbol.Symbol, []string) {
	t.Helper()
	x := &Index{}
	all, numbers := make([]symbol.Symbol, n), make([]string, n)
	for i := range n {
		numbers[i] = c.number()
		all[i] = c.tag(t, numbers[i])
		if err := put(x, id(i), all[i]); err != nil {
			t.Fatal(err)
		}
	}
	return x, all, numbers
}

func put(x *Index, id Digest, s symbol.Symbol) error {
	return x.Put(id, s.Text(), symbol.Version, s.Level(), s.Mask())
}

// A shown grid is a symbol as it is seen: turned, with modules wrong or hidden.
type shown [symbol.Modules][symbol.Modules]uint8

func (g *shown) Modules() int                { return symbol.Modules }
func (g *shown) Light(column, row int) uint8 { return g[row][column] }
func (g *shown) Known(column, row int) bool  { return g[row][column] < 116 || g[row][column] >= 140 }
func (g *shown) turned(way int) (turned *shown) {
	turned = &shown{}
	for row := range symbol.Modules {
		for column := range symbol.Modules {
			c, r := column, row
			if way >= 4 {
				c, r = r, c
			}
			for range way % 4 {
				c, r = r, symbol.Modules-1-c
			}
			turned[r][c] = g[row][column]
		}
	}
	return turned
}

// worn shows a symbol of which a share of the modules is wrong; wrong ones are seldom
// sure, right ones mostly.
func worn(r *rand.Rand, s symbol.Symbol, wrong float64) *shown {
	g := &shown{}
	for row := range symbol.Modules {
		for column := range symbol.Modules {
			light := 255 - r.IntN(100)
			bad := r.Float64() < wrong
			if bad {
				light = 255 - r.IntN(115)
			}
			if s.Dark(column, row) != bad {
				light = 255 - light
			}
			g[row][column] = uint8(light)
		}
	}
	return g
}

// cover hides a part of the symbol, or lays something over it that reads as dark.
func (g *shown) cover(light uint8, in func(column, row int) bool) *shown {
	for row := range symbol.Modules {
		for column := range symbol.Modules {
			if in(column, row) {
				g[row][column] = light
			}
		}
	}
	return g
}

func quarter(r *rand.Rand) func(column, row int) bool {
	const n = symbol.Modules
	switch r.IntN(4) {
	case 0:
		return func(column, row int) bool { return column+row < n*7/10 } // a corner
	case 1:
		return func(column, row int) bool { return column > n*3/4 }
	case 2:
		return func(column, row int) bool { return row < n/4 }
	default:
		return func(column, row int) bool { return max(column-n/2, n/2-column, row-n/2, n/2-row) <= n/4 }
	}
}

func source(t testing.TB) *rand.Rand {
	t.Helper()
	t.Logf("seed %d: go test ./kiosk/resemble -run '^%s$' -rounds %d -seed %d", *seed, t.Name(), *rounds, *seed)
	return rand.New(rand.NewPCG(*seed, 7))
}

// What is worn, turned, mirrored, and has a quarter hidden or covered is found.
func TestWornTagsAreFound(t *testing.T) {
	r := source(t)
	for _, prefix := range []string{"", "HTTPS://CRIB.EXAMPLE/"} {
		x, all, _ := filled(t, newCrib(r, prefix), 300)
		for _, c := range []struct {
			name  string
			wrong float64
			cover int // light; below 0 for none
			least int // of a hundred
		}{
			{"clean", 0, -1, 100}, {"a tenth wrong", 0.10, -1, 100}, {"a sixth wrong", 0.16, -1, 15}, {"a quarter hidden, a tenth wrong", 0.10, 128, 60},
			{"a quarter painted over, 6 % wrong", 0.06, 0, 85}, {"half wrong", 0.5, -1, 0},
		} {
			found, tries := 0, 20
			for range tries {
				n := r.IntN(len(all))
				g := worn(r, all[n], c.wrong)
				if c.cover >= 0 {
					g.cover(uint8(c.cover), quarter(r))
				}
				m, ok := x.Find([]Grid{g.turned(r.IntN(turns))})
				if ok && m.ID != id(n) {
					t.Fatalf("%s: tag %d for %d", c.name, m.ID, n)
				}
				if ok {
					found++
					for row := range symbol.Modules {
						for column := range symbol.Modules {
							if m.Upright.Light(column, row) != g[row][column] {
								t.Fatalf("%s: module %d, %d of the upright grid is another", c.name, column, row)
							}
						}
					}
				}
			}
			t.Logf("prefix %q, %s: %d of %d", prefix, c.name, found, tries)
			if 100*found < c.least*tries || c.least == 0 && found > 0 {
				t.Errorf("prefix %q, %s: %d of %d found, want %d in a hundred", prefix, c.name, found, tries, c.least)
			}
		}
	}
}

// Nothing that is not there is found: older tags of the same slings, tags of other
// slings and cribs, noise and stripes, worn or clean.
func TestNoWrongTag(t *testing.T) {
	r := source(t)
	c := newCrib(r, "")
	x, _, numbers := filled(t, c, 1000)
	other := newCrib(r, "")
	nearest := modules
	for i := range *rounds {
		var g *shown
		switch i % 5 {
		case 0:
			g = worn(r, c.tag(t, numbers[r.IntN(len(numbers))]), 0.1*r.Float64())
		case 1:
			g = worn(r, c.tag(t, c.number()), 0.2*r.Float64())
		case 2:
			g = worn(r, other.tag(t, other.number()), 0.1*r.Float64())
		case 3:
			g = worn(r, symbol.Symbol{}, 0.5)
		default:
			wide, tilt := 1+r.IntN(9), r.IntN(5)
			g = worn(r, symbol.Symbol{}, 0.1).cover(10, func(column, row int) bool { return (column+tilt*row)/wide%2 == 0 })
		}
		if r.IntN(2) == 0 {
			g.cover([]uint8{0, 128, 255}[r.IntN(3)], quarter(r))
		}
		if m, ok := x.Find([]Grid{g.turned(r.IntN(turns))}); ok {
			t.Fatalf("round %d: tag %d is found, with %d of %d modules wrong", i, m.ID, m.Wrong, m.Known)
		}
		v := faceOf(g).view(0)
		for _, sh := range x.shelves {
			for _, slot := range sh.near(&v) {
				nearest = min(nearest, sh.match(slot, &v, g).Wrong)
			}
		}
	}
	t.Logf("%d grids; the nearest that was not taken differs in %d modules", *rounds, nearest)
}

// A together is some frames added up.
type together struct {
	*shown
	newest *shown
}

func (s together) Newest() Grid { return s.newest }

func added(frames ...*shown) together {
	s := together{&shown{}, frames[len(frames)-1]}
	for row := range symbol.Modules {
		for column := range symbol.Modules {
			all := 0
			for _, f := range frames {
				all += int(f[row][column])
			}
			s.shown[row][column] = uint8(all / len(frames))
		}
	}
	return s
}

// Frames of one tag that none resembles do so together; frames of two tags, or of a tag
// and of nothing, resemble none that the newest does not show.
func TestFramesAddedUp(t *testing.T) {
	r := source(t)
	c := newCrib(r, "")
	x, all, _ := filled(t, c, 300)
	other := newCrib(r, "")
	const tries, wrong = 40, 0.2
	alone, all4 := 0, 0
	for range tries {
		n := r.IntN(len(all))
		frames := make([]*shown, 4)
		for i := range frames {
			frames[i] = worn(r, all[n], wrong)
		}
		if m, ok := x.Find([]Grid{frames[3]}); ok && m.ID == id(n) {
			alone++
		}
		switch m, ok := x.Find([]Grid{added(frames...)}); {
		case ok && m.ID != id(n):
			t.Fatalf("tag %d for %d", m.ID, n)
		case ok:
			all4++
		}
	}
	t.Logf("a fifth of all modules wrong: %d of %d frames are resembled, and %d of four together", alone, tries, all4)
	if alone > tries/4 || all4 < tries*3/4 {
		t.Error("adding up brings too little to be worth it")
	}
	for i := range *rounds / 4 {
		n := r.IntN(len(all))
		frames := make([]*shown, 2+r.IntN(3))
		for j := range frames {
			frames[j] = worn(r, all[n], 0.15*r.Float64())
		}
		last := &frames[len(frames)-1]
		switch i % 4 {
		case 0: // another that hangs, too worn by itself
			*last = worn(r, all[(n+1)%len(all)], 0.25+0.1*r.Float64())
		case 1: // one of another crib
			*last = worn(r, other.tag(t, other.number()), 0.1)
		case 2:
			*last = worn(r, symbol.Symbol{}, 0.5)
		default: // covered by a hand
			(*last).cover(uint8(128-20*r.IntN(2)), func(int, int) bool { return true })
		}
		if m, ok := x.Find([]Grid{added(frames...)}); ok {
			t.Fatalf("round %d: of tag %d, and last of something else, tag %d comes out", i, n, m.ID)
		}
	}
}

// Each module is the sum of the drawn bits that the system says: two texts that
// differ in number and seal only are drawn apart just there.
func TestSums(t *testing.T) {
	r := source(t)
	for _, prefix := range []string{"", "HTTPS://CRIB.EXAMPLE/", "HTTPS://CRIBS.EXAMPLE/"} {
		c := newCrib(r, prefix)
		f := form{c.level, len(prefix)}
		for range 20 {
			a := prefix + c.key + "A" + lot(r, 12) + "ABCDEFGHIJKLMNOPQRS" + lot(r, 25)
			b := []byte(a)
			var differ sum
			bit := 0
			for pair := range len(a) / 2 {
				first := 2*pair - len(prefix)
				in := func(c int) bool { return c >= 8 && c <= 19 || c >= 39 }
				if !in(first) || !in(first+1) {
					continue
				}
				if r.IntN(2) == 0 {
					copy(b[2*pair:], lot(r, 2))
				}
				value := func(text string) int { return 45*at(text[2*pair]) + at(text[2*pair+1]) }
				change := value(a) ^ value(string(b))
				for i := range 11 {
					if change>>(10-i)&1 == 1 {
						differ[bit/64] |= 1 << (bit % 64)
					}
					bit++
				}
			}
			s, err := symbol.Again(a, symbol.Version, c.level, 0)
			o, err2 := symbol.Again(string(b), symbol.Version, c.level, 0)
			if err != nil || err2 != nil {
				t.Fatal(err, err2)
			}
			all := f.sumsOf(number, seal)
			if bit != symbol.PairBits*all.pairs {
				t.Fatalf("prefix %q: %d bits are drawn by lot, the system has %d pairs", prefix, bit, all.pairs)
			}
			for i, p := range places {
				odd := 0
				for w, v := range all.sums[i] {
					odd += bits.OnesCount64(v & differ[w])
				}
				if (odd%2 == 1) != (s.Dark(p.column, p.row) != o.Dark(p.column, p.row)) {
					t.Fatalf("prefix %q, module %d: not the sum that it is said to be", prefix, i)
				}
			}
		}
	}
}

func at(c byte) int {
	for i := range len(alphanumeric) {
		if alphanumeric[i] == c {
			return i
		}
	}
	return -1
}

const alphanumeric = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"

// The set of modules are as many as there are independent sums, and the bound of each
// is the binomial's, by exact numbers.
func TestBound(t *testing.T) {
	r := source(t)
	f := form{symbol.LevelH, 0}
	all, seals := f.sumsOf(number, seal), f.sumsOf(seal)
	if all.pairs != 18 || seals.pairs != 12 {
		t.Fatalf("%d and %d pairs are drawn by lot, want 18 and 12", all.pairs, seals.pairs)
	}
	for _, s := range []*system{all, seals} {
		total := new(big.Float)
		for _, in := range regions {
			set := s.independent(r.Perm(modules), in)
			if got := rank(s, set); got != len(set) {
				t.Fatalf("%d modules, of which %d are independent", len(set), got)
			}
			n := 100_000.0
			if s == seals {
				n = 1
			}
			factor := n * 8 * 8 * MostGrids * float64(uint64(1)<<s.pairs)
			k := most(len(set), factor, Chance/2/float64(len(regions)))
			spent := func(k int) *big.Float { return new(big.Float).Mul(big.NewFloat(factor), tail(len(set), k)) }
			limit := big.NewFloat(Chance / 2 / float64(len(regions)))
			if spent(k).Cmp(limit) > 0 || spent(k+1).Cmp(limit) <= 0 {
				t.Errorf("of %d modules %d may differ: %v spent, and %v with one more", len(set), k, spent(k), spent(k+1))
			}
			total.Add(total, spent(k))
			t.Logf("of %d independent modules at most %d may differ", len(set), k)
		}
		if total.Cmp(big.NewFloat(Chance/2)) > 0 {
			t.Errorf("a wrong answer has the chance %v", total)
		}
	}
	if most(10, 1, 1e-9) != -1 || most(10, 0, 1) != 10 {
		t.Error("the bound does not end where it should")
	}
}

func rank(s *system, set []int) (n int) {
	rows := make([]*big.Int, len(set))
	for i, m := range set {
		rows[i] = new(big.Int)
		for w, v := range s.sums[m] {
			rows[i].Or(rows[i], new(big.Int).Lsh(new(big.Int).SetUint64(v), uint(64*w)))
		}
	}
	for bit := range 256 {
		for i := n; i < len(rows); i++ {
			if rows[i].Bit(bit) == 0 {
				continue
			}
			rows[n], rows[i] = rows[i], rows[n]
			for j := range rows {
				if j != n && rows[j].Bit(bit) == 1 {
					rows[j].Xor(rows[j], rows[n])
				}
			}
			n++
			break
		}
	}
	return n
}

// tail is B(h, k), exactly.
func tail(h, k int) *big.Float {
	all := new(big.Int)
	for j := 0; j <= k; j++ {
		all.Add(all, new(big.Int).Binomial(int64(h), int64(j)))
	}
	return new(big.Float).SetMantExp(new(big.Float).SetInt(all), -h)
}

// Tags drawn by lot differ from whatever is shown as the binomial says, as far as
// that can be tried: the bound allows 2^q times more.
func TestTagsDifferByChance(t *testing.T) {
	r := source(t)
	c := newCrib(r, "")
	all := form{c.level, 0}.sumsOf(number, seal)
	v := faceOf(worn(r, symbol.Symbol{}, 0.5)).view(0)
	set := all.independent(r.Perm(modules), regions[0])
	tries := 2 * *rounds
	low := 0
	for tail := 0.0; ; low++ { // the largest count that one in a hundred is under
		f, _ := tailOf(len(set), low+1)
		if tail = f; tail > 0.01 {
			break
		}
	}
	want, _ := tailOf(len(set), low)
	under := 0
	for range tries {
		p := patternOf(c.tag(t, c.number()))
		differ := 0
		for _, i := range set {
			differ += int((p[i%words]^v.dark[i%words])>>(i/words)) & 1
		}
		if differ <= low {
			under++
		}
	}
	t.Logf("%d of %d tags differ in at most %d of %d modules; by lot %.0f", under, tries, low, len(set), want*float64(tries))
	if float64(under) > 2*want*float64(tries)+10 {
		t.Errorf("%d of %d tags, twice as many as chance makes", under, tries)
	}
}

// With the ways and the pairs taken out of it, the bound is what tags drawn by lot keep
// to: they are taken as often as is spent, no more, and not so much less often that it
// would show nothing.
func TestTakenByChance(t *testing.T) {
	r := source(t)
	c := newCrib(r, "")
	all := form{c.level, 0}.sumsOf(number, seal)
	tries := *rounds / 4
	for name, g := range map[string]*shown{
		"noise": worn(r, symbol.Symbol{}, 0.5), "another tag": worn(r, c.tag(t, c.number()), 0), "half hidden": worn(r, symbol.Symbol{}, 0.5).cover(128, func(column, _ int) bool { return column < half }),
	} {
		v := faceOf(g).view(0)
		v.sort(g)
		const spend = 0.1
		taken := 0
		for range tries {
			if all.taken(patternOf(c.tag(t, c.number())), &v, math.Ldexp(1./masks, -all.pairs), spend) {
				taken++
			}
		}
		t.Logf("%s: %d of %d are taken where %.0f may be", name, taken, tries, spend*float64(tries))
		if most := spend * float64(tries); float64(taken) > most+4*math.Sqrt(most) || float64(taken) < most/10 {
			t.Errorf("%s: %d of %d are taken", name, taken, tries)
		}
	}
}

func tailOf(h, k int) (float64, big.Accuracy) { return tail(h, k).Float64() }

func TestIndexForgets(t *testing.T) {
	r := source(t)
	x, all, _ := filled(t, newCrib(r, ""), 50)
	find := func(n int) bool {
		m, ok := x.Find([]Grid{&shown{}, worn(r, all[n], 0.05)})
		return ok && m.ID == id(n)
	}
	x.Drop(id(7))
	x.Drop(id(7))
	x.Drop(id(999))
	if x.Len() != 49 || find(7) {
		t.Errorf("of 50 tags with one dropped there are %d", x.Len())
	}
	for n := range all {
		if n != 7 && !find(n) {
			t.Errorf("tag %d is lost", n)
		}
	}
	if err := put(x, id(8), all[7]); err != nil || find(8) || x.Len() != 49 {
		t.Errorf("another symbol in the place of tag 8: %v", err)
	}
	if err := put(x, id(1), symbol.Symbol{}); err == nil {
		t.Error("a symbol of nothing is a tag")
	}
	// The same symbol under two names is nobody's.
	if err := put(x, id(1000), all[20]); err != nil || find(20) {
		t.Errorf("two tags resemble it, and one is answered: %v", err)
	}
	many := make([]Grid, MostGrids, MostGrids+1)
	for i := range many {
		many[i] = &shown{}
	}
	if _, ok := x.Find(append(many, worn(r, all[3], 0))); ok {
		t.Errorf("more than %d grids were tried", MostGrids)
	}
}

func BenchmarkFind100000(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 7))
	x, all, _ := filled(b, newCrib(r, ""), 100_000)
	for name, g := range map[string]*shown{
		"worn":  worn(r, all[500], 0.12).cover(128, quarter(r)),
		"noise": worn(r, symbol.Symbol{}, 0.5),
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, ok := x.Find([]Grid{g}); ok != (name == "worn") {
					b.Fatal(ok)
				}
			}
		})
	}
}
