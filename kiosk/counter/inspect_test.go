package counter

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/removal"
	"cribgate/core/tagcode"
	"cribgate/store"
)

// figure gives a dimension of a new part from a drawing.
func figure(d event.Dimension, what removal.What, leg int, value quantity.Length, links int64) event.Figure {
	return event.Figure{Of: event.FigureOf{Dimension: d, What: what, Leg: leg}, Value: value, Links: links, Basis: event.FromMaker, Source: "drawing 12"}
}

// wholeFigures are those of the sling of details: two legs, a master link.
func wholeFigures() (list []event.Figure) {
	for leg := 1; leg <= 2; leg++ {
		list = append(list, figure(event.RunLength, 0, leg, 330_000, 11), figure(event.Throat, 0, leg, 28_000, 0), figure(event.Section, 0, leg, 20_000, 0))
	}
	return append(list, figure(event.Thickness, removal.Master, 0, 16_000, 0))
}

// soundFound is what is found of it when nothing is worn. The figures of new parts in
// it are wrong: nobody is to look at them.
func soundFound() removal.Found {
	var f removal.Found
	for leg := 1; leg <= 2; leg++ {
		f.Links = append(f.Links, removal.Link{Leg: leg, At: 4, D1: 10_000, D2: 9_900})
		f.Runs = append(f.Runs, removal.Run{Leg: leg, Links: 11, New: removal.MaxLength, Length: 330_300})
		f.Hooks = append(f.Hooks, removal.Hook{Leg: leg, ThroatNew: removal.MaxLength, Throat: 28_000, SectionNew: 1, Section: 19_900, Latch: removal.LatchGood})
	}
	f.Parts = []removal.Part{{What: removal.Master, New: 1, Thinnest: 15_900}}
	return f
}

func (b *bench) sheeted(change func(*Inspection)) Inspection {
	i := Inspection{Date: date(b.t, "2026-03-02"), Service: due.Normal, RatingTag: gate.TagLegible, Note: "hung and rolled",
		Sheet: &Sheet{Found: soundFound(), Regime: event.Periodic, Decision: event.DecidedFit, Method: "seen and measured"}}
	if change != nil {
		change(&i)
	}
	return i
}

func (b *bench) registered(ident string) event.SlingID {
	b.t.Helper()
	o, err := b.Register(context.Background(), b.as(b.keeper, ""), b.details(ident))
	return b.must(o, err).Sling.ID
}

func (b *bench) withFigures(ident string) event.SlingID {
	b.t.Helper()
	id := b.registered(ident)
	b.must(b.SetFigures(context.Background(), b.as(b.inspector, ""), b.seen(id), wholeFigures()))
	return id
}

