package fit

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"testing"

	"cribgate/core/gate"
	"cribgate/core/lift"
	"cribgate/core/quantity"
)

type liftPoint = lift.Point

func asQuestion(err error, to **gate.QuestionError) bool { return errors.As(err, to) }

// fourPicks is a lift by four picks whose centre of gravity is off the middle.
func fourPicks() Ask {
	p := func(x, y int) lift.Point {
		return lift.Point{X: quantity.Length(x) * millimetre, Y: quantity.Length(y) * millimetre}
	}
	cg := lift.Point{X: 30 * millimetre, Y: 20 * millimetre, Z: -500 * millimetre}
	hook := 1600 * millimetre
	return Ask{Now: today, Policy: gate.DefaultPolicy(), Lift: Lift{Lift: gate.Lift{
		Use: gate.UseOrdinary, Load: 3000 * quantity.Kilogram, Hitch: gate.Straight, Legs: 4, ReturnBy: today.AddDays(2),
		Picks: []lift.Point{p(-700, -500), p(700, -500), p(700, 500), p(-700, 500)}, CG: &cg, Hook: &hook}}}
}

// distinct is a rack in which no two slings are of one metal, so that the gate is
// asked about each.
func distinct(n int) []Sling {
	m := maker{rand.New(rand.NewPCG(1, 2))}
	list := m.rack(n)
	for i := range list {
		s := &list[i]
		*s = tabled(s.Ident, s.System, s.Grade, s.Size.String(), 4, quantity.Length(1000+i)*millimetre)
		s.Adjustable = i%3 == 0
		s.Issues = i % 7
	}
	return list
}

// Memory is taken in a few pieces, however many slings the rack holds.
func TestNothingAllocatedPerSling(t *testing.T) {
	ask := fourPicks()
	count := func(n int) float64 {
		r := NewRack(distinct(n))
		return testing.AllocsPerRun(5, func() {
			if c, err := r.Choose(ask, 20); err != nil || len(c.Fits) < n/10 {
				t.Fatal(len(c.Fits), err)
			}
		})
	}
	few, many := count(200), count(2000)
	if many > few+2 {
		t.Errorf("%v allocations for 200 slings, %v for 2,000", few, many)
	}
}

func BenchmarkChoose(b *testing.B) {
	ask := fourPicks()
	for _, kind := range []string{"distinct", "alike"} {
		for _, n := range []int{2_000, 20_000} {
			list := distinct(n)
			if kind == "alike" {
				for i := range list {
					list[i].Reach = quantity.Length(1000+250*(i%16)) * millimetre
				}
			}
			r := NewRack(list)
			b.Run(fmt.Sprintf("%s/%d", kind, n), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					if c, err := r.Choose(ask, 20); err != nil || len(c.Fits) < n/10 {
						b.Fatal(len(c.Fits), err)
					}
				}
				b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/sling")
			})
		}
	}
}
