package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"cribgate/core/event"
	"cribgate/store/durable"
	"cribgate/store/sqlite"
)

// Restoration tells what Restore brought back.
type Restoration struct {
	From      Head // of the log that goes no further: the last event that was brought back
	Head      Head // of the register as it is now, in its new log
	ToCompare int  // slings that do not go out before tag, plate and record were compared
}

// restoring is the act of whoever restores: a person at the machine, whom the
// register does not know.
var restoring = Act{Station: "console", Way: "program"}

// Restore makes a register at path from a copy. The story goes on where the copy
// ends, in a new log, whose first event says which log it follows, up to where,
// and why; every sling is then to be compared before it goes out
// (state.Crib.ToCompare). The copy is not changed.
//
// It is ErrExists where there is a file at path, ErrNoCopy where there is no
// copy, ErrNotACopy for a register that is in use or was not closed, and
// ErrDamaged where the copy does not hold; no register is there then. progress, if
// not nil, is told how far each stage is.
func Restore(ctx context.Context, from, path, why string, o Options, progress func(stage string, done, total int64)) (Restoration, error) {
	var r Restoration
	head, err := fromCopy(ctx, from, "", path, o, progress, func(ctx context.Context, s *Store) (err error) {
		r, err = s.restored(ctx, why)
		return err
	})
	if err != nil {
		return Restoration{}, fmt.Errorf("store: restore %s from %s: %w", path, from, explain(err))
	}
	r.Head = head
	return r, nil
}

// fromCopy makes a register at path from a copy and from what f then does to it,
// unless the outcome does not hold, and gives its head. What was erased is erased
// again, by the lists beside the copy, the new register and the damaged one, if
// there is one.
func fromCopy(ctx context.Context, from, damagedFile, path string, o Options, progress func(stage string, done, total int64), f func(context.Context, *Store) error) (head Head, err error) {
	o = o.filled()
	if progress == nil {
		progress = func(string, int64, int64) {}
	}
	if _, err := os.Lstat(path); err == nil {
		return Head{}, ErrExists
	}
	dir := filepath.Dir(path)
	if err := durable.MakeDir(dir); err != nil {
		return Head{}, err
	}
	draft, err := newDraft(dir)
	if err != nil {
		return Head{}, err
	}
	defer func() { err = errors.Join(err, dropDraft(draft)) }()
	if err := draftOf(ctx, from, draft, progress); err != nil {
		return Head{}, err
	}
	s, err := openAsIs(ctx, draft, o)
	if err != nil {
		return Head{}, err
	}
	err = f(ctx, s)
	if err == nil {
		lists := []string{filepath.Dir(from), dir}
		if damagedFile != "" {
			lists = append([]string{filepath.Dir(damagedFile)}, lists...)
		}
		err = s.eraseAgain(ctx, lists...)
	}
	if err == nil {
		err = s.holds(ctx, progress)
	}
	if err == nil {
		head, err = s.Head(ctx)
	}
	if err := errors.Join(err, s.Close()); err != nil {
		return Head{}, err
	}
	return head, sqlite.Place(draft, path)
}

// draftOf copies the bytes of a copy, which is of one piece, into a draft.
func draftOf(ctx context.Context, from, draft string, progress func(stage string, done, total int64)) error {
	layout, err := schema()
	if err != nil {
		return err
	}
	db, err := sqlite.OpenCopy(ctx, from, layout) // refuses what is none
	if errors.Is(err, sqlite.ErrMissing) {
		return ErrNoCopy
	}
	if err != nil {
		return err
	}
	if err := db.Close(); err != nil {
		return err
	}
	return copyBytes(ctx, from, draft, func(done, total int64) { progress(StageCopy, done, total) })
}

// copyBytes copies a file into another that is there.
func copyBytes(ctx context.Context, from, to string, progress func(done, total int64)) (err error) {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, in.Close()) }()
	info, err := in.Stat()
	if err != nil {
		return err
	}
	out, err := os.OpenFile(to, os.O_WRONLY|os.O_TRUNC, 0)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, out.Close()) }()
	const step = 4 << 20
	for done := int64(0); ; {
		if err := ctx.Err(); err != nil {
			return err
		}
		n, err := io.CopyN(out, in, step)
		done += n
		progress(done, max(done, info.Size()))
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
	}
}

// restored begins the new log.
func (s *Store) restored(ctx context.Context, why string) (r Restoration, err error) {
	err = s.db.Tx(ctx, func(sqlTx *sql.Tx) error {
		tx, err := s.begin(ctx, sqlTx, restoring)
		if err != nil {
			return err
		}
		crib, err := tx.Crib(ctx)
		if err != nil {
			return err
		}
		r.From = tx.head
		if tx.head.Log, err = event.NewLogID(s.o.Random); err != nil {
			return err
		}
		_, err = tx.Append(ctx, event.Crib(), crib.Heads, event.Restored{From: r.From.Log, At: r.From.At, Head: r.From.Hash, Why: why})
		if err != nil {
			return err
		}
		r.ToCompare, err = tx.ToCompare(ctx, tx.head.Log)
		return err
	})
	return r, err
}

// holds is nil where the register is whole.
func (s *Store) holds(ctx context.Context, progress func(stage string, done, total int64)) error {
	report, err := s.Verify(ctx, func(done, total int64) { progress(StageVerify, done, total) })
	if err != nil {
		return err
	}
	return report.err()
}

// ToCompare counts the slings that were last compared in another log than that
// one and can be: those that are lost or retired are not.
func (r Reader) ToCompare(ctx context.Context, log event.LogID) (n int, err error) {
	if err := r.q.QueryRowContext(ctx, sqlToCompare, log.String()).Scan(&n); err != nil {
		return 0, fmt.Errorf("store: count slings to compare: %w", explain(err))
	}
	return n, nil
}