// A sheet is judged in the act, by what the record says of the new parts; a decision
// is as grave as that or graver; the next inspection is never later than the rules ask.
func TestInspectBySheet(t *testing.T) {
	const open, worn, bent = 28_000 * 106 / 100, 8_600, 6 * quantity.Degree
	for _, c := range []struct {
		why     string
		change  func(*Inspection)
		want    error
		outcome tagcode.Outcome
		due     string
		state   gate.State
		used    int
	}{
		{"sound and fit", nil, nil, tagcode.Fit, "2027-03-02", gate.StateIn, 76},
		{"sound, and held all the same", func(i *Inspection) { i.Sheet.Decision = event.DecidedHold }, nil, tagcode.Hold, "2027-03-02", gate.StateHeld, 76},
		{"the outcome of the page is not looked at", func(i *Inspection) { i.Outcome, i.Sheet.Decision = tagcode.Fit, event.DecidedOut }, nil, tagcode.Out, "2027-03-02", gate.StateHeld, 76},
		{"sooner", func(i *Inspection) { i.Sheet.Decision, i.Sheet.Due = event.DecidedShorter, date(t, "2026-09-01") }, nil, tagcode.Fit, "2026-09-01", gate.StateIn, 76},
		{"sooner, and no day", func(i *Inspection) { i.Sheet.Decision = event.DecidedShorter }, ErrDue, 0, "", 0, 0},
		{"a day, and not sooner", func(i *Inspection) { i.Sheet.Due = date(t, "2026-09-01") }, ErrDue, 0, "", 0, 0},
		{"sooner on the very day", func(i *Inspection) { i.Sheet.Decision, i.Sheet.Due = event.DecidedShorter, date(t, "2027-03-02") }, ErrDue, 0, "", 0, 0},
		{"later", func(i *Inspection) { i.Sheet.Decision, i.Sheet.Due = event.DecidedShorter, date(t, "2027-04-01") }, ErrDue, 0, "", 0, 0},
		{"today", func(i *Inspection) { i.Sheet.Decision, i.Sheet.Due = event.DecidedShorter, date(t, "2026-03-02") }, ErrDue, 0, "", 0, 0},
		{"a defect becomes dangerous before the next (LOLER schedule 1)", func(i *Inspection) { i.Sheet.Danger = date(t, "2026-06-01") }, nil, tagcode.Fit, "2026-06-01", gate.StateIn, 76},
		{"severe", func(i *Inspection) { i.Service, i.Months = due.Severe, 2 }, nil, tagcode.Fit, "2026-05-02", gate.StateIn, 76},
		{"a tip twisted by 6°: held, and fit", func(i *Inspection) { i.Sheet.Found.Hooks[0].Twist = bent }, ErrMilder, 0, "", 0, 0},
		{"held, and held", func(i *Inspection) { i.Sheet.Found.Hooks[0].Twist, i.Sheet.Decision = bent, event.DecidedHold }, nil, tagcode.Hold, "2027-03-02", gate.StateHeld, 2000},
		{"held, and shorter", func(i *Inspection) {
			i.Sheet.Found.Hooks[0].Twist, i.Sheet.Decision, i.Sheet.Due = bent, event.DecidedShorter, date(t, "2026-04-01")
		}, ErrMilder, 0, "", 0, 0},
		{"an open throat: out, and held", func(i *Inspection) { i.Sheet.Found.Hooks[1].Throat, i.Sheet.Decision = open, event.DecidedHold }, ErrMilder, 0, "", 0, 0},
		{"out, and to the repairer", func(i *Inspection) { i.Sheet.Found.Hooks[1].Throat, i.Sheet.Decision = open, event.DecidedRepair }, nil, tagcode.Hold, "2027-03-02", gate.StateHeld, 1200},
		{"out, and out", func(i *Inspection) { i.Sheet.Found.Links[0].D2, i.Sheet.Decision = worn, event.DecidedOut }, nil, tagcode.Out, "2027-03-02", gate.StateHeld, 1068},
		{"nothing measured", func(i *Inspection) { i.Sheet.Found = removal.Found{} }, ErrMilder, 0, "", 0, 0},
		{"a leg without a run", func(i *Inspection) { i.Sheet.Found.Runs = i.Sheet.Found.Runs[:1] }, ErrMilder, 0, "", 0, 0},
		{"the maker's tag is missing", func(i *Inspection) { i.RatingTag = gate.TagMissing }, ErrMilder, 0, "", 0, 0},
		{"the maker's tag cannot be read, out", func(i *Inspection) { i.RatingTag, i.Sheet.Decision = gate.TagIllegible, event.DecidedOut }, nil, tagcode.Out, "2027-03-02", gate.StateHeld, 76},
		{"a third leg", func(i *Inspection) { i.Sheet.Found.Links[0].Leg = 3 }, removal.ErrQuestion, 0, "", 0, 0},
		{"no decision", func(i *Inspection) { i.Outcome, i.Sheet.Decision = tagcode.Fit, "" }, ErrInspection, 0, "", 0, 0},
		{"tomorrow", func(i *Inspection) { i.Date = date(t, "2026-03-03") }, ErrInspection, 0, "", 0, 0},
	} {
		t.Run(c.why, func(t *testing.T) {
			b := newBench(t, nil)
			id := b.withFigures("NS-0417")
			i := b.sheeted(c.change)
			o, err := b.Inspect(context.Background(), b.as(b.inspector, ""), b.seen(id), i)
			if c.want != nil {
				if !errors.Is(err, c.want) || b.sling(id).Wear != nil {
					t.Fatalf("%+v %v", o, err)
				}
				return
			}
			s := b.must(o, err).Sling
			if s.Details.Outcome != c.outcome || s.Details.Sling.Due != date(t, c.due) || s.Details.Sling.State != c.state || len(s.Wear) != 1 || s.Wear[0].Used != c.used {
				t.Errorf("%+v %+v", s.Details, s.Wear)
			}
			sheet := b.lastSheet(id)
			q, err := removal.ParseQuestion([]byte(sheet.Verdict.Question))
			if err != nil || q.Found.Runs[0].New != 330_000 || q.Found.Hooks[0].ThroatNew != 28_000 || q.Found.Hooks[0].SectionNew != 20_000 || q.Found.Parts[0].New != 16_000 {
				t.Errorf("%s: %v", sheet.Verdict.Question, err)
			}
			a, err := removal.Assess(q)
			if text, _ := a.MarshalJSON(); err != nil || string(text) != sheet.Verdict.Answer || sheet.Verdict.Edition != gate.RulesEdition {
				t.Errorf("%s: %v", sheet.Verdict.Answer, err)
			}
			if i.RatingTag == gate.TagIllegible && !strings.Contains(sheet.Verdict.Question, "rating-tag-illegible") {
				t.Error(sheet.Verdict.Question)
			}
		})
	}
}

