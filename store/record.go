package store

import (
	"cmp"
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
	Erased   bool       // the body was taken out; Raw and Body are what is left of it
}

// Event is the record as the fold of core/state sees it.
func (r Record) Event() state.Event {
	return state.Event{
		Hash: r.Hash, Parents: r.Envelope.Parents, Log: r.Envelope.Log, By: r.Envelope.By,
		UTC: r.Envelope.UTC, Day: r.Envelope.Day, Body: r.Body,
	}
}

// row is a row of the log with its body, unread.
type row struct {
	pos      int64
	hash     []byte
	subject  []byte
	envelope []byte
	salt     []byte // nil where the body is missing
	body     []byte // or what is left of it
}

// gone tells whether the body was erased, and is what is left of it.
func (w row) gone() bool { return w.salt == nil && w.body != nil }

// errNoBody says that the log has an event without its body.
var errNoBody = errors.New("its body is missing")

// checked is a row with everything that can be said of it alone. The zero value
// but for its row has not been looked at.
type checked struct {
	row
	sum      event.Hash // of the envelope's bytes
	envelope event.Envelope
	err      error      // why the envelope is none, or none of this row
	fact     event.Body // what the body says; nil where this program does not know kind or schema
	bodyErr  error      // why the body is none, or not the one that the envelope commits to
}

// check looks at envelope and body.
func (c *checked) check(d *event.Decoder) {
	c.checkEnvelope()
	if c.err == nil {
		c.checkBody(d)
	}
}

// checkEnvelope reads the envelope and holds it against its own row: hash,
// position and subject.
func (c *checked) checkEnvelope() {
	if c.sum = event.HashOf(c.row.envelope); string(c.sum[:]) != string(c.hash) {
		c.err = errors.New("its hash is not that of its envelope")
		return
	}
	e, err := event.ParseEnvelope(c.row.envelope)
	var spelled [64]byte
	switch {
	case err != nil:
		c.err = err
	case e.At != c.pos:
		c.err = fmt.Errorf("its envelope is for position %d", e.At)
	case string(e.Subject.Append(spelled[:0])) != string(c.subject):
		c.err = fmt.Errorf("its envelope is about %s, its row about %s", e.Subject, c.subject)
	default:
		c.envelope = e
	}
}

// checkBody holds the body against the envelope and reads it.
func (c *checked) checkBody(d *event.Decoder) {
	if c.bodyErr = c.holds(); c.bodyErr != nil {
		return
	}
	fact, err := d.Decode(c.envelope.Kind, c.envelope.Schema, c.body)
	if err != nil && !errors.Is(err, event.ErrUnknown) {
		c.bodyErr = err
		return
	}
	c.fact = fact
}

// holds tells whether the body is the one that the envelope commits to.
func (c *checked) holds() error {
	if c.gone() {
		return nil // the chain tells what is left; see verifier.compareErased
	}
	if len(c.salt) != 16 {
		return errNoBody
	}
	if event.Commit([16]byte(c.salt), c.body) != c.envelope.Body {
		return errors.New("its body is not the one that its envelope commits to")
	}
	return nil
}

// wrong is what check found, as damage of the register.
func (c *checked) wrong() error {
	if err := cmp.Or(c.err, c.bodyErr); err != nil {
		return damaged(c.pos, "%w", err)
	}
	return nil
}

// event is the row as the fold of core/state sees it.
func (c *checked) event() state.Event {
	e := &c.envelope
	return state.Event{Hash: c.sum, Parents: e.Parents, Log: e.Log, By: e.By, UTC: e.UTC, Day: e.Day, Body: c.fact}
}

// record reads the row whole.
func (w row) record() (Record, error) {
	c := checked{row: w}
	c.check(new(event.Decoder))
	if err := c.wrong(); err != nil {
		return Record{}, err
	}
	r := Record{Envelope: c.envelope, Hash: c.sum, Raw: w.body, Body: c.fact, Erased: c.gone()}
	copy(r.Salt[:], w.salt)
	return r, nil
}
