package store

import (
	"context"
	"math"

	"cribgate/core/event"
)

// kept is a row of the present that follows from one event alone, by its position.
type kept interface {
	comparable
	at() int64
}

// keeping holds rows of that kind against the log while it is walked, so many at a
// time that they need no room.
type keeping[R kept] struct {
	of   func(pos int64, s event.Subject, b event.Body) (R, bool) // the row of an event; false for none
	walk func(r Reader, ctx context.Context, after, to int64, f func(R) error) error
	want []R
	to   int64 // held against the log so far
	bad  []int64
}

func (k *keeping[R]) passes(ctx context.Context, r Reader, c *checked) error {
	if row, ok := k.of(c.pos, c.envelope.Subject, c.fact); ok {
		k.want = append(k.want, row)
	}
	if len(k.want) < batch {
		return nil
	}
	return k.hold(ctx, r, c.pos)
}

// hold compares the rows up to a position.
func (k *keeping[R]) hold(ctx context.Context, r Reader, to int64) error {
	i := 0
	wrong := func(pos int64) {
		if len(k.bad) < MaxBreaks {
			k.bad = append(k.bad, pos)
		}
	}
	err := k.walk(r, ctx, k.to, to, func(row R) error {
		for ; i < len(k.want) && k.want[i].at() < row.at(); i++ {
			wrong(k.want[i].at())
		}
		if i < len(k.want) && k.want[i].at() == row.at() {
			if k.want[i] != row {
				wrong(row.at())
			}
			i++
			return nil
		}
		wrong(row.at())
		return nil
	})
	for ; i < len(k.want); i++ {
		wrong(k.want[i].at())
	}
	k.want, k.to = k.want[:0], to
	return err
}

// compareKept holds what is left of the rows against the log, and tells which are not
// as their events say.
func compareKept[R kept](ctx context.Context, v *verifier, r Reader, k *keeping[R], what string) error {
	if err := k.hold(ctx, r, math.MaxInt64); err != nil {
		return err
	}
	for _, pos := range k.bad {
		v.report(0, "what was %s at position %d is not kept as its event says", what, pos)
	}
	return nil
}