func (b *bench) lastSheet(id event.SlingID) *event.Sheet {
	b.t.Helper()
	story, err := b.st.Story(context.Background(), event.Sling(id))
	if err != nil {
		b.t.Fatal(err)
	}
	return story[len(story)-1].Body.(event.Inspected).Sheet
}

// A sling that was measured and did not pass is not passed by a result without its
// sheet; nor is one whose stamp its chain cannot carry, by any; nor one that is away.
func TestInspectIsNotWalkedRound(t *testing.T) {
	ctx := context.Background()
	b := newBench(t, nil)
	id := b.withFigures("NS-0417")
	inspect := func(id event.SlingID, change func(*Inspection)) (Outcome, error) {
		return b.Inspect(ctx, b.as(b.inspector, ""), b.seen(id), b.sheeted(change))
	}
	b.must(inspect(id, func(i *Inspection) { i.Sheet.Decision = event.DecidedHold }))
	if _, err := inspect(id, func(i *Inspection) { i.Sheet, i.Outcome = nil, tagcode.Fit }); !errors.Is(err, ErrUnmeasured) {
		t.Errorf("a result without a sheet: %v", err)
	}
	b.must(inspect(id, func(i *Inspection) { i.Sheet, i.Outcome = nil, tagcode.Out }))
	b.now = b.now.Add(20 * time.Hour) // another day's result without a sheet makes nothing of it
	today := func(i *Inspection) { i.Date = i.Date.AddDays(1) }
	b.must(inspect(id, func(i *Inspection) { today(i); i.Sheet, i.Outcome = nil, tagcode.Hold }))
	if _, err := inspect(id, func(i *Inspection) { today(i); i.Sheet, i.Outcome = nil, tagcode.Fit }); !errors.Is(err, ErrUnmeasured) {
		t.Errorf("a result without a sheet after one that held it: %v", err)
	}
	b.must(inspect(id, today))
	if s := b.sling(id); s.Details.Outcome != tagcode.Fit || s.Details.Sling.State != gate.StateHeld {
		t.Errorf("measured and fit: %+v", s.Details)
	}

	d := b.details("NS-0500")
	d.Sling.Stamped[0].Load = 20_000 * quantity.Pound // US OSHA, Guidance on Safe Sling Use, table 1: 12,300 lb
	o, err := b.Register(ctx, b.as(b.keeper, ""), d)
	stamped := b.must(o, err).Sling.ID
	b.must(b.SetFigures(ctx, b.as(b.inspector, ""), b.seen(stamped), wholeFigures()))
	o, err = inspect(stamped, nil)
	b.refused(o, err, gate.StampTooHigh)
	b.must(inspect(stamped, func(i *Inspection) { i.Sheet.Decision = event.DecidedRepair }))

	story := b.seen(id)
	if _, err := b.st.Do(ctx, store.Act{By: b.inspector, Station: "bench", Way: "hand"}, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		_, err := tx.Append(ctx, event.Sling(id), story.Heads, event.SentOff{To: "the maker", Why: "hook"})
		return nil, err
	}); err != nil {
		t.Fatal(err)
	}
	o, err = inspect(id, today)
	b.refused(o, err, gate.NotNow)
}

