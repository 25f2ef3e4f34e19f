package counter

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/store"
)

// Seen names a sling and its story as the person who acts saw it. Where the
// story has moved on since, the act is refused and nothing is written.
type Seen struct {
	Sling event.SlingID
	Heads []event.Hash
}

// onSling runs an act of one of roles on a sling whose state is one of states.
func (c *Counter) onSling(ctx context.Context, who Who, what string, seen Seen, roles event.Roles, states []gate.State, body func(*store.Tx, state.Sling) (event.Body, []gate.Reason, error), request ...string) (Outcome, error) {
	act := who.act(what, append([]string{seen.Sling.String()}, request...)...)
	o, err := c.do(ctx, act, func(ctx context.Context, tx *store.Tx) (o Outcome, err error) {
		defer func() {
			if err == nil && !o.May && who.onPaper {
				err = &rowStays{o}
			}
		}()
		sling, err := tx.Sling(ctx, seen.Sling)
		if errors.Is(err, store.ErrNotFound) {
			return Outcome{Codes: []gate.Reason{gate.UnknownSling}}, nil
		}
		if err != nil {
			return Outcome{}, fmt.Errorf("%s: %w", what, err)
		}
		o = Outcome{Known: true, Sling: sling}
		if o.Codes, err = allowed(ctx, tx.Reader, who.Person, roles, tx.Today()); err != nil {
			return Outcome{}, err
		}
		if !slices.Equal(sling.Heads, seen.Heads) {
			o.Codes = append(o.Codes, gate.ChangedMeanwhile)
		}
		if states != nil && !slices.Contains(states, sling.Details.Sling.State) {
			o.Codes = append(o.Codes, gate.NotNow)
		}
		if len(o.Codes) > 0 {
			return o, nil
		}
		b, refused, err := body(tx, sling)
		if err != nil {
			return Outcome{}, fmt.Errorf("%s: %w", what, err)
		}
		if len(refused) > 0 {
			o.Codes = refused
			return o, nil
		}
		return c.append(ctx, tx, o, b)
	})
	if stays, ok := errors.AsType[*rowStays](err); ok {
		return stays.Outcome, nil
	}
	return o, err
}

// plain is an act whose event does not depend on the sling.
func plain(b event.Body) func(*store.Tx, state.Sling) (event.Body, []gate.Reason, error) {
	return func(*store.Tx, state.Sling) (event.Body, []gate.Reason, error) { return b, nil, nil }
}

// inUse are the states of a sling that is neither lost nor retired.
func inUse() []gate.State {
	return []gate.State{gate.StateIn, gate.StateHeld, gate.StateOut, gate.StateUnchecked}
}

// Hold keeps a sling in until an inspector releases it; one that is out is held
// as soon as it comes back. Everybody who works at the counter may hold; a reason
// is needed.
func (c *Counter) Hold(ctx context.Context, who Who, seen Seen, reason string) (Outcome, error) {
	reason, err := needed("hold", "reason", reason)
	if err != nil {
		return Outcome{}, err
	}
	return c.onSling(ctx, who, "hold", seen, atCounter, inUse(), plain(event.Held{Reason: reason}), reason)
}

// Release ends a hold. Only an inspector does, with a written reason.
func (c *Counter) Release(ctx context.Context, who Who, seen Seen, reason string) (Outcome, error) {
	reason, err := needed("release", "reason", reason)
	if err != nil {
		return Outcome{}, err
	}
	return c.onSling(ctx, who, "release", seen, event.Inspector, []gate.State{gate.StateHeld}, func(_ *store.Tx, s state.Sling) (event.Body, []gate.Reason, error) {
		if s.Details.Outcome == tagcode.Hold || s.Details.Outcome == tagcode.Out {
			return nil, []gate.Reason{gate.NotPassed}, nil
		}
		return event.Released{Reason: reason}, nil, nil
	}, reason)
}

// Retire takes a sling out of service for good: why, and how it was made
// unusable.
func (c *Counter) Retire(ctx context.Context, who Who, seen Seen, reason, how string) (Outcome, error) {
	reason, err := needed("retire", "reason", reason)
	if err != nil {
		return Outcome{}, err
	}
	if how, err = needed("retire", "how it was made unusable", how); err != nil {
		return Outcome{}, err
	}
	return c.onSling(ctx, who, "retire", seen, event.Inspector, append(inUse(), gate.StateLost), plain(event.Retired{Reason: reason, How: how}), reason, how)
}

// Lose records that nobody knows where the sling is.
func (c *Counter) Lose(ctx context.Context, who Who, seen Seen, note string) (Outcome, error) {
	return c.onSling(ctx, who, "lose", seen, atCounter, inUse(), plain(event.Lost{Note: strings.TrimSpace(note)}), note)
}

// FindAgain records that a lost sling turned up; it is held until looked at.
func (c *Counter) FindAgain(ctx context.Context, who Who, seen Seen, note string) (Outcome, error) {
	return c.onSling(ctx, who, "find", seen, atCounter, []gate.State{gate.StateLost}, plain(event.Found{Note: strings.TrimSpace(note)}), note)
}

// Inspection is a thorough inspection as it is reported.
type Inspection struct {
	Date      quantity.Date
	Outcome   tagcode.Outcome // fit, hold or out
	Service   due.Service
	Months    int // 0 for the rule's own interval
	RatingTag gate.RatingTag
	Note      string
}

// Inspect records a thorough inspection, of a sling that is here or, where it is used
// far away, of one that is out: that one stays out, and one that does not pass is
// wanted back and held as soon as it comes. When it is next due follows from the
// crib's rules; a hold that stood before it stays until it is released.
func (c *Counter) Inspect(ctx context.Context, who Who, seen Seen, i Inspection) (Outcome, error) {
	request := []string{i.Date.String(), i.Outcome.String(), i.Service.String(), fmt.Sprint(i.Months), i.RatingTag.String(), i.Note}
	return c.onSling(ctx, who, "inspect", seen, event.Inspector, inUse(), func(tx *store.Tx, s state.Sling) (event.Body, []gate.Reason, error) {
		crib, err := tx.Crib(ctx)
		if err != nil {
			return nil, nil, err
		}
		clock := tx.Clock()
		if i.Outcome == tagcode.NoOutcome || i.Date.After(clock.Today()) || i.Date.Before(s.Details.Sling.Inspected) {
			return nil, nil, ErrInspection
		}
		if i.Date.After(clock.Reached()) { // by a clock that may be wrong
			return nil, Clocked(clock.Doubt), nil
		}
		next, err := due.Next(i.Date, i.Service, crib.Founded.Rules, i.Months)
		if err != nil {
			return nil, nil, err
		}
		return event.Inspected{
			Date: i.Date, Outcome: i.Outcome, Service: i.Service, Months: i.Months, Due: next,
			RatingTag: i.RatingTag, Note: strings.TrimSpace(i.Note),
		}, nil, nil
	}, request...)
}

// ErrInspection reports an inspection without an outcome, in the future, or
// before the last one.
var ErrInspection = errors.New("counter: an inspection has an outcome, and a date from the last one to today")

// ErrNeeded reports a text that must not be empty.
var ErrNeeded = errors.New("counter: a text is needed")

func needed(what, name, text string) (string, error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return "", fmt.Errorf("%w: %s: %s", ErrNeeded, what, name)
	}
	return text, nil
}
