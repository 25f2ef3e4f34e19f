package fit

import (
	"math"
	"slices"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
)

// alone asks the gate about one sling by another way than the package does, and
// gives everything that stands against it; ok is false where it cannot be asked.
func alone(a Ask, s Sling) (answer gate.Answer, against []gate.Reason, ok bool) {
	q := gate.Question{Now: a.Now, Policy: a.Policy, Sling: s.Sling}
	l := a.Lift.Lift
	if !s.Adjustable {
		l.Shortened = gate.Unshortened
	}
	ends := gate.NotDecided
	switch half := float64(a.Lift.Span) / 2; {
	case l.Singles && s.Legs != 1:
		ends = gate.NotAlike
	case (a.Lift.Span > 0 || l.Picks != nil) && s.Reach == 0:
		ends = gate.ReachUnknown
	case a.Lift.Span > 0 && s.Reach*2 <= a.Lift.Span:
		ends = gate.ReachTooShort
	case a.Lift.Span > 0:
		rise := math.Sqrt(float64(s.Reach)*float64(s.Reach) - half*half)
		lean := math.Atan2(rise, half) * 180 / math.Pi
		l.Angle = &gate.Angle{From: gate.FromHorizontal, Size: quantity.Angle(math.Floor(lean*1000+1e-5)) * quantity.MilliDegree}
		if a.Lift.Headroom > 0 && math.Ceil(rise/1000-1e-6)*1000 > float64(a.Lift.Headroom) {
			against = append(against, gate.ReachTooLong)
		}
	}
	if ends != gate.NotDecided {
		against = append(against, ends)
		q.Lift = &gate.Lift{Use: gate.UseOrdinary, Load: quantity.Kilogram, Hitch: gate.Straight, Legs: 1, ReturnBy: l.ReturnBy}
	} else {
		q.Lift = &l
	}
	answer, err := gate.Decide(q)
	if err != nil {
		return gate.Answer{}, nil, false
	}
	for _, r := range answer.Reasons {
		if ends == gate.NotDecided || r <= gate.HeatScrapped { // of the other lift only what is the sling's own counts
			against = append(against, r)
		}
	}
	if !s.Against.asked {
		return gate.Answer{}, nil, false
	}
	for range s.Against.reasons {
		against = append(against, s.Against.first)
	}
	if last := s.Against.last; !last.IsZero() && l.ReturnBy.After(last) {
		against = append(against, s.Against.then)
	}
	if l := a.Lift.Lower; l != "" && s.Fittings.Lower == "" {
		against = append(against, gate.FittingUnknown)
	} else if l != "" && s.Fittings.Lower != l {
		against = append(against, gate.WrongFitting)
	}
	if hook := a.Lift.Crane.Hook; hook > 0 && s.Fittings.Inside > 0 && hook >= s.Fittings.Inside {
		against = append(against, gate.RingTooSmall)
	}
	return answer, against, true
}

