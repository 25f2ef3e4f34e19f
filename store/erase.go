package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"

	"cribgate/core/event"
)

// ErrErased reports bodies that cannot be erased: there is none of that position,
// or it was erased before.
var ErrErased = errors.New("there is no body there to erase")

// roomLeft is how many bytes of what is left one event takes at the most; spelled
// as text they may double.
const roomLeft = 24 << 10

// An Erasure is one body that was taken out of the register. It holds nothing
// that was to go.
type Erasure struct {
	At   int64
	Hash event.Hash // of its envelope, so that it is found in copies of the same log and nowhere else
	Left string     // what is left of the body, and counts in its place
}

// erasing is a body that is going to be erased, with the subject of its story.
type erasing struct {
	subject event.Subject
	left    event.ErasedBody
	hash    event.Hash
}

// ErasePerson takes the person's name out of the register: out of the person's own
// story, and out of whatever anybody wrote by hand. What is left of each body is in
// an event of its own, so that the chain and every verdict stay as they are. It
// gives how many bodies were erased.
//
// The bodies are gone when the act is recorded; what is left of their bytes in the
// file goes right after it, see [Store.Sweep]. What was erased is written to the
// list beside the register first: see [Store.ApplyErasures].
func (tx *Tx) ErasePerson(ctx context.Context, id event.PersonID, why string) (int, error) {
	n, err := tx.erasePerson(ctx, id, why)
	if err != nil {
		return 0, fmt.Errorf("store: erase person %s: %w", id, err)
	}
	return n, nil
}

func (tx *Tx) erasePerson(ctx context.Context, id event.PersonID, why string) (int, error) {
	names, err := tx.NamesOf(ctx, id)
	if err != nil {
		return 0, err
	}
	list, err := tx.naming(ctx, event.Person(id), names, event.InsteadOf(id))
	if err != nil {
		return 0, err
	}
	return len(list), tx.erase(ctx, list, why)
}

