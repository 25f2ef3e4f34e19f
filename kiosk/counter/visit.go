package counter

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"strings"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/store"
)

// Errors of the acts of a visit.
var (
	// ErrVisiting reports a visit that is to begin while another one goes on.
	ErrVisiting = errors.New("counter: an examiner's visit goes on already")
	// ErrNoVisit reports a visit that does not go on, or not any more.
	ErrNoVisit = errors.New("counter: this visit does not go on")
	// ErrExaminedOnce reports a sling that is examined twice in a visit without
	// correcting, or corrected without having been examined.
	ErrExaminedOnce = errors.New("counter: a sling is examined once in a visit, and that may be corrected")
	// ErrDefect reports a defect that is neither dangerous now nor to be remedied by
	// a day after the examination.
	ErrDefect = errors.New("counter: a defect is dangerous now, or is remedied by a day after the examination")
)

// atVisit are the roles that write down what an examiner says.
const atVisit = event.Inspector | event.Keeper

// BeginVisit begins the visit of an examiner from outside: who that is and which
// slings are to be presented. One goes on at a time.
func (c *Counter) BeginVisit(ctx context.Context, who Who, b event.VisitBegun) (event.VisitID, error) {
	for _, text := range []struct {
		name string
		of   *string
	}{{"examiner", &b.Examiner}, {"firm", &b.Firm}, {"qualification", &b.Qualification}} {
		var err error
		if *text.of, err = needed("begin visit", text.name, *text.of); err != nil {
			return event.VisitID{}, err
		}
	}
	b.Places = placesOf(b.Places)
	request := append([]string{b.Examiner, b.Firm, b.Qualification, b.DueBefore.String()}, b.Places...)
	answer, err := c.store.Do(ctx, who.act("begin visit", request...), func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		if err := mustBe(ctx, tx, who, atVisit); err != nil {
			return nil, err
		}
		crib, err := tx.Crib(ctx)
		if err != nil {
			return nil, err
		}
		if !crib.Visit.Visit.IsZero() {
			return nil, ErrVisiting
		}
		if _, err := rand.Read(b.Visit[:]); err != nil {
			return nil, fmt.Errorf("name a visit: %w", err)
		}
		_, err = tx.Append(ctx, event.Crib(), crib.Heads, b)
		return []byte(b.Visit.String()), err
	})
	if err != nil {
		return event.VisitID{}, fmt.Errorf("counter: begin a visit: %w", err)
	}
	id, err := event.ParseVisitID(string(answer))
	if err != nil {
		return event.VisitID{}, fmt.Errorf("%w: it was done, and then: counter: begin a visit: %w", store.ErrUnknownOutcome, err)
	}
	return id, nil
}

// An Examination is what an examiner says of one sling.
type Examination struct {
	Visit     event.VisitID
	Date      quantity.Date
	Due       quantity.Date // by the examiner's report; zero: as the crib's rules ask; not looked at where a defect is dangerous now
	RatingTag gate.RatingTag
	Defects   []event.Defect // none: passed
	Note      string
	Corrects  bool // it takes the place of what was said of the sling in this visit before
}

// Examine records what an examiner says of a sling, once in a visit. It stands for a
// thorough inspection: a defect that is dangerous now holds the sling at once, and
// an earlier hold stays until an inspector releases it, also where it was the
// examination that is corrected which had held it. What had failed before the entry that
// is corrected is again what has; where something else was found out since, nothing is
// corrected, and the sling is passed by measuring it. The next inspection is due as the
// examiner says, never later than the crib's rules ask.
func (c *Counter) Examine(ctx context.Context, who Who, seen Seen, e Examination) (Outcome, error) {
	said := event.Examined{Visit: e.Visit, Date: e.Date, RatingTag: e.RatingTag, Note: strings.TrimSpace(e.Note)}
	for _, d := range e.Defects {
		var err error
		if d.What, err = needed("examine", "defect", d.What); err != nil {
			return Outcome{}, err
		}
		if !d.By.IsZero() && !d.By.After(e.Date) {
			return Outcome{}, fmt.Errorf("%w: %s", ErrDefect, d.By)
		}
		said.Defects = append(said.Defects, d)
	}
	if e.RatingTag == 0 {
		return Outcome{}, fmt.Errorf("%w: examine: rating tag", ErrNeeded)
	}
	request := fmt.Sprintf("%+v %s %t", said, e.Due, e.Corrects)
	return c.onSlingEach(ctx, who, "examine", seen, atVisit, inUse(), func(tx *store.Tx, s state.Sling) ([]event.Body, []gate.Reason, error) {
		crib, err := tx.Crib(ctx)
		if err != nil {
			return nil, nil, err
		}
		if e.Visit.IsZero() || crib.Visit.Visit != e.Visit {
			return nil, nil, ErrNoVisit
		}
		was, err := inVisit(ctx, tx.Reader, s, e.Visit)
		if err != nil {
			return nil, nil, err
		}
		if was.done != e.Corrects {
			return nil, nil, ErrExaminedOnce
		}
		if was.later || s.Repair != (state.Repair{}) {
			return nil, []gate.Reason{gate.NotNow}, nil
		}
		if refused, err := dated(e.Date, was.before.Details.Sling.Inspected, tx.Clock()); err != nil || len(refused) > 0 {
			return nil, refused, err
		}
		if !said.Dangerous() {
			if unlooked(s, e.Date, tx.Today()) {
				return nil, []gate.Reason{gate.Unchecked}, nil
			}
			if len(was.before.Failed) > 0 {
				return nil, nil, ErrUnmeasured
			}
			if said.Due, err = dueBy(e, s.Details, crib.Founded.Rules); err != nil {
				return nil, nil, err
			}
		}
		return append(undone(s, e.Visit), said), nil, nil
	}, request)
}

