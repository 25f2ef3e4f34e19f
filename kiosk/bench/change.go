package bench

import (
	"context"
	"database/sql"
	"fmt"
)

// change lets do change a draft that is as a page of somebody has seen it, and gives
// it as it is then. With take, somebody else may have it.
func (b *Bench) change(ctx context.Context, what, sling, who string, revision int64, take bool, do func(*sql.Tx, *Draft) error) (d Draft, err error) {
	err = b.db.Tx(ctx, func(tx *sql.Tx) error {
		d, err = read(ctx, tx, sling)
		switch {
		case err != nil:
			return err
		case !take && d.HeldFrom(who):
			return &HeldError{Draft: d}
		case d.Revision != revision:
			return &StaleError{Draft: d}
		}
		d.Revision, d.Who, d.Saved = d.Revision+1, who, b.now()
		return do(tx, &d)
	})
	if err != nil {
		return Draft{}, fmt.Errorf("bench: %s of %s: %w", what, sling, err)
	}
	return d, nil
}

// write puts the head of a draft.
func write(ctx context.Context, tx *sql.Tx, d *Draft) error {
	_, err := tx.ExecContext(ctx, `
		INSERT INTO draft (sling, revision, who, aside, begun_ms, saved_ms) VALUES (?, ?, ?, ?, ?, ?)
		ON CONFLICT (sling) DO UPDATE SET revision = excluded.revision, who = excluded.who, aside = excluded.aside, saved_ms = excluded.saved_ms`,
		d.Sling, d.Revision, d.Who, d.Aside, d.Begun.UnixMilli(), d.Saved.UnixMilli())
	return err
}

// Save keeps fields of a draft; one with an empty value is taken out, and those that
// are not named stay. revision is that of the page: 0 begins a draft. It gives the
// draft as it is then, or a [*HeldError], a [*StaleError] or [ErrFull].
func (b *Bench) Save(ctx context.Context, sling, who string, revision int64, fields map[string]string) (Draft, error) {
	if err := checkFields(fields); err != nil {
		return Draft{}, err
	}
	return b.change(ctx, "save the draft", sling, who, revision, false, func(tx *sql.Tx, d *Draft) error {
		if revision == 0 {
			d.Begun, d.Fields = d.Saved, map[string]string{}
			var n int
			if err := tx.QueryRowContext(ctx, `SELECT (SELECT count(*) FROM draft), (SELECT revision FROM spent) + 1`).Scan(&n, &d.Revision); err != nil {
				return err
			}
			if n >= MaxDrafts {
				return ErrFull
			}
		}
		if revision > 0 && !d.Aside && !changes(d.Fields, fields) {
			d.Revision = revision
			return nil
		}
		d.Aside = false
		if err := write(ctx, tx, d); err != nil {
			return err
		}
		for name, value := range fields {
			switch {
			case value == d.Fields[name]:
				continue
			case value == "":
				delete(d.Fields, name)
				if _, err := tx.ExecContext(ctx, `DELETE FROM field WHERE sling = ? AND name = ?`, sling, name); err != nil {
					return err
				}
			default:
				d.Fields[name] = value
				if _, err := tx.ExecContext(ctx, `INSERT INTO field (sling, name, value) VALUES (?, ?, ?)
					ON CONFLICT (sling, name) DO UPDATE SET value = excluded.value`, sling, name, value); err != nil {
					return err
				}
			}
		}
		if len(d.Fields) > MaxFields {
			return ErrFull
		}
		return nil
	})
}

// changes tells whether one of the fields is other than it was.
func changes(was, fields map[string]string) bool {
	for name, value := range fields {
		if value != was[name] {
			return true
		}
	}
	return false
}

// LayAside says that the draft waits for whoever takes it up; whoever holds it lays it
// aside.
func (b *Bench) LayAside(ctx context.Context, sling, who string, revision int64) (Draft, error) {
	return b.change(ctx, "lay aside the draft", sling, who, revision, false, func(tx *sql.Tx, d *Draft) error {
		if revision == 0 {
			return ErrNone
		}
		d.Aside = true
		return write(ctx, tx, d)
	})
}

// TakeUp gives the draft to who, whoever had it.
func (b *Bench) TakeUp(ctx context.Context, sling, who string, revision int64) (Draft, error) {
	return b.change(ctx, "take up the draft", sling, who, revision, true, func(tx *sql.Tx, d *Draft) error {
		if revision == 0 {
			return ErrNone
		}
		d.Aside = false
		return write(ctx, tx, d)
	})
}

// Drop ends the draft of a sling, whoever has it: it was signed, or is thrown away.
// With a revision other than 0 it must be just that one. There may be none. The next
// draft of the sling begins with a revision that none has had.
func (b *Bench) Drop(ctx context.Context, sling string, revision int64) error {
	err := b.db.Tx(ctx, func(tx *sql.Tx) error {
		if revision != 0 {
			d, err := read(ctx, tx, sling)
			if err != nil {
				return err
			}
			if d.Revision != revision && d.Revision != 0 {
				return &StaleError{Draft: d}
			}
		}
		if _, err := tx.ExecContext(ctx, `UPDATE spent SET revision = max(revision, (SELECT revision FROM draft WHERE sling = ?1))
			WHERE EXISTS (SELECT 1 FROM draft WHERE sling = ?1)`, sling); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, `DELETE FROM draft WHERE sling = ?`, sling)
		return err
	})
	if err != nil {
		return fmt.Errorf("bench: drop the draft of %s: %w", sling, err)
	}
	return nil
}

// Forget takes out whatever tells of a person: who had a draft, and every field in
// which mentions finds the name. It leaves nothing of it in the file.
func (b *Bench) Forget(ctx context.Context, person string, mentions func(text string) bool) error {
	err := b.db.Tx(ctx, func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, `UPDATE draft SET who = '', aside = 1, revision = revision + 1 WHERE who = ?`, person); err != nil {
			return err
		}
		rows, err := tx.QueryContext(ctx, `SELECT sling, name, value FROM field`)
		if err != nil {
			return err
		}
		var gone [][2]string
		for rows.Next() {
			var sling, name, value string
			if err := rows.Scan(&sling, &name, &value); err != nil {
				rows.Close()
				return err
			}
			if mentions(value) {
				gone = append(gone, [2]string{sling, name})
			}
		}
		if err := rows.Close(); err != nil {
			return err
		}
		for _, at := range gone {
			if _, err := tx.ExecContext(ctx, `DELETE FROM field WHERE sling = ? AND name = ?`, at[0], at[1]); err != nil {
				return err
			}
		}
		return rows.Err()
	})
	if err == nil {
		err = b.db.Wipe(ctx)
	}
	if err != nil {
		return fmt.Errorf("bench: forget a person: %w", err)
	}
	return nil
}
