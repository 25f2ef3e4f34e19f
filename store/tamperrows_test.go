package store_test

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"cribgate/core/event"
	"cribgate/store"
	"cribgate/store/storetest"
)

// present are the tables that follow from the log, each with the column that
// names its rows and is no fact.
var present = map[string]string{"crib": "n", "person": "n", "sling": "n", "tag": "", "word": "", "tally": "", "drawn": "", "planned": ""}

// columnKeys are the columns by which SQLite itself keeps the rows of a table.
var columnKeys = map[string][]string{"tag": {"digest", "sling", "serial"}, "word": {"word", "ident", "id"}, "tally": {"stands"}, "drawn": {"pos"}, "planned": {"pos"}}

// columnsOf gives the columns of a table with their types.
func columnsOf(t *testing.T, db *sql.DB, table string) map[string]string {
	t.Helper()
	rows, err := db.QueryContext(t.Context(), "SELECT name, type FROM pragma_table_info(?)", table)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	list := map[string]string{}
	for rows.Next() {
		var name, kind string
		if err := rows.Scan(&name, &kind); err != nil {
			t.Fatal(err)
		}
		list[name] = kind
	}
	if err := rows.Err(); err != nil || len(list) == 0 {
		t.Fatalf("%s has no columns, %v", table, err)
	}
	return list
}

// Every column of every row of the present, changed, even to what it cannot hold,
// and every row taken out is found, and told in the register's own words. The tables and columns are asked of the file, so that
// a new one is found as well.
func TestTamperPresent(t *testing.T) {
	r := random(t)
	path := planned(t)
	var tables []string
	cells := map[string][]string{} // the changes of each table, for one of its rows
	unguarded(t, path, func(db *sql.DB) {
		rows, err := db.QueryContext(t.Context(), `SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%' ORDER BY name`)
		if err != nil {
			t.Fatal(err)
		}
		for rows.Next() {
			var name string
			if err := rows.Scan(&name); err != nil {
				t.Fatal(err)
			}
			tables = append(tables, name)
		}
		if err := rows.Close(); err != nil {
			t.Fatal(err)
		}
		for table, number := range present {
			for column, kind := range columnsOf(t, db, table) {
				if column == number {
					continue
				}
				to := map[string][]string{
					"INTEGER": {column + " + 1", "1 - " + column, "'x'", "NULL"},
					"TEXT":    {column + " || 'x'", "CAST(" + column + " || x'FF' AS BLOB)", "NULL"},
					"BLOB":    {"CAST(" + column + " || x'20' AS BLOB)", "7", "x''", "NULL"},
				}[kind]
				if to == nil {
					t.Fatalf("%s.%s is %s", table, column, kind)
				}
				for _, to := range to {
					if key := columnKeys[table]; !slices.Contains(key, column) || to != "NULL" && to != "'x'" { // such a key SQLite itself has nowhere to put
						cells[table] = append(cells[table], fmt.Sprintf("UPDATE %s SET %s = %s WHERE ", table, column, to))
					}
				}
			}
			gone := fmt.Sprintf("DELETE FROM %s WHERE ", table)
			if table == "tally" {
				gone += "n > 0 AND " // that there are none may be said or not
			}
			cells[table] = append(cells[table], gone)
			slices.Sort(cells[table])
		}
	})
	for _, table := range tables { // each is either the log, or the present, or named here with its reason
		if _, ok := present[table]; !ok && apart[table] == "" {
			t.Errorf("nobody looks after the table %s", table)
		}
	}
	for _, table := range tables {
		for _, change := range cells[table] {
			path := planned(t)
			unguarded(t, path, func(db *sql.DB) {
				var n int
				if err := db.QueryRowContext(t.Context(), "SELECT count(*) FROM "+table).Scan(&n); err != nil || n == 0 {
					t.Fatalf("%s has %d rows, %v", table, n, err)
				}
				key := "rowid"
				if columnKeys[table] != nil && table != "drawn" && table != "planned" {
					key = "(" + strings.Join(columnKeys[table], ", ") + ")"
				}
				columns, order := strings.Trim(key, "()"), strings.Trim(key, "()")
				if table == "tally" {
					order, n = "n DESC", 1
				}
				execAll(t, db, fmt.Sprintf("%s %s = (SELECT %s FROM %s ORDER BY %s LIMIT 1 OFFSET %d)", change, key, columns, table, order, r.IntN(n)))
			})
			breaks := check(t, path)
			ours := slices.DeleteFunc(slices.Clone(breaks), func(b store.Break) bool { return strings.HasPrefix(b.Why, "the file is damaged: ") })
			if len(ours) == 0 || slices.ContainsFunc(breaks, func(b store.Break) bool { return b.At != 0 || strings.Contains(b.Why, "sql") }) {
				t.Errorf("%s: found %v", change, breaks)
			}
			refuses(t, path) // or not: Open looks at the log, and of the present at the crib
		}
	}
}

