package quantity

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

// ratios are the fractions that the trade's factors bring together.
var ratios = []Ratio{
	{1, 1}, {17320, 10000}, {14142, 10000}, {25980, 10000}, {21213, 10000}, {15, 10}, {14, 10}, {21, 10},
	{10000, 17320}, {10000, 25980}, {10000, 21213}, {10, 14}, {10, 21}, {80, 100}, {75, 100}, {65, 100},
	{55, 100}, {40, 100}, {70, 100}, {50, 100}, {90, 100}, {85, 100}, {95, 100}, {1025, 1000}, {107, 100},
	{1100, 100}, {100, 1100}, {0, 1}, {101, 100}, {1099, 100}, {9, 9},
}

func rat(m Mass, list []Ratio) *big.Rat {
	x := new(big.Rat).SetInt64(int64(m))
	for _, r := range list {
		x.Mul(x, big.NewRat(r.Num, r.Den))
	}
	return x
}

func product(m Mass, list []Ratio) Product {
	p := m.Exact()
	for _, r := range list {
		p = p.Times(r)
	}
	return p
}

// grams is the nearest whole gram of an exact value, halves up.
func grams(x *big.Rat) int64 {
	num := new(big.Int).Mul(x.Num(), big.NewInt(2))
	den := new(big.Int).Mul(x.Denom(), big.NewInt(2*int64(Gram)))
	num.Add(num, new(big.Int).Mul(x.Denom(), big.NewInt(int64(Gram))))
	return new(big.Int).Div(num, den).Int64()
}

func drawMass(t *rapid.T, label string) Mass {
	return Mass(rapid.OneOf(
		rapid.Int64Range(0, int64(MaxMass)),
		rapid.Int64Range(int64(MaxMass)-10, int64(MaxMass)),
		rapid.Int64Range(0, 100),
		rapid.Map(rapid.Int64Range(1, 200_000), func(n int64) int64 { return n * int64(Pound) }),
		rapid.Map(rapid.Int64Range(1, 2000), func(n int64) int64 { return n * 50_000 }),
	).Draw(t, label))
}

// Seven factors are the most that meet: down to one leg, up to the class,
// choke, edge, shortening, heat and balance.
func drawRatios(t *rapid.T, label string) []Ratio {
	return rapid.SliceOfN(rapid.SampledFrom(ratios), 0, 7).Draw(t, label)
}

func TestProductAgreesWithRat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, o := drawMass(t, "m"), drawMass(t, "o")
		if rapid.Bool().Draw(t, "same mass") {
			o = m
		}
		a, b := drawRatios(t, "a"), drawRatios(t, "b")
		p, q := product(m, a), product(o, b)
		x, y := rat(m, a), rat(o, b)
		limit := new(big.Rat).SetInt64(math.MaxInt64)
		if x.Cmp(limit) > 0 || y.Cmp(limit) > 0 || !p.Known() || !q.Known() {
			// Too large in the end or on the way: it must refuse.
			if p.Known() && q.Known() || !p.More(q) || Least(p, q).Known() {
				t.Fatal("a product out of range is known")
			}
			return
		}
		if order, ok := p.Cmp(q); !ok || order != x.Cmp(y) {
			t.Fatalf("Cmp = %d, %v; want %d", order, ok, x.Cmp(y))
		}
		if p.More(q) != (x.Cmp(y) > 0) {
			t.Fatalf("More = %v", p.More(q))
		}
		if g := p.Grams(); g != grams(x) {
			t.Fatalf("Grams = %d, want %d", g, grams(x))
		}
		least, want := Least(p, q), x
		if y.Cmp(x) < 0 {
			want = y
		}
		if least.Grams() != grams(want) {
			t.Fatalf("Least = %d g, want %d g", least.Grams(), grams(want))
		}
		if f := new(big.Int).Div(x.Num(), x.Denom()); f.Int64() != int64(p.Floor()) {
			t.Fatalf("Floor = %d, want %d", p.Floor(), f)
		}
	})
}

// Within the documented range of masses no chain of the trade's factors becomes unknown.
func TestProductHoldsTheTrade(t *testing.T) {
	worst := []Ratio{
		{10000, 17320}, {25980, 10000}, {65, 100}, {70, 100}, {80, 100}, {85, 100}, {50, 100},
	}
	p, x := product(MaxMass, worst), rat(MaxMass, worst)
	if !p.Known() || p.Grams() != grams(x) {
		t.Errorf("rating chain of the largest mass: %d g, want %d g", p.Grams(), grams(x))
	}
	for _, r := range []Ratio{{1100, 100}, {25980, 10000}, {10, 14}} {
		if p := MaxMass.Times(r); !p.Known() || p.Grams() != grams(rat(MaxMass, []Ratio{r})) {
			t.Errorf("largest mass × %d/%d = %d g", r.Num, r.Den, p.Grams())
		}
	}
	for i := range 100 { // a fraction that cancels never grows
		p = product(MaxMass, nil)
		for range i {
			p = p.Times(Ratio{17320, 10000}).Times(Ratio{10000, 17320})
		}
		if order, ok := p.Cmp(MaxMass.Exact()); !ok || order != 0 {
			t.Fatalf("after %d turns: %d, %v", i, order, ok)
		}
	}
}

