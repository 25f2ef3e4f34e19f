package lack

import (
	"math"
	"testing"

	"cribgate/core/fit"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"

	"pgregory.net/rapid"
)

const (
	pound      = quantity.Pound
	millimetre = quantity.Millimetre
)

var us80 = []fit.Build{{System: rating.US, Grade: rating.Grade80}}

func upright(load int) fit.Ask {
	on, _ := quantity.NewDate(2026, 3, 2)
	return fit.Ask{Now: on, Policy: gate.DefaultPolicy(), Lift: fit.Lift{Lift: gate.Lift{
		Use: gate.UseOrdinary, Load: quantity.Mass(load) * pound, Hitch: gate.Straight, Legs: 1, ReturnBy: on.AddDays(3)}}}
}

func spanning(load, span int) fit.Ask {
	a := upright(load)
	a.Lift.Legs, a.Lift.Centred, a.Lift.Span = 2, true, quantity.Length(span)*millimetre
	return a
}

func words(l List) (list []string) {
	for _, x := range l.Slings {
		list = append(list, x.Spec.Words(quantity.Metric))
	}
	return list
}

// Singles of grade 80 carry 7,100 lb in 3/8, 12,000 lb in 1/2 and 18,100 lb in 5/8
// (US OSHA, Guidance on Safe Sling Use, table 1).
func TestShort(t *testing.T) {
	refused := func(asks ...fit.Ask) (list []Wanted) {
		for _, a := range asks {
			list = append(list, Wanted{Ask: a})
		}
		return list
	}
	// 1/2 in serves the two lifts of up to 12,000 lb, and 5/8 all three of them.
	l := Short(refused(upright(7_000), upright(11_000), upright(17_000)), us80, 3)
	if len(l.Slings) != 1 || l.Slings[0].Served != 3 || l.Slings[0].Spec.Size.String() != "5/8" || l.Slings[0].Pieces != 1 || l.Refused != 3 {
		t.Errorf("%v: %+v", words(l), l)
	}
	// Of slings that serve as many the smallest stands first; the second one serves what is left.
	l = Short(refused(upright(7_000), upright(6_500), spanning(5_000, 2000)), us80, 3)
	if len(l.Slings) != 2 || l.Slings[0].Spec.Size.String() != "3/8" || l.Slings[0].Served < 2 || l.Slings[1].Spec.Legs+l.Slings[0].Spec.Legs != 3 {
		t.Errorf("%v: %+v", words(l), l)
	}
	// What was over-served counts after what was refused, and only where it comes closer.
	over := Wanted{Ask: upright(6_000), Allowed: 28_300 * pound}
	close := Wanted{Ask: upright(7_000), Allowed: 7_100 * pound}
	l = Short([]Wanted{over, close, {Ask: upright(17_000)}}, us80, 3)
	if len(l.Slings) != 2 || l.Slings[0].Served != 1 || l.Slings[1].Closer != 1 || l.Slings[1].Spec.Size.String() != "3/8" || l.Over != 2 || l.Refused != 1 ||
		l.Slings[1].Spared != (28_300-7_100)*pound { // 5/8 leaves more than half of the waste
		t.Errorf("%v: %+v", words(l), l)
	}
	// A list is no longer than was asked; what nobody makes and what cannot be asked is counted.
	l = Short(refused(upright(7_000), spanning(5_000, 2000), upright(900_000), upright(0)), us80, 1)
	if len(l.Slings) != 1 || l.Beyond != 1 || l.Unasked != 1 || l.Refused != 3 {
		t.Errorf("%v: %+v", words(l), l)
	}
	together := upright(10_000)
	together.Lift.Legs, together.Lift.Singles, together.Lift.Centred = 2, true, true
	together.Lift.Angle = &gate.Angle{From: gate.FromHorizontal, Size: 60 * quantity.Degree}
	if l = Short(refused(together), us80, 1); len(l.Slings) != 1 || l.Slings[0].Pieces != 2 || l.Slings[0].Spec.Legs != 1 {
		t.Errorf("%v: %+v", words(l), l)
	}
	if l = Short(nil, us80, 5); l.Slings != nil || l.Refused != 0 {
		t.Errorf("of nothing: %+v", l)
	}
	if l = Short(refused(upright(7_000)), nil, 5); l.Slings != nil || l.Beyond != 1 {
		t.Errorf("of no builds: %+v", l)
	}
}

// The first sling serves as many refused lifts as any does, two serve no less than
// 1 − 1/e of what the best two serve, and what is said to be served is what the gate
// lets go.
func TestShortBesideBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var wanted []Wanted
		for range rapid.IntRange(1, 8).Draw(t, "lifts") {
			a := upright(rapid.IntRange(100, 40_000).Draw(t, "load"))
			if rapid.Bool().Draw(t, "two legs") {
				a = spanning(int(a.Lift.Load/pound), rapid.IntRange(500, 6000).Draw(t, "span"))
				if rapid.Bool().Draw(t, "low") {
					a.Lift.Headroom = quantity.Length(rapid.IntRange(400, 6000).Draw(t, "room")) * millimetre
				}
			}
			wanted = append(wanted, Wanted{Ask: a})
		}
		l := Short(wanted, us80, 2)
		serves := func(specs ...fit.Spec) (n int) {
			for _, w := range wanted {
				for _, spec := range specs {
					x := spec.Sling(w.Ask.Now)
					q, against := w.Ask.Question(&x)
					if a, err := gate.Decide(q); against == gate.NotDecided && err == nil && a.May() {
						n++
						break
					}
				}
			}
			return n
		}
		var all []fit.Spec
		for _, w := range wanted {
			if spec, ok := w.Ask.Smallest(rating.US, rating.Grade80); ok {
				all = append(all, spec)
			}
		}
		best1, best2 := 0, 0
		for i := range all {
			best1 = max(best1, serves(all[i]))
			for j := range i {
				best2 = max(best2, serves(all[i], all[j]))
			}
		}
		best2 = max(best1, best2)
		got, sum := []fit.Spec{}, 0
		for _, x := range l.Slings {
			got, sum = append(got, x.Spec), sum+x.Served
		}
		if len(got) == 0 {
			if best1 > 0 || l.Beyond != len(wanted) {
				t.Fatalf("nothing listed where %d could be served", best1)
			}
			return
		}
		if serves(got[0]) != best1 || l.Slings[0].Served != best1 {
			t.Fatalf("the first serves %d, says %d; the best one %d", serves(got[0]), l.Slings[0].Served, best1)
		}
		if n := serves(got...); n != sum || float64(n) < (1-1/math.E)*float64(best2) {
			t.Fatalf("the list serves %d, says %d; the best two %d", n, sum, best2)
		}
	})
}
