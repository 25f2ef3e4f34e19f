package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/core/tagcode"
)

// querier is what a pool and a transaction can both do.
type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// Reader reads the register: in a [Store] what was last recorded, in a [Tx] also
// what the act itself has appended. It may be used by as many goroutines as what
// it is a part of.
type Reader struct{ q querier }

// Head is the newest end of the log. What is printed with a head's position and
// hash can be held against the file later.
type Head struct {
	At   int64 // position, from 1
	Hash event.Hash
	Log  event.LogID
	Crib event.CribID
	Time time.Time // UTC of the newest event
}

// Head gives the end of the log.
func (r Reader) Head(ctx context.Context) (Head, error) {
	newest, err := r.newest(ctx)
	if err != nil {
		return Head{}, err
	}
	return headOf(newest), nil
}

// newest gives the envelope at the end of the log.
func (r Reader) newest(ctx context.Context) (Record, error) {
	var w row
	err := r.q.QueryRowContext(ctx, sqlHead).Scan(&w.pos, &w.hash, &w.envelope)
	if errors.Is(err, sql.ErrNoRows) {
		return Record{}, damaged(0, "the log is empty")
	}
	if err != nil {
		return Record{}, fmt.Errorf("store: read the head: %w", explain(err))
	}
	e, err := event.ParseEnvelope(w.envelope)
	if err != nil {
		return Record{}, damaged(w.pos, "%w", err)
	}
	e.At = w.pos // where they differ, the chain is broken, and Verify says where
	return Record{Envelope: e, Hash: event.HashOf(w.envelope)}, nil
}

func headOf(newest Record) Head {
	e := newest.Envelope
	return Head{At: e.At, Hash: newest.Hash, Log: e.Log, Crib: e.Crib, Time: e.UTC}
}

// Crib gives what is known of the crib.
func (r Reader) Crib(ctx context.Context) (state.Crib, error) {
	c, _, err := one(ctx, r.q, "the crib", state.DecodeCrib, sqlCrib)
	return c, err
}

// Person gives one person, ErrNotFound where nobody has that id.
func (r Reader) Person(ctx context.Context, id event.PersonID) (state.Person, error) {
	p, _, err := one(ctx, r.q, "a person", state.DecodePerson, sqlPerson, id.String())
	return p, err
}

// PersonByName gives the person of exactly that name: ErrNotFound where nobody,
// ErrDoubled where more than one has it.
func (r Reader) PersonByName(ctx context.Context, name string) (state.Person, error) {
	p, _, err := one(ctx, r.q, "a person by name", state.DecodePerson, sqlPersonByName, name)
	return p, err
}

// People lists everybody, by name in the order of its bytes.
func (r Reader) People(ctx context.Context) ([]state.Person, error) {
	var people []state.Person
	name, id := "", ""
	for {
		n := 0
		err := each(ctx, r.q, func(rows cells) error {
			var text []byte
			if err := rows.Scan(&name, &id, &text); err != nil {
				return err
			}
			p, err := state.DecodePerson(text)
			n, people = n+1, append(people, p)
			return err
		}, sqlPeople, name, id, batch)
		if err != nil {
			return nil, fmt.Errorf("store: list people: %w", err)
		}
		if n < batch {
			return people, nil
		}
	}
}

// Sling gives one sling, ErrNotFound where the register knows none of that id.
func (r Reader) Sling(ctx context.Context, id event.SlingID) (state.Sling, error) {
	s, _, err := one(ctx, r.q, "a sling", state.DecodeSling, sqlSling, id.String())
	return s, err
}

// SlingByIdent gives the sling that its owner identifies as ident: ErrNotFound
// where there is none, ErrDoubled where two are registered under it.
func (r Reader) SlingByIdent(ctx context.Context, ident string) (state.Sling, error) {
	if ident == "" { // what is not registered yet has no identification
		return state.Sling{}, fmt.Errorf("store: a sling by identification: %w", ErrNotFound)
	}
	s, _, err := one(ctx, r.q, "a sling by identification", state.DecodeSling, sqlSlingByIdent, ident)
	return s, err
}

// SlingByTag gives the sling and the tag that was printed with the text of that
// digest, whatever has become of the tag since: ErrNotFound where this register
// printed none.
func (r Reader) SlingByTag(ctx context.Context, digest [32]byte) (state.Sling, state.Tag, error) {
	s, _, err := one(ctx, r.q, "a sling by its tag", state.DecodeSling, sqlSlingByTag, digest[:])
	if err != nil {
		return state.Sling{}, state.Tag{}, err
	}
	for _, t := range s.Tags {
		if t.Digest == digest {
			return s, t, nil
		}
	}
	return state.Sling{}, state.Tag{}, fmt.Errorf("store: a sling by its tag: %w: sling %s does not have the tag it is found by", ErrDamaged, s.ID)
}

// most is how many slings a short code or a number gives at the most: with two,
// nobody can tell already.
const most = 3

// SlingsByShort lists, by id, the slings that have a tag of that short code which
// was not replaced by another; at most three.
func (r Reader) SlingsByShort(ctx context.Context, c tagcode.Short) ([]state.Sling, error) {
	// Two slings share a code by chance, more hardly ever; replaced tags of the
	// same code fall out below.
	found, err := r.slings(ctx, "slings by short code", sqlByShort, c.Part, c.Serial, 10*most)
	if err != nil {
		return nil, err
	}
	var out []state.Sling
	for _, s := range found {
		for _, t := range s.Tags {
			number := tagcode.NumberOf(t.Key, s.Details.Ident)
			if t.Status != state.TagReplaced && tagcode.ShortOf(number, t.Serial) == c && len(out) < most {
				out = append(out, s)
				break
			}
		}
	}
	return out, nil
}