func TestProductBoundaries(t *testing.T) {
	lb := func(n int64) Mass { return Mass(n) * Pound }
	single := lb(7100).Times(Ratio{17320, 10000}) // 12,297.2 lb
	for _, c := range []struct {
		name string
		p    Product
		q    Product
		more bool
	}{
		{"equal is not more", lb(10).Times(Ratio{2, 4}), lb(5).Exact(), false},
		{"one unit more", (lb(5) + 1).Exact(), lb(10).Times(Ratio{2, 4}), true},
		{"12,298 lb over 7,100 × 1.7320", lb(12_298).Exact(), single, true},
		{"12,297 lb under 7,100 × 1.7320", lb(12_297).Exact(), single, false},
		{"unknown counts as more", Product{}, lb(1).Exact(), true},
		{"unknown allows nothing", lb(1).Exact(), Product{}, true},
		{"below zero is unknown", Mass(-1).Exact(), lb(1).Exact(), true},
		{"no fraction is unknown", lb(1).Times(Ratio{}), lb(1).Exact(), true},
		{"fraction below zero", lb(1).Times(Ratio{-1, 2}), lb(1).Exact(), true},
		{"too large", MaxMass.Times(Ratio{1000, 1}), MaxMass.Exact(), true},
		{"fraction too fine", lb(1).Times(Ratio{1, math.MaxInt64}).Times(Ratio{1, math.MaxInt64}), lb(1).Exact(), true},
		{"nothing is not more than nothing", lb(1).Times(Ratio{0, 1}), Mass(0).Exact(), false},
	} {
		if c.p.More(c.q) != c.more {
			t.Errorf("%s: More = %v", c.name, !c.more)
		}
	}
	if Least(lb(1).Exact(), Product{}).Known() || Least(Product{}, lb(1).Exact()).Known() {
		t.Error("the least of something unknown is known")
	}
	if g := (Product{}).Grams(); g != 0 {
		t.Errorf("the zero Product prints as %d", g)
	}
}

func TestRatioCmp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		num, den := rapid.Int64Range(0, math.MaxInt64), rapid.Int64Range(1, math.MaxInt64)
		a := Ratio{num.Draw(t, "an"), den.Draw(t, "ad")}
		b := Ratio{num.Draw(t, "bn"), den.Draw(t, "bd")}
		order, ok := a.Cmp(b)
		if want := big.NewRat(a.Num, a.Den).Cmp(big.NewRat(b.Num, b.Den)); !ok || order != want {
			t.Fatalf("Cmp = %d, %v; want %d", order, ok, want)
		}
	})
	if _, ok := (Ratio{}).Cmp(Ratio{1, 1}); ok {
		t.Error("the zero Ratio compares")
	}
	if r := (Ratio{17320, 10000}).Inverse(); r != (Ratio{10000, 17320}) {
		t.Errorf("Inverse = %v", r)
	}
	if Percent(95) != (Ratio{95, 100}) {
		t.Errorf("Percent(95) = %v", Percent(95))
	}
}

// The 192 bits of a comparison, on every width of factor.
func TestMul3(t *testing.T) {
	big64 := func(n uint64) *big.Int { return new(big.Int).SetUint64(n) }
	rapid.Check(t, func(t *rapid.T) {
		draw := rapid.OneOf(rapid.Uint64(), rapid.Uint64Range(math.MaxUint64-3, math.MaxUint64), rapid.Uint64Range(0, 3))
		a, b, c := draw.Draw(t, "a"), draw.Draw(t, "b"), draw.Draw(t, "c")
		want := new(big.Int).Mul(new(big.Int).Mul(big64(a), big64(b)), big64(c))
		got := new(big.Int)
		for _, w := range mul3(a, b, c) {
			got.Add(got.Lsh(got, 64), big64(w))
		}
		if got.Cmp(want) != 0 {
			t.Fatalf("%d × %d × %d = %d, want %d", a, b, c, got, want)
		}
	})
}

// The last value that a Product can have, and the first that it cannot.
func TestProductEnds(t *testing.T) {
	last := Mass(math.MaxInt64).Times(Ratio{1, 1})
	if last.Floor() != math.MaxInt64 || last.Grams() != 92_233_720_368_548 {
		t.Errorf("the largest Mass is %d, %d g", last.Floor(), last.Grams())
	}
	for _, p := range []Product{
		(Mass(1) << 62).Times(Ratio{2, 1}), Mass(math.MaxInt64).Times(Ratio{3, 1}), Mass(4).Times(Ratio{1 << 62, 1}),
		Mass(8).Times(Ratio{1 << 62, 1}).Times(Ratio{1, 1 << 62}),
	} {
		if p.Known() {
			t.Errorf("a product beyond 63 bits is %d", p.Floor())
		}
	}
	if p := Mass(1).Times(Ratio{math.MaxInt64, 1}).Times(Ratio{1, math.MaxInt64}); p.Floor() != 1 {
		t.Errorf("a fraction that cancels leaves %d", p.Floor())
	}
}

func BenchmarkProduct(b *testing.B) {
	m, o := 12_300*Pound, 5_000_000*Gram
	more := false
	for b.Loop() {
		p := m.Times(Ratio{10000, 17320}).Times(Ratio{25980, 10000}).Times(Percent(65)).Times(Percent(70)).Times(Percent(85))
		more = o.Times(Percent(110)).More(Least(p, (40_000 * Pound).Exact()))
	}
	if !more {
		b.Fatal("5.5 t is not more than 65 % × 70 % × 85 % of 8.4 t")
	}
}

func TestProductAsFloat(t *testing.T) {
	for _, tt := range []struct {
		p    Product
		want float64
	}{
		{Product{}, 0},
		{Gram.Exact(), 1e5},
		{Gram.Times(Ratio{1, 3}), 1e5 / 3.0}, // a third of a unit is not lost
		{MaxMass.Times(Ratio{21_213, 10_000}), 2.1213e17},
	} {
		if got := tt.p.Float(); math.Abs(got-tt.want) > 1e-15*tt.want {
			t.Errorf("%v as a float is %v; want %v", tt.p.Floor(), got, tt.want)
		}
	}
}
