package counter

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
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
	return c.onSlingEach(ctx, who, what, seen, roles, states, func(tx *store.Tx, s state.Sling) ([]event.Body, []gate.Reason, error) {
		b, refused, err := body(tx, s)
		return []event.Body{b}, refused, err
	}, request...)
}

// onSlingAt does what onSling does and, where a place is given, hangs the sling there
// in the same act.
func (c *Counter) onSlingAt(ctx context.Context, who Who, what string, seen Seen, roles event.Roles, states []gate.State, place string, body func(*store.Tx, state.Sling) (event.Body, []gate.Reason, error), request ...string) (Outcome, error) {
	if place = strings.Join(strings.Fields(place), " "); place != "" {
		request = append(request, "at", place)
	}
	return c.onSlingEach(ctx, who, what, seen, roles, states, func(tx *store.Tx, s state.Sling) ([]event.Body, []gate.Reason, error) {
		b, refused, err := body(tx, s)
		bodies := []event.Body{b}
		if place != "" && place != s.Details.Place {
			bodies = append(bodies, event.Moved{Place: place})
		}
		return bodies, refused, err
	}, request...)
}

// onSlingEach is onSling for an act of several events, one after the other.
func (c *Counter) onSlingEach(ctx context.Context, who Who, what string, seen Seen, roles event.Roles, states []gate.State, bodies func(*store.Tx, state.Sling) ([]event.Body, []gate.Reason, error), request ...string) (Outcome, error) {
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
		list, refused, err := bodies(tx, sling)
		if err != nil {
			return Outcome{}, fmt.Errorf("%s: %w", what, err)
		}
		if len(refused) > 0 {
			o.Codes = refused
			return o, nil
		}
		for _, b := range list {
			if o, err = c.append(ctx, tx, o, b); err != nil {
				return Outcome{}, err
			}
		}
		return o, nil
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
	return c.HoldAt(ctx, who, seen, reason, "")
}

// HoldAt holds a sling as Hold does, and records where it lies from then on; an empty
// place leaves it where it is on record.
func (c *Counter) HoldAt(ctx context.Context, who Who, seen Seen, reason, place string) (Outcome, error) {
	reason, err := needed("hold", "reason", reason)
	if err != nil {
		return Outcome{}, err
	}
	return c.onSlingAt(ctx, who, "hold", seen, atCounter, inUse(), place, plain(event.Held{Reason: reason}), reason)
}

// Release ends a hold. Only an inspector does, with a written reason.
func (c *Counter) Release(ctx context.Context, who Who, seen Seen, reason string) (Outcome, error) {
	return c.ReleaseTo(ctx, who, seen, reason, "")
}

// ReleaseTo ends a hold as Release does, and records where the sling hangs from then
// on; an empty place leaves it where it is on record.
func (c *Counter) ReleaseTo(ctx context.Context, who Who, seen Seen, reason, place string) (Outcome, error) {
	reason, err := needed("release", "reason", reason)
	if err != nil {
		return Outcome{}, err
	}
	return c.onSlingAt(ctx, who, "release", seen, event.Inspector, []gate.State{gate.StateHeld}, place, func(_ *store.Tx, s state.Sling) (event.Body, []gate.Reason, error) {
		return event.Released{Reason: reason}, NotReleased(s), nil
	}, reason)
}

// Retire takes a sling out of service for good: why, how it was made unusable, and,
// where there is any, who saw it, what was kept of it and a picture of the rest.
func (c *Counter) Retire(ctx context.Context, who Who, seen Seen, b event.Retired) (Outcome, error) {
	var err error
	if b.Reason, err = needed("retire", "reason", b.Reason); err != nil {
		return Outcome{}, err
	}
	if b.How, err = needed("retire", "how it was made unusable", b.How); err != nil {
		return Outcome{}, err
	}
	b.Witness, b.Salvage = strings.TrimSpace(b.Witness), strings.TrimSpace(b.Salvage)
	return c.onSling(ctx, who, "retire", seen, event.Inspector, append(inUse(), gate.StateLost), func(_ *store.Tx, s state.Sling) (event.Body, []gate.Reason, error) {
		if s.Impound != (state.Impound{}) {
			return nil, []gate.Reason{gate.Impounded}, nil
		}
		return b, nil, nil
	}, b.Reason, b.How, b.Witness, b.Salvage, b.Photo.String())
}

// Lose records that nobody knows where the sling is.
func (c *Counter) Lose(ctx context.Context, who Who, seen Seen, note string) (Outcome, error) {
	return c.onSling(ctx, who, "lose", seen, atCounter, inUse(), plain(event.Lost{Note: strings.TrimSpace(note)}), note)
}

// FindAgain records that a lost sling turned up; it is held until looked at.
func (c *Counter) FindAgain(ctx context.Context, who Who, seen Seen, note string) (Outcome, error) {
	return c.onSling(ctx, who, "find", seen, atCounter, []gate.State{gate.StateLost}, plain(event.Found{Note: strings.TrimSpace(note)}), note)
}

// ErrNeeded reports a text that must not be empty.
var ErrNeeded = errors.New("counter: a text is needed")

func needed(what, name, text string) (string, error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return "", fmt.Errorf("%w: %s: %s", ErrNeeded, what, name)
	}
	return text, nil
}
