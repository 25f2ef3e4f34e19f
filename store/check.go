package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"cribgate/core/event"
)

// tail is how many envelopes are checked when a register is opened.
const tail = 1000

// link is the end of a chain that has been checked so far.
type link struct {
	at   int64
	hash event.Hash
	log  event.LogID
	crib event.CribID
	time time.Time
}

// follow holds a row whose envelope has been checked against the end of the
// chain: it follows without a gap, names the hash before it, is of the same crib
// and log and not earlier, unless two people corrected the clock. The link moves
// on even where something is wrong, so that the rest can be looked at.
func (l *link) follow(c *checked) error {
	before := *l
	l.at, l.hash = c.pos, c.sum
	if c.err != nil {
		return c.err
	}
	e := &c.envelope
	l.log, l.crib, l.time = e.Log, e.Crib, e.UTC
	switch {
	case before.at+1 != c.pos:
		return fmt.Errorf("it comes after position %d; what was between is gone", before.at)
	case e.Prev != before.hash:
		return fmt.Errorf("it does not name the hash of position %d", before.at)
	case before.at > 0 && e.Crib != before.crib:
		return fmt.Errorf("it is of another crib than position %d", before.at)
	case before.at > 0 && (e.Log != before.log || e.Kind == event.KindRestored):
		return c.begins(before)
	case e.UTC.Before(before.time) && (e.Kind != event.KindClockCorrected || e.Subject != event.Crib()):
		return fmt.Errorf("it is earlier than position %d, and no clock was corrected", before.at)
	}
	return nil
}

// begins tells whether the row may be of another log than the one before it: it
// says itself that a copy up to there was restored.
func (c *checked) begins(before link) error {
	e := &c.envelope
	if e.Kind != event.KindRestored {
		return errors.New("it is of another log, and does not say that a copy was restored")
	}
	if err := c.holds(); err != nil {
		return err
	}
	fact, err := event.Decode(e.Kind, e.Schema, c.body)
	if err != nil {
		return err
	}
	r, ok := fact.(event.Restored)
	if !ok || e.Subject != event.Crib() || e.Log == before.log || r.From != before.log || r.At != before.at || r.Head != before.hash {
		return errors.New("it says that a copy was restored, and not the one before it")
	}
	return nil
}

// checkEnd walks the newest envelopes and gives the position of the head.
func (s *Store) checkEnd(ctx context.Context) (int64, error) {
	head, err := s.Head(ctx)
	if err != nil {
		return 0, err
	}
	var l link
	first := max(0, head.At-tail-1) // one more, which the others are linked to
	err = eachRow(ctx, s.q, func(w row) error {
		c := checked{row: w}
		c.checkEnvelope()
		err := c.err
		if first > 0 && c.pos == first+1 { // what the others are linked to
			l = link{at: c.pos, hash: c.sum, log: c.envelope.Log, crib: c.envelope.Crib, time: c.envelope.UTC}
		} else if err = l.follow(&c); err == nil {
			err = c.holds()
		}
		if err != nil {
			return damaged(w.pos, "%w", err)
		}
		return nil
	}, sqlSince, first, tail+1)
	if err != nil {
		return 0, err
	}
	if l.at < head.At {
		return 0, damaged(l.at+1, "the log ends before its head")
	}
	return head.At, nil
}
