package counter

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
)

// plan is a lift of 9,000 lb on two legs for the rigger, so many days ahead.
func (b *bench) plan(rigger event.PersonID, ahead int) Plan {
	b.t.Helper()
	today, err := b.st.Today(context.Background())
	if err != nil {
		b.t.Fatal(err)
	}
	p := Plan{Rigger: rigger, Day: today.AddDays(ahead), What: "  pump,  bay 3 ", Stated: event.StatedLift{Lift: b.ask("", 9_000).Lift, Weighed: true}}
	p.Stated.Lift.ReturnBy = p.Day
	return p
}

func (b *bench) planned(rigger event.PersonID, ahead int) event.LiftID {
	b.t.Helper()
	id, err := b.PlanLift(context.Background(), b.as(b.attendant, ""), b.plan(rigger, ahead))
	if err != nil {
		b.t.Fatal(err)
	}
	return id
}

// keep sets slings aside and gives what came of each.
func (b *bench) keep(key string, keeps ...Keep) []Outcome {
	b.t.Helper()
	list, err := b.SetAside(context.Background(), b.as(b.attendant, key), keeps)
	if err != nil {
		b.t.Fatal(err)
	}
	return list
}

func (b *bench) another(name string, roles event.Roles) event.PersonID {
	b.t.Helper()
	id, err := b.AddPerson(context.Background(), b.as(b.keeper, ""), event.PersonAdded{Name: name, Roles: roles})
	if err != nil {
		b.t.Fatal(err)
	}
	return id
}

// TestPlanALift: who may plan for whom, for which days, and that a lift no sling could be
// asked about is planned for none.
func TestPlanALift(t *testing.T) {
	ctx := context.Background()
	b := newBench(t, nil)
	other := b.another("O. Rigger", event.Rigger)
	for _, c := range []struct {
		name   string
		by     event.PersonID
		change func(*Plan)
		want   error
	}{
		{"an attendant", b.attendant, nil, nil},
		{"the keeper", b.keeper, nil, nil},
		{"the rigger", b.rigger, nil, nil},
		{"another rigger", other, nil, ErrRole},
		{"for somebody who draws nothing", b.attendant, func(p *Plan) { p.Rigger = b.keeper }, ErrRole},
		{"today", b.attendant, func(p *Plan) { p.Day = p.Day.AddDays(-1) }, nil},
		{"yesterday", b.attendant, func(p *Plan) { p.Day = p.Day.AddDays(-2) }, ErrLiftDay},
		{"as far ahead as can be", b.attendant, func(p *Plan) {
			p.Day = p.Day.AddDays(PlanAhead - 1)
			p.Stated.Lift.ReturnBy = p.Day
		}, nil},
		{"further ahead", b.attendant, func(p *Plan) {
			p.Day = p.Day.AddDays(PlanAhead)
			p.Stated.Lift.ReturnBy = p.Day
		}, ErrLiftDay},
		{"back before it", b.attendant, func(p *Plan) { p.Stated.Lift.ReturnBy = p.Day.AddDays(-1) }, ErrLiftDay},
		{"back at no time", b.attendant, func(p *Plan) { p.Stated.Lift.ReturnBy = quantity.Date{} }, ErrLiftDay},
		{"without a load", b.attendant, func(p *Plan) { p.Stated.Lift.Load = 0 }, new(gate.QuestionError)},
	} {
		p := b.plan(b.rigger, 1)
		if c.change != nil {
			c.change(&p)
		}
		id, err := b.PlanLift(ctx, b.as(c.by, ""), p)
		var q *gate.QuestionError
		if errors.As(c.want, &q) {
			if err == nil || !id.IsZero() {
				t.Errorf("%s: %v", c.name, err)
			}
			continue
		}
		if !errors.Is(err, c.want) || id.IsZero() != (c.want != nil) {
			t.Errorf("%s: %v, %s", c.name, err, id)
		}
	}
	list, err := b.st.PlannedBy(ctx, b.rigger, quantity.Date{})
	if err != nil || len(list) != 5 || list[0].What != "pump, bay 3" || !list[0].Open() {
		t.Errorf("%d lifts, %v: %+v", len(list), err, list)
	}
	one, err := b.PlanLift(ctx, b.as(b.attendant, "same"), b.plan(b.rigger, 1))
	again, err2 := b.PlanLift(ctx, b.as(b.attendant, "same"), b.plan(b.rigger, 1))
	if err != nil || err2 != nil || one != again {
		t.Errorf("sent twice: %s, %s, %v, %v", one, again, err, err2)
	}
}

