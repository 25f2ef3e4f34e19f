package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
)

// Rebuild empties the present and makes it again from the log, in one
// transaction.
func (s *Store) Rebuild(ctx context.Context) error {
	err := s.db.Tx(ctx, func(tx *sql.Tx) error { return rebuild(ctx, tx) })
	if err != nil {
		return fmt.Errorf("store: rebuild: %w", explain(err))
	}
	s.shorten(ctx)
	return nil
}

// fill makes the present where there is none: a step to a newer layout leaves it
// empty. Of two programs that open the register then, one makes it and the other
// waits.
func (s *Store) fill(ctx context.Context) error {
	if full, err := (Reader{s.db.Read}).full(ctx); full || err != nil {
		return err
	}
	s.o.Log.InfoContext(ctx, "the present is made from the log, which takes a while once")
	err := s.db.Tx(ctx, func(tx *sql.Tx) error {
		if full, err := (Reader{tx}).full(ctx); full || err != nil {
			return err
		}
		return rebuild(ctx, tx)
	})
	if err != nil {
		return fmt.Errorf("make the present: %w", explain(err))
	}
	s.shorten(ctx)
	return nil
}

// full tells whether there is a present: every log speaks of the crib.
func (r Reader) full(ctx context.Context) (bool, error) {
	var n int64
	var text []byte
	err := r.q.QueryRowContext(ctx, sqlCrib).Scan(&n, &text)
	if errors.Is(err, sql.ErrNoRows) {
		return false, nil
	}
	return err == nil, explain(err)
}

func rebuild(ctx context.Context, tx *sql.Tx) error {
	for _, statement := range clearing {
		if _, err := tx.ExecContext(ctx, statement); err != nil {
			return err
		}
	}
	p := present{tx: tx}
	err := Reader{tx}.walk(ctx, 0, false, func(rows []checked) error {
		for i := range rows {
			c := &rows[i]
			if err := c.wrong(); err != nil {
				return err
			}
			if err := p.add(ctx, c.pos, c.envelope.Subject, c.event()); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	return p.flush(ctx)
}
