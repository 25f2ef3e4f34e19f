package counter

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"

	"cribgate/core/event"
	"cribgate/store"
)

// Errors of ErasePerson. ErrStillHere reports a person who works here, and is to
// be taken off first; ErrHasSlings one who has slings out, which come back first;
// ErrNameInReason a reason that would keep the name.
var (
	ErrStillHere    = errors.New("counter: the person still works here")
	ErrHasSlings    = errors.New("counter: the person has slings out")
	ErrNameInReason = errors.New("counter: the reason has the name in it")
)

// ErasePerson takes a person's name out of the register for good, and out of
// whatever was written by hand. What was done, and every verdict, stays. Only a
// keeper does it, and the last keeper cannot be taken off, nor erased. It gives how
// many entries the name was in.
func (c *Counter) ErasePerson(ctx context.Context, who Who, id event.PersonID, seen []event.Hash, why string) (int, error) {
	why, err := needed("erase", "reason", why)
	if err != nil {
		return 0, err
	}
	answer, err := c.store.Do(ctx, who.act("erase person", id.String(), why), func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		if err := c.keeper(ctx, tx, who); err != nil {
			return nil, err
		}
		p, err := tx.Person(ctx, id)
		if err != nil {
			return nil, err
		}
		if !slices.Equal(p.Heads, seen) {
			return nil, store.ErrConflict
		}
		if p.Here {
			return nil, ErrStillHere
		}
		names, err := tx.NamesOf(ctx, id)
		if err != nil {
			return nil, err
		}
		for _, name := range names {
			if event.Mentions(why, name) {
				return nil, ErrNameInReason
			}
		}
		out, _, err := tx.List(ctx, store.Query{Holder: id, Limit: 1})
		if err != nil {
			return nil, err
		}
		if len(out) > 0 {
			return nil, ErrHasSlings
		}
		n, err := tx.ErasePerson(ctx, id, why)
		return strconv.AppendInt(nil, int64(n), 10), err
	})
	if err != nil {
		return 0, fmt.Errorf("counter: erase person: %w", err)
	}
	n, err := strconv.Atoi(string(answer))
	if err != nil {
		return 0, fmt.Errorf("counter: erase person: a stored answer: %w", err)
	}
	return n, nil
}
