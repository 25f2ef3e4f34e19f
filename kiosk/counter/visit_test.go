package counter

import (
	"context"
	"errors"
	"slices"
	"testing"
	"time"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/removal"
	"cribgate/core/state"
	"cribgate/core/tagcode"
)

func anExaminer() event.VisitBegun {
	return event.VisitBegun{Examiner: "X. Aminer", Firm: "North examiners", Qualification: "lifting gear, level 2"}
}

func (b *bench) visits(change func(*event.VisitBegun)) event.VisitID {
	b.t.Helper()
	begun := anExaminer()
	if change != nil {
		change(&begun)
	}
	id, err := b.BeginVisit(context.Background(), b.as(b.keeper, ""), begun)
	if err != nil {
		b.t.Fatal(err)
	}
	return id
}

// The day of an examination and of what follows from it, on both sides of each limit.
// Today is 2 March 2026; the last inspection was on 10 November 2025; normal service
// by the US rules is 12 months (29 CFR 1910.184(e)(3)).
func TestExamineBySaid(t *testing.T) {
	day := func(text string) quantity.Date { return date(t, text) }
	defect := func(what, by string) event.Defect {
		d := event.Defect{What: what}
		if by != "" {
			d.By = day(by)
		}
		return d
	}
	for _, c := range []struct {
		why     string
		change  func(*Examination)
		want    error
		due     string
		state   gate.State
		defects int
		outcome tagcode.Outcome
	}{
		{"passed, due as the rules ask", nil, nil, "2027-03-02", gate.StateIn, 0, tagcode.Fit},
		{"due on the rules' day", func(e *Examination) { e.Due = day("2027-03-02") }, nil, "2027-03-02", gate.StateIn, 0, tagcode.Fit},
		{"due a day later", func(e *Examination) { e.Due = day("2027-03-03") }, ErrDue, "", 0, 0, 0},
		{"due sooner", func(e *Examination) { e.Due = day("2026-09-02") }, nil, "2026-09-02", gate.StateIn, 0, tagcode.Fit},
		{"due tomorrow", func(e *Examination) { e.Due = day("2026-03-03") }, nil, "2026-03-03", gate.StateIn, 0, tagcode.Fit},
		{"due on the day itself", func(e *Examination) { e.Due = day("2026-03-02") }, ErrDue, "", 0, 0, 0},
		{"tomorrow", func(e *Examination) { e.Date = day("2026-03-03") }, ErrInspection, "", 0, 0, 0},
		{"no day", func(e *Examination) { e.Date = quantity.Date{} }, ErrInspection, "", 0, 0, 0},
		{"on the day of the last inspection", func(e *Examination) { e.Date = day("2025-11-10") }, nil, "2026-11-10", gate.StateIn, 0, tagcode.Fit},
		{"the day before it", func(e *Examination) { e.Date = day("2025-11-09") }, ErrInspection, "", 0, 0, 0},
		{"a defect to be remedied", func(e *Examination) { e.Defects = []event.Defect{defect("latch", "2026-03-03")} }, nil, "2027-03-02", gate.StateIn, 1, tagcode.Fit},
		{"remedied on the day itself", func(e *Examination) { e.Defects = []event.Defect{defect("latch", "2026-03-02")} }, ErrDefect, "", 0, 0, 0},
		{"a defect without words", func(e *Examination) { e.Defects = []event.Defect{defect(" ", "")} }, ErrNeeded, "", 0, 0, 0},
		{"dangerous now", func(e *Examination) {
			e.Defects, e.Due = []event.Defect{defect("latch", "2026-04-01"), defect("crack", "")}, day("2030-01-01")
		}, nil, "2026-11-10", gate.StateHeld, 2, tagcode.Hold},
		{"the rating tag was not looked at", func(e *Examination) { e.RatingTag = 0 }, ErrNeeded, "", 0, 0, 0},
		{"the rating tag is missing", func(e *Examination) { e.RatingTag = gate.TagMissing }, nil, "2027-03-02", gate.StateIn, 0, tagcode.Fit},
		{"in another visit", func(e *Examination) { e.Visit[0]++ }, ErrNoVisit, "", 0, 0, 0},
		{"in no visit", func(e *Examination) { e.Visit = event.VisitID{} }, ErrNoVisit, "", 0, 0, 0},
		{"corrects nothing", func(e *Examination) { e.Corrects = true }, ErrExaminedOnce, "", 0, 0, 0},
	} {
		t.Run(c.why, func(t *testing.T) {
			b := newBench(t, nil)
			id := b.registered("NS-0417")
			e := Examination{Visit: b.visits(nil), Date: day("2026-03-02"), RatingTag: gate.TagLegible}
			if c.change != nil {
				c.change(&e)
			}
			o, err := b.Examine(context.Background(), b.as(b.inspector, ""), b.seen(id), e)
			if c.want != nil {
				if !errors.Is(err, c.want) || b.recorded(id, event.KindExamined) != 0 {
					t.Fatalf("%+v %v", o, err)
				}
				return
			}
			s := b.must(o, err).Sling
			if d := s.Details; d.Sling.Due != day(c.due) || d.Sling.State != c.state || d.Outcome != c.outcome || d.Sling.RatingTag != e.RatingTag || d.Sling.Inspected != e.Date || len(s.Defects) != c.defects || s.Doubt != 0 {
				t.Errorf("%+v %+v", d, s.Defects)
			}
		})
	}
}

