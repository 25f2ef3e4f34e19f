package counter

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"testing"
	"time"

	"pgregory.net/rapid"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/core/tagcode"
)

func (b *bench) second() event.PersonID {
	b.t.Helper()
	id, err := b.AddPerson(context.Background(), b.as(b.keeper, ""), event.PersonAdded{Name: "S. Second", Roles: event.Rigger})
	if err != nil {
		b.t.Fatal(err)
	}
	return id
}

// gone is a sling that is out with the rigger.
func (b *bench) gone(ident string) event.SlingID {
	b.t.Helper()
	id, text := b.tagged(ident)
	b.out(id, text)
	return id
}

func (b *bench) inspected(id event.SlingID, on string, outcome tagcode.Outcome) {
	b.t.Helper()
	b.must(b.Inspect(context.Background(), b.as(b.inspector, ""), b.seen(id), Inspection{
		Date: date(b.t, on), Outcome: outcome, Service: due.Normal, RatingTag: gate.TagLegible, Note: "gouge in leg 2"}))
}

func TestHandOn(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	second := b.second()
	id := b.gone("NS-0417")
	was := b.sling(id).Loan
	same := Handover{To: second, SameUse: true, Note: "shift change"}
	for _, row := range []struct {
		name string
		by   event.PersonID
		h    Handover
		want []gate.Reason
	}{
		{"a rigger", b.rigger, same, []gate.Reason{gate.RoleNotAllowed}},
		{"an inspector", b.inspector, same, []gate.Reason{gate.RoleNotAllowed}},
		{"for another use", b.attendant, Handover{To: second}, []gate.Reason{gate.OtherUse}},
		{"to nobody", b.attendant, Handover{SameUse: true}, []gate.Reason{gate.RiggerUnknown}},
		{"to somebody who may not draw gear", b.attendant, Handover{To: b.inspector, SameUse: true}, []gate.Reason{gate.RiggerNotCleared}},
		{"to who has it", b.attendant, Handover{To: b.rigger, SameUse: true}, []gate.Reason{gate.NotNow}},
	} {
		o, err := b.HandOn(ctx, b.as(row.by, ""), b.seen(id), row.h)
		if err != nil || o.May || !slices.Equal(o.Codes, row.want) {
			t.Errorf("%s: %t %v %v", row.name, o.May, o.Codes, err)
		}
	}
	b.must(b.HandOn(ctx, b.as(b.attendant, "k1"), b.seen(id), same))
	now := b.sling(id).Loan
	if now.Rigger != second || now.ReturnBy != was.ReturnBy || now.Line != was.Line {
		t.Errorf("handed on: %+v, was %+v", now, was)
	}
	b.refused2(b.HandOn(ctx, b.as(b.attendant, ""), Seen{Sling: id}, same))(gate.ChangedMeanwhile)
	in, _ := b.tagged("NS-0418")
	b.refused2(b.HandOn(ctx, b.as(b.attendant, ""), b.seen(in), same))(gate.NotNow)
}

func TestALearnerHandsNothingOn(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	learner, err := b.AddPerson(ctx, b.as(b.keeper, ""), event.PersonAdded{Name: "L. Learner", Roles: event.Attendant, Terms: event.Terms{Learner: true}})
	if err != nil {
		t.Fatal(err)
	}
	id := b.gone("NS-0417")
	b.refused2(b.HandOn(ctx, b.as(learner, ""), b.seen(id), Handover{To: b.second(), SameUse: true}))(gate.RoleNotAllowed)
	b.must(b.Recall(ctx, b.as(learner, ""), b.seen(id), "needed", quantity.Date{}))
}

