package desk

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"time"
)

// Forget takes everything out of the file that tells of a person: the PIN, and
// what pages have kept for the next one wherever it has one of the names in it.
// Then the file is written anew, so that no byte of it is left. Whoever was signed
// in as that person is not any more.
func (d *Desk) Forget(ctx context.Context, person string, names ...string) error {
	err := d.db.Tx(ctx, func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, `DELETE FROM credential WHERE person = ?`, person); err != nil {
			return err
		}
		kept, err := naming(ctx, tx, names)
		if err != nil {
			return err
		}
		for token, data := range kept {
			if _, err := tx.ExecContext(ctx, `UPDATE session SET data = ? WHERE token = ?`, data, token); err != nil {
				return err
			}
		}
		return nil
	})
	if err == nil {
		err = d.db.Wipe(ctx)
	}
	if err != nil {
		return fmt.Errorf("desk: forget %s: %w", person, err)
	}
	return nil
}

// naming gives the sessions that have a name in them, without what has it.
func naming(ctx context.Context, tx *sql.Tx, names []string) (kept map[string][]byte, err error) {
	rows, err := tx.QueryContext(ctx, `SELECT token, data FROM session`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	kept = map[string][]byte{}
	for rows.Next() {
		var token string
		var data []byte
		if err := rows.Scan(&token, &data); err != nil {
			return nil, err
		}
		if !tells(data, names) {
			continue
		}
		deadline, values, err := codec{}.Decode(data)
		if err != nil {
			deadline, values = time.Now(), nil // nobody can use it
		}
		delete(values, keyNotice)
		delete(values, keyTurn)
		if kept[token], err = (codec{}).Encode(deadline, values); err != nil {
			return nil, err
		}
	}
	return kept, rows.Err()
}

// tells reports whether a session has one of the names in it, in capitals or not,
// as it is or as JSON spells it, once or within a text.
func tells(data []byte, names []string) bool {
	data = bytes.ToLower(data)
	for _, name := range names {
		spelled := []byte(name)
		for range 3 {
			if len(spelled) > 0 && bytes.Contains(data, bytes.ToLower(spelled)) {
				return true
			}
			text, err := json.Marshal(string(spelled))
			if err != nil {
				return true
			}
			spelled = text[1 : len(text)-1]
		}
	}
	return false
}
