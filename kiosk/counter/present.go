package counter

import (
	"context"
	"fmt"
	"slices"
	"time"

	"cribgate/core/event"
	"cribgate/core/state"
	"cribgate/store"
)

// A Presentation is a visit of an examiner from outside, and how far it has come.
type Presentation struct {
	Begun   event.VisitBegun
	By      event.PersonID   // who began it
	Since   time.Time        // UTC
	Ended   event.VisitEnded // zero while it goes on
	EndedBy event.PersonID
	Until   time.Time

	Waiting []state.Sling // to be presented and not examined, as the register stands now, along the rack
	Passed  []Presented   // in the order in which they were examined
	Defect  []Presented   // with one defect at least
}

// A Presented is a sling that was examined.
type Presented struct {
	Sling state.Sling // as it is now
	event.Examined
	By event.PersonID // who wrote it down
}

// batch is how many entries of the register are read in one go.
const batch = 1000

// Present gives a visit; it is ErrNoVisit where there never was one. It reads what
// was recorded while the visit went on.
func Present(ctx context.Context, r store.Reader, visit event.VisitID) (Presentation, error) {
	story, err := r.Story(ctx, event.Crib())
	if err != nil {
		return Presentation{}, fmt.Errorf("counter: a visit: %w", err)
	}
	var p Presentation
	var from, to int64
	maxMonths := 0
	for _, rec := range story {
		switch b := rec.Body.(type) {
		case event.Founded:
			maxMonths = b.Policy.MaxMonths
		case event.PolicySet:
			maxMonths = b.Policy.MaxMonths
		case event.VisitBegun:
			if b.Visit == visit {
				p.Begun, p.By, p.Since, from = b, rec.Envelope.By, rec.Envelope.UTC, rec.Envelope.At
			}
		case event.VisitEnded:
			if b.Visit == visit {
				p.Ended, p.EndedBy, p.Until, to = b, rec.Envelope.By, rec.Envelope.UTC, rec.Envelope.At
			}
		}
	}
	if visit.IsZero() || p.Begun.Visit != visit {
		return Presentation{}, ErrNoVisit
	}
	said, err := examinedIn(ctx, r, visit, from, to)
	if err != nil {
		return Presentation{}, fmt.Errorf("counter: a visit: %w", err)
	}
	for _, one := range said {
		if len(one.Defects) > 0 {
			p.Defect = append(p.Defect, one)
		} else {
			p.Passed = append(p.Passed, one)
		}
	}
	done := map[event.SlingID]bool{}
	for _, one := range said {
		done[one.Sling.ID] = true
	}
	q := store.Query{ByPlace: true, States: inUse(), DueBefore: p.Begun.DueBefore, MaxMonths: maxMonths, Limit: store.MaxPage}
	for {
		page, next, err := r.List(ctx, q)
		if err != nil {
			return Presentation{}, fmt.Errorf("counter: what is to be presented: %w", err)
		}
		for _, s := range page {
			if !done[s.ID] && within(store.KeyOfPlace(s.Details.Place), p.Begun.Places) {
				p.Waiting = append(p.Waiting, s)
			}
		}
		if next == "" {
			return p, nil
		}
		q.After = next
	}
}

// examinedIn gives the slings that were examined in a visit which lasted from one
// position of the register to another, 0 for one that goes on; of each what was said
// last.
func examinedIn(ctx context.Context, r store.Reader, visit event.VisitID, from, to int64) (list []Presented, err error) {
	for at := from; ; {
		records, err := r.Since(ctx, at, batch)
		if err != nil {
			return nil, err
		}
		for _, rec := range records {
			at = rec.Envelope.At
			b, examined := rec.Body.(event.Examined)
			if to > 0 && at > to || !examined || b.Visit != visit {
				continue
			}
			id := rec.Envelope.Subject.Sling()
			list = slices.DeleteFunc(list, func(p Presented) bool { return p.Sling.ID == id })
			list = append(list, Presented{Sling: state.Sling{ID: id}, Examined: b, By: rec.Envelope.By})
		}
		if len(records) < batch || to > 0 && at >= to {
			break
		}
	}
	for i := range list {
		if list[i].Sling, err = r.Sling(ctx, list[i].Sling.ID); err != nil {
			return nil, err
		}
	}
	return list, nil
}
