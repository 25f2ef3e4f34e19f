package counter

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/store"
)

// amongHeap is what is added to the hold of a sling that came back although it
// should have lain in quarantine.
const amongHeap = "came back in a heap while it was held: find out whether it was used"

// TakeIn takes in a sling that came back in a heap, without its rigger and without
// a check: it is off the rigger's name and cannot go out until [Counter.Check].
// One that was not out, or lost, is taken in all the same, with the reason for
// looking closer among the codes; one that is in already stays as it is, and At is
// 0. One that is held or retired, or that the reading does not lead to, is not taken
// in: May is false, the codes say why, and the sling is kept here.
func (c *Counter) TakeIn(ctx context.Context, who Who, reading Reading) (Outcome, error) {
	return c.do(ctx, who.act("take in", reading.Text, string(reading.Way)), func(ctx context.Context, tx *store.Tx) (Outcome, error) {
		f, err := c.find(ctx, tx.Reader, reading, tx.Today())
		if err == nil {
			err = c.noteAhead(ctx, tx, f.ahead)
		}
		if err != nil || !f.Known {
			return Outcome{Codes: f.Codes}, err
		}
		o := Outcome{Known: true, Sling: f.Sling, Codes: f.Codes}
		refused, err := allowed(ctx, tx.Reader, who.Person, atCounter, tx.Today())
		if err != nil {
			return Outcome{}, err
		}
		if len(refused) > 0 {
			o.Codes = append(refused, o.Codes...)
			return o, nil
		}
		return c.takeIn(ctx, tx, o)
	})
}

func (c *Counter) takeIn(ctx context.Context, tx *store.Tx, o Outcome) (Outcome, error) {
	s := o.Sling
	because := func(codes ...gate.Reason) { o.Codes = append(codes, o.Codes...) }
	because(Doubts(s.Doubt)...)
	switch s.Details.Sling.State {
	case gate.StateOut:
		if s.Hold.Reason != "" {
			because(gate.Held)
		}
		return c.append(ctx, tx, o, event.TakenIn{From: s.Loan.Rigger})
	case gate.StateIn:
		because(gate.NotOut)
		return c.append(ctx, tx, o, event.TakenIn{})
	case gate.StateLost:
		because(gate.Lost)
		return c.append(ctx, tx, o, event.TakenIn{From: s.Loan.Rigger})
	case gate.StateUnchecked:
		because(gate.Unchecked)
		o.May = true
		return o, nil
	}
	story, err := tx.Story(ctx, event.Sling(s.ID))
	if err != nil {
		return Outcome{}, err
	}
	if s.Details.Sling.State == gate.StateHeld {
		because(gate.Held)
		return c.amongHeld(ctx, tx, o, story)
	}
	because(gate.Retired)
	if newest, ok := story[len(story)-1].Body.(event.Refused); ok && slices.Contains(newest.Reasons, gate.Retired.String()) {
		return o, nil // the keeper sees it once
	}
	kept, err := c.append(ctx, tx, o, event.Refused{Reasons: []string{gate.Retired.String()}, Verdict: event.Verdict{Edition: gate.RulesEdition}})
	kept.May = false
	return kept, err
}

// amongHeld keeps a sling that is held: one that was taken in just so, or one that
// has left its quarantine, which is added to what it is held for.
func (c *Counter) amongHeld(ctx context.Context, tx *store.Tx, o Outcome, story []store.Record) (Outcome, error) {
	switch {
	case takenInLast(story):
		o.May = true
		return o, nil
	case strings.Contains(o.Sling.Hold.Reason, amongHeap):
		return o, nil
	}
	held, err := c.append(ctx, tx, o, event.Held{Reason: amongHeap})
	held.May = false
	return held, err
}

// takenInLast tells whether the last that happened to a sling itself was that it
// was taken in.
func takenInLast(story []store.Record) bool {
	for _, r := range slices.Backward(story) {
		switch r.Body.(type) {
		case event.TakenIn:
			return true
		case event.Issued, event.Taken, event.Returned, event.Checked, event.Held, event.Released, event.Inspected, event.Found, event.Registered,
			event.Impounded, event.Custody, event.Freed, event.SentOff, event.CameBack, event.Examined:
			return false
		}
	}
	return false
}

// Check is the return check of a sling that was taken in without one: it is in from
// then on, or held. Everybody who works at the counter may.
func (c *Counter) Check(ctx context.Context, who Who, seen Seen, f Finding) (Outcome, error) {
	f, err := f.complete("check")
	if err != nil {
		return Outcome{}, err
	}
	return c.onSling(ctx, who, "check", seen, atCounter, []gate.State{gate.StateUnchecked},
		plain(event.Checked{Said: f.Said, Note: f.Note, Answers: f.Answers, Photo: f.Photo}), f.spelled()...)
}

// An Answer is what a rigger says about one sling that was taken in without asking.
type Answer struct {
	Sling event.SlingID
	Finding
}

// Told is what came of asking a rigger. The zero Told recorded nothing.
type Told struct {
	Slings int           // about so many it was written down
	Held   int           // so many of them are held for it, now or as soon as they come back
	Codes  []gate.Reason // why nothing was
}

// Tell writes down what a rigger says about slings that were taken in without
// asking, all in one act. A sling about which this rigger owes no answer any more
// is left out: somebody has answered meanwhile. Everybody who works at the counter
// may write it down.
func (c *Counter) Tell(ctx context.Context, who Who, rigger event.PersonID, answers []Answer) (Told, error) {
	answers = slices.Clone(answers)
	request := []string{rigger.String()}
	for i, a := range answers {
		f, err := a.complete("tell")
		if err != nil {
			return Told{}, err
		}
		answers[i].Finding = f
		request = append(append(request, a.Sling.String()), f.spelled()...)
	}
	text, err := c.store.Do(ctx, who.act("tell", request...), func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		refused, err := allowed(ctx, tx.Reader, who.Person, atCounter, tx.Today())
		if err != nil || len(refused) > 0 {
			return Told{Codes: refused}.encode(err)
		}
		var told Told
		for _, a := range answers {
			s, err := tx.Sling(ctx, a.Sling)
			if err != nil {
				return nil, fmt.Errorf("tell of a sling: %w", err)
			}
			if rigger.IsZero() || s.OwedBy(rigger) == nil {
				continue
			}
			if _, err := tx.Append(ctx, event.Sling(s.ID), s.Heads, event.Told{From: rigger, Said: a.Said, Note: a.Note, Answers: a.Answers}); err != nil {
				return nil, err
			}
			told.Slings++
			if a.Said != event.Nothing && inCare(s) {
				told.Held++
			}
		}
		return told.encode(nil)
	})
	if err != nil {
		return Told{}, fmt.Errorf("counter: tell: %w", err)
	}
	return decodeTold(text)
}

// inCare tells whether a sling is neither lost nor out of service.
func inCare(s state.Sling) bool { return slices.Contains(inUse(), s.Details.Sling.State) }
