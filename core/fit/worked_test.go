package fit

import (
	"fmt"
	"math"
	"testing"

	"cribgate/core/gate"
	"cribgate/core/lift"
	"cribgate/core/quantity"
	"cribgate/core/rating"
)

// allSizes is a rack of one system and grade, each size once, stamped as the tables
// print it.
func allSizes(s rating.System, g rating.Grade, legs int, reach quantity.Length) *Rack {
	var list []Sling
	for _, z := range rating.Sizes(s) {
		if _, ok := rating.TableCell(g, z, 1, rating.Vertical); ok {
			x := tabled(z.String(), s, g, z.String(), legs, reach)
			x.Adjustable = true
			list = append(list, x)
		}
	}
	return NewRack(list)
}

func of(legs int, load quantity.Mass, change func(*Lift)) Ask {
	l := Lift{Lift: gate.Lift{Use: gate.UseOrdinary, Load: load, Hitch: gate.Straight, Legs: legs, Centred: true}}
	if change != nil {
		change(&l)
	}
	return Ask{Now: today, Policy: gate.DefaultPolicy(), Lift: l}
}

func leaning(from gate.Reference, mdeg int64) func(*Lift) {
	return func(l *Lift) {
		l.Angle = &gate.Angle{From: from, Size: quantity.MilliDegree * quantity.Angle(mdeg)}
	}
}

