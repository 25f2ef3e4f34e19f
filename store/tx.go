package store

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	"cribgate/core/event"
	"cribgate/core/quantity"
)

// Act says who does something, where, and under which key.
type Act struct {
	By      event.PersonID // zero for the program itself
	Station string
	Way     string   // how the thing was read; see event.Envelope
	Key     string   // idempotency key, "" for none
	Request [32]byte // digest of the request that the key is bound to
}

// Tx is one act: what it reads does not change while it goes on, and what it
// appends is recorded whole or not at all. It is for one goroutine and no longer
// than the function that was given it.
type Tx struct {
	Reader
	s       *Store
	act     Act
	head    Head
	log     event.LogID // of the head when the act began
	at      Clock
	machine reading
	each    bool // the clock is read for every event, not once for the act, and nothing is held against it
	present present
	tx      *sql.Tx
	erased  []Erasure
	failed  error // why the act must not be committed, whatever its function says
}

// Do runs f as one act in one write transaction. Where act.Key has been
// answered before, f is not called: the same request gets the first answer
// again, another is ErrKeyReused. Where f returns nil, what it appended and its
// answer are on disk when Do returns; where it returns an error nothing is, and
// the error comes back. ErrUnknownOutcome is the one case in which nobody knows:
// ask again with the same key. An error is ErrNotRecorded where nothing is recorded
// under the key at all; where it is not, the key could not be looked up, and an act
// with it may have been recorded before. Acts wait for each other, so f must not begin
// another.
func (s *Store) Do(ctx context.Context, act Act, f func(ctx context.Context, tx *Tx) (answer []byte, err error)) (answer []byte, err error) {
	var head int64
	var listed *erasureList
	looked := false // and nothing had been answered under the key
	err = s.db.Tx(ctx, func(sqlTx *sql.Tx) error {
		first, known, err := before(ctx, Reader{sqlTx}, act)
		if known || err != nil {
			answer = first
			return err
		}
		looked = true
		tx, err := s.begin(ctx, sqlTx, act)
		if err != nil {
			return err
		}
		if answer, err = f(ctx, tx); err != nil {
			return err
		}
		if err := tx.settle(ctx); err != nil {
			return err
		}
		if err := tx.answer(ctx, answer); err != nil {
			return err
		}
		head = tx.head.At
		if len(tx.erased) > 0 {
			listed, err = s.listErased(ctx, tx) // last: what is on the list is going to be erased
		}
		return err
	})
	if err = listed.settle(err); err != nil {
		if err = explain(err); looked && !errors.Is(err, ErrUnknownOutcome) {
			err = notRecorded{err}
		}
		return nil, err
	}
	if listed != nil {
		s.sweepErased(ctx)
	}
	s.feed.publish(head)
	return answer, nil
}

// settle brings the rows of the present up to date.
func (tx *Tx) settle(ctx context.Context) error {
	if tx.failed == nil {
		tx.failed = tx.present.flush(ctx)
	}
	return tx.failed
}

// Bulk appends many events in one transaction, for registers that are made up
// or carried over: the clock of Options is read for every event, and [Tx.As]
// says who does the next one. Others cannot write while it goes on, and nothing
// of it is recorded where f fails.
func (s *Store) Bulk(ctx context.Context, act Act, f func(ctx context.Context, tx *Tx) error) error {
	var head int64
	err := s.db.BulkTx(ctx, func(sqlTx *sql.Tx) error {
		tx, err := s.begin(ctx, sqlTx, act)
		if err != nil {
			return err
		}
		tx.each = true
		tx.at = trusted(tx.at.Reads, tx.at.Newest, tx.at.zone)
		if err := f(ctx, tx); err != nil {
			return err
		}
		head = tx.head.At
		return tx.settle(ctx)
	})
	if err != nil {
		return explain(err)
	}
	s.feed.publish(head)
	s.shorten(ctx)
	return nil
}

// shorten puts the write-ahead log into the file after much was written at once.
// Where that fails nothing is lost and all that was recorded counts: the log stays
// and is put in later, so that the caller must not hear of it as if it had not been
// recorded.
func (s *Store) shorten(ctx context.Context) {
	if err := s.db.Checkpoint(ctx); err != nil {
		s.o.Log.WarnContext(ctx, "checkpoint", "err", err)
	}
}

func (s *Store) begin(ctx context.Context, sqlTx *sql.Tx, act Act) (*Tx, error) {
	tx := &Tx{s: s, act: act, tx: sqlTx, present: present{tx: sqlTx}}
	tx.Reader = Reader{settled{tx}}
	newest, err := tx.newest(ctx)
	if err != nil {
		return nil, err
	}
	tx.head = headOf(newest)
	tx.log = tx.head.Log
	tx.at, tx.machine, err = s.clock(ctx, tx.Reader, newest.Envelope)
	return tx, err
}

// settled reads an act's transaction after what the act has appended has
// reached the rows.
type settled struct{ tx *Tx }

func (q settled) QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error) {
	if err := q.tx.settle(ctx); err != nil {
		return nil, err
	}
	return q.tx.tx.QueryContext(ctx, query, args...)
}

// QueryRowContext cannot return an error of its own; where the rows could not be
// brought up to date, the act is not committed.
func (q settled) QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row {
	_ = q.tx.settle(ctx) // kept in failed
	return q.tx.tx.QueryRowContext(ctx, query, args...)
}