// SlingsByNumber lists, by id, the slings that have that number under the key
// they were registered with or under that of any of their tags; at most three.
func (r Reader) SlingsByNumber(ctx context.Context, n tagcode.Number) ([]state.Sling, error) {
	return r.slings(ctx, "slings by number", sqlByNumber, int64(n), most)
}

func (r Reader) slings(ctx context.Context, what, query string, args ...any) ([]state.Sling, error) {
	var list []state.Sling
	err := each(ctx, r.q, func(rows cells) error {
		var n int64
		var text []byte
		if err := rows.Scan(&n, &text); err != nil {
			return err
		}
		s, err := state.DecodeSling(text)
		list = append(list, s)
		return err
	}, query, args...)
	if err != nil {
		return nil, fmt.Errorf("store: %s: %w", what, err)
	}
	return list, nil
}

// stands lists the states that a sling can be counted in.
var stands = [...]gate.State{gate.StateIn, gate.StateOut, gate.StateUnchecked, gate.StateHeld, gate.StateRetired, gate.StateLost}

// Count gives the number of slings in each state.
func (r Reader) Count(ctx context.Context) (map[gate.State]int, error) {
	counts := make(map[gate.State]int, len(stands))
	for _, st := range stands {
		var n int
		err := each(ctx, r.q, func(rows cells) error { return rows.Scan(&n) }, sqlTally, st.String())
		if err != nil {
			return nil, fmt.Errorf("store: count slings: %w", err)
		}
		counts[st] = n
	}
	return counts, nil
}

// Overdue counts the slings, neither retired nor lost, that are due before the
// day or never. A due date later than maxMonths after the inspection counts as
// that day, as for the gate; 0 takes every due date as it is.
func (r Reader) Overdue(ctx context.Context, before quantity.Date, maxMonths int) (int, error) {
	var n int
	if err := r.q.QueryRowContext(ctx, sqlOverdue, before.String(), inspectedBefore(before, maxMonths).String()).Scan(&n); err != nil {
		return 0, fmt.Errorf("store: count overdue slings: %w", explain(err))
	}
	return n, nil
}

// Story gives every event of one subject in the order of position.
func (r Reader) Story(ctx context.Context, subject event.Subject) ([]Record, error) {
	list, err := r.records(ctx, sqlStory, subject.String())
	if err != nil {
		return nil, fmt.Errorf("store: story of %s: %w", subject, err)
	}
	return list, nil
}

// Since gives the events after a position, at most limit.
func (r Reader) Since(ctx context.Context, at int64, limit int) ([]Record, error) {
	list, err := r.records(ctx, sqlSince, at, limit)
	if err != nil {
		return nil, fmt.Errorf("store: events after %d: %w", at, err)
	}
	return list, nil
}

func (r Reader) records(ctx context.Context, query string, args ...any) ([]Record, error) {
	var list []Record
	err := eachRow(ctx, r.q, func(w row) error {
		rec, err := w.record()
		list = append(list, rec)
		return err
	}, query, args...)
	return list, err
}

// batch is how many rows a walk reads at a time.
const batch = 1000

// one reads the one row that a query finds, and its number.
func one[T any](ctx context.Context, q querier, what string, decode func([]byte) (T, error), query string, args ...any) (v T, n int64, err error) {
	found := 0
	err = each(ctx, q, func(rows cells) error {
		found++
		var text []byte
		if err := rows.Scan(&n, &text); err != nil {
			return err
		}
		var err error
		v, err = decode(text)
		return err
	}, query, args...)
	var zero T
	switch {
	case err != nil:
		return zero, 0, fmt.Errorf("store: %s: %w", what, err)
	case found == 0:
		return zero, 0, fmt.Errorf("store: %s: %w", what, ErrNotFound)
	case found > 1:
		return zero, 0, fmt.Errorf("store: %s: %w", what, ErrDoubled)
	}
	return v, n, nil
}

// cells is the row that a query is at.
type cells struct{ rows *sql.Rows }

// Scan reads the row, as that of [sql.Rows] does. SQLite holds every column to its
// type, so what does not fit was put there by something else.
func (c cells) Scan(to ...any) error {
	err := c.rows.Scan(to...)
	if err == nil || c.rows.Err() != nil { // the query has ended meanwhile
		return err
	}
	names, err := c.rows.Columns()
	if err != nil {
		return err
	}
	for i := range min(len(names), len(to)) {
		alone := slices.Repeat([]any{new(any)}, len(names))
		alone[i] = to[i]
		if c.rows.Scan(alone...) != nil {
			return fmt.Errorf("%w: a row has a %s that is none", ErrDamaged, names[i])
		}
	}
	return fmt.Errorf("store: %d columns are not the %d that were asked for", len(names), len(to))
}

// each calls f for every row of a query.
func each(ctx context.Context, q querier, f func(rows cells) error, query string, args ...any) error {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return explain(err)
	}
	defer rows.Close()
	for rows.Next() {
		if err := f(cells{rows}); err != nil {
			return explain(err)
		}
	}
	return explain(rows.Err())
}

// eachRow calls f for every row of the log that a query finds.
func eachRow(ctx context.Context, q querier, f func(w row) error, query string, args ...any) error {
	return each(ctx, q, func(rows cells) error {
		var w row
		if err := rows.Scan(&w.pos, &w.hash, &w.subject, &w.envelope, &w.salt, &w.body); err != nil {
			return err
		}
		return f(w)
	}, query, args...)
}