// The smallest listed size that carries the load is offered first: by the tables of
// US OSHA, Guidance on Safe Sling Use (1: grade 80, 2: grade 100), and of EN 818-4;
// computed from them but where another source is named.
func TestWorkedChoices(t *testing.T) {
	h := func(mdeg int64) func(*Lift) { return leaning(gate.FromHorizontal, mdeg) }
	beta := func(mdeg int64) func(*Lift) { return leaning(gate.FromVertical, mdeg) }
	choked := func(degrees int) func(*Lift) {
		return func(l *Lift) {
			angle, edge := quantity.Angle(degrees)*quantity.Degree, 500*millimetre
			l.Hitch, l.Choke, l.Edge = gate.Choked, &angle, &edge
		}
	}
	hot := func(l *Lift) { at := quantity.Fahrenheit(600); l.Heat = &at }
	us80, us100 := [2]int{int(rating.US), 80}, [2]int{int(rating.US), 100}
	en80 := [2]int{int(rating.EN), 80}
	kg := quantity.Kilogram
	for _, tt := range []struct {
		source string
		kind   [2]int
		legs   int
		load   quantity.Mass
		how    func(*Lift)
		want   string        // size; empty: nothing fits
		may    quantity.Mass // 0: not held
	}{
		{"table 1", us80, 2, 10_000 * pound, h(60_000), "3/8", 0},
		{"table 1: exactly equal is allowed", us80, 2, 10_000 * pound, h(45_000), "3/8", 0},
		{"table 1: one pound over", us80, 2, 10_001 * pound, h(45_000), "1/2", 0},
		{"table 1: the next lower angle of 50° is 45°", us80, 2, 10_000 * pound, h(50_000), "3/8", 10_000 * pound},
		{"table 1", us80, 2, 10_000 * pound, h(30_000), "1/2", 12_000 * pound},
		{"table 2: 3/8 carries 8,800", us100, 2, 10_000 * pound, h(30_000), "1/2", 15_000 * pound},
		{"OSHA guide: none below 30°", us80, 2, 10_000 * pound, h(29_000), "", 0},
		{"OSHA guide: none below 30°", us100, 2, 10_000 * pound, h(29_000), "", 0},
		{"table 1, rated as three legs", us80, 4, 20_000 * pound, h(60_000), "1/2", 31_200 * pound},
		{"table 1, rated as three legs", us80, 4, 20_000 * pound, h(45_000), "1/2", 25_500 * pound},
		{"table 1, rated as three legs", us80, 4, 20_000 * pound, h(30_000), "5/8", 27_100 * pound},
		{"table 2, rated as three legs", us100, 4, 20_000 * pound, h(60_000), "3/8", 22_900 * pound},
		{"table 2, rated as three legs", us100, 4, 20_000 * pound, h(45_000), "1/2", 31_800 * pound},
		{"table 2, rated as three legs", us100, 4, 20_000 * pound, h(30_000), "1/2", 22_500 * pound},
		{"table 1, boundary", us80, 1, 7_100 * pound, nil, "3/8", 7_100 * pound},
		{"table 1, boundary", us80, 1, 7_101 * pound, nil, "1/2", 12_000 * pound},
		{"table 1, boundary", us80, 3, 60_000 * pound, h(45_000), "3/4", 60_000 * pound},
		{"table 1, boundary", us80, 3, 60_001 * pound, h(45_000), "7/8", 0},
		{"EN 818-4: 10 mm carries 4.25 t", en80, 2, 5_000 * kg, beta(40_000), "13", 7_500 * kg},
		{"EN 818-4: 45° is of the first band", en80, 2, 5_000 * kg, beta(45_000), "13", 7_500 * kg},
		{"EN 818-4: 45.1° is of the second", en80, 2, 5_000 * kg, beta(45_100), "13", 5_300 * kg},
		{"EN 818-4: exactly equal", en80, 4, 11_200 * kg, beta(45_000), "13", 11_200 * kg},
		{"EN 818-4: none over 60°", en80, 2, 100 * kg, beta(60_100), "", 0},
		{"EN 818-4: 1.4 × 3.15 = 4.41 would pass more than the cell", en80, 2, 4_250 * kg, h(45_000), "10", 4_250 * kg},
		{"EN 818-4: one kilogram over the cell", en80, 2, 4_251 * kg, h(45_000), "13", 0},
		{"13 mm by EN", en80, 2, 7_500 * kg, h(60_000), "13", 7_500 * kg},
		{"1/2 in by table 1, nominally the same chain", us80, 2, 20_784 * pound, h(60_000), "1/2", 0}, // 12,000 × 1.7320
		{"table 3 for 130°", us80, 1, 5_000 * pound, choked(130), "3/8", 5_680 * pound},
		{"trade choke chart, 65 % at 100°; 3/8 carries 4,615", us80, 1, 5_000 * pound, choked(100), "1/2", 7_800 * pound},
		{"B30.9 table 9-1.8.1-1 at 600 °F; 3/8 carries 5,680", us80, 1, 6_000 * pound, hot, "1/2", 9_600 * pound},
	} {
		r := allSizes(rating.System(tt.kind[0]), rating.Grade(tt.kind[1]), tt.legs, 3000*millimetre)
		c, err := r.Choose(of(tt.legs, tt.load, tt.how), 3)
		got, may := "", quantity.Mass(0)
		if best := c.Best(); best != nil {
			got, may = best[0].Sling.Ident, best[0].Allowed
		}
		if err != nil || got != tt.want || tt.may != 0 && may != tt.may {
			t.Errorf("%s, %d legs, %v: %q for %v, %v; want %q for %v", tt.source, tt.legs, tt.load.InPounds(), got, may.InPounds(), err, tt.want, tt.may.InPounds())
		}
	}
	// A quiz of a Canadian training agency: 11,800 lb choked in a two-leg bridle of 1/2
	// in that lists 16,627 lb at 45°, factor 0.75: 12,470.25 lb.
	bridle := tabled("bridle", rating.US, rating.Grade80, "1/2", 2, 3000*millimetre)
	bridle.Stamped = []rating.Stamp{{Legs: 2, Basis: rating.H45, Load: 16_627 * pound}}
	quiz := of(2, 11_800*pound, func(l *Lift) { choked(130)(l); h(45_000)(l) })
	quiz.Policy.Choke = gate.ChokeStrict
	if c, err := NewRack([]Sling{bridle}).Choose(quiz, 1); err != nil || len(c.Fits) != 1 || c.Fits[0].Allowed != (16_627*pound).Times(quantity.Percent(75)).Floor() {
		t.Errorf("bridle: %+v, %v", c, err)
	}
	// 10 % for good after 700 °F (B30.9 table 9-1.8.1-1): 12,000 lb, now cold, carries 10,800.
	was := quantity.Fahrenheit(700)
	worn := tabled("1/2", rating.US, rating.Grade80, "1/2", 1, 3000*millimetre)
	worn.Hottest = &was
	for load, fits := range map[quantity.Mass]int{10_800 * pound: 1, 10_801 * pound: 0} {
		if c, err := NewRack([]Sling{worn}).Choose(of(1, load, nil), 1); err != nil || len(c.Fits) != fits {
			t.Errorf("%v after 700 °F: %+v, %v", load.InPounds(), c, err)
		}
	}
}

// by is a lift of two level picks, d1 and d2 from the plumb line, the hook h above
// them; in feet, a thousandth of a foot being a millimetre here.
func by(d1, d2, h int, load quantity.Mass) Ask {
	mm := func(n int) quantity.Length { return quantity.Length(n) * millimetre }
	return of(2, load, func(l *Lift) {
		hook := mm(h)
		l.Picks = []lift.Point{{X: -mm(d1)}, {X: mm(d2)}}
		l.CG, l.Hook, l.Centred = &lift.Point{Z: -mm(1000)}, &hook, false
	})
}