// What is wanted back is not handed on, on both sides of each boundary.
func TestWanted(t *testing.T) {
	ctx := context.Background()
	for _, row := range []struct {
		name string
		do   func(b *bench, id event.SlingID)
		on   string // the day of the crib
		want []gate.Reason
	}{
		{"nothing", func(*bench, event.SlingID) {}, "2026-03-02", nil},
		{"on its last day", func(*bench, event.SlingID) {}, "2026-11-10", nil}, // 29 CFR 1910.184(e)(3)(ii): 12 months
		{"overdue", func(*bench, event.SlingID) {}, "2026-11-11", []gate.Reason{gate.Overdue}},
		{"recalled", func(b *bench, id event.SlingID) {
			b.must(b.Recall(ctx, b.as(b.keeper, ""), b.seen(id), "needed", quantity.Date{}))
		}, "2026-03-02", []gate.Reason{gate.Recalled}},
		{"to be held", func(b *bench, id event.SlingID) {
			b.must(b.Hold(ctx, b.as(b.attendant, ""), b.seen(id), "a gouge"))
		}, "2026-03-02", []gate.Reason{gate.Held}},
		{"not passed where it is", func(b *bench, id event.SlingID) { b.inspected(id, "2026-03-02", tagcode.Hold) }, "2026-03-02", []gate.Reason{gate.NotPassed, gate.Held}},
		{"passed where it is", func(b *bench, id event.SlingID) { b.inspected(id, "2026-03-02", tagcode.Fit) }, "2026-12-01", nil},
		{"due before it is back", func(b *bench, id event.SlingID) {
			s := b.sling(id)
			d := s.Details
			d.Sling.Due = date(b.t, "2026-03-03")
			b.must(b.Correct(ctx, b.as(b.inspector, ""), b.seen(id), event.Corrected{Details: d, Reason: "a day on paper"}))
		}, "2026-03-02", []gate.Reason{gate.DueBeforeReturn}},
	} {
		b := newBench(t, nil)
		id := b.gone("NS-0417")
		row.do(b, id)
		for b.clock().Format("2006-01-02") < row.on { // a machine that is never off, so that its clock is sure
			b.pass(20 * time.Hour)
			b.must(b.Place(ctx, b.as(b.attendant, ""), b.seen(id), b.clock().String()[:16], ""))
		}
		crib, err := b.st.Crib(ctx)
		if err != nil {
			t.Fatal(err)
		}
		got, err := Wanted(b.sling(id), crib, date(t, row.on))
		if err != nil || !slices.Equal(got, row.want) {
			t.Errorf("%s: %v %v, want %v", row.name, got, err, row.want)
		}
		o, err := b.HandOn(ctx, b.as(b.attendant, ""), b.seen(id), Handover{To: b.second(), SameUse: true})
		if err != nil || o.May != (row.want == nil) || !slices.Equal(o.Codes, row.want) {
			t.Errorf("%s: handed on %t, %v %v", row.name, o.May, o.Codes, err)
		}
	}
}

func TestPlaceAndRecall(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	id := b.gone("NS-0417")
	b.refused2(b.Place(ctx, b.as(b.rigger, ""), b.seen(id), "press 4", ""))(gate.RoleNotAllowed)
	b.must(b.Place(ctx, b.as(b.attendant, ""), b.seen(id), "  press   4 ", ""))
	if got := b.sling(id).Loan.Area; got != "press 4" {
		t.Errorf("kept at %q", got)
	}
	b.refused2(b.Place(ctx, b.as(b.attendant, ""), b.seen(id), "press 4", ""))(gate.NotNow)
	if _, err := b.Recall(ctx, b.as(b.keeper, ""), b.seen(id), " ", quantity.Date{}); !errors.Is(err, ErrNeeded) {
		t.Errorf("without a reason: %v", err)
	}
	if _, err := b.Recall(ctx, b.as(b.keeper, ""), b.seen(id), "needed", date(t, "2026-03-01")); !errors.Is(err, ErrRecallDay) {
		t.Errorf("for yesterday: %v", err)
	}
	b.refused2(b.Recall(ctx, b.as(b.rigger, ""), b.seen(id), "needed", quantity.Date{}))(gate.RoleNotAllowed)
	b.must(b.Recall(ctx, b.as(b.keeper, ""), b.seen(id), "needed at bay 2", date(t, "2026-03-02")))
	want := state.Recall{Reason: "needed at bay 2", By: date(t, "2026-03-02"), Day: date(t, "2026-03-02")}
	if got := b.sling(id).Loan.Recall; got != want {
		t.Errorf("%+v", got)
	}
	b.must(b.Place(ctx, b.as(b.attendant, ""), b.seen(id), "", ""))
	if s := b.sling(id); s.Loan.Area != "" || s.Loan.Recall != want {
		t.Errorf("%+v", s.Loan)
	}
	in, _ := b.tagged("NS-0418")
	b.refused2(b.Recall(ctx, b.as(b.keeper, ""), b.seen(in), "needed", quantity.Date{}))(gate.NotNow)
	b.refused2(b.Place(ctx, b.as(b.keeper, ""), b.seen(in), "press 4", ""))(gate.NotNow)
}