// dueBy gives when a sling is next due that was examined: by the rules, or sooner.
func dueBy(e Examination, d event.Details, rules due.Rules) (quantity.Date, error) {
	next, err := due.Next(e.Date, d.Service, rules, d.Months)
	switch {
	case err != nil || e.Due.IsZero():
		return next, err
	case e.Due.After(next), !e.Due.After(e.Date):
		return quantity.Date{}, ErrDue
	}
	return e.Due, nil
}

// undone gives the events that take back the defects of an examination.
func undone(s state.Sling, visit event.VisitID) (list []event.Body) {
	for _, d := range s.Defects {
		if d.Visit == visit {
			list = append(list, event.Remedied{No: d.No, How: "written down by mistake at the visit; corrected"})
		}
	}
	return list
}

// visited is what became of a sling in a visit.
type visited struct {
	done   bool
	before state.Sling // before it was examined first, or now
	later  bool        // something else has been found out about it since
}

func inVisit(ctx context.Context, r store.Reader, s state.Sling, visit event.VisitID) (visited, error) {
	story, err := r.Story(ctx, event.Sling(s.ID))
	if err != nil {
		return visited{}, err
	}
	was := visited{before: s}
	var now state.Sling
	for _, rec := range story {
		b, examined := rec.Body.(event.Examined)
		switch {
		case examined && b.Visit == visit && !was.done:
			was.done, was.before = true, now
		case examined && b.Visit == visit:
			was.later = false
		case was.done:
			switch rec.Body.(type) {
			case event.Inspected, event.SentOff, event.CameBack, event.Examined:
				was.later = true
			}
		}
		if !was.done {
			now = now.Apply(rec.Event())
		}
	}
	return was, nil
}

// EndVisit ends a visit with the examiner's report: its number and its pages. How
// many slings passed, had a defect and were not presented the register counts.
func (c *Counter) EndVisit(ctx context.Context, who Who, visit event.VisitID, report string, pages []event.Photo, note string) (event.VisitEnded, error) {
	report, err := needed("end visit", "number of the report", report)
	if err != nil {
		return event.VisitEnded{}, err
	}
	note = strings.TrimSpace(note)
	answer, err := c.store.Do(ctx, who.act("end visit", visit.String(), report, fmt.Sprint(pages), note), func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		if err := mustBe(ctx, tx, who, atVisit); err != nil {
			return nil, err
		}
		crib, err := tx.Crib(ctx)
		if err != nil {
			return nil, err
		}
		if visit.IsZero() || crib.Visit.Visit != visit {
			return nil, ErrNoVisit
		}
		p, err := Present(ctx, tx.Reader, visit)
		if err != nil {
			return nil, err
		}
		b := event.VisitEnded{Visit: visit, Report: report, Pages: pages, Note: note, Passed: len(p.Passed), Defect: len(p.Defect), NotPresented: len(p.Waiting)}
		if _, err := tx.Append(ctx, event.Crib(), crib.Heads, b); err != nil {
			return nil, err
		}
		return event.Encode(b)
	})
	if err != nil {
		return event.VisitEnded{}, fmt.Errorf("counter: end a visit: %w", err)
	}
	b, err := event.Decode(event.KindVisitEnded, 1, answer)
	if err != nil {
		return event.VisitEnded{}, fmt.Errorf("%w: it was done, and then: counter: end a visit: %w", store.ErrUnknownOutcome, err)
	}
	return b.(event.VisitEnded), nil
}