// Who may; that it is once in a visit; and what a correction leaves.
func TestExamineOnceAndCorrect(t *testing.T) {
	ctx := context.Background()
	b := newBench(t, nil)
	visit := b.visits(nil)
	if _, err := b.BeginVisit(ctx, b.as(b.inspector, ""), anExaminer()); !errors.Is(err, ErrVisiting) {
		t.Errorf("a second visit: %v", err)
	}
	id := b.registered("NS-0417")
	e := Examination{Visit: visit, Date: date(t, "2026-03-02"), RatingTag: gate.TagLegible}
	examine := func(who event.PersonID, change func(*Examination)) (Outcome, error) {
		said := e
		if change != nil {
			change(&said)
		}
		return b.Examine(ctx, b.as(who, ""), b.seen(id), said)
	}
	for _, who := range []event.PersonID{b.attendant, b.rigger} {
		o, err := examine(who, nil)
		b.refused(o, err, gate.RoleNotAllowed)
	}
	bad := func(e *Examination) {
		e.Defects = []event.Defect{{What: "crack"}, {What: "latch", By: date(t, "2026-04-01")}}
	}
	b.must(examine(b.keeper, bad))
	if _, err := examine(b.keeper, nil); !errors.Is(err, ErrExaminedOnce) {
		t.Errorf("twice: %v", err)
	}
	corrected := func(e *Examination) { e.Corrects, e.Date = true, date(t, "2026-03-01") } // a day that is before the one that was a mistake
	s := b.must(examine(b.keeper, corrected)).Sling
	if len(s.Defects) != 0 || s.Details.Outcome != tagcode.Fit || s.Details.Sling.Due != date(t, "2027-03-01") || s.Details.Sling.State != gate.StateHeld || s.Doubt != 0 {
		t.Errorf("corrected: %+v %+v", s.Details, s.Defects)
	}
	if p, err := Present(ctx, b.st.Reader, visit); err != nil || len(p.Passed) != 1 || len(p.Defect) != 0 || len(p.Waiting) != 0 {
		t.Errorf("%+v %v", p, err)
	}
	b.must(b.Inspect(ctx, b.as(b.inspector, ""), b.seen(id), Inspection{Date: e.Date, Outcome: tagcode.Hold, Service: due.Normal, RatingTag: gate.TagLegible}))
	o, err := examine(b.keeper, corrected)
	b.refused(o, err, gate.NotNow) // an inspector has said something since
	if _, err := b.EndVisit(ctx, b.as(b.attendant, ""), visit, "R 1", nil, ""); !errors.Is(err, ErrRole) {
		t.Errorf("an attendant ends: %v", err)
	}
	if _, err := b.EndVisit(ctx, b.as(b.keeper, ""), visit, " ", nil, ""); !errors.Is(err, ErrNeeded) {
		t.Errorf("without a report: %v", err)
	}
	end, err := b.EndVisit(ctx, b.as(b.keeper, "end"), visit, "R 1", []event.Photo{{1}}, "")
	again, err2 := b.EndVisit(ctx, b.as(b.keeper, "end"), visit, "R 1", []event.Photo{{1}}, "")
	if err != nil || err2 != nil || end.Passed != 1 || again.Report != "R 1" {
		t.Errorf("%+v %v, %+v %v", end, err, again, err2)
	}
	if _, err := examine(b.keeper, corrected); !errors.Is(err, ErrNoVisit) {
		t.Errorf("after the end: %v", err)
	}
	b.pass(24 * time.Hour)
	next := b.visits(nil)
	o, err = examine(b.keeper, func(e *Examination) { e.Visit = next })
	if s := b.must(o, err).Sling; s.Details.Outcome != tagcode.Fit {
		t.Errorf("another visit: %+v", s.Details)
	}
}

