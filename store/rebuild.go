package store

import (
	"context"
	"database/sql"
	"fmt"
)

// Rebuild empties the present and makes it again from the log, in one
// transaction.
func (s *Store) Rebuild(ctx context.Context) error {
	err := s.db.Tx(ctx, func(tx *sql.Tx) error {
		for _, statement := range clearing {
			if _, err := tx.ExecContext(ctx, statement); err != nil {
				return err
			}
		}
		p := present{tx: tx}
		for at := int64(0); ; {
			list, err := Reader{tx}.Since(ctx, at, batch)
			if err != nil {
				return err
			}
			for _, rec := range list {
				if err := p.add(ctx, rec.Envelope.Subject, rec.Event()); err != nil {
					return err
				}
				at = rec.Envelope.At
			}
			if len(list) < batch {
				return p.flush(ctx)
			}
		}
	})
	if err != nil {
		return fmt.Errorf("store: rebuild: %w", explain(err))
	}
	return explain(s.db.Checkpoint(ctx))
}
