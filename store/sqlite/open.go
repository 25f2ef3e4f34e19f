package sqlite

import (
	"context"
	"cribgate/store/durable"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"

	"github.com/mattn/go-sqlite3"
)

// DB is an open file. Its methods and pools may be used by many goroutines.
type DB struct {
	// Write is the pool of one connection that writes. Use [DB.Tx].
	Write *sql.DB
	// Read is the pool of connections that only read.
	Read *sql.DB

	path    string
	stop    context.CancelFunc
	tasks   sync.WaitGroup
	doubts  atomic.Int64 // commits whose outcome nobody knows
	settled atomic.Int64 // how many of them are certainly not written; see settle
}

// Create makes a file at path, readable by its owner only, lays it out and has
// fill put in what belongs there from the beginning (nil: nothing). Where
// anything fails there is no file. It is [ErrExists] where there is one already.
func Create(ctx context.Context, path string, schema Schema, fill func(ctx context.Context, db *DB) error) (err error) {
	if _, err := os.Lstat(path); err == nil {
		return fmt.Errorf("sqlite: create %s: %w", path, ErrExists)
	}
	f, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".new-*") // mode 0600
	if err != nil {
		return fmt.Errorf("sqlite: create %s: %w", path, explainFile(err))
	}
	draft := f.Name()
	defer func() {
		for _, suffix := range []string{"", "-wal", "-shm"} {
			if rmErr := os.Remove(draft + suffix); rmErr != nil && !errors.Is(rmErr, fs.ErrNotExist) {
				err = errors.Join(err, rmErr)
			}
		}
	}()
	if err := f.Close(); err != nil {
		return fmt.Errorf("sqlite: create %s: %w", path, explainFile(err))
	}
	if err := build(ctx, draft, schema, fill); err != nil {
		return fmt.Errorf("sqlite: create %s: %w", path, err)
	}
	if err := os.Link(draft, path); errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("sqlite: create %s: %w", path, ErrExists)
	} else if err != nil {
		return fmt.Errorf("sqlite: create %s: %w", path, explainFile(err))
	}
	return durable.SyncDir(filepath.Dir(path))
}

// build fills the draft and leaves all of it in the one file: closing the last
// connection checkpoints and removes the write-ahead log.
func build(ctx context.Context, draft string, schema Schema, fill func(ctx context.Context, db *DB) error) (err error) {
	db := &DB{path: draft, stop: func() {}}
	db.Write, db.Read = pools(draft)
	defer func() { err = errors.Join(err, Explain(db.Close())) }()
	if _, err := db.Write.ExecContext(ctx, fmt.Sprintf("PRAGMA application_id = %d", schema.AppID)); err != nil {
		return Explain(err)
	}
	if err := migrate(ctx, db.Write, schema); err != nil {
		return err
	}
	if fill != nil {
		if err := fill(ctx, db); err != nil {
			return err
		}
	}
	return db.Checkpoint(ctx)
}

// Open opens the file at path, which [Create] made, and brings an older one up
// to date. It is [ErrMissing], [ErrNotOurs], [ErrNewer], [ErrEdited],
// [ErrReadOnly], [ErrLocked] or [ErrDamaged] where that cannot be; a file that
// is refused is not changed.
// The log hears of what goes wrong beside the answers; nil discards it.
func Open(ctx context.Context, path string, schema Schema, log *slog.Logger) (*DB, error) {
	if err := look(ctx, path, schema); err != nil {
		return nil, fmt.Errorf("sqlite: open %s: %w", path, err)
	}
	db := &DB{path: path}
	db.Write, db.Read = pools(path)
	if err := migrate(ctx, db.Write, schema); err != nil {
		return nil, errors.Join(fmt.Errorf("sqlite: open %s: %w", path, err), db.Write.Close(), db.Read.Close())
	}
	if err := db.Tx(ctx, func(tx *sql.Tx) error { return tick(ctx, tx) }); err != nil && !errors.Is(err, ErrLocked) && !errors.Is(err, ErrDiskFull) {
		return nil, errors.Join(fmt.Errorf("sqlite: open %s: %w", path, err), db.Write.Close(), db.Read.Close())
	}
	background, stop := context.WithCancel(context.WithoutCancel(ctx))
	db.stop = stop
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	db.tasks.Go(func() { db.keepShort(background, log) })
	return db, nil
}

// look refuses what is not ours to open, on a connection that changes nothing.
// It goes through SQLite and not through the file itself: closing a file drops
// every lock that this process has on it (POSIX, fcntl).
func look(ctx context.Context, path string, schema Schema) (err error) {
	if err := isFile(path); err != nil {
		return err
	}
	plain := sql.OpenDB(&connector{dsn: dsn(path, looking)})
	defer func() { err = errors.Join(err, plain.Close()) }()
	plain.SetMaxOpenConns(1)
	return known(ctx, path, plain, schema)
}

// isFile refuses what is no file, or an empty one.
func isFile(path string) error {
	switch info, err := os.Stat(path); {
	case errors.Is(err, fs.ErrNotExist):
		return ErrMissing
	case err != nil:
		return explainFile(err)
	case info.IsDir():
		return fmt.Errorf("%w: it is a directory", ErrNotOurs)
	case info.Size() == 0:
		return fmt.Errorf("%w: it is empty", ErrNotOurs)
	}
	return nil
}

// known refuses a file with another mark than the schema's, and one of a newer
// program.
func known(ctx context.Context, path string, db *sql.DB, schema Schema) error {
	var appID int32
	var version int64
	if err := db.QueryRowContext(ctx, "PRAGMA application_id").Scan(&appID); err != nil {
		return explainLook(path, err)
	}
	if appID != schema.AppID {
		return ErrNotOurs
	}
	if err := db.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version); err != nil {
		return explainLook(path, err)
	}
	newest, err := schema.newest()
	if err != nil {
		return err
	}
	if version > newest {
		return fmt.Errorf("%w: it has schema %d, this program knows %d", ErrNewer, version, newest)
	}
	return nil
}

func explainLook(path string, err error) error {
	var e sqlite3.Error
	if !errors.As(err, &e) {
		return Explain(err)
	}
	switch e.Code {
	case sqlite3.ErrNotADB:
		return fmt.Errorf("%w: %w", ErrNotOurs, err)
	case sqlite3.ErrCantOpen: // also what SQLite says of a file system that is mounted for reading only
		if probeErr := probe(filepath.Dir(path)); probeErr != nil {
			return fmt.Errorf("%w (%w)", probeErr, err)
		}
	}
	return Explain(err)
}

// probe tells whether files can be made in dir.
func probe(dir string) error {
	f, err := os.CreateTemp(dir, ".probe-*")
	if err != nil {
		return explainFile(err)
	}
	return errors.Join(f.Close(), os.Remove(f.Name()))
}

// Close ends the background work, puts what is left of the write-ahead log into
// the file and closes it.
func (db *DB) Close() error {
	db.stop()
	db.tasks.Wait()
	return errors.Join(db.Read.Close(), db.Write.Close())
}