// A lift is judged by what the site adds when slings are chosen for it, whatever was
// sent, or added when it was planned.
func TestPlannedMargin(t *testing.T) {
	ctx := context.Background()
	b := newBench(t, nil)
	p := b.plan(b.rigger, 1)
	p.Stated.Weighed, p.Stated.Lift.Margin = false, 0
	id, err := b.PlanLift(ctx, b.as(b.attendant, ""), p)
	if err != nil {
		t.Fatal(err)
	}
	planned, err := b.st.Planned(ctx, id)
	if err != nil || planned.Stated.Lift.Margin != 10 {
		t.Fatalf("%d %% were planned, %v", planned.Stated.Lift.Margin, err)
	}
	crib, err := b.st.Crib(ctx)
	if err != nil {
		t.Fatal(err)
	}
	crib.Founded.Policy.MarginPct = 25
	if ask := AskFor(crib, planned.Stated, p.Day); ask.Lift.Margin != 25 {
		t.Errorf("slings are chosen for %d %%", ask.Lift.Margin)
	}
}

// TestSetAsideAsks: what is set aside is asked about before it goes to somebody else, up
// to the end of its day, and the keeper sees what went all the same. For whom it is set
// aside it goes without a word.
func TestSetAsideAsks(t *testing.T) {
	ctx := context.Background()
	b := newBench(t, nil)
	other := b.another("O. Rigger", event.Rigger)
	tag := b.hung("NS-0001", nil)
	id, lift := b.slingOf(tag), b.planned(b.rigger, 0)
	if o := b.keep("", Keep{lift, id}); !o[0].May || o[0].At == 0 {
		t.Fatalf("%+v", o)
	}
	look := func(rigger event.PersonID, answer event.LiftID) Outcome {
		t.Helper()
		ask := b.ask(tag, 9_000)
		ask.Rigger, ask.Aside = rigger, answer
		o, err := b.Look(ctx, b.as(b.attendant, ""), ask)
		if err != nil {
			t.Fatal(err)
		}
		return o
	}
	if o := look(b.rigger, event.LiftID{}); !o.May || o.AskAside || o.Marked != "" {
		t.Errorf("for whom it is set aside: %+v", o.Codes)
	}
	if o := look(other, event.LiftID{}); o.May || !o.AskAside || !slices.Equal(o.Codes, []gate.Reason{gate.SetAside}) {
		t.Errorf("for another: %+v", o.Codes)
	}
	if o := look(other, event.LiftID{9}); o.May || !o.AskAside {
		t.Errorf("answered about another lift: %+v", o.Codes)
	}
	if o := look(other, lift); !o.May || o.Marked == "" {
		t.Errorf("answered: %+v", o.Codes)
	}
	ask := b.loanOf(tag)
	ask.Rigger = other
	l, err := b.IssueLoan(ctx, b.as(b.attendant, ""), ask)
	if err != nil || l.Lines[0].May || !l.Lines[0].AskAside || l.Lines[0].At != 0 {
		t.Fatalf("handed over without a word: %v, %v", codesOf(l), err)
	}
	b.must(b.Hold(ctx, b.as(b.attendant, ""), b.seen(id), "a nick"))
	if o := look(other, lift); o.May || slices.Contains(o.Codes, gate.SetAside) || !slices.Contains(o.Codes, gate.Held) {
		t.Errorf("held, and answered: %v", o.Codes)
	}
	if o := look(b.rigger, event.LiftID{}); o.May {
		t.Error("a held sling goes since it is set aside")
	}
	b.must(b.Release(ctx, b.as(b.inspector, ""), b.seen(id), "ground out"))
	ask.Lines[0].Aside = lift
	if l, err = b.IssueLoan(ctx, b.as(b.attendant, ""), ask); err != nil || !l.Lines[0].May {
		t.Fatalf("answered: %v, %v", codesOf(l), err)
	}
	s, err := b.st.Sling(ctx, id)
	if err != nil || s.Loan.Marked == "" || !s.Aside.Lift.IsZero() {
		t.Errorf("marked %q, aside %+v, %v", s.Loan.Marked, s.Aside, err)
	}
	if p, err := b.st.Planned(ctx, lift); err != nil || !p.Open() {
		t.Errorf("the lift that lost its sling: %+v, %v", p, err)
	}

	// It lapses by itself.
	tag = b.hung("NS-0002", nil)
	b.keep("", Keep{lift, b.slingOf(tag)})
	if o := look(other, event.LiftID{}); !o.AskAside {
		t.Error("not asked on its day")
	}
	b.now = b.now.AddDate(0, 0, 1)
	if o := look(other, event.LiftID{}); o.AskAside || slices.Contains(o.Codes, gate.SetAside) {
		t.Errorf("asked after its day: %v", o.Codes)
	}
	if o := b.keep("", Keep{b.planned(other, 0), b.slingOf(tag)}); !o[0].May {
		t.Errorf("what has lapsed cannot be set aside anew: %v", o[0].Codes)
	}
}