// A sling that is out is inspected and gets its tag where it is, and stays out; one
// that does not pass is held as soon as it is back.
func TestInspectedWhileOut(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	id := b.gone("NS-0417")
	b.inspected(id, "2026-03-02", tagcode.Fit)
	if s := b.sling(id); s.Details.Sling.State != gate.StateOut || s.Details.Sling.Due != date(t, "2027-03-02") || s.Loan.Rigger != b.rigger || s.Hold.Reason != "" {
		t.Fatalf("%v, due %v, with %v, %q", s.Details.Sling.State, s.Details.Sling.Due, s.Loan.Rigger, s.Hold.Reason)
	}
	text := b.printTag(id)
	b.must(b.Confirm(ctx, b.as(b.attendant, ""), Reading{Text: text, Way: Scanner, Typed: "0417"}, id))
	if b.state(id) != gate.StateOut {
		t.Error("hanging its tag on brought it back")
	}
	b.inspected(id, "2026-03-02", tagcode.Out)
	if s := b.sling(id); s.Details.Sling.State != gate.StateOut || s.Hold.Reason == "" {
		t.Fatalf("not passed: %v %q", s.Details.Sling.State, s.Hold.Reason)
	}
	o := b.must(b.TakeIn(ctx, b.as(b.attendant, ""), Reading{Text: text, Way: Scanner}))
	if b.state(id) != gate.StateHeld || !slices.Contains(o.Codes, gate.Held) {
		t.Errorf("taken in: %v %v", b.state(id), o.Codes)
	}
}

// An inspection that passes a sling is more than the return check it waited for.
func TestInspectedBeforeItsCheck(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	for i, row := range []struct {
		outcome tagcode.Outcome
		want    gate.State
	}{{tagcode.Fit, gate.StateIn}, {tagcode.Hold, gate.StateHeld}} {
		id, text := b.tagged(fmt.Sprintf("NS-0%d", 100+i))
		b.out(id, text)
		b.must(b.TakeIn(ctx, b.as(b.attendant, ""), Reading{Text: text, Way: Scanner}))
		b.inspected(id, "2026-03-02", row.outcome)
		if got := b.state(id); got != row.want {
			t.Errorf("%v: %v", row.outcome, got)
		}
	}
}

// Of two who hand the same sling on at the same time, one does, and the other is
// told.
func TestHandOnRace(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	var to []event.PersonID
	for n := range 6 {
		id, err := b.AddPerson(ctx, b.as(b.keeper, ""), event.PersonAdded{Name: fmt.Sprintf("R. %d", n), Roles: event.Rigger})
		if err != nil {
			t.Fatal(err)
		}
		to = append(to, id)
	}
	id := b.gone("NS-0417")
	seen := b.seen(id)
	done := make([]bool, len(to))
	var all sync.WaitGroup
	for n := range to {
		all.Go(func() {
			o, err := b.HandOn(ctx, b.as(b.attendant, ""), seen, Handover{To: to[n], SameUse: true})
			if err != nil || !o.May && !slices.Contains(o.Codes, gate.ChangedMeanwhile) {
				t.Errorf("%v %v", o.Codes, err)
			}
			done[n] = o.May
		})
	}
	all.Wait()
	won := slices.Index(done, true)
	if won < 0 || slices.Contains(done[won+1:], true) || b.sling(id).Loan.Rigger != to[won] {
		t.Errorf("won: %v", done)
	}
}