// Who may give which figures, and which can be.
func TestSetFigures(t *testing.T) {
	ctx := context.Background()
	b := newBench(t, nil)
	id := b.registered("NS-0417")
	reference := figure(event.Throat, 0, 1, 28_000, 0)
	reference.Basis = event.FromReference
	none := figure(event.Throat, 0, 1, 28_000, 0)
	none.Source = "  "
	for _, c := range []struct {
		why     string
		who     event.PersonID
		figures []event.Figure
		bad     bool
		codes   []gate.Reason
	}{
		{"the keeper, off a drawing", b.keeper, wholeFigures(), false, nil},
		{"the inspector, on a sound part", b.inspector, []event.Figure{reference}, false, nil},
		{"the keeper, on a sound part", b.keeper, []event.Figure{reference}, false, []gate.Reason{gate.RoleNotAllowed}},
		{"an attendant", b.attendant, wholeFigures(), false, []gate.Reason{gate.RoleNotAllowed}},
		{"none", b.inspector, nil, true, nil},
		{"without a source", b.inspector, []event.Figure{none}, true, nil},
		{"twice", b.inspector, []event.Figure{reference, reference}, true, nil},
		{"of no leg of it", b.inspector, []event.Figure{figure(event.Throat, 0, 3, 28_000, 0)}, true, nil},
		{"a master of one leg", b.inspector, []event.Figure{figure(event.Thickness, removal.Master, 1, 28_000, 0)}, true, nil},
		{"too many", b.inspector, slices.Repeat(wholeFigures(), 10), true, nil},
	} {
		o, err := b.SetFigures(ctx, b.as(c.who, ""), b.seen(id), c.figures)
		switch {
		case c.bad:
			if !errors.Is(err, ErrFigures) {
				t.Errorf("%s: %v", c.why, err)
			}
		case c.codes != nil:
			b.refused(o, err, c.codes...)
		default:
			b.must(o, err)
		}
	}
	s := b.sling(id)
	if n := NewOf(s, event.FigureOf{Dimension: event.Throat, Leg: 1}); len(s.New) != 7 || n.By != b.inspector || n.Basis != event.FromReference {
		t.Errorf("%+v", s.New)
	}
	// A run of other links than on record is held against its share, rounded down.
	q := SheetQuestion(s, removal.Found{Runs: []removal.Run{{Leg: 1, Links: 7, New: 1, Length: 210_000}}})
	if q.Found.Runs[0].New != 210_000 || q.Sling != (removal.Sling{Grade: rating.Grade80, Size: s.Details.Sling.Size, Legs: 2}) {
		t.Errorf("%+v", q)
	}
}

// What failed and was not put in anew bars the way out until it is measured again,
// whatever else was: by a word of an inspector, of an examiner, by a correction.
func TestWhatWasNotChangedIsMeasuredAgain(t *testing.T) {
	ctx := context.Background()
	b := newBench(t, nil)
	as := b.as(b.inspector, "")
	hook := func(leg int) event.Piece { return event.Piece{Hook: true, Leg: leg} }
	repaired := func(ident string, changed ...event.Piece) event.SlingID {
		id := b.withFigures(ident)
		b.must(b.Inspect(ctx, as, b.seen(id), b.sheeted(func(i *Inspection) {
			i.Sheet.Found.Hooks[0].Throat, i.Sheet.Found.Hooks[1].Throat, i.Sheet.Decision = 30_000, 30_000, event.DecidedRepair
		})))
		if s := b.sling(id); !slices.Equal(s.Failed, []event.Piece{hook(1), hook(2)}) {
			t.Fatalf("two hooks are open: %+v", s.Failed)
		}
		b.must(b.SendOff(ctx, as, b.seen(id), event.SentOff{To: "the maker", Why: "both hooks"}))
		b.must(b.ComeBack(ctx, as, b.seen(id), event.CameBack{Certificate: "R-17", Changed: changed}, ""))
		return id
	}
	fit := Inspection{Date: date(t, "2026-03-02"), Outcome: tagcode.Fit, Service: due.Normal, RatingTag: gate.TagLegible}

	one := repaired("NS-0417", hook(1))
	if _, err := b.Inspect(ctx, as, b.seen(one), fit); !errors.Is(err, ErrUnmeasured) {
		t.Errorf("the hook of leg 2 failed and is there still: %v", err)
	}
	visit, err := b.BeginVisit(ctx, as, event.VisitBegun{Examiner: "E. Examiner", Firm: "F", Qualification: "Q"})
	if err != nil {
		t.Fatal(err)
	}
	passes := Examination{Visit: visit, Date: fit.Date, RatingTag: gate.TagLegible}
	if _, err := b.Examine(ctx, as, b.seen(one), passes); !errors.Is(err, ErrUnmeasured) {
		t.Errorf("an examiner: %v", err)
	}
	d := b.sling(one).Details
	d.Outcome = tagcode.Fit
	b.refused2(b.Correct(ctx, as, b.seen(one), event.Corrected{Details: d, Reason: "it is fine"}))(gate.NotPassed)
	b.refused2(b.Release(ctx, as, b.seen(one), "repaired"))(gate.RepairUninspected)
	b.must(b.SetFigures(ctx, as, b.seen(one), wholeFigures()))
	b.must(b.Inspect(ctx, as, b.seen(one), b.sheeted(nil)))
	b.must(b.Release(ctx, as, b.seen(one), "measured"))

	both := repaired("NS-0418", hook(1), hook(2))
	b.must(b.Inspect(ctx, as, b.seen(both), fit))
	b.must(b.Release(ctx, as, b.seen(both), "both hooks are new"))
}

