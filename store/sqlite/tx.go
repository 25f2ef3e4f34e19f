package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
)

// Tx runs f in one write transaction, which holds the write lock from its
// beginning, and commits it to disk where f returns nil. f's error comes back
// as it is and nothing is written. See the package comment for what the other
// errors say.
func (db *DB) Tx(ctx context.Context, f func(tx *sql.Tx) error) error {
	if err := db.settle(ctx); err != nil {
		return err
	}
	err := commit(ctx, db.Write, f)
	if errors.Is(err, ErrUnknownOutcome) {
		db.doubts.Add(1)
	}
	return err
}

// settle ends the doubt that a commit of unknown outcome has left. What it wrote
// lies behind the end of the write-ahead log, where it does not count for who has
// the file open, and would count after a crash. So long as that is so, whoever
// asks again must not be told that nothing was written. A commit that says nothing
// new takes its place, and then it was certainly not written.
func (db *DB) settle(ctx context.Context) error {
	doubts := db.doubts.Load()
	if doubts == db.settled.Load() {
		return nil
	}
	if err := commit(ctx, db.Write, func(tx *sql.Tx) error { return tick(ctx, tx) }); err != nil {
		return fmt.Errorf("%w; what was asked now was not written: %w", ErrUnknownOutcome, Explain(err))
	}
	db.settled.Store(doubts) // not those of a commit that failed meanwhile
	return nil
}

// How much of the file a writer keeps in memory, in KiB: SQLite's own measure, and
// for writing much at once, where pages of an index that is written all over
// would otherwise leave and come back many times.
const (
	usualCache = 2000
	bulkCache  = 256 << 10
)

// BulkTx is Tx for writing much at once.
func (db *DB) BulkTx(ctx context.Context, f func(tx *sql.Tx) error) error {
	return db.Tx(ctx, func(tx *sql.Tx) error {
		if err := cache(ctx, tx, bulkCache); err != nil {
			return err
		}
		err := f(tx)
		if back := cache(ctx, tx, usualCache); err == nil {
			err = back
		}
		return err
	})
}

func cache(ctx context.Context, tx *sql.Tx, kib int) error {
	_, err := tx.ExecContext(ctx, fmt.Sprintf("PRAGMA cache_size = -%d", kib))
	return err
}

func commit(ctx context.Context, writer interface {
	BeginTx(ctx context.Context, opts *sql.TxOptions) (*sql.Tx, error)
}, f func(tx *sql.Tx) error) (err error) {
	tx, err := writer.BeginTx(ctx, nil)
	if err != nil {
		return Explain(err)
	}
	done := false
	defer func() {
		if done {
			return
		}
		// The driver rolls back by itself where ctx has ended.
		if rbErr := tx.Rollback(); rbErr != nil && !errors.Is(rbErr, sql.ErrTxDone) {
			err = errors.Join(err, fmt.Errorf("roll back: %w", Explain(rbErr)))
		}
	}()
	if err := f(tx); err != nil {
		return Explain(err)
	}
	done = true
	err = tx.Commit()
	if errors.Is(err, sql.ErrTxDone) { // rolled back already, since ctx has ended
		return context.Cause(ctx)
	}
	return explainCommit(err)
}