// What is offered is what the gate lets go, each sling asked alone; what nearly fits
// has the one thing wrong that is said; and the order is one, however the rack was
// handed in.
func TestAgreesWithTheGate(t *testing.T) {
	m := begin(t)
	seen := map[string]int{}
	for range *rounds {
		a, slings := m.ask(), m.rack(10+m.IntN(50))
		c, err := NewRack(slings).Choose(a, len(slings))
		if err != nil {
			t.Fatalf("%+v: %v", a, err)
		}
		fits, near := map[string]gate.Answer{}, map[string]gate.Reason{}
		for _, s := range slings {
			answer, against, ok := alone(a, s)
			if !ok {
				seen["cannot be asked"]++
				continue
			}
			if len(against) == 0 {
				fits[s.Ident] = answer
				continue
			}
			if _, mends := tier(against[0]); mends && len(against) == 1 {
				near[s.Ident] = against[0]
				seen[against[0].String()]++
			}
		}
		sets := map[any]int{}
		for ident := range fits {
			if s := sling(slings, ident); a.Lift.Singles {
				sets[[4]any{s.System, s.Grade, s.Size, s.Reach}]++
			}
		}
		for ident := range fits {
			s := sling(slings, ident)
			together := len(fits)
			if a.Lift.Singles {
				together = sets[[4]any{s.System, s.Grade, s.Size, s.Reach}]
				if s.Reach == 0 {
					together = 1
				}
			}
			if together < c.Takes {
				delete(fits, ident)
				near[ident] = gate.TooFewTogether
				seen["too few"]++
			}
		}
		for _, o := range c.Fits {
			answer, ok := fits[o.Sling.Ident]
			if !ok {
				t.Fatalf("%s is offered and may not go\n%+v\n%+v", o.Sling.Ident, a.Lift, o.Sling)
			}
			if o.Allowed != answer.Allowed || o.Required != answer.Required || o.Due != answer.Due || o.Flattest != answer.Flattest {
				t.Fatalf("%s: offer %+v, answer %+v", o.Sling.Ident, o, answer)
			}
			q, against := a.Question(o.Sling)
			if answer, err := gate.Decide(q); err != nil || against != gate.NotDecided || !answer.May() || q.ID != o.Sling.Ident {
				t.Fatalf("the question about %s: %v, %+v, %v", o.Sling.Ident, against, answer, err)
			}
			delete(fits, o.Sling.Ident)
			seen["fits"]++
		}
		for ident := range fits {
			t.Fatalf("%s may go and is not offered\n%+v\n%+v", ident, a.Lift, sling(slings, ident))
		}
		for _, o := range c.Near {
			if near[o.Sling.Ident] != o.Wrong {
				t.Fatalf("%s nearly fits but for %v; want %v\n%+v", o.Sling.Ident, o.Wrong, near[o.Sling.Ident], a.Lift)
			}
			delete(near, o.Sling.Ident)
		}
		for ident, r := range near {
			t.Fatalf("%s nearly fits but for %v and is not listed\n%+v", ident, r, a.Lift)
		}
		ordered(t, a, c)
		m.Shuffle(len(slings), func(i, j int) { slings[i], slings[j] = slings[j], slings[i] })
		again, err := NewRack(slings).Choose(a, len(slings))
		if err != nil || !slices.EqualFunc(c.Fits, again.Fits, func(a, b Offer) bool { return a.Sling.Ident == b.Sling.Ident && a.Ahead == b.Ahead }) ||
			!slices.EqualFunc(c.Near, again.Near, func(a, b Miss) bool { return a.Sling.Ident == b.Sling.Ident }) {
			t.Fatalf("another order for the same slings, %v", err)
		}
		if few, err := NewRack(slings).Choose(a, 3); err != nil || !slices.EqualFunc(few.Near, c.Near[:min(3, len(c.Near))], func(a, b Miss) bool { return a.Sling.Ident == b.Sling.Ident }) {
			t.Fatalf("the nearest three are not the first three of all, %v", err)
		}
	}
	if *rounds < 2000 {
		return
	}
	for _, what := range []string{"fits", "cannot be asked", "too few", "unchecked", "already-out", "overdue", "due-before-return", "under-rated",
		"reach-too-short", "reach-too-long", "reach-unknown", "angle-too-flat", "fitting-unknown", "wrong-fitting", "ring-too-small", "record-forked",
		"legs-mismatch", "lift-incomplete", "would-tilt", "no-stamped-rating", "rating-tag", "held", "never-inspected", "too-hot"} {
		if seen[what] < 20 {
			t.Errorf("only %d of %q: the comparison says little about it", seen[what], what)
		}
	}
}

func sling(list []Sling, ident string) Sling {
	return list[slices.IndexFunc(list, func(s Sling) bool { return s.Ident == ident })]
}

// ordered holds a choice to the stated order and to its own words for it.
func ordered(t *testing.T, a Ask, c Choice) {
	t.Helper()
	sets := c.Sets
	if c.Takes == 1 {
		sets = [][]Offer{c.Fits}
	}
	total := 0
	for _, set := range sets {
		total += len(set)
		for i := 1; i < len(set); i++ {
			x, y := set[i-1], set[i]
			var want Ahead
			switch {
			case x.Allowed-x.Required != y.Allowed-y.Required:
				want = WastesLess
			case x.Idle != y.Idle:
				want = FewerIdle
			case x.Due != y.Due:
				want = DueLater
			case x.Sling.Issues != y.Sling.Issues:
				want = UsedLess
			default:
				want = FirstByIdent
			}
			right := map[Ahead]bool{WastesLess: x.Allowed < y.Allowed, FewerIdle: x.Idle < y.Idle, DueLater: y.Due.Before(x.Due),
				UsedLess: x.Sling.Issues < y.Sling.Issues, FirstByIdent: x.Sling.Ident < y.Sling.Ident}[want]
			if !right || x.Ahead != want || want.Words() == "" {
				t.Fatalf("%s stands before %s and says %d; want %d", x.Sling.Ident, y.Sling.Ident, x.Ahead, want)
			}
		}
		if len(set) > 0 && a.Lift.Singles && len(set) < c.Takes {
			t.Fatalf("a set of %d for %d", len(set), c.Takes)
		}
	}
	if total != len(c.Fits) {
		t.Fatalf("sets hold %d of %d", total, len(c.Fits))
	}
	if n := len(c.Best()); n != 0 && n != c.Takes || n == 0 && len(c.Fits) > 0 {
		t.Fatalf("best are %d for %d of %d", n, c.Takes, len(c.Fits))
	}
}

