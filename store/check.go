package store

import (
	"context"
	"errors"
	"fmt"

	"cribgate/core/event"
)

// tail is how many envelopes are checked when a register is opened.
const tail = 1000

// link is the end of a chain that has been checked so far.
type link struct {
	at   int64
	hash event.Hash
	log  event.LogID
}

// follow holds a row against the end of the chain: it follows without a gap,
// names the hash before it and is of the same log. e and err are what
// row.envelopeOf gave. The link moves on even where something is wrong, so that
// the rest can be looked at.
func (l *link) follow(w row, e event.Envelope, err error) error {
	before := *l
	l.at, l.hash = w.pos, event.HashOf(w.envelope)
	if err != nil {
		return err
	}
	l.log = e.Log
	switch {
	case before.at+1 != w.pos:
		return fmt.Errorf("it comes after position %d; what was between is gone", before.at)
	case e.Prev != before.hash:
		return fmt.Errorf("it does not name the hash of position %d", before.at)
	case before.at > 0 && e.Log != before.log:
		return errors.New("it is of another log")
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
		if first > 0 && l.at == 0 { // what the others are linked to
			l = link{at: w.pos, hash: event.HashOf(w.envelope)}
			e, err := w.envelopeOf()
			if err != nil {
				return damaged(w.pos, "%w", err)
			}
			l.log = e.Log
			return nil
		}
		e, err := w.envelopeOf()
		if err = l.follow(w, e, err); err == nil {
			err = w.holds(e)
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
