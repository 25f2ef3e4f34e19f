package fit

import (
	"math"
	"testing"

	"cribgate/core/gate"
	"cribgate/core/lift"
	"cribgate/core/quantity"
	"cribgate/core/rating"
)

// follows gives lift and sling as an advice would have them.
func follows(a Ask, s Sling, d Advice) (Ask, Sling) {
	switch d.Help {
	case LongerLegs, ShorterLegs:
		s.Reach = d.Reach
	case StrongerSling:
		adjustable := s.Adjustable
		s = Spec{System: s.System, Grade: s.Grade, Size: d.Size, Legs: s.Legs, Reach: s.Reach}.Sling(today)
		s.Adjustable = adjustable
	case CloserPicks:
		a.Lift.Span = d.Span
	case OtherHook, AdjustableLegs:
		s.Plate.Adjustable = true
		a.Lift.Hook = &d.Hook
	case MoreHeadroom:
		if a.Lift.Span > 0 {
			a.Lift.Headroom = d.Hook
		} else {
			a.Lift.HookMax = &d.Hook
		}
	}
	return a, s
}

// fresh is a sling in order but for its metal.
func fresh(s Sling) Sling {
	s.RatingTag, s.State, s.Inspected, s.Due, s.Against = gate.TagLegible, gate.StateIn, today, today.AddDays(20), Known()
	return s
}

// Whoever follows an advice is let go by the gate.
func TestHelpsHelp(t *testing.T) {
	m := begin(t)
	seen := map[Help]int{}
	for range *rounds {
		a := m.ask()
		a.Lift.Lower, a.Lift.Crane.Hook = "", 0
		for _, s := range m.rack(4) {
			s = fresh(s)
			s.Adjustable = s.Adjustable || a.Lift.Shortened != 0
			_, against, ok := alone(a, s)
			helps := a.Helps(&s)
			if ok && (len(against) == 0) != (len(helps) == 0) {
				t.Fatalf("%v stand against it, helps %v\n%+v\n%+v", against, helps, a.Lift, s)
			}
			if len(helps) > 0 && helps[len(helps)-1].Help != QualifiedPerson {
				t.Fatalf("nobody is asked: %+v", helps)
			}
			for i, d := range helps {
				seen[d.Help]++
				if d.Words(quantity.Metric) == "" || i > 0 && helps[i-1].Help >= d.Help {
					t.Fatalf("advice %+v after %+v", d, helps[max(0, i-1)])
				}
				if d.Help == UnderBeam || d.Help == QualifiedPerson {
					continue
				}
				b, like := follows(a, s, d)
				if _, against, ok := alone(b, like); !ok || len(against) > 0 {
					t.Fatalf("%+v does not help: %v\n%+v\n%+v", d, against, a.Lift, s)
				}
			}
		}
	}
	for d := LongerLegs; d <= QualifiedPerson && *rounds >= 1000; d++ {
		if seen[d] < 5 {
			t.Errorf("only %d times help %d", seen[d], d)
		}
	}
}

// The smallest sling does, and none that is smaller or shorter does.
func TestSmallest(t *testing.T) {
	m := begin(t)
	found := 0
	for range max(1, *rounds/5) {
		a := m.ask()
		system, grade := pick(m, rating.US, rating.EN), pick(m, rating.Grade80, rating.Grade100)
		spec, ok := a.Smallest(system, grade)
		does := func(spec Spec) bool {
			_, against, asked := alone(a, spec.Sling(today))
			return asked && len(against) == 0
		}
		if ok && !does(spec) {
			t.Fatalf("%s does not do for %+v", spec.Words(quantity.Metric), a.Lift)
		}
		try := Spec{System: system, Grade: grade, Legs: a.Lift.Legs, Lower: a.Lift.Lower, Inside: a.Lift.Crane.Hook}
		if a.Lift.Singles {
			try.Legs = 1
		}
		for _, try.Size = range rating.Sizes(system) {
			if ok && try.Size.Place() > spec.Size.Place() {
				break
			}
			if a.Lift.Span == 0 && a.Lift.Picks == nil {
				if try != spec && does(try) {
					t.Fatalf("%s would do, not only %s", try.Words(quantity.Metric), spec.Words(quantity.Metric))
				}
				continue
			}
			for try.Reach = reachStep; try.Reach <= reachMost; try.Reach += reachStep {
				if ok && try.Size == spec.Size && try.Reach >= spec.Reach {
					break
				}
				if does(try) {
					t.Fatalf("%s would do, not only %s", try.Words(quantity.Metric), spec.Words(quantity.Metric))
				}
			}
		}
		if ok {
			found++
		}
	}
	if *rounds >= 1000 && found < 50 {
		t.Errorf("only %d lifts have a sling", found)
	}
	bad := of(2, 0, nil)
	if spec, ok := bad.Smallest(rating.US, rating.Grade80); ok || bad.Helps(&plain) != nil {
		t.Errorf("a lift that cannot be asked: %+v", spec)
	}
}

// A picture says what the gate says: the leg that carries most carries its tension,
// and a share over 1 is never of a sling that may go.
func TestPicture(t *testing.T) {
	m := begin(t)
	drawn := 0
	for range *rounds {
		a := m.ask()
		for _, s := range m.rack(3) {
			s = fresh(s)
			p, ok := a.Picture(&s)
			if !ok {
				continue
			}
			drawn++
			if len(p.Picks) != a.Lift.Legs || len(p.Legs) != a.Lift.Legs || p.Shares != nil && len(p.Shares) != a.Lift.Legs {
				t.Fatalf("%d legs drawn as %+v", a.Lift.Legs, p)
			}
			for _, share := range p.Shares {
				if p.Answer.May() && share > 1+1e-6 && a.Policy.Angles != gate.AnglesComputed {
					t.Fatalf("a leg at %v of what it may, and the gate lets it go", share)
				}
			}
			if p.Drawn {
				var most quantity.Mass
				for _, c := range p.Carries {
					most = max(most, c)
				}
				if math.Abs(float64(most-p.Answer.Leg)) > 1e-6*float64(most) {
					t.Fatalf("legs carry up to %v, the gate says %v", most, p.Answer.Leg)
				}
			}
		}
	}
	if *rounds >= 1000 && drawn < 200 {
		t.Errorf("only %d drawn", drawn)
	}
	// Two legs of 3 m over 3 m stand at 60°: each carries W/(2 sin 60°) (US Army FM
	// 5-125, from memory): 1,000 kg make 577.35 kg.
	s := tabled("1", rating.EN, rating.Grade80, "10", 2, 3000*millimetre)
	a := of(2, 1000*quantity.Kilogram, func(l *Lift) { l.Span = 3000 * millimetre })
	p, ok := a.Picture(&s)
	if !ok || p.Rise != 2599*millimetre || len(p.Carries) != 2 || p.Carries[0].Grams() != 577_350 || p.Drawn {
		t.Errorf("%+v", p)
	}
	a.Lift.Centred = false
	if p, ok := a.Picture(&s); !ok || p.Carries != nil || len(p.Shares) != 2 {
		t.Errorf("nobody said where the centre of gravity is: %+v", p)
	}
	one := of(1, 1000*quantity.Kilogram, nil)
	s.Legs, s.Stamped = 1, s.Stamped[:0]
	if p, ok := one.Picture(&s); !ok || p.Carries[0] != 1000*quantity.Kilogram || p.Hook != (lift.Point{Z: 3000 * millimetre}) {
		t.Errorf("one leg: %+v", p)
	}
}