// TestSetAsideDecides: only what would go out for the lift is kept for it, no more than
// it takes, and for one lift at a time.
func TestSetAsideDecides(t *testing.T) {
	ctx := context.Background()
	b := newBench(t, nil)
	good, second := b.slingOf(b.hung("NS-0001", nil)), b.slingOf(b.hung("NS-0002", nil))
	weak := b.slingOf(b.leg("NS-0003", nil))
	soon := b.slingOf(b.hung("NS-0004", func(d *event.Details) { d.Sling.Inspected = date(t, "2025-03-03") }))
	bare := b.must(b.Register(ctx, b.as(b.keeper, ""), b.details("NS-0005"))).Sling.ID
	held := b.slingOf(b.hung("NS-0006", nil))
	b.must(b.Hold(ctx, b.as(b.attendant, ""), b.seen(held), "a nick"))
	lift, next := b.planned(b.rigger, 1), b.planned(b.rigger, 2)
	for _, c := range []struct {
		name string
		keep Keep
		want []gate.Reason
	}{
		{"too light", Keep{lift, weak}, []gate.Reason{gate.LegsMismatch}},
		{"held", Keep{lift, held}, []gate.Reason{gate.Held}},
		{"no tag", Keep{lift, bare}, []gate.Reason{gate.TagUnconfirmed}},
		{"unknown", Keep{lift, event.SlingID{}}, []gate.Reason{gate.UnknownSling}},
		{"no such lift", Keep{event.LiftID{7}, good}, []gate.Reason{gate.NotNow}},
		{"due before it is back", Keep{next, soon}, []gate.Reason{gate.DueBeforeReturn}},
		{"good", Keep{lift, good}, nil},
		{"once more", Keep{lift, good}, nil},
		{"for another lift", Keep{next, good}, []gate.Reason{gate.SetAside}},
		{"more than it takes", Keep{lift, second}, []gate.Reason{gate.TooManyTogether}},
	} {
		o := b.keep("", c.keep)[0]
		if !slices.Equal(o.Codes, c.want) || o.May != (c.want == nil) {
			t.Errorf("%s: %v, want %v", c.name, o.Codes, c.want)
		}
	}
	if _, err := b.SetAside(ctx, b.as(b.attendant, ""), nil); !errors.Is(err, ErrKeep) {
		t.Errorf("nothing: %v", err)
	}
	stranger := b.another("O. Rigger", event.Rigger)
	if _, err := b.SetAside(ctx, b.as(stranger, ""), []Keep{{next, second}}); !errors.Is(err, ErrRole) {
		t.Errorf("for somebody else's lift: %v", err)
	}
	if o := b.keep("twice", Keep{next, second}); !o[0].May {
		t.Fatalf("%v", o[0].Codes)
	}
	before, err := b.st.Head(ctx)
	if o := b.keep("twice", Keep{next, second}); err != nil || !o[0].May {
		t.Errorf("sent twice: %v, %v", o[0].Codes, err)
	}
	if after, err := b.st.Head(ctx); err != nil || after.At != before.At {
		t.Errorf("sent twice: at %d, then at %d, %v", before.At, after.At, err)
	}
	if err := b.GiveUpLift(ctx, b.as(stranger, ""), next, ""); !errors.Is(err, ErrRole) {
		t.Errorf("given up by somebody else: %v", err)
	}
	if err := b.GiveUpLift(ctx, b.as(b.rigger, ""), next, "rain"); err != nil {
		t.Fatal(err)
	}
	s, err := b.st.Sling(ctx, second)
	if err != nil || !s.Aside.Lift.IsZero() {
		t.Errorf("kept for a lift that was given up: %+v, %v", s.Aside, err)
	}
	if err := b.GiveUpLift(ctx, b.as(b.rigger, ""), next, "rain"); !errors.Is(err, ErrLiftEnded) {
		t.Errorf("given up twice: %v", err)
	}
	if o := b.keep("", Keep{next, second}); o[0].May {
		t.Error("set aside for a lift that was given up")
	}
	if o := b.must(b.PutBack(ctx, b.as(b.attendant, ""), good, lift, "not wanted")); o.At == 0 {
		t.Errorf("%+v", o)
	}
	if o, err := b.PutBack(ctx, b.as(b.attendant, ""), good, lift, "not wanted"); err != nil || o.May {
		t.Errorf("put back twice: %+v, %v", o.Codes, err)
	}
}