// Worked tensions through the question that a choice asks; who printed them stands
// beside each. What the gate finds is held against the print.
func TestWorkedLifts(t *testing.T) {
	strong := tabled("strong", rating.US, rating.Grade80, "1", 2, 1_000_000*millimetre)
	strong.Adjustable = true
	for _, tt := range []struct {
		source  string
		ask     Ask
		leg     float64 // pounds
		refused gate.Reason
	}{
		{"trade page, h 60; prints 5,775 by three-digit factors", by(100_000, 100_000, 173_205, 10_000*pound), 5773.5, 0},
		{"trade page, h 45; prints 7,070", by(70_000, 70_000, 70_000, 10_000*pound), 7071.1, 0},
		{"trade page, h 30", by(80_000, 80_000, 46_189, 10_000*pound), 10_000, 0},
		{"trade page, 1,000 lb at h 60", by(50_000, 50_000, 86_603, 1_000*pound), 577.4, 0},
		{"training agency quiz, L 16, H 12", by(10_583, 10_583, 12_000, 15_000*pound), 10_000, 0},
		{"trade page, L 10, H 5", by(8_660, 8_660, 5_000, 1_000*pound), 1_000, 0},
		{"US Army FM 5-125 (from memory), L 8, V 6", by(5_291, 5_291, 6_000, 1_800*pound), 1_200, 0},
		{"trade page, two upright slings, 8 ft and 2 ft from the centre of gravity", by(8_000, 2_000, 90_000, 10_000*pound), 8_002, 0},
		{"statics, legs 13 and 15", by(5_000, 9_000, 12_000, 14_000*pound), 9_750, 0},
		{"statics, legs 13 and 20", by(5_000, 16_000, 12_000, 25_200*pound), 20_800, 0},
		{"statics, legs 15 and 20", by(9_000, 16_000, 12_000, 12_000*pound), 9_600, 0},
		{"statics, β 30 and 45", by(57_735, 70_710, 70_710, 10_000*pound), 0, 0},
		{"statics, one leg at 29.74°: refused though both loads are small", by(2_000, 7_000, 4_000, 9_000*pound), 7_826.2, gate.AngleTooFlat},
		{"university training page, BAD PRINT: a leg at 16.7°", by(2_000, 10_000, 3_000, 4_000*pound), 4_006.2, gate.AngleTooFlat},
	} {
		q, against := tt.ask.Question(&strong)
		a, err := gate.Decide(q)
		if err != nil || against != gate.NotDecided {
			t.Errorf("%s: %v, %v", tt.source, against, err)
			continue
		}
		if got := float64(a.Leg) / float64(pound); tt.leg != 0 && math.Abs(got-tt.leg) > 0.0003*tt.leg {
			t.Errorf("%s: a leg carries %.1f lb; want %.1f", tt.source, got, tt.leg)
		}
		c, err := NewRack([]Sling{strong}).Choose(tt.ask, 1)
		if err != nil || (len(c.Fits) == 0) != (tt.refused != 0) || tt.refused != 0 && c.Near[0].Wrong != tt.refused {
			t.Errorf("%s: %+v, %v", tt.source, c, err)
		}
	}
	// Of 9,600 and 7,200 lb the heavier leg chooses: 1/2 in, single 12,000, and not W/2.
	c, err := allSizes(rating.US, rating.Grade80, 2, 1_000_000*millimetre).Choose(by(9_000, 16_000, 12_000, 12_000*pound), 1)
	if err != nil || c.Best() == nil || c.Best()[0].Sling.Ident != "1/2" {
		t.Errorf("heavier leg: %+v, %v", c.Best(), err)
	}
	// Two legs of 6 ft, 3 tons, 2 tons a leg (Nicholls's Seamanship; prints 7.944 ft):
	// the span at which a leg comes to its 2 tons is 7.937 ft.
	for span, over := range map[quantity.Length]bool{7_937: false, 7_939: true} {
		lean, ok := lift.Lean(span*millimetre, 6_000*millimetre)
		if got := lift.EvenLeg(3_000*quantity.Kilogram, lean); !ok || (got > 2_000_100*quantity.Gram) != over {
			t.Errorf("span %v: %v", span, got)
		}
	}
}

func ExampleRack_Choose() {
	slings := []Sling{
		tabled("C-114", rating.US, rating.Grade80, "1/2", 2, 3000*millimetre),
		tabled("C-205", rating.US, rating.Grade80, "3/8", 2, 3000*millimetre),
		tabled("C-206", rating.US, rating.Grade80, "3/8", 2, 1200*millimetre),
	}
	ask := Ask{Now: today, Policy: gate.DefaultPolicy(), Lift: Lift{
		Lift: gate.Lift{Use: gate.UseOrdinary, Load: 9_000 * pound, Hitch: gate.Straight, Legs: 2, Centred: true},
		Span: 2000 * millimetre, // the angle follows from each reach
	}}
	c, err := NewRack(slings).Choose(ask, 5)
	if err != nil {
		panic(err)
	}
	for _, o := range c.Fits {
		fmt.Println(o.Sling.Ident, "at", o.Flattest, "may carry", o.Allowed.InPounds())
	}
	for _, m := range c.Near {
		fmt.Println(m.Sling.Ident, "but for", m.Wrong)
	}
	// Output:
	// C-205 at 70.528° may carry 12,300 lb
	// C-114 at 70.528° may carry 20,800 lb
	// C-206 but for under-rated
}
