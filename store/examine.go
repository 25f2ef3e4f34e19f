package store

import (
	"context"
	"errors"
	"fmt"

	"cribgate/store/sqlite"
)

// Examine says what is wrong with a register's file where it is so damaged that
// Open refuses it: whether it is cut, and which of its pages do not hang together.
// It changes nothing. No sentence means that the pages are whole, and that what is
// wrong is in the log.
func Examine(ctx context.Context, path string) ([]string, error) {
	var found []string
	cut, err := sqlite.Cut(path)
	if err != nil {
		return nil, fmt.Errorf("store: examine %s: %w", path, explain(err))
	}
	if cut != "" {
		found = append(found, cut)
	}
	db := sqlite.OpenTorn(path)
	err = each(ctx, db, func(rows cells) error {
		var text string
		if err := rows.Scan(&text); err != nil {
			return err
		}
		if text != "ok" {
			found = append(found, "the file is damaged: "+text)
		}
		return nil
	}, "PRAGMA quick_check(10)")
	if errors.Is(err, ErrDamaged) || errors.Is(err, ErrNotOurs) {
		found, err = append(found, "its pages cannot be looked at: "+err.Error()), nil
	}
	if err := errors.Join(err, db.Close()); err != nil {
		return nil, fmt.Errorf("store: examine %s: %w", path, explain(err))
	}
	return found, nil
}
