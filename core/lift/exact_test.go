package lift

import (
	"math/rand/v2"
	"testing"

	"cribgate/core/quantity"
)

// Places where a limit is met exactly and equality refuses. Floating point alone
// gets each of them wrong; the figures were checked by hand.
func TestEqualityThatRefuses(t *testing.T) {
	for _, c := range []struct {
		name string
		rig  Rig
		want Fault
	}{
		{ // (G−P1)·d = 80,002 = |d|²/2, so the foot is (0, 1, 200), as high as G
			"G level with its foot on a steep line",
			Rig{Picks: []Point{at(0, 0, 0), at(0, 2, 400)}, CG: at(-1, 1, 200), Reach: 5000 * quantity.Millimetre, Adjustable: true, Hook: height(3000)},
			WouldRoll,
		},
		{
			"G a millimetre under its foot",
			Rig{Picks: []Point{at(0, 0, 0), at(0, 2, 400)}, CG: at(-1, 1, 199), Reach: 5000 * quantity.Millimetre, Adjustable: true, Hook: height(3000)},
			Hangs,
		},
		{
			"the hook as high as two level picks",
			Rig{Picks: []Point{at(2, 1, 0), at(-3, 3, 0)}, CG: at(0, 2, -3), Reach: 5 * quantity.Millimetre, Adjustable: true, Hook: height(0)},
			NoHookHeight,
		},
		{ // 3128² + 2346² = 3910²
			"legs just as long as the radius of their circle",
			Rig{Picks: []Point{at(3128, 2346, 0), at(-3128, 2346, 0), at(-3128, -2346, 0), at(3128, -2346, 0)}, CG: at(0, 0, -856), Reach: 3910 * quantity.Millimetre},
			ReachTooShort,
		},
		{
			"legs a millimetre longer",
			Rig{Picks: []Point{at(3128, 2346, 0), at(-3128, 2346, 0), at(-3128, -2346, 0), at(3128, -2346, 0)}, CG: at(0, 0, -856), Reach: 3911 * quantity.Millimetre},
			Hangs,
		},
	} {
		if got := Hang(c.rig).Fault; got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// TestLevelWithItsFootAlwaysRolls makes rigs whose centre of gravity is exactly
// as high as its foot on the line of two picks: the foot is a whole-millimetre
// point of the line, and G lies square to the line at that height.
func TestLevelWithItsFootAlwaysRolls(t *testing.T) {
	const seed = 20260302
	random := rand.New(rand.NewPCG(seed, 0))
	for n := range 20_000 {
		dx, dy, dz := random.IntN(9)-4, random.IntN(9)-4, random.IntN(400)-200
		if dx == 0 && dy == 0 {
			continue
		}
		k, f := 1+random.IntN(20), 0
		if k > 1 {
			f = random.IntN(k)
		}
		away := 1 + random.IntN(500)
		h := height(random.IntN(4000) + 1)
		rig := Rig{
			Picks: []Point{at(0, 0, 0), at(k*dx, k*dy, k*dz)}, CG: at(f*dx-away*dy, f*dy+away*dx, f*dz),
			Reach: 100_000 * quantity.Millimetre, Adjustable: true, Hook: h,
		}
		if got := Hang(rig).Fault; got != WouldRoll {
			t.Fatalf("seed %d, rig %d %+v: %v, want %v", seed, n, rig, got, WouldRoll)
		}
	}
}
