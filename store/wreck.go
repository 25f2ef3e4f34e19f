package store

import (
	"context"
	"errors"
	"fmt"

	"cribgate/core/event"
	"cribgate/core/state"
	"cribgate/store/sqlite"
)

// sqlTorn reads one row of a damaged log, of whatever layout: every one has had
// these columns.
const sqlTorn = `SELECT log.pos, log.hash, log.subject, log.envelope, ` + listSalt + `, body.body
	FROM log LEFT JOIN body ON body.pos = log.pos WHERE log.pos >= ?1 ORDER BY log.pos LIMIT 1`

// wreck is what a damaged register tells beyond a copy.
type wreck struct {
	rows []checked
	left map[int64]event.ErasedBody // what is left of bodies, as the events among rows tell
	stop string                     // why there is no row after them; empty where the damaged register shows none
}

// read takes row after row as long as each follows the one before it, from the
// end of the copy on. What fails to be read is a reason to stop, never an error.
func (w *wreck) read(ctx context.Context, from Reader, e event.Envelope, hash event.Hash, traces int64) error {
	l := link{at: e.At, hash: hash, log: e.Log, crib: e.Crib, time: e.UTC}
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		at := l.at + 1
		c := checked{}
		n := 0
		err := eachRow(ctx, from.q, func(r row) error { n, c.row = n+1, r; return nil }, sqlTorn, at)
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case err != nil:
			w.stop = fmt.Sprintf("position %d cannot be read: %v", at, sqlite.Explain(err))
			return nil
		case (n == 0 || c.pos != at) && traces < at:
			return nil // the end
		case n == 0 || c.pos != at:
			w.stop = fmt.Sprintf("position %d is gone", at)
			return nil
		}
		c.check(new(event.Decoder))
		wrong := l.follow(&c)
		if wrong == nil && !c.bodiless() {
			wrong = c.bodyErr
		}
		if wrong != nil {
			w.stop = fmt.Sprintf("position %d: %v", at, wrong)
			return nil
		}
		w.rows = append(w.rows, c)
	}
}

// bodiless tells whether nothing stands where the body should: it was erased, or
// it is lost.
func (c *checked) bodiless() bool { return c.salt == nil && c.body == nil }

// cut drops, from the end, what cannot be told whole: a row without a body of
// which no row that is kept says that it was erased, and all after it.
func (w *wreck) cut() {
	for {
		clear(w.left)
		for i := range w.rows {
			w.erased(w.rows[i].fact)
		}
		lost := -1
		for i := range w.rows {
			if _, erased := w.left[w.rows[i].pos]; w.rows[i].bodiless() && !erased {
				lost = i
				break
			}
		}
		if lost < 0 {
			return
		}
		w.stop = fmt.Sprintf("position %d: %v", w.rows[lost].pos, errNoBody)
		w.rows = w.rows[:lost]
	}
}

// erased notes what is left of the bodies that an event took out, and of those
// that the events among these had taken out before.
func (w *wreck) erased(fact event.Body) {
	e, ok := fact.(event.Erased)
	if !ok {
		return
	}
	for _, b := range e.Bodies {
		w.left[b.At] = b
		if inner, err := event.Decode(b.Kind, b.Schema, []byte(b.Left)); err == nil {
			w.erased(inner)
		}
	}
}

// take appends a row of a damaged register, as it is, and takes out what it says
// was taken out.
func (tx *Tx) take(ctx context.Context, c *checked, left map[int64]event.ErasedBody) error {
	e := &c.envelope
	if tx.failed = tx.takeRow(ctx, c, left); tx.failed != nil {
		return tx.failed
	}
	tx.head = Head{At: c.pos, Hash: c.sum, Log: e.Log, Crib: e.Crib, Time: e.UTC}
	erased, ok := c.fact.(event.Erased)
	if !ok {
		return nil
	}
	for _, b := range erased.Bodies {
		err := tx.eraseBody(ctx, b, c.pos)
		if errors.Is(err, ErrErased) { // it came without its body
			err = nil
		}
		if err != nil {
			tx.failed = fmt.Errorf("position %d: %w", b.At, explain(err))
			return tx.failed
		}
	}
	return tx.present.retell(ctx, e.Subject)
}

func (tx *Tx) takeRow(ctx context.Context, c *checked, left map[int64]event.ErasedBody) error {
	e := &c.envelope
	if !c.bodiless() {
		return tx.insert(ctx, &Record{Envelope: *e, Hash: c.sum, Salt: [16]byte(c.salt), Raw: c.body, Body: c.fact}, c.row.envelope)
	}
	if _, err := tx.tx.ExecContext(ctx, sqlInsertLog, e.At, c.sum[:], e.Subject.String(), c.row.envelope); err != nil {
		return explain(err)
	}
	b := left[c.pos]
	fact, err := event.Decode(b.Kind, b.Schema, []byte(b.Left))
	if err != nil && !errors.Is(err, event.ErrUnknown) {
		return damaged(c.pos, "what is left of it: %w", err)
	}
	c.fact = fact
	return tx.present.add(ctx, e.At, e.Subject, state.Event{Hash: c.sum, Parents: e.Parents, Log: e.Log, By: e.By, UTC: e.UTC, Day: e.Day, Body: fact})
}