// TestDrawnForALift: slings that go out for a planned lift end it, and what else was set
// aside for it hangs free.
func TestDrawnForALift(t *testing.T) {
	ctx := context.Background()
	b := newBench(t, nil)
	kept, taken := b.hung("NS-0001", nil), b.hung("NS-0002", nil)
	lift := b.planned(b.rigger, 0)
	b.keep("", Keep{lift, b.slingOf(kept)})
	ask := b.loanOf(taken)
	ask.For = []event.LiftID{lift}
	l, err := b.IssueLoan(ctx, b.as(b.attendant, ""), ask)
	if err != nil || l.Went() != 1 {
		t.Fatalf("%v, %v", codesOf(l), err)
	}
	p, err := b.st.Planned(ctx, lift)
	if err != nil || p.Open() || !slices.Equal(p.Loans, []event.LoanID{ask.Loan}) {
		t.Errorf("%+v, %v", p, err)
	}
	if s, err := b.st.Sling(ctx, b.slingOf(kept)); err != nil || s.Aside != (state.Aside{}) {
		t.Errorf("still kept: %+v, %v", s.Aside, err)
	}
	ask = b.loanOf("no tag at all")
	ask.For = []event.LiftID{b.planned(b.rigger, 0)}
	if l, err := b.IssueLoan(ctx, b.as(b.attendant, ""), ask); err != nil || l.Went() != 0 {
		t.Fatalf("%v, %v", codesOf(l), err)
	}
	if p, err := b.st.Planned(ctx, ask.For[0]); err != nil || !p.Open() {
		t.Errorf("ended by what stayed: %+v, %v", p, err)
	}
	ask = b.loanOf(kept)
	ask.For = []event.LiftID{{9}}
	if l, err := b.IssueLoan(ctx, b.as(b.attendant, ""), ask); err != nil || l.Went() != 1 {
		t.Errorf("for a lift that the register does not know: %v, %v", codesOf(l), err)
	}
	ask.For = append(ask.For, lift)
	if _, err := b.IssueLoan(ctx, b.as(b.attendant, ""), ask); !errors.Is(err, ErrLoan) {
		t.Errorf("more lifts than lifts: %v", err)
	}
}

