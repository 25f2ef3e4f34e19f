package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"log/slog"
	"time"
)

// lookEvery is how often the write-ahead log is looked at, and longWAL how many
// pages it may have before they are put into the file: about 4 MB.
const (
	lookEvery = time.Second
	longWAL   = 1000
)

// keepShort checkpoints until ctx ends. What goes wrong here loses nothing,
// since the log stays; it is tried again, and a disk that keeps failing fails
// the next commit, which tells its caller.
func (db *DB) keepShort(ctx context.Context, log *slog.Logger) {
	ticker := time.NewTicker(lookEvery)
	defer ticker.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-ticker.C:
			if err := db.shortenIfLong(ctx); err != nil && ctx.Err() == nil {
				log.WarnContext(ctx, "checkpoint", "file", db.path, "err", err)
			}
		}
	}
}

func (db *DB) shortenIfLong(ctx context.Context) error {
	pages, done, err := checkpoint(ctx, db.Read, "NOOP")
	if err != nil || pages-done < longWAL {
		return err
	}
	return db.shorten(ctx)
}

// Checkpoint puts the write-ahead log into the file and empties it, as far as
// readers let it. Writers wait for as long as that takes.
func (db *DB) Checkpoint(ctx context.Context) error {
	if err := db.restart(ctx, "TRUNCATE"); err != nil {
		return fmt.Errorf("sqlite: checkpoint %s: %w", db.path, Explain(err))
	}
	return nil
}

// shorten does the same beside the writer. A reader that has the log in sight
// keeps it from starting again while most of it is put into the file; only the
// last pages and the tick are done while writers wait.
func (db *DB) shorten(ctx context.Context) error {
	pin, err := db.Read.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	_, err = userVersion(ctx, pin) // a read transaction begins with its first read
	if err == nil {
		_, _, err = checkpoint(ctx, db.Read, "PASSIVE")
	}
	if err := errors.Join(err, pin.Rollback()); err != nil {
		return err
	}
	return db.restart(ctx, "PASSIVE")
}

// restart checkpoints and ticks while no other write of this process can come
// between: the connection is the only one that writes.
func (db *DB) restart(ctx context.Context, mode string) (err error) {
	conn, err := db.Write.Conn(ctx)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, conn.Close()) }()
	if _, _, err := checkpoint(ctx, conn, mode); err != nil {
		return err
	}
	return commit(ctx, conn, func(tx *sql.Tx) error { return tick(ctx, tx) })
}

// tick writes a page that says what it said before, so that this commit and not
// one of the caller's syncs the header of a write-ahead log that starts again.
func tick(ctx context.Context, tx *sql.Tx) error {
	version, err := userVersion(ctx, tx)
	if err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, fmt.Sprintf("PRAGMA user_version = %d", version))
	return err
}

type queryer interface {
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

func userVersion(ctx context.Context, q queryer) (version int64, err error) {
	err = q.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version)
	return version, err
}

// checkpoint tells how many pages the log has and how many of them are in the
// file.
func checkpoint(ctx context.Context, q queryer, mode string) (pages, done int64, err error) {
	var busy int64
	err = q.QueryRowContext(ctx, "PRAGMA wal_checkpoint("+mode+")").Scan(&busy, &pages, &done)
	return pages, done, err
}
