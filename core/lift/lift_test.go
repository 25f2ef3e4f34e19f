package lift

import (
	"fmt"
	"math"
	"testing"

	"cribgate/core/quantity"

	"pgregory.net/rapid"
)

const millimetre = quantity.Millimetre

func at(x, y, z int) Point {
	return Point{quantity.Length(x) * millimetre, quantity.Length(y) * millimetre, quantity.Length(z) * millimetre}
}

func height(mm int) *quantity.Length {
	h := quantity.Length(mm) * millimetre
	return &h
}

// Two level picks on either side of the plumb line, the hook h above them.
func level(d1, d2, h int) Rig {
	return Rig{Picks: []Point{at(-d1, 0, 0), at(d2, 0, 0)}, CG: at(0, 0, -1000), Reach: 1_000_000 * millimetre, Adjustable: true, Hook: height(h)}
}

func fixed(reach int, cg Point, picks ...Point) Rig {
	return Rig{Picks: picks, CG: cg, Reach: quantity.Length(reach) * millimetre}
}

// Worked tensions, in the unit of the load; a thousandth of a foot is a mm here.
func TestWorkedTensions(t *testing.T) {
	for _, tt := range []struct {
		source string
		rig    Rig
		load   float64
		legs   []float64
		flat   float64 // degrees from horizontal
	}{
		{"trade page, two equal legs, h 60", level(100_000, 100_000, 173_205), 10_000, []float64{5773.5, 5773.5}, 60},
		{"trade page, two equal legs, h 45", level(100_000, 100_000, 100_000), 10_000, []float64{7071.1, 7071.1}, 45},
		{"trade page, two equal legs, h 30", level(173_205, 173_205, 100_000), 10_000, []float64{10_000, 10_000}, 30},
		{"trade page, 1,000 lb at h 60", level(100_000, 100_000, 173_205), 1_000, []float64{577.4, 577.4}, 60},
		{"training agency quiz, 15,000 lb, L 16, H 12", fixed(16_000, at(0, 0, -1000), at(-10_583, 0, 0), at(10_583, 0, 0)), 15_000, []float64{10_000, 10_000}, 48.59},
		{"trade page, 1,000 lb, L 10, H 5", fixed(10_000, at(0, 0, -1000), at(-8_660, 0, 0), at(8_660, 0, 0)), 1_000, []float64{1_000, 1_000}, 30},
		{"US Army FM 5-125 (from memory), 1,800 lb, L 8, V 6", fixed(8_000, at(0, 0, -1000), at(-5_291, 0, 0), at(5_291, 0, 0)), 1_800, []float64{1_200, 1_200}, 48.59},
		{"Nicholls's Seamanship, 3 tons, legs 6, spread 7.937", fixed(60_000, at(0, 0, -1000), at(-39_686, 0, 0), at(39_686, 0, 0)), 3, []float64{2, 2}, 48.59},
		{"statics, 14,000 lb, D 5 and 9, H 12", level(5_000, 9_000, 12_000), 14_000, []float64{9_750, 6_250}, 53.13},
		{"statics, 25,200 lb, D 5 and 16, H 12", level(5_000, 16_000, 12_000), 25_200, []float64{20_800, 10_000}, 36.87},
		{"statics, 12,000 lb, D 9 and 16, H 12", level(9_000, 16_000, 12_000), 12_000, []float64{9_600, 7_200}, 36.87},
		{"statics, 9,000 lb, D 2 and 7, H 4: one leg too flat", level(2_000, 7_000, 4_000), 9_000, []float64{7_826.2, 4_031.1}, 29.74},
		{"statics, 10,000 lb, β 30 and 45", level(57_735, 100_000, 100_000), 10_000, []float64{7_320.5, 5_176.4}, 45},
		{"Nicholls's Seamanship, 2.5 held by 2 and 1; its printed 53° does not balance, 49.46° does", level(41_071, 116_907, 100_000), 2.5, []float64{2, 1}, 40.54},
		// BAD PRINT of a university training page: 4,444.44 and 3,111.11 with legs 4 and
		// 14, D 2 and 10, H 3. Such legs do not reach from there; what hangs has these
		// tensions, and a leg at 16.7°.
		{"bad print, recomputed", level(2_000, 10_000, 3_000), 4_000, []float64{4_006.2, 2_320.1}, 16.70},
		// Four equal legs under a tray 4 × 4, legs 7: 10.932 cwt where two of four carry.
		{"Nicholls's Seamanship, tray, 20 cwt", fixed(7_000, at(0, 0, -1000), at(-2000, -2000, 0), at(2000, -2000, 0), at(2000, 2000, 0), at(-2000, 2000, 0)),
			20, []float64{10.932, 10.932, 10.932, 10.932}, 66.17},
	} {
		t.Run(tt.source, func(t *testing.T) {
			h := Hang(tt.rig)
			if h.Fault != Hangs || len(h.Legs()) != len(tt.legs) {
				t.Fatalf("%v, %d legs", h.Fault, len(h.Legs()))
			}
			most := 0.0
			for i, want := range tt.legs {
				got := h.Legs()[i].Tension * tt.load
				if math.Abs(got-want) > 0.0003*want {
					t.Errorf("leg %d carries %.2f; want %.2f", i+1, got, want)
				}
				most = max(most, h.Legs()[i].Tension)
			}
			if h.Tension != most || math.Abs(h.Flattest-tt.flat) > 0.01 || h.Tilt > 1e-9 {
				t.Errorf("tension %v of %v, flattest %.3f; want %.2f, tilt %v", h.Tension, most, h.Flattest, tt.flat, h.Tilt)
			}
		})
	}
	bad := level(2_000, 10_000, 3_000)
	bad.Reach = 10_439 * millimetre // the longer leg is 10.440
	if h := Hang(bad); h.Fault != ReachTooShort {
		t.Errorf("legs of 10.439: %v", h.Fault)
	}
	bad.Reach++ // a micrometre does not do it either
	if h := Hang(bad); h.Fault != ReachTooShort {
		t.Errorf("legs of 10.439001: %v", h.Fault)
	}
	bad.Reach = 10_441 * millimetre
	if h := Hang(bad); h.Fault != Hangs || math.Abs(h.Legs()[0].Length-3_605.55) > 0.01 || math.Abs(h.Legs()[1].Length-10_440.31) > 0.01 {
		t.Errorf("legs of 10.441: %v, set to %+v", h.Fault, h.Legs())
	}
}