func TestAskThatCannotBe(t *testing.T) {
	good := func() Ask {
		return Ask{Now: today, Policy: gate.DefaultPolicy(), Lift: Lift{
			Lift: gate.Lift{Use: gate.UseOrdinary, Load: 1000 * pound, Hitch: gate.Straight, Legs: 2, Centred: true}, Span: 2000 * millimetre}}
	}
	if a := good(); a.Check() != nil {
		t.Fatal(a.Check())
	}
	for field, change := range map[string]func(*Ask){
		"now":               func(a *Ask) { a.Now = quantity.Date{} },
		"policy.max_months": func(a *Ask) { a.Policy.MaxMonths = 13 },
		"lift.load":         func(a *Ask) { a.Lift.Load = 0 },
		"lift.use":          func(a *Ask) { a.Lift.Use = 0 },
		"lift.slings":       func(a *Ask) { a.Lift.Slings = 13 },
		"lift.span":         func(a *Ask) { a.Lift.Legs = 1 },
		"lift.headroom":     func(a *Ask) { a.Lift.Span, a.Lift.Headroom = 0, 1 },
		"lift.return_by":    func(a *Ask) { a.Lift.ReturnBy = today.AddDays(-1) },
		"lift.cg":           func(a *Ask) { a.Lift.Span, a.Lift.CG = 0, new(liftPoint) },
		"lift.angle":        func(a *Ask) { a.Lift.Span, a.Lift.Angle = 0, &gate.Angle{From: gate.FromHorizontal} },
	} {
		a := good()
		change(&a)
		c, err := NewRack([]Sling{tabled("1", rating.US, rating.Grade80, "3/8", 2, 3000*millimetre)}).Choose(a, 5)
		var e *gate.QuestionError
		if !asQuestion(err, &e) || e.Field != field || c.Fits != nil || c.Best() != nil {
			t.Errorf("%s: %v, %+v", field, err, c)
		}
	}
	for _, change := range []func(*Ask){
		func(a *Ask) { a.Lift.Angle = &gate.Angle{From: gate.FromHorizontal, Size: 45 * quantity.Degree} },
		func(a *Ask) { a.Lift.Hitch = gate.Basket },
		func(a *Ask) { a.Lift.Singles, a.Lift.Slings = true, 3 },
		func(a *Ask) { a.Lift.Headroom = -1 },
		func(a *Ask) { a.Lift.Span = -1 },
	} {
		a := good()
		change(&a)
		if a.Check() == nil {
			t.Errorf("%+v can be", a.Lift)
		}
	}
}

// Somebody has to look where link or hook was not measured; that is said and the
// sling is offered.
func TestLook(t *testing.T) {
	s := tabled("1", rating.US, rating.Grade80, "3/8", 1, 3000*millimetre)
	for _, tt := range []struct {
		crane  event.Crane
		inside quantity.Length
		fits   bool
		look   bool
	}{
		{event.Crane{}, 0, true, false},
		{event.Crane{Name: "north"}, 100 * millimetre, true, true},
		{event.Crane{Name: "north", Hook: 99 * millimetre}, 0, true, true},
		{event.Crane{Name: "north", Hook: 99 * millimetre}, 100 * millimetre, true, false},
		{event.Crane{Name: "north", Hook: 100 * millimetre}, 100 * millimetre, false, false},
	} {
		s.Fittings.Inside = tt.inside
		a := Ask{Now: today, Policy: gate.DefaultPolicy(), Lift: Lift{Crane: tt.crane,
			Lift: gate.Lift{Use: gate.UseOrdinary, Load: 1000 * pound, Hitch: gate.Straight, Legs: 1}}}
		c, err := NewRack([]Sling{s}).Choose(a, 5)
		if err != nil || (len(c.Fits) == 1) != tt.fits || tt.fits && c.Fits[0].Look != tt.look || !tt.fits && c.Near[0].Wrong != gate.RingTooSmall {
			t.Errorf("%+v: %+v, %v", tt, c, err)
		}
	}
}