// A sheet that does not measure what failed before does not pass the sling: the same
// coupler worn, then left empty, then without a figure of the new one, then put in anew.
func TestWhatFailedIsMeasured(t *testing.T) {
	ctx := context.Background()
	b := newBench(t, nil)
	as := b.as(b.inspector, "")
	id := b.withFigures("NS-0417")
	coupler := event.Piece{What: removal.Coupler, Leg: 1}
	b.must(b.SetFigures(ctx, as, b.seen(id), []event.Figure{figure(event.Thickness, removal.Coupler, 1, 10_000, 0)}))
	sheet := func(thinnest quantity.Length, d event.Decision) (Outcome, error) {
		return b.Inspect(ctx, as, b.seen(id), b.sheeted(func(i *Inspection) {
			i.Sheet.Decision = d
			if thinnest > 0 {
				i.Sheet.Found.Parts = append(i.Sheet.Found.Parts, removal.Part{What: removal.Coupler, Leg: 1, Thinnest: thinnest})
			}
		}))
	}
	b.must(sheet(8_000, event.DecidedOut)) // EN 818-6: nine tenths are left
	_, err := sheet(0, event.DecidedFit)
	if not, ok := errors.AsType[*UnmeasuredError](err); !ok || !errors.Is(err, ErrUnmeasured) || !slices.Equal(not.Pieces, []event.Piece{coupler}) {
		t.Fatalf("the coupler was worn, and is not measured: %v", err)
	}
	b.must(sheet(0, event.DecidedHold)) // which it always may be
	b.refused2(b.Release(ctx, as, b.seen(id), "measured"))(gate.NotPassed)
	b.must(b.SendOff(ctx, as, b.seen(id), event.SentOff{To: "the maker", Why: "coupler"}))
	b.must(b.ComeBack(ctx, as, b.seen(id), event.CameBack{Certificate: "R-17", Changed: []event.Piece{coupler}}, ""))
	b.must(sheet(9_900, event.DecidedHold)) // nobody knows what the new one measured
	if s := b.sling(id); !slices.Contains(s.Failed, coupler) {
		t.Fatalf("%+v", s.Failed)
	}
	if _, err := sheet(0, event.DecidedFit); !errors.Is(err, ErrUnmeasured) {
		t.Errorf("what nobody could judge is not measured: %v", err)
	}
	b.must(b.SetFigures(ctx, as, b.seen(id), []event.Figure{figure(event.Thickness, removal.Coupler, 1, 10_000, 0)}))
	b.must(sheet(9_900, event.DecidedFit))
	b.must(b.Release(ctx, as, b.seen(id), "measured"))
}

// What somebody put in the place of what was measured by a slip of the pen comes off
// again with it, and its hold stays: an examiner's word, and a correction of the record.
func TestASlipOfThePenComesOff(t *testing.T) {
	ctx := context.Background()
	b := newBench(t, nil)
	id := b.withFigures("NS-0417")
	b.must(b.Inspect(ctx, b.as(b.inspector, ""), b.seen(id), b.sheeted(func(i *Inspection) { i.Date = date(t, "2026-03-01") })))
	e := Examination{Visit: b.visits(nil), Date: date(t, "2026-03-02"), RatingTag: gate.TagLegible, Defects: []event.Defect{{What: "crack"}}}
	b.must(b.Examine(ctx, b.as(b.keeper, ""), b.seen(id), e))
	b.refused2(b.Release(ctx, b.as(b.inspector, ""), b.seen(id), "another sling"))(gate.NotPassed)
	e.Defects, e.Corrects = nil, true
	b.must(b.Examine(ctx, b.as(b.keeper, ""), b.seen(id), e))
	b.must(b.Release(ctx, b.as(b.inspector, ""), b.seen(id), "another sling"))

	read := func(o tagcode.Outcome, inspected string) (Outcome, error) {
		d := b.sling(id).Details
		d.Outcome, d.Sling.Inspected = o, date(t, inspected)
		return b.Correct(ctx, b.as(b.inspector, ""), b.seen(id), event.Corrected{Details: d, Reason: "another sheet"})
	}
	b.must(read(tagcode.Out, "2026-03-02"))
	b.refused2(read(tagcode.Fit, "2026-03-01"))(gate.NotPassed)
	b.must(read(tagcode.Fit, "2026-03-02"))
	if s := b.sling(id); s.Details.Sling.State != gate.StateHeld || len(s.Failed) != 0 {
		t.Errorf("put back: %s, %+v", s.Details.Sling.State, s.Failed)
	}
	b.must(b.Release(ctx, b.as(b.inspector, ""), b.seen(id), "another sheet"))
}
