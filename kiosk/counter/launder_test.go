package counter

import (
	"context"
	"errors"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
)

// What keeps a sling in is not got rid of by what is told of it: that it was lost,
// that it went out by itself, that nothing happened to it out there, or that it came
// back in a heap.
func TestNoHoldIsToldAway(t *testing.T) {
	ctx := context.Background()
	for _, why := range []struct {
		name string
		make func(b *bench, id event.SlingID)
	}{
		{"held", func(b *bench, id event.SlingID) {
			b.must(b.Hold(ctx, b.as(b.attendant, ""), b.seen(id), "bent"))
		}},
		{"not passed", func(b *bench, id event.SlingID) { b.inspected(id, "2026-03-02", tagcode.Hold) }},
		{"lost", func(*bench, event.SlingID) {}},
	} {
		for _, way := range []struct {
			name string
			back func(b *bench, id event.SlingID, text string)
		}{
			{"returned", func(b *bench, _ event.SlingID, text string) {
				b.must(b.Return(ctx, b.as(b.attendant, ""), Reading{Text: text, Way: Scanner}, Finding{Said: event.Nothing}))
			}},
			{"on paper", func(b *bench, id event.SlingID, _ string) {
				b.must(b.Came(ctx, b.as(b.attendant, ""), b.seen(id), event.Nothing, "", event.Late{}))
			}},
			{"here", func(b *bench, _ event.SlingID, text string) {
				b.must(b.Here(ctx, b.as(b.attendant, ""), Reading{Text: text, Way: Scanner, Typed: "417"}, Finding{Said: event.Nothing}))
			}},
			{"heap", func(b *bench, id event.SlingID, text string) {
				if _, err := b.TakeIn(ctx, b.as(b.attendant, ""), Reading{Text: text, Way: Scanner}); err != nil {
					b.t.Fatal(err)
				}
			}},
		} {
			t.Run(why.name+", lost, taken, "+way.name, func(t *testing.T) {
				b := newBench(t, nil)
				id, text := b.tagged("NS-0417")
				why.make(b, id)
				b.must(b.Lose(ctx, b.as(b.attendant, ""), b.seen(id), ""))
				b.must(b.Take(ctx, b.as(b.attendant, ""), b.seen(id), Gone{Rigger: b.rigger}))
				b.pass(time.Minute)
				way.back(b, id, text)
				if got := b.state(id); got != gate.StateHeld {
					t.Errorf("it is %s: %+v", got, b.sling(id).Hold)
				}
				if b.sling(id).Doubt != 0 {
					t.Errorf("doubt %d", b.sling(id).Doubt)
				}
				if o, err := b.Issue(ctx, b.as(b.attendant, ""), b.ask(text, 9_000)); err != nil || o.May {
					t.Errorf("it goes out: %+v %v", o.Codes, err)
				}
			})
		}
	}
}

// The inspector who passed a sling does not make its next issue, nor by having it
// gone by itself, nor by signing for the learner who does.
func TestWhoPassedItDoesNotSendItOut(t *testing.T) {
	ctx := context.Background()
	const today = "2026-03-02"
	for _, one := range []bool{false, true} {
		b := newBench(t, func(p *event.Policy) { p.OnePerson, p.OldTagGoes = one, true })
		b.inspectorAttends()
		learner, err := b.AddPerson(ctx, b.as(b.keeper, ""), event.PersonAdded{Name: "L. Learner", Roles: event.Attendant, Terms: event.Terms{Learner: true}})
		if err != nil {
			t.Fatal(err)
		}
		taken, text := b.tagged("NS-0417")
		b.inspect(taken, today)
		b.must(b.Take(ctx, b.as(b.inspector, ""), b.seen(taken), Gone{}))
		b.must(b.Came(ctx, b.as(b.inspector, ""), b.seen(taken), event.Nothing, "", event.Late{}))
		if o, err := b.Issue(ctx, b.as(b.inspector, ""), b.ask(text, 9_000)); err != nil || o.May != one || one == (o.Marked == "") {
			t.Errorf("one person %t, went by itself and came back: %t %v %q %v", one, o.May, o.Codes, o.Marked, err)
		}
		signed, text := b.tagged("NS-0418")
		b.inspect(signed, today)
		ask := b.loanOf(text)
		ask.Countersign = b.inspector
		l, err := b.IssueLoan(ctx, b.as(learner, ""), ask)
		if err != nil || (l.Went() == 1) != one || b.sling(signed).Loan.Marked != l.Lines[0].Marked || one == (l.Lines[0].Marked == "") {
			t.Errorf("one person %t, signed for a learner: %v %q %v", one, codesOf(l), l.Lines[0].Marked, err)
		}
		if ask = b.loanOf(text); one {
			continue
		}
		ask.Countersign = b.attendant
		if l, err = b.IssueLoan(ctx, b.as(learner, ""), ask); err != nil || l.Went() != 1 {
			t.Errorf("signed by another: %v %v", codesOf(l), err)
		}
	}
}

