package sqlite

import (
	"context"
	"cribgate/store/durable"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/mattn/go-sqlite3"
)

// copyStep is how many pages are copied between two looks at the context: 4 MB
// with pages of 4 KiB.
const copyStep = 1000

// CopyTo puts one state of the file, whole, into the file at path, which is there
// and empty, and leaves nothing beside it. Others read and write meanwhile: a
// reader that was begun before holds the state that is copied. progress hears of
// pages done and to do; nil is nobody. What is at path is not synced yet
// ([Place], [Replace]), and worth nothing where CopyTo fails.
func (db *DB) CopyTo(ctx context.Context, path string, progress func(done, total int64)) (err error) {
	if progress == nil {
		progress = func(int64, int64) {}
	}
	to := sql.OpenDB(&connector{dsn: dsn(path, drafting)})
	defer func() { err = errors.Join(err, to.Close()) }()
	to.SetMaxOpenConns(1)
	err = pinned(ctx, db.Read, func(from *sqlite3.SQLiteConn) error {
		return raw(ctx, to, func(to *sqlite3.SQLiteConn) error { return copyPages(ctx, to, from, progress) })
	})
	if err == nil { // so that the copy is one file, whoever opens it
		_, err = to.ExecContext(ctx, "PRAGMA journal_mode = DELETE")
	}
	if err != nil {
		return fmt.Errorf("sqlite: copy %s to %s: %w", db.path, path, Explain(err))
	}
	return nil
}

// pinned hands out a connection on which a read transaction has begun, so that
// what it reads stays the same.
func pinned(ctx context.Context, pool *sql.DB, f func(*sqlite3.SQLiteConn) error) (err error) {
	conn, err := pool.Conn(ctx)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, conn.Close()) }()
	tx, err := conn.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer func() {
		if rbErr := tx.Rollback(); rbErr != nil && !errors.Is(rbErr, sql.ErrTxDone) {
			err = errors.Join(err, rbErr)
		}
	}()
	if _, err := userVersion(ctx, tx); err != nil { // a read transaction begins with its first read
		return err
	}
	return conn.Raw(func(driver any) error { return f(driver.(*sqlite3.SQLiteConn)) })
}

func raw(ctx context.Context, pool *sql.DB, f func(*sqlite3.SQLiteConn) error) (err error) {
	conn, err := pool.Conn(ctx)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, conn.Close()) }()
	return conn.Raw(func(driver any) error { return f(driver.(*sqlite3.SQLiteConn)) })
}

func copyPages(ctx context.Context, to, from *sqlite3.SQLiteConn, progress func(done, total int64)) (err error) {
	backup, err := to.Backup("main", from, "main")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, backup.Close()) }()
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		done, err := backup.Step(copyStep)
		if err != nil {
			return err
		}
		total := int64(backup.PageCount())
		progress(total-int64(backup.Remaining()), total)
		if done {
			return nil
		}
	}
}

// OpenCopy opens a file that nobody writes, such as a copy, without writing a
// byte to it or beside it; only Read works. Its errors are those of [Open], and
// [ErrInUse] where a write-ahead log beside it says that the file alone is not
// all. A file of an older layout is opened as it is.
func OpenCopy(ctx context.Context, path string, schema Schema) (*DB, error) {
	if err := alone(path); err != nil {
		return nil, fmt.Errorf("sqlite: open copy %s: %w", path, err)
	}
	open := func() *sql.DB { return sql.OpenDB(&connector{dsn: dsn(path, keeping)}) }
	db := &DB{path: path, stop: func() {}, Write: open(), Read: open()}
	db.Read.SetMaxOpenConns(readers())
	db.Read.SetMaxIdleConns(readers())
	if err := known(ctx, path, db.Read, schema); err != nil {
		return nil, errors.Join(fmt.Errorf("sqlite: open copy %s: %w", path, err), db.Close())
	}
	return db, nil
}

// alone refuses what is no file of one piece.
func alone(path string) error {
	if err := isFile(path); err != nil {
		return err
	}
	switch info, err := os.Stat(path + "-wal"); {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return explainFile(err)
	case info.Size() > 0:
		return ErrInUse
	}
	return nil
}

// Place gives a draft its name, where nothing has that name yet, so that it
// outlasts a power cut: ErrExists where something has.
func Place(draft, path string) error {
	return settle(draft, path, func() error {
		if err := os.Link(draft, path); err != nil {
			return err
		}
		return os.Remove(draft)
	})
}

// Replace does the same where a file of that name may be there, which is no
// more.
func Replace(draft, path string) error {
	return settle(draft, path, func() error { return os.Rename(draft, path) })
}

func settle(draft, path string, name func() error) error {
	err := syncFile(draft)
	if err == nil {
		err = name()
	}
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("sqlite: place %s: %w", path, ErrExists)
	}
	if err != nil {
		return fmt.Errorf("sqlite: place %s: %w", path, explainFile(err))
	}
	return durable.SyncDir(filepath.Dir(path))
}

func syncFile(path string) (err error) {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	return f.Sync()
}

// OpenTorn opens a file to read what can still be read of it, whatever state it
// is in. It is for a file that nobody else has or will have: a write-ahead log
// beside it is taken into account, and the pool is of one connection, so that
// nothing is read twice in two ways.
func OpenTorn(path string) *sql.DB {
	db := sql.OpenDB(&connector{dsn: dsn(path, looking)})
	db.SetMaxOpenConns(1)
	return db
}

// Bytes is how long the file is, without what lies in its write-ahead log.
func (db *DB) Bytes(ctx context.Context) (int64, error) {
	var pages, size int64
	for _, q := range []struct {
		pragma string
		to     *int64
	}{{"PRAGMA page_count", &pages}, {"PRAGMA page_size", &size}} {
		if err := db.Read.QueryRowContext(ctx, q.pragma).Scan(q.to); err != nil {
			return 0, fmt.Errorf("sqlite: length of %s: %w", db.path, Explain(err))
		}
	}
	return pages * size, nil
}
