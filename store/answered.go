package store

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"fmt"

	"cribgate/core/event"
)

// answer is what was answered under a key.
type answer struct {
	key     string
	request []byte
	text    []byte
	at      int64      // head of the log then
	head    event.Hash // of the envelope there
	sum     []byte     // empty for what a program from before the sum answered
}

// made is the sum that belongs to the answer. It is no seal, since anybody can
// make one: it tells what a disk or a slip of the hand changed.
func (a answer) made() [32]byte {
	h := sha256.New()
	var n [8]byte
	for _, part := range [][]byte{[]byte(a.key), a.request, a.text} {
		binary.BigEndian.PutUint64(n[:], uint64(len(part)))
		h.Write(n[:])
		h.Write(part)
	}
	binary.BigEndian.PutUint64(n[:], uint64(a.at))
	h.Write(n[:])
	h.Write(a.head[:])
	return [32]byte(h.Sum(nil))
}

// scan reads a row of the columns that sqlAnswered names.
func (a *answer) scan(row cells) error {
	var hash []byte
	if err := row.Scan(&a.key, &a.request, &a.text, &a.at, &a.sum, &hash); err != nil {
		return err
	}
	if len(hash) == len(a.head) {
		a.head = event.Hash(hash)
	}
	return nil
}

// check tells why the row is not what was written.
func (a answer) check() error {
	want := a.made()
	switch {
	case len(a.request) != sha256.Size:
		return fmt.Errorf("what was asked under key %q is no digest", a.key)
	case a.head.IsZero():
		return fmt.Errorf("the answer under key %q is of position %d, which is not there", a.key, a.at)
	case len(a.sum) > 0 && !bytes.Equal(a.sum, want[:]):
		return fmt.Errorf("the answer under key %q is not the one that was given", a.key)
	}
	return nil
}

// Answered gives the answer that an act with that key got, and false where there
// was none, or where it is too long ago.
func (r Reader) Answered(ctx context.Context, key string) (text []byte, known bool, err error) {
	a, known, err := r.answered(ctx, key)
	return a.text, known, err
}

func (r Reader) answered(ctx context.Context, key string) (a answer, known bool, err error) {
	err = each(ctx, r.q, func(rows cells) error {
		known = true
		if err := a.scan(rows); err != nil {
			return err
		}
		if err := a.check(); err != nil {
			return fmt.Errorf("%w: %w", ErrDamaged, err)
		}
		return nil
	}, sqlAnswered, key)
	if err != nil {
		return answer{}, false, fmt.Errorf("store: look the key up: %w", err)
	}
	return a, known, nil
}

// before gives what was answered under the key of an act before.
func before(ctx context.Context, r Reader, act Act) (text []byte, known bool, err error) {
	if act.Key == "" {
		return nil, false, nil
	}
	a, known, err := r.answered(ctx, act.Key)
	if known && !bytes.Equal(a.request, act.Request[:]) {
		return nil, false, fmt.Errorf("store: key %q: %w", act.Key, ErrKeyReused)
	}
	return a.text, known, err
}

// answer keeps what is answered under the act's key.
func (tx *Tx) answer(ctx context.Context, text []byte) error {
	if tx.act.Key == "" {
		return nil
	}
	a := answer{key: tx.act.Key, request: tx.act.Request[:], text: text, at: tx.head.At, head: tx.head.Hash}
	if a.text == nil {
		a.text = []byte{}
	}
	sum := a.made()
	if _, err := tx.tx.ExecContext(ctx, sqlInsertAnswered, a.key, a.request, a.text, a.at, sum[:]); err != nil {
		return fmt.Errorf("store: keep the answer: %w", err)
	}
	return nil
}

// compareAnswers looks at every answer that is kept.
func (v *verifier) compareAnswers(ctx context.Context, r Reader) error {
	for last := ""; ; {
		n := 0
		err := each(ctx, r.q, func(rows cells) error {
			n++
			var a answer
			if err := a.scan(rows); err != nil {
				return err
			}
			last = a.key
			if err := a.check(); err != nil {
				v.report(0, "%v", err)
			}
			return nil
		}, sqlWalkAnswered, last, batch)
		if err != nil || n < batch {
			return err
		}
	}
}