func square(half, z int) []Point {
	return []Point{at(-half, -half, z), at(half, -half, z), at(half, half, z), at(-half, half, z)}
}

// Both sides of every limit of the geometry.
func TestFaults(t *testing.T) {
	cg := at(0, 0, -400)
	adjust := func(r Rig, hook *quantity.Length) Rig { r.Adjustable, r.Hook = true, hook; return r }
	for _, tt := range []struct {
		name string
		rig  Rig
		want Fault
	}{
		{"no picks", Rig{}, NotJudged},
		{"one pick", fixed(1000, cg, at(0, 0, 0)), NotJudged},
		{"five picks", fixed(1000, cg, append(square(500, 0), at(0, 0, 0))...), NotJudged},
		{"two, no hook height", adjust(fixed(1000, cg, at(-500, 0, 0), at(500, 0, 0)), nil), NoHookHeight},
		{"four, no hook height", adjust(fixed(1000, at(900, 0, 0), square(500, 0)...), nil), NoHookHeight},
		{"two at one place", fixed(1000, cg, at(5, 5, 5), at(5, 5, 5)), WouldTip},
		{"two one above the other", fixed(1000, at(300, 0, -400), at(0, 0, 0), at(0, 0, 500)), WouldRoll},
		{"G on the line", fixed(1000, at(0, 0, 0), at(-500, 0, 0), at(500, 0, 0)), WouldRoll},
		{"G 1 mm below the line", fixed(1000, at(0, 0, -1), at(-500, 0, 0), at(500, 0, 0)), Hangs},
		{"G 1 mm above the line", fixed(1000, at(0, 0, 1), at(-500, 0, 0), at(500, 0, 0)), WouldRoll},
		{"G beside the line at its height", fixed(1000, at(0, 200, 0), at(-500, 0, 0), at(500, 0, 0)), WouldRoll},
		{"G beside and 1 mm below", fixed(1000, at(0, 200, -1), at(-500, 0, 0), at(500, 0, 0)), Hangs},
		{"two, L = s/2", fixed(500, cg, at(-500, 0, 0), at(500, 0, 0)), ReachTooShort},
		{"two, L over s/2", fixed(501, cg, at(-500, 0, 0), at(500, 0, 0)), Hangs},
		{"two, hook at the picks", adjust(fixed(1000, cg, at(-500, 0, 0), at(500, 0, 0)), height(0)), NoHookHeight},
		{"two, hook above the picks", adjust(fixed(1000, cg, at(-500, 0, 0), at(500, 0, 0)), height(1)), Hangs},
		{"two, legs just long enough (3-4-5)", adjust(fixed(500, cg, at(-300, 0, 0), at(300, 0, 0)), height(400)), Hangs},
		{"two, legs 1 mm short", adjust(fixed(499, cg, at(-300, 0, 0), at(300, 0, 0)), height(400)), ReachTooShort},
		{"two, G beyond the picks", adjust(fixed(3000, at(600, 0, -400), at(-500, 0, 0), at(500, 0, 0)), height(800)), WouldTip},
		{"two, G under a pick", adjust(fixed(3000, at(500, 0, -400), at(-500, 0, 0), at(500, 0, 0)), height(800)), Hangs},
		// Longest side 1,000: the margin is 20 mm.
		{"four, G 20 mm inside", fixed(1000, at(480, 0, -400), square(500, 0)...), Hangs},
		{"four, G 19 mm inside", fixed(1000, at(481, 0, -400), square(500, 0)...), WouldTip},
		{"three in a line in plan", fixed(1000, cg, at(-500, 0, 0), at(0, 0, 300), at(500, 0, 0)), WouldTip},
		{"three, triangle of half a mm²", fixed(1000, at(0, 0, -400), at(0, 0, 0), at(1, 0, 0), at(0, 1, 0)), WouldTip},
		{"three, L = R (3-4-5)", fixed(500, at(-250, -150, -400), at(-400, -300, 0), at(400, -300, 0), at(-400, 300, 0)), ReachTooShort},
		{"three, L over R", fixed(501, at(-250, -150, -400), at(-400, -300, 0), at(400, -300, 0), at(-400, 300, 0)), Hangs},
		{"three, hook no higher than a pick", adjust(fixed(3000, cg, at(-500, -500, 0), at(500, -500, 100), at(0, 500, 0)), height(100)), NoHookHeight},
		{"three, hook higher than every pick", adjust(fixed(3000, cg, at(-500, -500, 0), at(500, -500, 100), at(0, 500, 0)), height(101)), Hangs},
		{"three, G above the hook", adjust(fixed(3000, at(0, 0, 600), at(-500, -500, 0), at(500, -500, 0), at(0, 500, 0)), height(600)), WouldTip},
		{"three, G below the hook", adjust(fixed(3000, at(0, 0, 599), at(-500, -500, 0), at(500, -500, 0), at(0, 500, 0)), height(600)), Hangs},
		{"four, one pick too low", fixed(2000, cg, at(-500, -500, 0), at(500, -500, 0), at(500, 500, 0), at(-500, 500, -60)), LegsUnequal},
		{"four, one pick a little low", fixed(2000, cg, at(-500, -500, 0), at(500, -500, 0), at(500, 500, 0), at(-500, 500, -10)), Hangs},
		{"four, three upright in a line", fixed(3000, at(0, 100, -400), at(-500, 0, 0), at(0, 0, 50), at(500, 0, 0), at(0, 500, 0)), WouldTip},
		{"four, three nearly level in a line: an upright circle of 2.5 m", fixed(2000, at(0, 100, -400), at(-500, 0, 0), at(0, 0, 50), at(500, 0, 0), at(0, 500, 0)), WouldTip},
		{"four, picks twice at one place", fixed(3000, at(0, -100, -400), at(-500, -500, 0), at(-500, -500, 0), at(500, -500, 0), at(0, 500, 0)), Hangs},
	} {
		if got := Hang(tt.rig); got.Fault != tt.want {
			t.Errorf("%s: %v; want %v", tt.name, got.Fault, tt.want)
		} else if got.Fault != Hangs && (len(got.Legs()) > 0 || got.Tension != 0 || got.Tilt != 0) {
			t.Errorf("%s: %v, and yet %+v", tt.name, got.Fault, got)
		}
	}
}