// A sling that was measured and did not pass is not passed by an examiner's word
// either, also not by correcting one that made it worse first.
func TestExamineIsNoWayRound(t *testing.T) {
	ctx := context.Background()
	b := newBench(t, nil)
	id := b.withFigures("NS-0417")
	b.must(b.Inspect(ctx, b.as(b.inspector, ""), b.seen(id), b.sheeted(func(i *Inspection) {
		i.Date, i.Sheet.Decision, i.Sheet.Found.Hooks[0].Latch = date(t, "2026-03-01"), event.DecidedOut, removal.LatchMissing
	})))
	e := Examination{Visit: b.visits(nil), Date: date(t, "2026-03-02"), RatingTag: gate.TagLegible}
	if _, err := b.Examine(ctx, b.as(b.keeper, ""), b.seen(id), e); !errors.Is(err, ErrUnmeasured) {
		t.Errorf("passed: %v", err)
	}
	e.Defects = []event.Defect{{What: "latch"}}
	b.must(b.Examine(ctx, b.as(b.keeper, ""), b.seen(id), e))
	e.Defects, e.Corrects = nil, true
	if _, err := b.Examine(ctx, b.as(b.keeper, ""), b.seen(id), e); !errors.Is(err, ErrUnmeasured) {
		t.Errorf("passed by correcting: %v", err)
	}
}

// What is to be presented: in use, due before a day, at some places; what is out too.
func TestPresent(t *testing.T) {
	ctx := context.Background()
	b := newBench(t, nil)
	b.registered("AT-C4")
	out, text := b.tagged("OUT-0001")
	b.out(out, text)
	elsewhere := b.registered("AT-D1")
	b.hangs(elsewhere, "D1")
	gone := b.registered("GONE-01")
	b.must(b.Retire(ctx, b.as(b.inspector, ""), b.seen(gone), event.Retired{Reason: "worn", How: "cut"}))
	idents := func(p Presentation) (list []string) {
		for _, s := range p.Waiting {
			list = append(list, s.Details.Ident)
		}
		slices.Sort(list)
		return list
	}
	for _, c := range []struct {
		why    string
		change func(*event.VisitBegun)
		want   []string
	}{
		{"whatever is in use", nil, []string{"AT-C4", "AT-D1", "OUT-0001"}},
		{"due before the day on which they are", func(v *event.VisitBegun) { v.DueBefore = date(t, "2026-11-10") }, nil},
		{"due before the day after", func(v *event.VisitBegun) { v.DueBefore = date(t, "2026-11-11") }, []string{"AT-C4", "AT-D1", "OUT-0001"}},
		{"at a place", func(v *event.VisitBegun) { v.Places = []string{" d "} }, []string{"AT-D1"}},
	} {
		visit := b.visits(c.change)
		p, err := Present(ctx, b.st.Reader, visit)
		if got := idents(p); err != nil || !slices.Equal(got, c.want) {
			t.Errorf("%s: %v %v", c.why, got, err)
		}
		end, err := b.EndVisit(ctx, b.as(b.keeper, ""), visit, "R", nil, "")
		if err != nil || end.NotPresented != len(c.want) {
			t.Errorf("%s: %+v %v", c.why, end, err)
		}
	}
	if _, err := Present(ctx, b.st.Reader, event.VisitID{9}); !errors.Is(err, ErrNoVisit) {
		t.Error(err)
	}
	// One that is out stays out, and is wanted back where it did not pass.
	visit := b.visits(nil)
	s := b.must(b.Examine(ctx, b.as(b.keeper, ""), b.seen(out), Examination{Visit: visit, Date: date(t, "2026-03-02"), RatingTag: gate.TagLegible, Defects: []event.Defect{{What: "crack"}}})).Sling
	if s.Details.Sling.State != gate.StateOut || s.Hold == (state.Hold{}) {
		t.Errorf("%+v", s.Hold)
	}
}
