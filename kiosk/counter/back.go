package counter

import (
	"context"
	"fmt"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/store"
)

// Return takes a sling back from whoever has it. Anything but that nothing is wrong
// holds it. A replaced, lapsed or old tag does not stand in the way:
// what came back must come in; Outcome.Codes still says what is wrong with the
// tag, for the next step.
func (c *Counter) Return(ctx context.Context, who Who, reading Reading, f Finding) (Outcome, error) {
	f, err := f.complete("return")
	if err != nil {
		return Outcome{}, err
	}
	act := who.act("return", append([]string{reading.Text}, f.spelled()...)...)
	return c.do(ctx, act, func(ctx context.Context, tx *store.Tx) (Outcome, error) {
		found, err := c.find(ctx, tx.Reader, reading, tx.Today())
		if err == nil {
			err = c.noteAhead(ctx, tx, found.ahead)
		}
		if err != nil || !found.Known {
			return Outcome{Codes: found.Codes}, err
		}
		o := Outcome{Known: true, Sling: found.Sling, Codes: found.Codes}
		refused, err := allowed(ctx, tx.Reader, who.Person, atCounter, tx.Today())
		if err != nil {
			return Outcome{}, err
		}
		if o.Sling.Details.Sling.State != gate.StateOut {
			refused = append(refused, gate.NotOut)
		}
		if len(refused) > 0 {
			o.Codes = append(refused, o.Codes...)
			return o, nil
		}
		return c.append(ctx, tx, o, f.returned(o.Sling))
	})
}

// do runs an act in one write transaction and gives its outcome, the first one
// where the request is repeated.
func (c *Counter) do(ctx context.Context, act store.Act, f func(context.Context, *store.Tx) (Outcome, error)) (Outcome, error) {
	answer, err := c.store.Do(ctx, act, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		o, err := f(ctx, tx)
		if err != nil {
			return nil, err
		}
		return o.encode()
	})
	if err != nil {
		return Outcome{}, fmt.Errorf("counter: %w", err)
	}
	return c.told(ctx, answer)
}

// append writes body on the story of the outcome's sling, as it was read; what comes
// next follows it.
func (c *Counter) append(ctx context.Context, tx *store.Tx, o Outcome, body event.Body) (Outcome, error) {
	rec, err := tx.Append(ctx, event.Sling(o.Sling.ID), o.Sling.Heads, body)
	if err != nil {
		return Outcome{}, err
	}
	o.May, o.At, o.Sling.Heads = true, rec.Envelope.At, []event.Hash{rec.Hash}
	return o, nil
}
