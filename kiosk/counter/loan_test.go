package counter

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"slices"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/store"
)

// loanOf asks for slings by the text of their tags, all for one lift of 9,000 lb
// each.
func (b *bench) loanOf(texts ...string) LoanAsk {
	b.t.Helper()
	id, err := event.NewPersonID(rand.Reader)
	if err != nil {
		b.t.Fatal(err)
	}
	l := LoanAsk{Loan: event.LoanID(id), Rigger: b.rigger, Lifts: []event.StatedLift{{Lift: b.ask("", 9_000).Lift, Weighed: true}}}
	for _, text := range texts {
		l.Lines = append(l.Lines, LoanLine{Reading: Reading{Text: text, Way: Scanner}, Lift: 1})
	}
	return l
}

// leg registers a one-leg sling, grade 80, 3/8 in, stamped 7,100 lb vertical (US
// OSHA, Guidance on Safe Sling Use, table 1), and gives the text of its tag.
func (b *bench) leg(ident string, change func(*event.Details)) string {
	b.t.Helper()
	return b.hung(ident, func(d *event.Details) {
		d.Sling.Legs, d.Sling.Stamped = 1, []rating.Stamp{{Legs: 1, Basis: rating.Vertical, Load: 7_100 * quantity.Pound}}
		if change != nil {
			change(d)
		}
	})
}

// hung registers a sling as change leaves it, with a live tag.
func (b *bench) hung(ident string, change func(*event.Details)) string {
	b.t.Helper()
	ctx := context.Background()
	d := b.details(ident)
	if change != nil {
		change(&d)
	}
	id := b.must(b.Register(ctx, b.as(b.keeper, ""), d)).Sling.ID
	text := b.printTag(id)
	b.must(b.Confirm(ctx, b.as(b.attendant, ""), Reading{Text: text, Way: Scanner, Typed: ident[max(0, len(ident)-3):]}, id))
	return text
}

func codesOf(l LoanOutcome) (list []string) {
	for _, o := range l.Lines {
		list = append(list, fmt.Sprint(o.Codes))
	}
	return list
}

// TestALoanOfMany: each line for itself; what stays is recorded, and what went has
// its loan and its lift.
func TestALoanOfMany(t *testing.T) {
	ctx := context.Background()
	b := newBench(t, nil)
	a, c := b.hung("NS-0001", nil), b.hung("NS-0002", nil)
	weak := b.leg("NS-0003", nil)
	ask := b.loanOf(a, weak, c, "no tag at all")
	ask.Lifts = append(ask.Lifts, event.StatedLift{Lift: b.ask("", 100).Lift})
	ask.Lines[2].Lift = 2
	l, err := b.IssueLoan(ctx, b.as(b.attendant, "one"), ask)
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"[]", "[legs-mismatch]", "[]", "[tag-not-ours]"}
	if got := codesOf(l); !slices.Equal(got, want) || l.Went() != 2 {
		t.Fatalf("%v, want %v", got, want)
	}
	records, err := b.st.Loan(ctx, ask.Loan)
	if err != nil || len(records) != 2 {
		t.Fatalf("%d records of the loan, %v", len(records), err)
	}
	for i, lift := range []int{1, 2} {
		body := records[i].Body.(event.Issued)
		if body.Line.Lift != lift || body.Line.Loan != ask.Loan || body.Line.Weighed != (lift == 1) || body.Rigger != b.rigger {
			t.Errorf("record %d: %+v", i, body.Line)
		}
	}
	again, err := b.IssueLoan(ctx, b.as(b.attendant, "one"), ask)
	if err != nil || !slices.Equal(codesOf(again), want) || again.Loan != ask.Loan {
		t.Errorf("asked again: %v %v", codesOf(again), err)
	}
	if first, known, err := b.Before(ctx, "one"); err != nil || !known || !first.May {
		t.Errorf("before: %+v %v %v", first, known, err)
	}
	ask.Lines = ask.Lines[:1]
	if _, err := b.IssueLoan(ctx, b.as(b.attendant, "one"), ask); !errors.Is(err, store.ErrKeyReused) {
		t.Errorf("another loan under the key: %v", err)
	}
}