// Now is the time that the act's events are stamped with.
func (tx *Tx) Now() time.Time { return tx.at.Stamp() }

// Today is the crib's local date by which slings are due: see Clock.Today.
func (tx *Tx) Today() quantity.Date { return tx.at.Today() }

// Clock is this machine's clock, held against the register. While it is in doubt
// no sling may be issued.
func (tx *Tx) Clock() Clock { return tx.at }

// As says who does what follows, and where. The key of the act stays.
func (tx *Tx) As(by event.PersonID, station, way string) {
	tx.act.By, tx.act.Station, tx.act.Way = by, station, way
}

// Append adds one event to the story of a subject. seen are the newest events
// of that story which the writer has read, in any order: where there are others
// by now it is a *ConflictError and the act should end. A body that does not
// read back, or that cannot happen after what the register says
// (ErrContradicts), is not appended.
func (tx *Tx) Append(ctx context.Context, subject event.Subject, seen []event.Hash, body event.Body) (Record, error) {
	rec, err := tx.append(ctx, subject, seen, body)
	if err != nil {
		return Record{}, fmt.Errorf("store: append %s to %s: %w", body.Kind(), subject, err)
	}
	return rec, nil
}

func (tx *Tx) append(ctx context.Context, subject event.Subject, seen []event.Hash, body event.Body) (Record, error) {
	if tx.failed != nil {
		return Record{}, tx.failed
	}
	heads, err := tx.present.heads(ctx, subject)
	if err != nil {
		return Record{}, err
	}
	seen = slices.Clone(seen)
	slices.SortFunc(seen, func(a, b event.Hash) int { return bytes.Compare(a[:], b[:]) })
	if !slices.Equal(heads, seen) {
		return Record{}, tx.conflict(ctx, subject, seen)
	}
	if tx.each {
		tx.at.Reads = tx.s.o.clock()
		if tx.machine, err = tx.s.o.Machine.read(); err != nil {
			return Record{}, err
		}
	}
	at := tx.at
	switch body.Kind() {
	case event.KindDateConfirmed: // what two people have found right
		at = trusted(at.Reads, at.Newest, at.zone)
	case event.KindClockCorrected: // they have found the register wrong
		at = trusted(at.Reads, at.Reads, at.zone)
	}
	raw, err := event.Encode(body)
	if err != nil {
		return Record{}, err
	}
	rec := Record{Raw: raw}
	if rec.Body, err = event.Decode(body.Kind(), event.SchemaOf(body), raw); err != nil {
		return Record{}, err
	}
	if _, err := io.ReadFull(tx.s.o.Random, rec.Salt[:]); err != nil {
		return Record{}, fmt.Errorf("draw a salt: %w", err)
	}
	rec.Envelope = event.Envelope{
		Log: tx.head.Log, Crib: tx.head.Crib, At: tx.head.At + 1, Prev: tx.head.Hash,
		Subject: subject, Parents: heads, Kind: body.Kind(), Schema: event.SchemaOf(body), Body: event.Commit(rec.Salt, raw),
		By: tx.act.By, UTC: at.Stamp(), Day: at.Reached(),
		Boot: tx.machine.boot, Uptime: tx.machine.up,
		Station: tx.act.Station, Way: tx.act.Way, Doubt: at.Doubt, Program: tx.s.o.Program,
	}
	return rec, tx.write(ctx, &rec)
}

// write puts the record at the end of the log and into the present.
func (tx *Tx) write(ctx context.Context, rec *Record) error {
	envelope, err := rec.Envelope.Bytes()
	if err != nil {
		return err
	}
	rec.Hash = event.HashOf(envelope)
	e := rec.Envelope
	if e.Kind == event.KindRestored && e.Log == tx.log { // the log goes on
		return ErrContradicts
	}
	if fits, err := tx.present.fits(ctx, e.Subject, rec.Event()); err != nil {
		return err
	} else if !fits {
		return ErrContradicts
	}
	if tx.failed = tx.insert(ctx, rec, envelope); tx.failed != nil {
		return tx.failed
	}
	tx.head.At, tx.head.Hash, tx.head.Time = e.At, rec.Hash, e.UTC
	tx.at = tx.at.goesOn(e)
	return nil
}

func (tx *Tx) insert(ctx context.Context, rec *Record, envelope []byte) error {
	e := rec.Envelope
	if _, err := tx.tx.ExecContext(ctx, sqlInsertLog, e.At, rec.Hash[:], e.Subject.String(), envelope); err != nil {
		return explain(err)
	}
	if _, err := tx.tx.ExecContext(ctx, sqlInsertBody, e.At, rec.Salt[:], rec.Raw); err != nil {
		return explain(err)
	}
	return tx.present.add(ctx, e.At, e.Subject, rec.Event())
}

// conflict tells what happened after the newest event that the writer saw.
func (tx *Tx) conflict(ctx context.Context, subject event.Subject, seen []event.Hash) error {
	story, err := tx.Story(ctx, subject)
	if err != nil {
		return err
	}
	from := 0
	for i, r := range story {
		if slices.Contains(seen, r.Hash) {
			from = i + 1
		}
	}
	return &ConflictError{Subject: subject, Since: story[from:]}
}
