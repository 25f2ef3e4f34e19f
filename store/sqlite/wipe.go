package sqlite

import (
	"context"
	"errors"
	"fmt"
)

// Wipe writes the file anew, so that nothing of what was deleted or written over
// is left in it or in its write-ahead log. It takes as much room again for as
// long as it lasts, and others cannot write meanwhile. It is [ErrLocked] where a
// reader keeps the log from being emptied; what the log holds is gone then as soon
// as it is emptied another time.
//
// The disk may still have old blocks that no file has any more: that is beyond
// what a program can reach.
func (db *DB) Wipe(ctx context.Context) (err error) {
	conn, err := db.Write.Conn(ctx)
	if err != nil {
		return fmt.Errorf("sqlite: wipe %s: %w", db.path, Explain(err))
	}
	defer func() { err = errors.Join(err, conn.Close()) }()
	if _, err := conn.ExecContext(ctx, "VACUUM"); err != nil {
		return fmt.Errorf("sqlite: wipe %s: %w", db.path, Explain(err))
	}
	pages, _, err := checkpoint(ctx, conn, "TRUNCATE")
	if err != nil {
		return fmt.Errorf("sqlite: wipe %s: %w", db.path, Explain(err))
	}
	if pages != 0 {
		return fmt.Errorf("sqlite: wipe %s: %w: somebody reads", db.path, ErrLocked)
	}
	return nil
}