// TestLoansThatCannotBeAsked: nothing is decided about them.
func TestLoansThatCannotBeAsked(t *testing.T) {
	b := newBench(t, nil)
	text := b.hung("NS-0001", nil)
	for name, change := range map[string]func(*LoanAsk){
		"no id":       func(l *LoanAsk) { l.Loan = event.LoanID{} },
		"no lines":    func(l *LoanAsk) { l.Lines = nil },
		"no such":     func(l *LoanAsk) { l.Lines[0].Lift = 2 },
		"below":       func(l *LoanAsk) { l.Lines[0].Lift = -1 },
		"no day":      func(l *LoanAsk) { l.Lines[0].Lift = 0 },
		"too many of": func(l *LoanAsk) { l.Lines = slices.Repeat(l.Lines, mostLines+1) },
	} {
		ask := b.loanOf(text)
		change(&ask)
		if _, err := b.IssueLoan(context.Background(), b.as(b.attendant, ""), ask); !errors.Is(err, ErrLoan) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestOneHook: like one-leg slings on one hook go together or stay together.
func TestOneHook(t *testing.T) {
	ctx := context.Background()
	small, err := rating.ParseSize(rating.US, "5/16")
	if err != nil {
		t.Fatal(err)
	}
	for name, row := range map[string]struct {
		second func(*event.Details)
		lines  int
		load   int64
		want   []string
	}{
		// Two such legs may carry 7,100 × 1.7320 lb at 60° (US OSHA, Guidance on Safe Sling Use, table 1).
		"both":      {nil, 2, 12_297, []string{"[]", "[]"}},
		"too heavy": {nil, 2, 12_298, []string{"[under-rated]", "[under-rated]"}},
		"one only":  {nil, 1, 1_000, []string{"[too-few-together]"}},
		"three":     {nil, 3, 1_000, []string{"[not-together]", "[not-together]", "[too-many-together]"}},
		"size": {func(d *event.Details) {
			d.Sling.Size, d.Sling.Stamped[0].Load = small, 4_500*quantity.Pound
		}, 2, 1_000, []string{"[not-together]", "[not-alike]"}},
		"reach": {func(d *event.Details) { d.Sling.Reach += quantity.Millimetre }, 2, 1_000, []string{"[not-together]", "[not-alike]"}},
		"legs": {func(d *event.Details) {
			d.Sling.Legs, d.Sling.Stamped = 2, []rating.Stamp{{Legs: 2, Basis: rating.H60, Load: 12_300 * quantity.Pound}}
		}, 2, 1_000, []string{"[not-together]", "[not-alike]"}},
		"held": {func(d *event.Details) { d.Sling.RatingTag = gate.TagPartial }, 2, 1_000, []string{"[not-together]", "[rating-tag]"}},
	} {
		t.Run(name, func(t *testing.T) {
			b := newBench(t, nil)
			texts := []string{b.leg("NS-0001", nil), b.leg("NS-0002", row.second), b.leg("NS-0003", nil)}
			ask := b.loanOf(texts[:row.lines]...)
			lift := &ask.Lifts[0]
			lift.Share, lift.Lift.Load, lift.Lift.Legs = event.OneHook, quantity.Mass(row.load)*quantity.Pound, 2
			lift.Lift.Angle, lift.Lift.Centred = &gate.Angle{From: gate.FromHorizontal, Size: 60 * quantity.Degree}, true
			l, err := b.IssueLoan(ctx, b.as(b.attendant, ""), ask)
			if err != nil {
				t.Fatal(err)
			}
			if got := codesOf(l); !slices.Equal(got, row.want) {
				t.Errorf("%v, want %v", got, row.want)
			}
			if went := l.Went(); went != 0 && went != row.lines {
				t.Errorf("%d of %d went", went, row.lines)
			}
		})
	}
}

// TestBeam: the beam is counted, an equal part is rounded up, and stated parts come
// to no less than the whole.
func TestBeam(t *testing.T) {
	ctx := context.Background()
	for name, row := range map[string]struct {
		load, beam, slings int64
		parts              []int64
		want               []string
	}{
		// 7,100 lb is what one such leg may carry straight (US OSHA, Guidance on Safe Sling Use, table 1).
		"equal":         {14_000, 200, 2, nil, []string{"[]", "[]"}},
		"rounded up":    {14_000, 201, 2, nil, []string{"[under-rated]", "[under-rated]"}},
		"of three":      {14_000, 200, 3, nil, []string{"[too-few-together]", "[too-few-together]"}},
		"stated":        {10_000, 0, 2, []int64{7_100, 2_900}, []string{"[]", "[]"}},
		"one over":      {10_000, 0, 2, []int64{7_101, 2_900}, []string{"[under-rated]", "[not-together]"}},
		"short":         {10_000, 0, 2, []int64{7_100, 2_899}, []string{"[shares-short]", "[shares-short]"}},
		"beam counted":  {10_000, 1, 2, []int64{7_100, 2_900}, []string{"[shares-short]", "[shares-short]"}},
		"more is right": {10_000, 0, 2, []int64{7_100, 7_100}, []string{"[]", "[]"}},
	} {
		t.Run(name, func(t *testing.T) {
			b := newBench(t, nil)
			ask := b.loanOf(b.leg("NS-0001", nil), b.leg("NS-0002", nil))
			lift := &ask.Lifts[0]
			lift.Share, lift.Slings, lift.Beam = event.Beam, int(row.slings), quantity.Mass(row.beam)*quantity.Pound
			lift.Lift.Load, lift.Lift.Legs, lift.Lift.Angle = quantity.Mass(row.load)*quantity.Pound, 1, nil
			lift.Stated = row.parts != nil
			for i, part := range row.parts {
				ask.Lines[i].Part.Carries = quantity.Mass(part) * quantity.Pound
			}
			l, err := b.IssueLoan(ctx, b.as(b.attendant, ""), ask)
			if err != nil {
				t.Fatal(err)
			}
			if got := codesOf(l); !slices.Equal(got, row.want) {
				t.Errorf("%v, want %v", got, row.want)
			}
		})
	}
}

// TestOneSlingTwice: a sling counts once in a shared lift.
func TestOneSlingTwice(t *testing.T) {
	b := newBench(t, nil)
	text := b.leg("NS-0001", nil)
	ask := b.loanOf(text, text)
	ask.Lifts[0].Share, ask.Lifts[0].Slings = event.Beam, 2
	ask.Lifts[0].Lift.Legs, ask.Lifts[0].Lift.Angle = 1, nil
	l, err := b.IssueLoan(context.Background(), b.as(b.attendant, ""), ask)
	if err != nil || !slices.Equal(codesOf(l), []string{"[not-together]", "[already-out]"}) {
		t.Errorf("%v %v", codesOf(l), err)
	}
}

// TestGearForAShift: only for whom the keeper allows it; the capacity is what is
// recorded, and what falls due before it is back stays.
func TestGearForAShift(t *testing.T) {
	ctx := context.Background()
	b := newBench(t, nil)
	text := b.hung("NS-0001", nil)
	soon := b.hung("NS-0002", func(d *event.Details) { d.Sling.Due = date(t, "2026-03-02") })
	ask := b.loanOf(text, soon)
	ask.Lines[0].Lift, ask.Lines[1].Lift, ask.ShiftBack = 0, 0, date(t, "2026-03-03")
	l, err := b.IssueLoan(ctx, b.as(b.attendant, ""), ask)
	if want := []string{"[shift-not-allowed]", "[shift-not-allowed due-before-return]"}; err != nil || !slices.Equal(codesOf(l), want) {
		t.Fatalf("%v %v, want %v", codesOf(l), err, want)
	}
	p := b.person(b.rigger)
	if err := b.ChangePerson(ctx, b.as(b.keeper, ""), p.ID, p.Heads, event.PersonChanged{Name: p.Name, Roles: p.Roles, Here: true, Terms: event.Terms{ShiftGear: true}}); err != nil {
		t.Fatal(err)
	}
	l, err = b.IssueLoan(ctx, b.as(b.attendant, ""), ask)
	if want := []string{"[]", "[due-before-return]"}; err != nil || !slices.Equal(codesOf(l), want) {
		t.Fatalf("%v %v, want %v", codesOf(l), err, want)
	}
	list, err := b.st.ShiftGear(ctx, 0, 10)
	if err != nil || len(list) != 1 {
		t.Fatalf("%d listed, %v", len(list), err)
	}
	body := list[0].Body.(event.Issued)
	q, err := gate.ParseQuestion([]byte(body.Verdict.Question))
	if err != nil || q.Lift != nil || body.ReturnBy != ask.ShiftBack || body.Line.Lift != 0 {
		t.Errorf("%+v %v", body, err)
	}
	if a := l.Lines[0].Answer; len(a.Capacity) == 0 || a.Capacity[0].Load != 12_300*quantity.Pound {
		t.Errorf("capacity %+v", a.Capacity)
	}
}

// TestLearner: hands over only what another attendant signs for.
func TestLearner(t *testing.T) {
	ctx := context.Background()
	b := newBench(t, nil)
	add := func(name string, roles event.Roles, terms event.Terms) event.PersonID {
		id, err := b.AddPerson(ctx, b.as(b.keeper, ""), event.PersonAdded{Name: name, Roles: roles, Terms: terms})
		if err != nil {
			t.Fatal(err)
		}
		return id
	}
	learner := add("L. Learner", event.Attendant, event.Terms{Learner: true})
	other := add("M. Learner", event.Attendant, event.Terms{Learner: true})
	both := add("B. Both", event.Attendant|event.Rigger, event.Terms{})
	text := b.hung("NS-0001", nil)
	before := b.head()
	for name, row := range map[string]struct{ rigger, by event.PersonID }{
		"nobody": {b.rigger, event.PersonID{}}, "themselves": {b.rigger, learner}, "a learner": {b.rigger, other}, "a rigger": {b.rigger, b.rigger},
		"who takes it": {both, both}, "a stranger": {b.rigger, event.PersonID{9}},
	} {
		ask := b.loanOf(text)
		ask.Rigger, ask.Countersign = row.rigger, row.by
		l, err := b.IssueLoan(ctx, b.as(learner, ""), ask)
		if err != nil || !slices.Equal(codesOf(l), []string{"[countersign-needed]"}) || !l.Lines[0].AskSign || b.head() != before {
			t.Errorf("%s: %v %v", name, codesOf(l), err)
		}
		alone := b.ask(text, 9_000)
		alone.Rigger, alone.Countersign = row.rigger, row.by
		if o, err := b.Issue(ctx, b.as(learner, ""), alone); err != nil || o.May || !o.AskSign {
			t.Errorf("%s, alone: %v %v", name, o.Codes, err)
		}
	}
	if o, err := b.Look(ctx, b.as(learner, ""), b.ask(text, 9_000)); err != nil || !o.May {
		t.Errorf("looking: %v %v", o.Codes, err)
	}
	ask := b.loanOf(text)
	ask.Countersign = b.attendant
	l, err := b.IssueLoan(ctx, b.as(learner, ""), ask)
	if err != nil || l.Went() != 1 {
		t.Fatalf("%v %v", codesOf(l), err)
	}
	if got := l.Lines[0].Sling.Loan.Line.Countersign; got != b.attendant {
		t.Errorf("signed by %s", got)
	}
	b.must(b.Return(ctx, b.as(learner, ""), Reading{Text: text, Way: Scanner}, Finding{Said: event.Nothing}))
}

// TestEnds: the crane's hook must go into the link with room, and what hangs below
// must be what the lift asks for.
func TestEnds(t *testing.T) {
	ctx := context.Background()
	b := newBench(t, func(p *event.Policy) {
		p.Cranes = []event.Crane{{Name: "north", Hook: 60 * quantity.Millimetre}, {Name: "yard"}}
	})
	fitted := func(ident string, inside quantity.Length, lower event.LowerFitting) string {
		return b.hung(ident, func(d *event.Details) { d.Fittings = event.Fittings{Inside: inside, Lower: lower} })
	}
	bare := fitted("NS-0001", 0, "")
	tight := fitted("NS-0002", 60*quantity.Millimetre, event.LatchHook)
	wide := fitted("NS-0003", 60*quantity.Millimetre+1, event.GrabHook)
	for name, row := range map[string]struct {
		text string
		ends Ends
		want string
		asks bool
	}{
		"nothing asked":     {bare, Ends{}, "[]", false},
		"goes in":           {wide, Ends{Crane: "north"}, "[]", false},
		"as wide":           {tight, Ends{Crane: "north"}, "[ring-too-small]", false},
		"as wide, and said": {tight, Ends{Crane: "north", Seat: SeatsWell}, "[ring-too-small]", false},
		"no link":           {bare, Ends{Crane: "north"}, "[seat-unknown]", true},
		"no hook":           {tight, Ends{Crane: "yard"}, "[seat-unknown]", true},
		"no such crane":     {tight, Ends{Crane: "south"}, "[seat-unknown]", true},
		"looked":            {bare, Ends{Crane: "yard", Seat: SeatsWell}, "[]", false},
		"looked, not":       {bare, Ends{Crane: "yard", Seat: SeatsNot}, "[ring-too-small]", false},
		"measured, and not": {wide, Ends{Crane: "north", Seat: SeatsNot}, "[ring-too-small]", false},
		"fits":              {wide, Ends{Lower: event.GrabHook}, "[]", false},
		"another":           {wide, Ends{Lower: event.LatchHook}, "[wrong-fitting]", false},
		"not recorded":      {bare, Ends{Lower: event.LatchHook}, "[fitting-unknown]", false},
		"both":              {bare, Ends{Lower: event.LatchHook, Crane: "north"}, "[fitting-unknown]", false},
	} {
		ask := b.ask(row.text, 9_000)
		ask.Ends = row.ends
		o, err := b.Look(ctx, b.as(b.attendant, ""), ask)
		if err != nil || fmt.Sprint(o.Codes) != row.want || o.AskSeat != row.asks || o.May != (row.want == "[]") {
			t.Errorf("%s: %v %v", name, o.Codes, err)
		}
	}
	ask := b.loanOf(bare)
	ask.Lifts[0].Crane, ask.Lines[0].Seat = "yard", SeatsWell
	if l, err := b.IssueLoan(ctx, b.as(b.attendant, ""), ask); err != nil || !l.Lines[0].Sling.Loan.Line.Seats {
		t.Errorf("%+v %v", l, err)
	}
}

// TestLoansRace: of many loans that share slings each sling goes with one, and every
// loser is told.
func TestLoansRace(t *testing.T) {
	ctx := context.Background()
	b := newBench(t, nil)
	var texts []string
	for i := range 5 {
		texts = append(texts, b.hung(fmt.Sprintf("NS-%04d", i), nil))
	}
	const clients = 200
	results := make([]LoanOutcome, clients)
	asks := make([]LoanAsk, clients)
	var wg sync.WaitGroup
	for i := range clients {
		asks[i] = b.loanOf(texts[i%5], texts[(i+1)%5], texts[(i+3)%5])
		wg.Go(func() {
			var err error
			if results[i], err = b.IssueLoan(ctx, b.as(b.attendant, fmt.Sprint("loan ", i)), asks[i]); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	winners := map[event.SlingID]event.LoanID{}
	for _, l := range results {
		for _, o := range l.Lines {
			switch other, taken := winners[o.Sling.ID]; {
			case o.May && taken:
				t.Errorf("%s went with %s and %s", o.Sling.ID, other, l.Loan)
			case o.May:
				winners[o.Sling.ID] = l.Loan
			case !slices.Contains(o.Codes, gate.AlreadyOut):
				t.Errorf("a loser is told %v", o.Codes)
			}
		}
	}
	if len(winners) != 5 {
		t.Errorf("%d slings went", len(winners))
	}
	for id, loan := range winners {
		if s, err := b.st.Sling(ctx, id); err != nil || s.Loan.Line.Loan != loan || s.Doubt != 0 {
			t.Errorf("%s: %+v %v", id, s.Loan, err)
		}
	}
}

// TestALoanIsOneByOne: a loan of lines that share no lift comes to what asking for
// one sling after the other comes to.
func TestALoanIsOneByOne(t *testing.T) {
	ctx := context.Background()
	kinds := []func(*event.Details){
		nil, nil, nil,
		func(d *event.Details) { d.Sling.RatingTag = gate.TagPartial },
		func(d *event.Details) { d.Sling.Due = date(t, "2026-03-03") },
		func(d *event.Details) { d.Sling.Adjustable = true },
		func(d *event.Details) {
			d.Sling.Legs, d.Sling.Stamped = 1, []rating.Stamp{{Legs: 1, Basis: rating.Vertical, Load: 7_100 * quantity.Pound}}
		},
	}
	rapid.Check(t, func(r *rapid.T) {
		picked := rapid.SliceOfN(rapid.IntRange(0, len(kinds)-1), 1, 4).Draw(r, "slings")
		loads := rapid.SliceOfN(rapid.SampledFrom([]int64{100, 7_000, 12_300, 12_301, 99_000}), 2, 2).Draw(r, "loads")
		lines := rapid.SliceOfN(rapid.IntRange(0, len(picked)-1), 1, 6).Draw(r, "lines") // a sling may be asked for twice
		lifts := rapid.SliceOfN(rapid.IntRange(0, 2), len(lines), len(lines)).Draw(r, "lifts")
		shift := rapid.Bool().Draw(r, "shift")
		learner := rapid.SampledFrom([]int{0, 0, 1, 2}).Draw(r, "learner") // no, with nobody's sign, with another's
		run := func(together bool) (outcomes []string, states []string) {
			b := newBench(t, nil)
			var texts []string
			for i, kind := range picked {
				texts = append(texts, b.hung(fmt.Sprintf("NS-%04d", i), kinds[kind]))
			}
			p := b.person(b.rigger)
			if err := b.ChangePerson(ctx, b.as(b.keeper, ""), p.ID, p.Heads, event.PersonChanged{Name: p.Name, Roles: p.Roles, Here: true, Terms: event.Terms{ShiftGear: shift}}); err != nil {
				t.Fatal(err)
			}
			who, sign := b.attendant, event.PersonID{}
			if learner > 0 {
				var err error
				if who, err = b.AddPerson(ctx, b.as(b.keeper, ""), event.PersonAdded{Name: "L. Learner", Roles: event.Attendant, Terms: event.Terms{Learner: true}}); err != nil {
					t.Fatal(err)
				}
			}
			if learner > 1 {
				sign = b.attendant
			}
			loan := b.loanOf()
			loan.Lifts, loan.ShiftBack, loan.Countersign = nil, date(t, "2026-03-02"), sign
			for _, pounds := range loads {
				loan.Lifts = append(loan.Lifts, event.StatedLift{Lift: b.ask("", pounds).Lift})
			}
			for i, n := range lines {
				loan.Lines = append(loan.Lines, LoanLine{Reading: Reading{Text: texts[n], Way: Scanner}, Lift: lifts[i]})
			}
			if together {
				l, err := b.IssueLoan(ctx, b.as(who, ""), loan)
				if err != nil {
					r.Fatal(err)
				}
				outcomes = codesOf(l)
			} else {
				for _, line := range loan.Lines {
					ask := Ask{Reading: line.Reading, Rigger: b.rigger, Countersign: sign, Shift: line.Lift == 0}
					ask.Lift.ReturnBy = loan.ShiftBack
					if line.Lift > 0 {
						ask.Lift = loan.Lifts[line.Lift-1].Lift
					}
					o, err := b.Issue(ctx, b.as(who, ""), ask)
					if err != nil {
						r.Fatal(err)
					}
					outcomes = append(outcomes, fmt.Sprint(o.Codes))
				}
			}
			for _, text := range texts {
				s := b.slingOf(text)
				story, err := b.st.Story(ctx, event.Sling(s))
				if err != nil {
					t.Fatal(err)
				}
				told := b.state(s).String()
				for _, rec := range story {
					told += " " + string(rec.Envelope.Kind)
				}
				states = append(states, told)
			}
			return outcomes, states
		}
		one, oneStates := run(false)
		all, allStates := run(true)
		if !slices.Equal(one, all) || !slices.Equal(oneStates, allStates) {
			r.Fatalf("one by one %v %v, together %v %v", one, oneStates, all, allStates)
		}
	})
}