// Gear for a shift goes on only to whom the keeper lets draw it.
func TestShiftGearIsNotHandedOnToAnybody(t *testing.T) {
	ctx := context.Background()
	b := newBench(t, nil)
	second := b.second()
	allow := func(id event.PersonID) {
		p := b.person(id)
		if err := b.ChangePerson(ctx, b.as(b.keeper, ""), id, p.Heads, event.PersonChanged{Name: p.Name, Roles: p.Roles, Here: true, Terms: event.Terms{ShiftGear: true}}); err != nil {
			t.Fatal(err)
		}
	}
	allow(b.rigger)
	id, text := b.tagged("NS-0417")
	ask := b.loanOf(text)
	ask.Lines[0].Lift, ask.ShiftBack = 0, date(t, "2026-03-03")
	if l, err := b.IssueLoan(ctx, b.as(b.attendant, ""), ask); err != nil || l.Went() != 1 {
		t.Fatalf("%v %v", codesOf(l), err)
	}
	on := Handover{To: second, SameUse: true}
	b.refused2(b.HandOn(ctx, b.as(b.attendant, ""), b.seen(id), on))(gate.ShiftNotAllowed)
	allow(second)
	b.must(b.HandOn(ctx, b.as(b.attendant, ""), b.seen(id), on))
}

// A lift that nobody could have stated is not asked about, whoever calls: slings that
// share nothing, a beam that weighs less than nothing, a sling that carries less.
func TestLiftsThatCannotBe(t *testing.T) {
	b := newBench(t, nil)
	text := b.hung("NS-0001", nil)
	for name, change := range map[string]func(*LoanAsk){
		"a beam on no sling": func(l *LoanAsk) {
			l.Lifts[0].Share, l.Lifts[0].Stated = event.Beam, true
			l.Lines[0].Part.Carries = quantity.Pound
		},
		"a beam on one sling": func(l *LoanAsk) { l.Lifts[0].Share, l.Lifts[0].Slings = event.Beam, 1 },
		"a beam below nothing": func(l *LoanAsk) {
			l.Lifts[0].Share, l.Lifts[0].Slings, l.Lifts[0].Beam = event.Beam, 2, -8_000*quantity.Pound
		},
		"one hook for one":     func(l *LoanAsk) { l.Lifts[0].Share, l.Lifts[0].Lift.Legs = event.OneHook, 1 },
		"one hook for none":    func(l *LoanAsk) { l.Lifts[0].Share, l.Lifts[0].Lift.Legs = event.OneHook, 0 },
		"an unknown share":     func(l *LoanAsk) { l.Lifts[0].Share = "rope" },
		"a beam nobody counts": func(l *LoanAsk) { l.Lifts[0].Beam = quantity.Pound },
		"carries less than zero": func(l *LoanAsk) {
			l.Lifts[0].Share, l.Lifts[0].Slings, l.Lifts[0].Stated = event.Beam, 2, true
			l.Lines[0].Part.Carries = -quantity.Pound
		},
	} {
		ask := b.loanOf(text)
		change(&ask)
		if l, err := b.IssueLoan(context.Background(), b.as(b.attendant, ""), ask); !errors.Is(err, ErrLoan) {
			t.Errorf("%s: %v, %v", name, codesOf(l), err)
		}
	}
}
