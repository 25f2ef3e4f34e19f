package lift

import (
	"math"
	"testing"

	"cribgate/core/quantity"

	"pgregory.net/rapid"
)

func apartBy(a, b Point) float64 { return a.vec().minus(b.vec()).length() }

// However a load hangs, in its picture no distance has changed but by rounding, the
// centre of gravity is straight below the hook, and the tilt is that of its box.
func TestPictureIsTheLoadTurned(t *testing.T) {
	hung := 0
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, low, high int) int { return rapid.IntRange(low, high).Draw(t, name) }
		n := draw("picks", 2, 4)
		r := Rig{CG: at(draw("x", -200, 200), draw("y", -200, 200), -draw("below", 100, 900)), Reach: quantity.Length(draw("reach", 900, 4000)) * millimetre}
		turn := rapid.Float64Range(0, 6).Draw(t, "turn")
		for i := range n {
			a := turn + 2*math.Pi*float64(i)/float64(n)
			r.Picks = append(r.Picks, at(int(800*math.Cos(a)), int(800*math.Sin(a)), draw("z", -10, 10)))
		}
		h := Hang(r)
		p := h.Picture(r)
		if h.Fault != Hangs {
			if p.Picks != nil || p.Rise != 0 {
				t.Fatalf("a picture of what does not hang: %+v", p)
			}
			return
		}
		hung++
		if p.Hook.X != 0 || p.Hook.Y != 0 || p.CG.X != 0 || p.CG.Y != 0 || p.CG.Z >= p.Hook.Z {
			t.Fatalf("hook %v, centre of gravity %v", p.Hook, p.CG)
		}
		lowest := p.Picks[0].Z
		for i := range p.Picks {
			lowest = min(lowest, p.Picks[i].Z)
			for j := range i {
				if math.Abs(apartBy(p.Picks[i], p.Picks[j])-apartBy(r.Picks[i], r.Picks[j])) > 2 {
					t.Fatalf("picks %d and %d are %v apart", i, j, apartBy(p.Picks[i], p.Picks[j]))
				}
			}
			if math.Abs(apartBy(p.Picks[i], p.CG)-apartBy(r.Picks[i], r.CG)) > 2 {
				t.Fatalf("pick %d is %v from the centre of gravity", i, apartBy(p.Picks[i], p.CG))
			}
			if leg := apartBy(p.Picks[i], p.Hook); math.Abs(leg-mm(r.Reach)) > 0.021*mm(r.Reach)+2 {
				t.Fatalf("leg %d is drawn %v long", i, leg) // of four one may be slack by 2 %
			}
		}
		if lowest != 0 || p.Rise < p.Hook.Z || p.Rise > p.Hook.Z+2*millimetre {
			t.Fatalf("lowest pick at %v, rise %v, hook %v", lowest, p.Rise, p.Hook.Z)
		}
		edge := p.Box[4].vec().minus(p.Box[0].vec())
		if tilt := edge.degrees(vec{0, 0, 1}); math.Abs(tilt-p.Tilt) > 2 { // its corners are whole millimetres
			t.Fatalf("the box stands %v off, the tilt is %v", tilt, p.Tilt)
		}
		spread := func(of func(Point) quantity.Length) quantity.Length {
			low, high := of(p.Picks[0]), of(p.Picks[0])
			for _, q := range p.Picks {
				low, high = min(low, of(q)), max(high, of(q))
			}
			return high - low
		}
		if across, deep := spread(func(q Point) quantity.Length { return q.X }), spread(func(q Point) quantity.Length { return q.Y }); n == 2 && deep > 2*millimetre || across == 0 {
			t.Fatalf("the side view is %v across and %v deep", across, deep)
		}
	})
	if hung < 20 {
		t.Errorf("only %d loads hang", hung)
	}
}

func TestEvenRigHangsLevel(t *testing.T) {
	for legs := 2; legs <= 4; legs++ {
		r := Even(legs, 2000*millimetre, 2000*millimetre)
		h := Hang(r)
		p := h.Picture(r)
		if h.Fault != Hangs || h.Tilt > 0.1 || math.Abs(h.Flattest-60) > 0.1 || len(p.Picks) != legs || len(p.Legs) != legs {
			t.Errorf("%d legs: %+v", legs, h)
		}
		if p.Rise < 1732*millimetre || p.Rise > 1734*millimetre || p.Picks[0].X >= 0 {
			t.Errorf("%d legs: hook %v over the picks, first pick %v", legs, p.Rise, p.Picks[0])
		}
	}
	if h := (Hanging{}); h.Picture(Rig{}).Picks != nil {
		t.Error("a picture of nothing")
	}
}
