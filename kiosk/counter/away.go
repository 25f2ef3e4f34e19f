package counter

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/store"
)

// Wanted gives the reasons why a sling that is out is wanted back and is not handed
// from rigger to rigger: that it was recalled, that it will be held, that it went
// out without anybody having been asked, and whatever else the gate, the record or
// a restored register has against the sling alone, such as that it is overdue. None
// for one that may stay where it is.
func Wanted(s state.Sling, crib state.Crib, today quantity.Date) ([]gate.Reason, error) {
	codes := append(Doubts(s.Doubt|crib.Doubt), Uncompared(crib, s)...)
	codes = append(codes, Kept(s, today, s.Loan.ReturnBy)...)
	if s.Loan.Recall != (state.Recall{}) {
		codes = append(codes, gate.Recalled)
	}
	if s.Hold.Reason != "" {
		codes = append(codes, gate.Held)
	}
	answer, err := gate.Decide(Question(s, crib.Founded.Policy, today, nil))
	if err != nil {
		return nil, fmt.Errorf("counter: judge a sling that is out: %w", err)
	}
	for _, r := range answer.Reasons {
		if r != gate.AlreadyOut && r != gate.Held {
			codes = append(codes, r)
		}
	}
	back := s.Loan.ReturnBy
	if !back.IsZero() && !answer.Due.IsZero() && answer.Due.Before(back) && !slices.Contains(codes, gate.Overdue) {
		codes = append(codes, gate.DueBeforeReturn)
	}
	if s.Loan.Unissued() {
		codes = append(codes, gate.OtherUse)
	}
	return codes, nil
}

// Handover is how a sling goes from one rigger to another. The zero Handover is
// refused.
type Handover struct {
	To      event.PersonID
	SameUse bool // somebody said that it is for the same lift or use as before
	Note    string
}

// HandOn records that a sling that is out went from its rigger to another, for the
// same lift or use. Whoever hands over may, but not a learner. One that is
// [Wanted] back is not handed on, nor is any while the clock or the register is in
// doubt; gear for a shift goes only to whom the keeper lets draw it.
func (c *Counter) HandOn(ctx context.Context, who Who, seen Seen, h Handover) (Outcome, error) {
	h.Note = strings.TrimSpace(h.Note)
	return c.onSling(ctx, who, "hand on", seen, event.Attendant, []gate.State{gate.StateOut}, func(tx *store.Tx, s state.Sling) (event.Body, []gate.Reason, error) {
		crib, err := tx.Crib(ctx)
		if err != nil {
			return nil, nil, err
		}
		clock := tx.Clock()
		codes, err := takes(ctx, tx.Reader, who.Person, h.To, s.Loan.Line.Shift(), clock.Today())
		if err != nil {
			return nil, nil, err
		}
		wanted, err := Wanted(s, crib, clock.Today())
		if err != nil {
			return nil, nil, err
		}
		codes = append(codes, wanted...)
		codes = append(codes, Clocked(clock.Doubt)...)
		codes = append(codes, c.audited()...)
		if s.Loan.Rigger.IsZero() || s.Loan.Rigger == h.To {
			codes = append(codes, gate.NotNow)
		}
		if !h.SameUse && !slices.Contains(codes, gate.OtherUse) {
			codes = append(codes, gate.OtherUse)
		}
		return event.HandedOn{From: s.Loan.Rigger, To: h.To, Note: h.Note}, codes, nil
	}, h.To.String(), strconv.FormatBool(h.SameUse), h.Note)
}

// takes judges who takes a sling over, gear for a shift or not, and that no learner
// gives it.
func takes(ctx context.Context, r store.Reader, by, to event.PersonID, shift bool, on quantity.Date) ([]gate.Reason, error) {
	giver, err := r.Person(ctx, by)
	if err != nil {
		return nil, fmt.Errorf("who acts: %w", err)
	}
	var codes []gate.Reason
	if giver.Terms.Learner {
		codes = append(codes, gate.RoleNotAllowed)
	}
	rigger, err := r.Person(ctx, to)
	switch {
	case errors.Is(err, store.ErrNotFound):
		return append(codes, gate.RiggerUnknown), nil
	case err != nil:
		return nil, fmt.Errorf("the rigger: %w", err)
	case !rigger.May(event.Rigger, on):
		return append(codes, gate.RiggerNotCleared), nil
	case shift && !rigger.Terms.ShiftGear:
		return append(codes, gate.ShiftNotAllowed), nil
	}
	return codes, nil
}

// Place records at which machine, or in which area, a sling that is out is kept;
// an empty area takes it away from there. Everybody who works at the counter may.
func (c *Counter) Place(ctx context.Context, who Who, seen Seen, area, note string) (Outcome, error) {
	area, note = strings.Join(strings.Fields(area), " "), strings.TrimSpace(note)
	return c.onSling(ctx, who, "place", seen, atCounter, []gate.State{gate.StateOut}, func(_ *store.Tx, s state.Sling) (event.Body, []gate.Reason, error) {
		if area == s.Loan.Area {
			return nil, []gate.Reason{gate.NotNow}, nil
		}
		return event.Placed{Area: area, Note: note}, nil, nil
	}, area, note)
}

// ErrRecallDay reports a day to bring a sling back by that is over.
var ErrRecallDay = errors.New("counter: a sling is recalled for today or a day to come")

// Recall asks for a sling that is out to be brought back, with the reason, by a day
// or at once. It stands until the sling is back; a later one takes its place.
// Everybody who works at the counter may recall.
func (c *Counter) Recall(ctx context.Context, who Who, seen Seen, reason string, by quantity.Date) (Outcome, error) {
	reason, err := needed("recall", "reason", reason)
	if err != nil {
		return Outcome{}, err
	}
	return c.onSling(ctx, who, "recall", seen, atCounter, []gate.State{gate.StateOut}, func(tx *store.Tx, _ state.Sling) (event.Body, []gate.Reason, error) {
		if !by.IsZero() && by.Before(tx.Today()) {
			return nil, nil, ErrRecallDay
		}
		return event.Recalled{Reason: reason, By: by}, nil, nil
	}, reason, by.String())
}
