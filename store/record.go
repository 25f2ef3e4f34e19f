package store

import (
	"errors"
	"fmt"

	"cribgate/core/event"
	"cribgate/core/state"
)

// Record is one event as the register holds it.
type Record struct {
	Envelope event.Envelope
	Hash     event.Hash
	Salt     [16]byte
	Raw      []byte     // the body's bytes
	Body     event.Body // nil where this program does not know the kind or schema
}

// Event is the record as the fold of core/state sees it.
func (r Record) Event() state.Event {
	return state.Event{
		Hash: r.Hash, Parents: r.Envelope.Parents, By: r.Envelope.By,
		UTC: r.Envelope.UTC, Day: r.Envelope.Day, Body: r.Body,
	}
}

// row is a row of the log with its body, unread.
type row struct {
	pos      int64
	hash     []byte
	subject  string
	envelope []byte
	salt     []byte // nil where the body is missing
	body     []byte
}

// errNoBody says that the log has an event without its body.
var errNoBody = errors.New("its body is missing")

// envelopeOf reads the envelope and holds it against its own row: hash,
// position and subject.
func (w row) envelopeOf() (event.Envelope, error) {
	if got := event.HashOf(w.envelope); string(got[:]) != string(w.hash) {
		return event.Envelope{}, errors.New("its hash is not that of its envelope")
	}
	e, err := event.ParseEnvelope(w.envelope)
	switch {
	case err != nil:
		return event.Envelope{}, err
	case e.At != w.pos:
		return event.Envelope{}, fmt.Errorf("its envelope is for position %d", e.At)
	case e.Subject.String() != w.subject:
		return event.Envelope{}, fmt.Errorf("its envelope is about %s, its row about %s", e.Subject, w.subject)
	}
	return e, nil
}

// holds tells whether the body is the one that the envelope commits to.
func (w row) holds(e event.Envelope) error {
	if len(w.salt) != 16 {
		return errNoBody
	}
	if event.Commit([16]byte(w.salt), w.body) != e.Body {
		return errors.New("its body is not the one that its envelope commits to")
	}
	return nil
}

// record reads the row whole.
func (w row) record() (Record, error) {
	e, err := w.envelopeOf()
	if err != nil {
		return Record{}, damaged(w.pos, "%w", err)
	}
	if err := w.holds(e); err != nil {
		return Record{}, damaged(w.pos, "%w", err)
	}
	r := Record{Envelope: e, Hash: event.Hash(w.hash), Salt: [16]byte(w.salt), Raw: w.body}
	r.Body, err = event.Decode(e.Kind, e.Schema, w.body)
	if err != nil && !errors.Is(err, event.ErrUnknown) {
		return Record{}, damaged(w.pos, "%w", err)
	}
	return r, nil
}