// TestTwoWantOne: of clerks who set one sling aside for their lifts at once, exactly one
// gets it.
func TestTwoWantOne(t *testing.T) {
	ctx := context.Background()
	b := newBench(t, nil)
	id := b.slingOf(b.hung("NS-0001", nil))
	const many = 6
	got := make([]Outcome, many)
	var lifts [many]event.LiftID
	for i := range many {
		lifts[i] = b.planned(b.rigger, 1)
	}
	var wg sync.WaitGroup
	for i := range many {
		wg.Go(func() {
			list, err := b.SetAside(ctx, b.as(b.attendant, fmt.Sprint("clerk ", i)), []Keep{{lifts[i], id}})
			if err != nil {
				t.Error(err)
				return
			}
			got[i] = list[0]
		})
	}
	wg.Wait()
	won := 0
	for i, o := range got {
		switch {
		case o.May:
			won++
			if s, err := b.st.Sling(ctx, id); err != nil || s.Aside.Lift != lifts[i] {
				t.Errorf("kept for %s, won by %s, %v", s.Aside.Lift, lifts[i], err)
			}
		case !slices.Equal(o.Codes, []gate.Reason{gate.SetAside}):
			t.Errorf("clerk %d: %v", i, o.Codes)
		}
	}
	if won != 1 {
		t.Errorf("%d clerks got it", won)
	}
}

// TestSetAsideNeverHelps: whatever stands against a sling stands against it just so when it
// is set aside, for whoever asks and whatever was answered.
func TestSetAsideNeverHelps(t *testing.T) {
	ctx := context.Background()
	for _, c := range []struct {
		name string
		then func(b *bench, id event.SlingID)
		ask  func(*Ask)
	}{
		{"nothing", nil, nil},
		{"held", func(b *bench, id event.SlingID) { b.must(b.Hold(ctx, b.as(b.attendant, ""), b.seen(id), "a nick")) }, nil},
		{"lost", func(b *bench, id event.SlingID) { b.must(b.Lose(ctx, b.as(b.attendant, ""), b.seen(id), "gone")) }, nil},
		{"too heavy", nil, func(a *Ask) { a.Lift.Load = 50_000 * quantity.Pound }},
		{"people", nil, func(a *Ask) { a.Lift.Use = gate.UsePeople }},
		{"nobody", nil, func(a *Ask) { a.Rigger = event.PersonID{7} }},
		{"no tag", nil, func(a *Ask) { a.Reading.Text = "x" }},
		{"gear for a shift", nil, func(a *Ask) { a.Shift = true }},
		{"a clock that leapt", func(b *bench, _ event.SlingID) { b.now = b.now.AddDate(0, 0, -3) }, nil},
	} {
		b := newBench(t, nil)
		other := b.another("O. Rigger", event.Rigger)
		plain, kept := b.hung("NS-0001", nil), b.hung("NS-0002", nil)
		lift := b.planned(b.rigger, 0)
		b.keep("", Keep{lift, b.slingOf(kept)})
		for _, tag := range []string{plain, kept} {
			if c.then != nil {
				c.then(b, b.slingOf(tag))
			}
		}
		for _, rigger := range []event.PersonID{b.rigger, other} {
			for _, answer := range []event.LiftID{{}, lift} {
				look := func(tag string) Outcome {
					a := b.ask(tag, 9_000)
					a.Rigger, a.Aside = rigger, answer
					if c.ask != nil {
						c.ask(&a)
					}
					o, err := b.Look(ctx, b.as(b.attendant, ""), a)
					if err != nil {
						t.Fatalf("%s: %v", c.name, err)
					}
					return o
				}
				free, set := look(plain), look(kept)
				codes := slices.DeleteFunc(slices.Clone(set.Codes), func(r gate.Reason) bool { return r == gate.SetAside })
				if !slices.Equal(codes, free.Codes) || set.May && !free.May {
					t.Errorf("%s: %v, set aside %v", c.name, free.Codes, set.Codes)
				}
			}
		}
	}
}