// NamesOf gives every name that a person has had here and that is still known, the
// longest first: ErrNotFound where nobody has that id.
func (r Reader) NamesOf(ctx context.Context, id event.PersonID) (names []string, err error) {
	story, err := r.Story(ctx, event.Person(id))
	if err != nil {
		return nil, err
	}
	if len(story) == 0 {
		return nil, ErrNotFound
	}
	for _, r := range story {
		name := ""
		switch b := r.Body.(type) {
		case event.PersonAdded:
			name = b.Name
		case event.PersonChanged:
			name = b.Name
		}
		if name != "" && !r.Erased && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	slices.SortFunc(names, func(a, b string) int { return len(b) - len(a) }) // of two names the one with the other in it
	return names, nil
}

// naming finds every body that has one of the names in it. Whose names are
// looked for is the person of the subject.
func (tx *Tx) naming(ctx context.Context, own event.Subject, names []string, instead string) (list []erasing, err error) {
	if err := tx.settle(ctx); err != nil {
		return nil, err
	}
	err = (Reader{tx.tx}).walk(ctx, 0, false, func(rows []checked) error {
		for i := range rows {
			c := &rows[i]
			if err := c.wrong(); err != nil {
				return err
			}
			left, told := c.without(own, names, instead)
			if !told {
				continue
			}
			text, err := event.Encode(left)
			if err != nil {
				return fmt.Errorf("position %d: %w", c.pos, err)
			}
			list = append(list, erasing{
				subject: c.envelope.Subject, hash: c.sum,
				left: event.ErasedBody{At: c.pos, Kind: c.envelope.Kind, Schema: c.envelope.Schema, Left: string(text)},
			})
		}
		return nil
	})
	return list, err
}

// without gives what is left of the body without any of the names. Of a body that
// was erased before, nothing is taken again: it says nobody's name in its own
// story, and a note of which one name was cut out may have another in it.
func (c *checked) without(own event.Subject, names []string, instead string) (left event.Body, told bool) {
	if c.gone() {
		return nil, false
	}
	left = c.fact
	if c.envelope.Subject == own {
		if b, named := event.Unnamed(left, instead); named {
			return b, true
		}
	}
	for _, name := range names {
		if b, here := event.Untold(left, name, instead); here {
			left, told = b, true
		}
	}
	return left, told
}

// erase takes bodies out of the register, and tells so in the story of each
// subject.
func (tx *Tx) erase(ctx context.Context, list []erasing, why string) error {
	if tx.each {
		return errors.New("nothing is erased in bulk")
	}
	for len(list) > 0 {
		s := list[0].subject
		n, room := 0, 0
		var later []erasing
		body := event.Erased{What: "note", Why: why}
		if s.Kind() == event.OfPerson {
			body.What = "name"
		}
		var now []erasing
		for _, e := range list {
			if e.subject != s || n > 0 && room+len(e.left.Left) > roomLeft || len(later) > 0 && later[0].subject == s {
				later = append(later, e)
				continue
			}
			n, room = n+1, room+len(e.left.Left)
			body.Bodies, now = append(body.Bodies, e.left), append(now, e)
		}
		if err := tx.eraseOf(ctx, s, body, now); err != nil {
			return err
		}
		list = later
	}
	return nil
}

// eraseOf erases bodies of one story.
func (tx *Tx) eraseOf(ctx context.Context, s event.Subject, body event.Erased, list []erasing) error {
	heads, err := tx.present.heads(ctx, s)
	if err != nil {
		return err
	}
	rec, err := tx.append(ctx, s, heads, body)
	if err != nil {
		return err
	}
	for _, e := range list {
		if err := tx.eraseBody(ctx, e.left, rec.Envelope.At); err != nil {
			tx.failed = fmt.Errorf("position %d: %w", e.left.At, explain(err))
			return tx.failed
		}
		tx.erased = append(tx.erased, Erasure{At: e.left.At, Hash: e.hash, Left: e.left.Left})
	}
	return tx.present.retell(ctx, s)
}

func (tx *Tx) eraseBody(ctx context.Context, b event.ErasedBody, told int64) error {
	if _, err := event.Decode(b.Kind, b.Schema, []byte(b.Left)); err != nil {
		return fmt.Errorf("what is left cannot be read: %w", err)
	}
	if _, err := tx.tx.ExecContext(ctx, sqlInsertErased, b.At, told, []byte(b.Left)); err != nil {
		return err
	}
	gone, err := tx.tx.ExecContext(ctx, sqlDeleteBody, b.At)
	if err != nil {
		return err
	}
	if n, err := gone.RowsAffected(); err != nil || n != 1 {
		return errors.Join(ErrErased, err)
	}
	for _, statement := range forgetting {
		if _, err := tx.tx.ExecContext(ctx, statement, b.At); err != nil {
			return err
		}
	}
	return tx.leftAgain(ctx, b)
}

// leftAgain puts right what is left of the bodies that an erased Erased speaks of:
// another name has been cut out of that.
func (tx *Tx) leftAgain(ctx context.Context, b event.ErasedBody) error {
	if b.Kind != event.KindErased {
		return nil
	}
	fact, err := event.Decode(b.Kind, b.Schema, []byte(b.Left))
	if err != nil {
		return err
	}
	inner, ok := fact.(event.Erased)
	if !ok {
		return fmt.Errorf("%w: %s", event.ErrBody, b.Kind)
	}
	for _, e := range inner.Bodies {
		if _, err := tx.tx.ExecContext(ctx, sqlUpdateErased, e.At, []byte(e.Left)); err != nil {
			return err
		}
		if err := tx.leftAgain(ctx, e); err != nil {
			return err
		}
	}
	return nil
}

// Sweep writes the file anew where bodies were erased since that was last done, so
// that their bytes are not found in it any more. It is ErrLocked or ErrDiskFull
// where that cannot be done now; it is done when the register is opened next.
func (s *Store) Sweep(ctx context.Context) error {
	var at int64
	err := s.db.Write.QueryRowContext(ctx, sqlUnswept).Scan(&at)
	if errors.Is(err, sql.ErrNoRows) {
		return nil
	}
	if err == nil {
		err = s.db.Wipe(ctx)
	}
	if err == nil {
		err = s.db.Tx(ctx, func(tx *sql.Tx) error {
			_, err := tx.ExecContext(ctx, sqlSwept)
			return err
		})
	}
	if err != nil {
		return fmt.Errorf("store: write the file anew: %w", explain(err))
	}
	return nil
}

// sweep is Sweep beside an act that is recorded whatever comes of it.
func (s *Store) sweepErased(ctx context.Context) {
	if err := s.Sweep(context.WithoutCancel(ctx)); err != nil {
		s.o.Log.WarnContext(ctx, "what was erased is still in the file's unused parts", "err", err)
	}
}

// Erasures lists every body that was taken out of this register.
func (r Reader) Erasures(ctx context.Context) (list []Erasure, err error) {
	err = r.eachErased(ctx, func(e Erasure, _ int64) error {
		list = append(list, e)
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("store: list what was erased: %w", err)
	}
	return list, nil
}

// eachErased calls f for every body that was taken out, with the position of the
// event that tells so. f may not read.
func (r Reader) eachErased(ctx context.Context, f func(e Erasure, told int64) error) error {
	for at := int64(0); ; {
		n := 0
		err := each(ctx, r.q, func(rows cells) error {
			var e Erasure
			var told int64
			var hash []byte
			if err := rows.Scan(&e.At, &told, &hash, &e.Left); err != nil {
				return err
			}
			if len(hash) != len(e.Hash) {
				return damaged(e.At, "its hash is cut")
			}
			e.Hash = event.Hash(hash)
			n, at = n+1, e.At
			return f(e, told)
		}, sqlWalkErased, at, batch)
		if err != nil || n < batch {
			return err
		}
	}
}