func TestJudgements(t *testing.T) {
	h := Hang(level(300, 300, 400))
	for _, tt := range []struct {
		what string
		got  bool
		want bool
	}{
		{"hook at the limit is over", h.Over(400 * millimetre), false},
		{"hook 1 mm over the limit is over", h.Over(399 * millimetre), true},
		{"no tilt is over a limit of 0", h.Tilted(0), false},
		{"equal legs are alike within 0", h.Alike(0), true},
		{"legs 36.87° from vertical are 36° out", h.SpreadAtLeast(36), true},
		{"legs 36.87° from vertical are 37° out", h.SpreadAtLeast(37), false},
		{"two picks are opposed pairs", h.Opposed(), false},
	} {
		if tt.got != tt.want {
			t.Errorf("%s: %v", tt.what, tt.got)
		}
	}
	var none Hanging
	if none.SpreadAtLeast(0) || none.Opposed() || none.Fault != NotJudged {
		t.Errorf("the zero Hanging permits: %+v", none)
	}
	unset := Hang(level(300, 300, 400))
	unset.Hook, unset.Tilt = math.NaN(), math.NaN()
	if !unset.Over(1_000*millimetre) || !unset.Tilted(45*quantity.Degree) {
		t.Error("not a number is within a limit")
	}
}

