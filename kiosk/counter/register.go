package counter

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/store"
)

// ErrDetails reports details of a sling that cannot be registered; the text
// says which.
var ErrDetails = errors.New("counter: these details cannot be registered")

// Register enters a sling. Its identification must be new to this register. Due
// follows from the last inspection by the crib's rules; a due date that was
// recorded counts where it is earlier, never where it is later.
func (c *Counter) Register(ctx context.Context, who Who, d event.Details) (Outcome, error) {
	if d.Sling.State == 0 {
		d.Sling.State = gate.StateIn
	}
	request, err := event.Encode(event.Registered{Details: d})
	if err != nil {
		return Outcome{}, fmt.Errorf("counter: register: %w", err)
	}
	return c.do(ctx, who.act("register", string(request)), func(ctx context.Context, tx *store.Tx) (Outcome, error) {
		codes, err := allowed(ctx, tx.Reader, who.Person, event.Inspector|event.Keeper, tx.Today())
		if err != nil || len(codes) > 0 {
			return Outcome{Codes: codes}, err
		}
		crib, err := tx.Crib(ctx)
		if err != nil {
			return Outcome{}, fmt.Errorf("register: %w", err)
		}
		clock := tx.Clock()
		if d, err = complete(d, crib, clock.Today()); err != nil {
			return Outcome{}, err
		}
		if d.Sling.Inspected.After(clock.Reached()) { // by a clock that may be wrong
			return Outcome{Codes: Clocked(clock.Doubt)}, nil
		}
		switch known, err := tx.SlingByIdent(ctx, d.Ident); {
		case err == nil:
			return Outcome{Known: true, Sling: known, Codes: []gate.Reason{gate.IdentTaken}}, nil
		case !errors.Is(err, store.ErrNotFound):
			return Outcome{}, fmt.Errorf("register: %w", err)
		}
		o := Outcome{Known: true, Sling: state.Sling{ID: event.SlingOf(crib.Key(), d.Ident)}}
		return c.append(ctx, tx, o, event.Registered{Details: d})
	})
}

// Correct replaces what was registered, with the reason. Identification and
// state stay. The old tag is refused from then on where it says otherwise. Of a sling
// that was stamped anew when it was repaired, Restamped says that the details are what
// is stamped on it now; of any other it is not looked at. What was measured and did not
// pass is not passed by writing it otherwise; a correction that made it so is taken back
// by putting outcome, day and due date back as they were, as long as nothing else was
// found out since. Its hold stays until an inspector releases it.
func (c *Counter) Correct(ctx context.Context, who Who, seen Seen, b event.Corrected) (Outcome, error) {
	var err error
	if b.Reason, err = needed("correct", "reason", b.Reason); err != nil {
		return Outcome{}, err
	}
	d := b.Details
	d.Sling.State = gate.StateIn // a place holder: the state is not corrected
	request, err := event.Encode(event.Registered{Details: d})
	if err != nil {
		return Outcome{}, fmt.Errorf("counter: correct: %w", err)
	}
	return c.onSling(ctx, who, "correct", seen, event.Inspector, nil, func(tx *store.Tx, s state.Sling) (event.Body, []gate.Reason, error) {
		crib, err := tx.Crib(ctx)
		if err != nil {
			return nil, nil, err
		}
		if d.Ident != s.Details.Ident {
			return nil, nil, fmt.Errorf("%w: the identification stays %s; another identification is another sling", ErrDetails, s.Details.Ident)
		}
		clock := tx.Clock()
		if d, err = complete(d, crib, clock.Today()); err != nil {
			return nil, nil, err
		}
		if d.Sling.Inspected.After(clock.Reached()) { // by a clock that may be wrong
			return nil, Clocked(clock.Doubt), nil
		}
		if d.Outcome == tagcode.Fit && s.Details.Outcome != tagcode.Fit && len(s.Failed) > 0 && !s.TakesBack(d) {
			return nil, []gate.Reason{gate.NotPassed}, nil // what was measured is not passed by writing it otherwise
		}
		return event.Corrected{Details: d, Reason: b.Reason, Restamped: b.Restamped && s.Mended.Stamp != ""}, nil, nil
	}, string(request), b.Reason, strconv.FormatBool(b.Restamped))
}

// complete checks details and works out when the sling is due.
func complete(d event.Details, crib state.Crib, today quantity.Date) (event.Details, error) {
	d.Maker, d.Place, d.Note = strings.TrimSpace(d.Maker), strings.TrimSpace(d.Place), strings.TrimSpace(d.Note)
	bad := func(format string, args ...any) (event.Details, error) {
		return event.Details{}, fmt.Errorf("%w: "+format, append([]any{ErrDetails}, args...)...)
	}
	if err := tagcode.CheckIdent(d.Ident); err != nil {
		return bad("%w", err)
	}
	if err := d.Sling.Plate.Check(); err != nil {
		return bad("%w", err)
	}
	if d.Sling.Chart != 0 && strings.TrimSpace(d.ChartSource) == "" {
		return bad("a rating from the maker's chart without its source")
	}
	if d.Sling.State != gate.StateIn && d.Sling.State != gate.StateHeld {
		return bad("a sling is registered in or held, not %s", d.Sling.State)
	}
	inspected := d.Sling.Inspected
	switch {
	case inspected.IsZero() && (d.Outcome != tagcode.NoOutcome || !d.Sling.Due.IsZero()):
		return bad("an outcome or a due date without the date of the inspection")
	case !inspected.IsZero() && d.Outcome == tagcode.NoOutcome:
		return bad("an inspection without its outcome")
	case inspected.After(today):
		return bad("the inspection of %s is in the future", inspected)
	case inspected.IsZero():
		return d, nil
	}
	next, err := due.Next(inspected, d.Service, crib.Founded.Rules, d.Months)
	if err != nil {
		return bad("%w", err)
	}
	if d.Sling.Due.IsZero() || next.Before(d.Sling.Due) {
		d.Sling.Due = next
	}
	if d.Outcome != tagcode.Fit {
		d.Sling.State = gate.StateHeld
	}
	return d, nil
}