// Whatever is done with a sling that is out, it stays out and with somebody until it
// is taken back, and once it is wanted back it never goes to anybody else.
func TestAwayProperty(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	riggers := []event.PersonID{b.rigger, b.second()}
	crib, err := b.st.Crib(ctx)
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	rapid.Check(t, func(r *rapid.T) {
		n++
		id := b.gone(fmt.Sprintf("A-%04d", n))
		for range rapid.IntRange(1, 10).Draw(r, "steps") {
			before := b.sling(id)
			wanted, err := Wanted(before, crib, date(t, "2026-03-02"))
			if err != nil {
				r.Fatal(err)
			}
			var o Outcome
			step := rapid.SampledFrom([]string{"hand on", "place", "recall", "hold", "inspect"}).Draw(r, "step")
			switch step {
			case "hand on":
				o, err = b.HandOn(ctx, b.as(b.attendant, ""), b.seen(id), Handover{
					To: rapid.SampledFrom(riggers).Draw(r, "to"), SameUse: rapid.Bool().Draw(r, "same")})
				if o.May && len(wanted) > 0 {
					r.Fatalf("handed on although %v", wanted)
				}
			case "place":
				_, err = b.Place(ctx, b.as(b.attendant, ""), b.seen(id), rapid.SampledFrom([]string{"", "press 4", "bay 2"}).Draw(r, "area"), "")
			case "recall":
				_, err = b.Recall(ctx, b.as(b.attendant, ""), b.seen(id), "needed", quantity.Date{})
			case "hold":
				_, err = b.Hold(ctx, b.as(b.attendant, ""), b.seen(id), "a gouge")
			case "inspect":
				_, err = b.Inspect(ctx, b.as(b.inspector, ""), b.seen(id), Inspection{Date: date(t, "2026-03-02"), Service: due.Normal, RatingTag: gate.TagLegible,
					Outcome: rapid.SampledFrom([]tagcode.Outcome{tagcode.Fit, tagcode.Hold}).Draw(r, "outcome")})
			}
			if err != nil {
				r.Fatal(err)
			}
			now := b.sling(id)
			if now.Details.Sling.State != gate.StateOut || now.Loan.Rigger.IsZero() || now.Loan.ReturnBy != before.Loan.ReturnBy {
				r.Fatalf("%s: %v, %+v", step, now.Details.Sling.State, now.Loan)
			}
			if now.Loan.Rigger != before.Loan.Rigger && step != "hand on" {
				r.Fatalf("%s: gave it to somebody else", step)
			}
			still, err := Wanted(now, crib, date(t, "2026-03-02"))
			if err != nil || len(wanted) > 0 && len(still) == 0 && step != "inspect" {
				r.Fatalf("%s: it was wanted back, %v, and is not any more: %v", step, wanted, err)
			}
		}
	})
}

// A sling that is out and would not be released today, such as one whose chain failed
// by a sheet of which that was not known when it went out, is wanted back.
func TestWhatWouldNotBeReleasedIsWanted(t *testing.T) {
	chain := event.Piece{Chain: true, Leg: 1}
	for _, c := range []struct {
		why  string
		make func(*state.Sling)
		want []gate.Reason
	}{
		{"nothing", func(*state.Sling) {}, nil},
		{"its chain failed", func(s *state.Sling) { s.Failed = []event.Piece{chain} }, []gate.Reason{gate.NotPassed}},
		{"not inspected since its repair", func(s *state.Sling) { s.Mended.Day = s.Details.Sling.Inspected }, []gate.Reason{gate.RepairUninspected}},
		{"at a repairer's", func(s *state.Sling) { s.Repair.To, s.Failed = "the maker", []event.Piece{chain} }, []gate.Reason{gate.AtRepairer}},
	} {
		b := newBench(t, nil)
		s := b.sling(b.gone("NS-0417"))
		c.make(&s)
		crib, err := b.st.Crib(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		if got, err := Wanted(s, crib, date(t, "2026-03-02")); err != nil || !slices.Equal(got, c.want) {
			t.Errorf("%s: %v %v, want %v", c.why, got, err, c.want)
		}
	}
}