// Opposite pairs as seen from G, 15° on either side of a straight line.
func TestOpposed(t *testing.T) {
	arm := func(degrees float64) Point {
		return at(int(math.Round(100_000*math.Cos(degrees*math.Pi/180))), int(math.Round(100_000*math.Sin(degrees*math.Pi/180))), 0)
	}
	for _, tt := range []struct {
		degrees [4]float64
		want    bool
	}{
		{[4]float64{0, 90, 180, 270}, true},
		{[4]float64{0, 180, 90, 270}, true}, // in any order
		{[4]float64{0, 90, 194.9, 270}, true},
		{[4]float64{0, 90, 195.1, 270}, false},
		{[4]float64{0, 90, 165.1, 284.9}, true},
		{[4]float64{0, 90, 164.9, 270}, false},
		{[4]float64{0, 10, 180, 190}, true},
		{[4]float64{0, 120, 240, 300}, false},
	} {
		r := fixed(200_000, at(0, 0, -1000))
		for _, a := range tt.degrees {
			r.Picks = append(r.Picks, arm(a))
		}
		var h hang
		if h.draw(r); h.Opposed() != tt.want {
			t.Errorf("picks at %v: opposed %v", tt.degrees, h.Opposed())
		}
	}
	r := fixed(3000, at(0, 0, -1000), at(-500, 0, 0), at(0, 0, 0), at(500, 0, 0), at(0, 500, 0))
	var h hang
	if h.draw(r); h.Opposed() {
		t.Error("a pick straight over G has an opposite")
	}
}

// What hangs holds its load: the upward parts of the tensions add up to it, and
// turning or mirroring the drawing in plan changes nothing.
func TestHangLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 3).Draw(t, "picks")
		coordinate := rapid.IntRange(-2000, 2000)
		r := Rig{CG: at(coordinate.Draw(t, "gx"), coordinate.Draw(t, "gy"), coordinate.Draw(t, "gz")),
			Reach: quantity.Length(rapid.IntRange(500, 6000).Draw(t, "reach")) * millimetre, Adjustable: rapid.Bool().Draw(t, "adjustable")}
		for range n {
			r.Picks = append(r.Picks, at(coordinate.Draw(t, "x"), coordinate.Draw(t, "y"), coordinate.Draw(t, "z")/4))
		}
		if r.Adjustable {
			r.Hook = height(rapid.IntRange(-100, 4000).Draw(t, "hook"))
		}
		h := Hang(r)
		turned := r
		turned.Picks = nil
		quarter := func(p Point) Point { return Point{-p.Y, p.X, p.Z} }
		turned.CG = quarter(r.CG)
		for _, p := range r.Picks {
			turned.Picks = append(turned.Picks, quarter(p))
		}
		o := Hang(turned)
		if h.Fault != o.Fault || h.Fault == Hangs && (math.Abs(h.Tension-o.Tension) > 1e-6*h.Tension || math.Abs(h.Tilt-o.Tilt) > 1e-6) {
			t.Fatalf("turned by 90°: %+v, before %+v", o, h)
		}
		if h.Fault != Hangs {
			return
		}
		up := 0.0
		for _, leg := range h.Legs() {
			up += leg.Tension * math.Sin(leg.Angle*math.Pi/180)
			if leg.Tension < -1e-6 || leg.Length > float64(r.Reach)/1000*(1+1e-9) || leg.Angle < h.Flattest {
				t.Fatalf("leg %+v of %+v", leg, h)
			}
		}
		if math.Abs(up-1) > 1e-6 {
			t.Fatalf("legs hold %v of the load: %+v", up, h)
		}
	})
}

func BenchmarkHangFour(b *testing.B) {
	r := fixed(2000, at(10, 20, -400), square(500, 0)...)
	b.ReportAllocs()
	for b.Loop() {
		if h := Hang(r); h.Fault != Hangs {
			b.Fatal(h.Fault)
		}
	}
}

func ExampleHang() {
	mm := quantity.Millimetre
	h := Hang(Rig{
		Picks: []Point{{X: -900 * mm}, {X: 900 * mm}},
		CG:    Point{Z: -400 * mm},
		Reach: 1_500 * mm,
	})
	fmt.Printf("%v: %.4f of the load on a leg, %.2f° from horizontal, hook at %.0f mm\n", h.Fault, h.Tension, h.Flattest, h.Hook)
	// Output: hangs: 0.6250 of the load on a leg, 53.13° from horizontal, hook at 1200 mm
}
