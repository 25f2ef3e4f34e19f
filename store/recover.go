package store

import (
	"bufio"
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"cribgate/core/event"
	"cribgate/store/sqlite"
)

// Recovery tells what Recover brought back, and what it could not.
type Recovery struct {
	Restoration
	Copy   int64  // position up to which the copy told
	Stop   string // why nothing after From.At was taken from the damaged file; empty where it shows nothing after it
	Traces int64  // the newest position whose envelope still stands whole among the bytes of the damaged file, wherever; 0 for none
}

// Lost gives the positions that were in the damaged file and could not be brought
// back; both are 0 where it shows none. There may have been more after the last
// one, of which no trace is left.
func (r Recovery) Lost() (from, to int64) {
	if r.Stop == "" {
		return 0, 0
	}
	return r.From.At + 1, max(r.Traces, r.From.At+1)
}

// Recover makes a register at path from a copy and from what a damaged register
// tells beyond it: every event after the end of the copy whose envelope is read,
// follows the one before it in the chain and has its body, up to the first that
// does not. Nothing else is taken, so that what comes back was acknowledged in
// the damaged register word for word. The rest is as for [Restore].
//
// The damaged file is not changed; a second one of its size is needed beside
// path while it goes on.
func Recover(ctx context.Context, damagedFile, from, path, why string, o Options, progress func(stage string, done, total int64)) (Recovery, error) {
	r, err := recoverTo(ctx, damagedFile, from, path, why, o, progress)
	if err != nil {
		return Recovery{}, fmt.Errorf("store: recover %s from %s and %s: %w", path, from, damagedFile, explain(err))
	}
	return r, nil
}

func recoverTo(ctx context.Context, damagedFile, from, path, why string, o Options, progress func(stage string, done, total int64)) (r Recovery, err error) {
	if _, err := os.Stat(damagedFile); errors.Is(err, fs.ErrNotExist) {
		return r, ErrNotInitialised
	}
	end, err := fromCopy(ctx, from, damagedFile, path, o, progress, func(ctx context.Context, s *Store) (err error) {
		head, err := s.Head(ctx)
		if err != nil {
			return err
		}
		r.Copy = head.At
		var stranger bool
		if r.Traces, stranger, err = traces(ctx, damagedFile, head); err != nil {
			return err
		}
		if stranger {
			return ErrOtherCrib
		}
		if r.Stop, err = s.takeFrom(ctx, damagedFile, filepath.Dir(path), r.Traces); err != nil {
			return err
		}
		r.Restoration, err = s.restored(ctx, why)
		return err
	})
	r.Restoration.Head = end
	return r, err
}

// takeFrom appends what the damaged file tells beyond this register and says why
// it stopped.
func (s *Store) takeFrom(ctx context.Context, damagedFile, dir string, traces int64) (stop string, err error) {
	draft, err := newDraft(dir)
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, dropDraft(draft)) }()
	for _, end := range []string{"", "-wal"} { // what was written last may lie in the log beside the file
		if err := copyIfThere(ctx, damagedFile+end, draft+end); err != nil {
			return "", err
		}
	}
	torn := sqlite.OpenTorn(draft)
	defer func() { err = errors.Join(err, torn.Close()) }()
	head, err := s.newest(ctx)
	if err != nil {
		return "", err
	}
	w := wreck{left: map[int64]event.ErasedBody{}}
	if err := w.read(ctx, Reader{torn}, head.Envelope, head.Hash, traces); err != nil {
		return "", err
	}
	w.cut()
	err = s.db.BulkTx(ctx, func(sqlTx *sql.Tx) error {
		tx, err := s.begin(ctx, sqlTx, restoring)
		if err != nil {
			return err
		}
		for i := range w.rows {
			if err := tx.take(ctx, &w.rows[i], w.left); err != nil {
				return err
			}
		}
		return tx.settle(ctx)
	})
	return w.stop, err
}

func copyIfThere(ctx context.Context, from, to string) error {
	if _, err := os.Stat(from); errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	f, err := os.OpenFile(to, os.O_CREATE, 0o600)
	if err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	return copyBytes(ctx, from, to, func(int64, int64) {})
}

// traces gives the newest position of which an envelope of the same crib stands
// whole among the bytes of a register, or of the log beside it, in whatever state
// the file is. Where envelopes stand there, and all are of another crib, it is a
// stranger.
func traces(ctx context.Context, path string, head Head) (newest int64, stranger bool, err error) {
	f := finder{crib: head.Crib.String()}
	for _, end := range []string{"", "-wal"} {
		if err := f.look(ctx, path+end); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return 0, false, err
		}
	}
	return f.newest, f.others && f.newest == 0, nil
}

type finder struct {
	crib   string
	newest int64 // of that crib
	others bool  // there are some of another one
}

func (f *finder) look(ctx context.Context, path string) (err error) {
	file, err := os.Open(path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	const size = 1 << 20
	in := bufio.NewReaderSize(file, size)
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		part, err := in.Peek(size)
		f.find(part)
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		if _, err := in.Discard(len(part) - 2*longest); err != nil { // one that is cut off here is whole in the next part
			return err
		}
	}
}

// How an envelope begins, how its last line begins, and more bytes than it has
// with what stands before it in its row.
const (
	begins  = "crib-envelope "
	ends    = "\nprogram "
	longest = 2048
)

// find looks for envelopes whose hash stands with them in their row, so that no
// damage makes one of them up.
func (f *finder) find(part []byte) {
	for from := 0; ; {
		i := bytes.Index(part[from:], []byte(begins))
		if i < 0 {
			return
		}
		at := from + i
		from = at + len(begins)
		text := part[at:min(len(part), at+longest)]
		last := bytes.Index(text, []byte(ends))
		if last < 0 {
			continue
		}
		line := bytes.IndexByte(text[last+len(ends):], '\n')
		if line < 0 {
			continue
		}
		text = text[:last+len(ends)+line+1]
		e, err := event.ParseEnvelope(text)
		if err != nil {
			continue
		}
		sum, subject := event.HashOf(text), e.Subject.String()
		if row := at - len(subject) - len(sum); row < 0 || !bytes.Equal(part[row:row+len(sum)], sum[:]) {
			continue
		}
		if e.Crib.String() == f.crib {
			f.newest = max(f.newest, e.At)
		} else {
			f.others = true
		}
	}
}