// A cell of the log that its column cannot hold is found at its position, and a
// body without a salt does not pass for an erased one.
func TestTamperLogCells(t *testing.T) {
	for _, change := range []string{
		"log SET hash = NULL", "log SET hash = 7", "log SET subject = NULL", "log SET subject = CAST(subject || x'FF' AS BLOB)", "log SET subject = x'00' || subject",
		"log SET envelope = NULL", "log SET envelope = 7", "log SET envelope = ''", "body SET salt = NULL", "body SET salt = 'x'", "body SET body = NULL", "body SET body = 7",
		"log SET hash = substr(hash, 1, 31), subject = substr(hash, 32) || subject", "body SET salt = substr(salt, 1, 15), body = substr(salt, 16) || body",
	} {
		path, _ := written(t)
		unguarded(t, path, func(db *sql.DB) { execAll(t, db, "UPDATE "+change+" WHERE pos = 17") })
		if breaks := check(t, path); !slices.ContainsFunc(breaks, func(b store.Break) bool { return b.At == 17 }) {
			t.Errorf("%s: found %v", change, breaks)
		}
	}
}

// An answer that is kept for whoever asks again, and was changed, is found, and
// is not given.
func TestTamperAnswered(t *testing.T) {
	for _, change := range []string{
		"answer = CAST('yes' AS BLOB)", "answer = x''", "answer = CAST(answer || x'20' AS BLOB)", "request = zeroblob(31)", "pos = 1000", "pos = pos - 1",
		"sum = zeroblob(32)", "key = 'another'",
		"request = (SELECT request FROM answered WHERE key = 'other'), answer = (SELECT answer FROM answered WHERE key = 'other')",
	} {
		s, _, path := storetest.New(t, store.Options{Program: "test"})
		id := storetest.Register(t, s, 1).ID
		ask := func(key string) (string, error) {
			answer, err := s.Do(t.Context(), store.Act{Station: "test", Way: "hand", Key: key, Request: [32]byte{1}}, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
				sling, err := tx.Sling(ctx, id)
				if err != nil {
					return nil, err
				}
				_, err = tx.Append(ctx, event.Sling(id), sling.Heads, event.Refused{})
				return []byte("no " + key), err
			})
			return string(answer), err
		}
		for _, key := range []string{"one", "other"} {
			if got, err := ask(key); err != nil || got != "no "+key {
				t.Fatalf("%q, %v", got, err)
			}
		}
		unguarded(t, path, func(db *sql.DB) {
			execAll(t, db, "CREATE TABLE kept AS SELECT * FROM answered WHERE key = 'one'", "UPDATE answered SET "+change+" WHERE key = 'one'")
		})
		report, err := s.Verify(t.Context(), nil)
		if err != nil || len(report.Breaks) != 1 || report.Breaks[0].At != 0 || !strings.Contains(report.Breaks[0].Why, "under key") {
			t.Errorf("%s: found %v, %v", change, report.Breaks, err)
		}
		if got, err := ask("one"); change != "key = 'another'" && !errors.Is(err, store.ErrDamaged) {
			t.Errorf("%s: asked again: %q, %v", change, got, err)
		}
		unguarded(t, path, func(db *sql.DB) {
			execAll(t, db, "DELETE FROM answered WHERE key IN ('one', 'another')", "INSERT INTO answered SELECT * FROM kept", "DROP TABLE kept")
		})
		if got, err := ask("one"); err != nil || got != "no one" {
			t.Errorf("%s: mended and asked again: %q, %v", change, got, err)
		}
	}
}

// planned gives a register as written does, where lifts are planned as well and a sling
// is set aside.
func planned(t *testing.T) (path string) {
	t.Helper()
	oncePlanned.Do(func() {
		path, slings := written(t)
		s := storetest.Open(t, path, store.Options{Program: "test"})
		people, err := s.People(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		keeper, day := people[0], storetest.Sling(1).Sling.Due
		plan := func(lift byte) {
			body := event.LiftPlanned{Lift: event.LiftID{lift}, Day: day, Stated: storetest.Stated()}
			if _, err := s.Do(t.Context(), plain, appendAfter(event.Person(keeper.ID), keptHeads(t, s, event.Person(keeper.ID)), body)); err != nil {
				t.Fatal(err)
			}
		}
		plan(1)
		back := storetest.Append(t, s, slings[0].ID, slings[0].Heads, event.Returned{From: keeper.ID, Said: event.Nothing})
		storetest.Append(t, s, back.ID, back.Heads, event.SetAside{Lift: event.LiftID{1}, Rigger: keeper.ID, Day: day})
		plan(2)
		if err := s.Rebuild(t.Context()); err != nil { // and all of it is in the one file
			t.Fatal(err)
		}
		if oncePlanned.file, err = os.ReadFile(path); err != nil {
			t.Fatal(err)
		}
	})
	path = filepath.Join(t.TempDir(), "register.sqlite")
	if err := os.WriteFile(path, oncePlanned.file, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

var oncePlanned struct {
	sync.Once
	file []byte
}

// apart are the tables that are neither log nor present.
var apart = map[string]string{
	"log": "TestTamperMatrix", "body": "TestTamperMatrix", "schema_step": "Open compares it with the steps of this program",
	"answered": "TestTamperAnswered", "erased": "TestVerifyFindsWhatIsMissing",
}
