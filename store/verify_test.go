package store_test

import (
	"bytes"
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
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/store"
	"cribgate/store/storetest"
)

// written gives a register of five slings with a history, in a file of the
// test's own. The events of the first sling are at 4, 9, 14, …, 39; the head is
// at 43.
func written(t *testing.T) (path string, slings []state.Sling) {
	t.Helper()
	once.Do(func() { once.file, once.slings, once.err = write() })
	if once.err != nil {
		t.Fatal(once.err)
	}
	path = filepath.Join(t.TempDir(), "register.sqlite")
	if err := os.WriteFile(path, once.file, 0o600); err != nil {
		t.Fatal(err)
	}
	return path, slices.Clone(once.slings)
}

var once struct {
	sync.Once
	file   []byte
	slings []state.Sling
	err    error
}

func write() (file []byte, slings []state.Sling, err error) {
	dir, err := os.MkdirTemp("", "written")
	if err != nil {
		return nil, nil, err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	path := filepath.Join(dir, "register.sqlite")
	ctx := context.Background()
	s, keeper, err := store.Init(ctx, path, storetest.Founding(), store.Options{Program: "test"})
	if err != nil {
		return nil, nil, err
	}
	for n := range 5 {
		slings = append(slings, state.Sling{ID: event.SlingOf(storetest.Key, storetest.Sling(n).Ident)})
	}
	for _, body := range []func(n int) event.Body{
		func(n int) event.Body { return event.Registered{Details: storetest.Sling(n)} },
		func(n int) event.Body { return printed(n, 1, storetest.Key) },
		func(n int) event.Body { return event.TagConfirmed{Serial: 1, Typed: "x"} },
		func(n int) event.Body { return event.Issued{Rigger: keeper, Serial: 1} },
		func(n int) event.Body { return event.Returned{From: keeper, Said: event.Nothing} },
		func(n int) event.Body { return event.Held{Reason: "x"} },
		func(n int) event.Body { return event.Released{Reason: "x"} },
		func(n int) event.Body {
			if n%2 == 0 {
				return event.Issued{Rigger: keeper, Serial: 1}
			}
			return event.Issued{Rigger: keeper, Serial: 1, Line: event.Line{Loan: event.LoanID{1}, Lift: n / 2}}
		},
	} {
		for n, sl := range slings {
			if _, err := append1(ctx, s, plain, sl, body(n)); err != nil {
				return nil, nil, err
			}
			if slings[n], err = s.Sling(ctx, sl.ID); err != nil {
				return nil, nil, err
			}
		}
	}
	if err := s.Close(); err != nil {
		return nil, nil, err
	}
	file, err = os.ReadFile(path)
	return file, slings, err
}

const end = 43

// tamper runs statements on the file with the guards taken off.
func tamper(t *testing.T, path string, f func(db *sql.DB) error) {
	t.Helper()
	db, err := sql.Open("sqlite3", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	for _, trigger := range []string{"log_next", "log_update", "log_delete", "body_once", "body_update", "body_delete", "tally_insert", "tally_update"} {
		if _, err := db.ExecContext(t.Context(), "DROP TRIGGER "+trigger); err != nil {
			t.Fatal(err)
		}
	}
	if err := f(db); err != nil {
		t.Fatal(err)
	}
}

func statements(list ...string) func(*sql.DB) error {
	return func(db *sql.DB) error {
		for _, s := range list {
			if _, err := db.Exec(s); err != nil {
				return fmt.Errorf("%s: %w", s, err)
			}
		}
		return nil
	}
}

// check verifies the file as it is and gives what it found. Where the damage is
// near the end, opening refuses already.
func check(t *testing.T, path string) []store.Break {
	t.Helper()
	s := store.Unchecked(t, path)
	report, err := s.Verify(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	return report.Breaks
}

func TestVerifyFindsTheLog(t *testing.T) {
	swap := func(table, column string, a, b int) []string {
		return []string{
			fmt.Sprintf("CREATE TABLE kept AS SELECT %s AS was FROM %s WHERE pos = %d", column, table, a),
			fmt.Sprintf("UPDATE %s SET %s = (SELECT %s FROM %s WHERE pos = %d) WHERE pos = %d", table, column, column, table, b, a),
			fmt.Sprintf("UPDATE %s SET %s = (SELECT was FROM kept) WHERE pos = %d", table, column, b),
			"DROP TABLE kept",
		}
	}
	var rows []string
	for _, c := range []string{"hash", "subject", "envelope"} {
		rows = append(rows, swap("log", c, 20, 25)...)
	}
	for _, c := range []string{"salt", "body"} {
		rows = append(rows, swap("body", c, 20, 25)...)
	}
	cases := []struct {
		name string
		do   []string
		at   int64
		why  string
	}{
		{"a byte of an envelope", []string{"UPDATE log SET envelope = CAST(replace(CAST(envelope AS TEXT), 'station test', 'station tess') AS BLOB) WHERE pos = 20"}, 20, "hash"},
		{"an envelope that is none", []string{"UPDATE log SET envelope = x'00' WHERE pos = 20"}, 20, "hash"},
		{"a hash", []string{"UPDATE log SET hash = zeroblob(32) WHERE pos = 20"}, 20, "hash"},
		{"a subject", []string{"UPDATE log SET subject = 'crib' WHERE pos = 20"}, 20, "about"},
		{"a row gone", []string{"DELETE FROM body WHERE pos = 20", "DELETE FROM log WHERE pos = 20"}, 21, "gone"},
		{"the first row gone", []string{"DELETE FROM body WHERE pos = 1", "DELETE FROM log WHERE pos = 1"}, 2, "gone"},
		{"two rows swapped", rows, 20, "position 25"},
		{"two bodies swapped", append(swap("body", "salt", 20, 25), swap("body", "body", 20, 25)...), 20, "commits"},
		{"a row put in", []string{
			"UPDATE body SET pos = -pos WHERE pos > 20", "UPDATE log SET pos = pos + 100 WHERE pos > 20", "UPDATE log SET pos = pos - 99 WHERE pos > 100",
			"INSERT INTO log SELECT 21, hash, subject, envelope FROM log WHERE pos = 20", "UPDATE body SET pos = 1 - pos WHERE pos < 0",
			"INSERT INTO body SELECT 21, salt, body FROM body WHERE pos = 20",
		}, 21, "position 20"},
		{"a row put at the end", []string{
			"INSERT INTO log SELECT 44, hash, subject, envelope FROM log WHERE pos = 20",
			"INSERT INTO body SELECT 44, salt, body FROM body WHERE pos = 20",
		}, 44, "position 20"},
		{"a body", []string{"UPDATE body SET body = CAST('{}' AS BLOB) WHERE pos = 20"}, 20, "commits"},
		{"a salt", []string{"UPDATE body SET salt = zeroblob(16) WHERE pos = 20"}, 20, "commits"},
		{"a body gone", []string{"DELETE FROM body WHERE pos = 20"}, 20, "missing"},
		{"the last body gone", []string{"DELETE FROM body WHERE pos = 43"}, 43, "missing"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			path, _ := written(t)
			tamper(t, path, statements(append([]string{"PRAGMA foreign_keys = OFF", "PRAGMA ignore_check_constraints = ON"}, c.do...)...))
			breaks := check(t, path)
			if len(breaks) == 0 || breaks[0].At != c.at || !strings.Contains(breaks[0].Why, c.why) {
				t.Errorf("found %v, want position %d first, for %q", breaks, c.at, c.why)
			}
			// So near the end, opening finds it as well.
			if s, err := store.Open(t.Context(), path, store.Options{}); !errors.Is(err, store.ErrDamaged) {
				t.Errorf("opened: %v", err)
				if s != nil {
					s.Close()
				}
			}
		})
	}
}

// A whole register has no breaks, and the last event gone is seen by the present.
func TestVerifyWhole(t *testing.T) {
	path, _ := written(t)
	s := store.Unchecked(t, path)
	var calls, last int64
	report, err := s.Verify(t.Context(), func(done, total int64) {
		calls++
		last = done
		if total != end {
			t.Errorf("of %d events, want %d", total, end)
		}
	})
	head, headErr := s.Head(t.Context())
	if err != nil || headErr != nil || !report.Whole() || report.Events != end || report.Head != head || calls == 0 || last != end {
		t.Errorf("%+v, %v; head %+v, %v; %d calls, last %d", report, err, head, headErr, calls, last)
	}
	tamper(t, path, statements("DELETE FROM body WHERE pos = 43", "DELETE FROM log WHERE pos = 43"))
	if breaks := check(t, path); len(breaks) != 1 || breaks[0].At != 0 {
		t.Errorf("the last event gone: %v", breaks)
	}
}

func TestVerifyFindsThePresent(t *testing.T) {
	cases := map[string]struct{ do, why string }{
		"a state":           {"UPDATE sling SET state = (SELECT state FROM sling WHERE ident = 'CS-00002') WHERE ident = 'CS-00001'", "CS-00001"},
		"a state word":      {"UPDATE sling SET stands = 'in' WHERE ident = 'CS-00001'", "CS-00001"},
		"a due date":        {"UPDATE sling SET due = '2099-01-01' WHERE ident = 'CS-00001'", "CS-00001"},
		"a place":           {"UPDATE sling SET place = 'Z' WHERE ident = 'CS-00001'", "CS-00001"},
		"an inspection":     {"UPDATE sling SET inspected = '2026-01-01' WHERE ident = 'CS-00001'", "CS-00001"},
		"a holder":          {"UPDATE sling SET holder = '' WHERE ident = 'CS-00001'", "CS-00001"},
		"an identification": {"UPDATE sling SET ident = 'CS-99999' WHERE ident = 'CS-00001'", "CS-99999"},
		"what waits":        {"UPDATE tag SET stands = 'waiting', day = '2026-01-01'", "wrong tag"},
		"a stock":           {"UPDATE tag SET stock = 'another'", "wrong tag"},
		"a tag wanted":      {"UPDATE sling SET wants = 1 WHERE ident = 'CS-00001'", "CS-00001"},
		"a last stock":      {"UPDATE sling SET stock = 'another' WHERE ident = 'CS-00001'", "CS-00001"},
		"a tag gone":        {"DELETE FROM tag WHERE sling = (SELECT n FROM sling WHERE ident = 'CS-00001')", "wrong tag"},
		"a tag too many":    {"INSERT INTO tag (digest, sling, serial, part, number) SELECT zeroblob(32), sling, 2, part, number FROM tag LIMIT 1", "wrong tag"},
		"a tag's sling":     {"UPDATE tag SET sling = (SELECT n FROM sling WHERE ident = 'CS-00001')", "wrong tag"},
		"a word gone":       {"DELETE FROM word WHERE ident = 'CS-00001'", "wrong tag or word"},
		"a word too many":   {"INSERT INTO word SELECT 'GOLD', ident, id, n FROM sling WHERE ident = 'CS-00001'", "wrong tag or word"},
		"a tally":           {"UPDATE tally SET n = n + 1 WHERE stands = 'out'", "counted out"},
		"a person gone":     {"DELETE FROM person", "missing"},
		"a person's name":   {"UPDATE person SET name = 'Somebody'", "person"},
		"the crib":          {"DELETE FROM crib", "crib"},
		"a sling from nowhere": {`INSERT INTO sling (id, ident, number, place, stands, due, inspected, holder, state)
			SELECT 'c0ffee01-0000000000000001', 'CS-77777', 1, place, stands, due, inspected, holder, state FROM sling LIMIT 1`, "no event"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			path, _ := written(t)
			var before, after bytes.Buffer
			s := store.Unchecked(t, path)
			if err := s.Dump(t.Context(), &before); err != nil {
				t.Fatal(err)
			}
			tamper(t, path, statements("PRAGMA foreign_keys = OFF", c.do))
			breaks := check(t, path)
			if len(breaks) == 0 || !slices.ContainsFunc(breaks, func(b store.Break) bool { return b.At == 0 && strings.Contains(b.Why, c.why) }) {
				t.Errorf("found %v, want %q", breaks, c.why)
			}
			// The log is whole, so a rebuild mends it; the triggers are gone here,
			// which count the slings.
			if err := s.Rebuild(t.Context()); err != nil {
				t.Fatal(err)
			}
			if err := s.Dump(t.Context(), &after); err != nil {
				t.Fatal(err)
			}
			without := func(b *bytes.Buffer) string { text, _, _ := strings.Cut(b.String(), "tally "); return text }
			if without(&before) != without(&after) {
				t.Errorf("rebuilt:\n%s\nwant:\n%s", without(&after), without(&before))
			}
		})
	}
}

// forge adds an event past the program, chained rightly but for what change does.
func forge(t *testing.T, path string, sling state.Sling, kind event.Kind, schema int, body string, change func(e *event.Envelope)) {
	t.Helper()
	s := store.Unchecked(t, path)
	list, err := s.Since(t.Context(), 0, 1000)
	if err != nil {
		t.Fatal(err)
	}
	last := list[len(list)-1]
	e := last.Envelope
	e.At, e.Prev, e.Subject, e.Parents = e.At+1, last.Hash, event.Sling(sling.ID), sling.Heads
	e.Kind, e.Schema = kind, schema
	salt := [16]byte{1, 2, 3}
	e.Body = event.Commit(salt, []byte(body))
	if change != nil {
		change(&e)
	}
	envelope, err := e.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	hash := event.HashOf(envelope)
	tamperOnce(t, path, func(db *sql.DB) error {
		if _, err := db.Exec("INSERT INTO log VALUES (?, ?, ?, ?)", e.At, hash[:], e.Subject.String(), envelope); err != nil {
			return err
		}
		_, err := db.Exec("INSERT INTO body VALUES (?, ?, ?)", e.At, salt[:], []byte(body))
		return err
	})
	if err := s.Rebuild(t.Context()); err != nil && !errors.Is(err, store.ErrDamaged) {
		t.Fatal(err)
	}
}

// tamperOnce adds rows with the guards on.
func tamperOnce(t *testing.T, path string, f func(db *sql.DB) error) {
	t.Helper()
	db, err := sql.Open("sqlite3", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if err := f(db); err != nil {
		t.Fatal(err)
	}
}

func TestVerifyFindsForgeries(t *testing.T) {
	held := `{"reason":"forged"}`
	cases := []struct {
		name   string
		kind   event.Kind
		schema int
		body   string
		change func(e *event.Envelope)
		why    string // "" for what is no break
	}{
		{"nothing wrong", event.KindHeld, 1, held, nil, ""},
		{"not the hash before it", event.KindHeld, 1, held, func(e *event.Envelope) { e.Prev = event.Hash{1} }, "does not name the hash"},
		{"another log", event.KindHeld, 1, held, func(e *event.Envelope) { e.Log[0]++ }, "another log"},
		{"earlier than the one before it", event.KindHeld, 1, held, func(e *event.Envelope) { e.UTC = e.UTC.Add(-time.Millisecond) }, "earlier"},
		{"earlier, by a word about a sling", event.KindClockCorrected, 1, `{"floor":"2026-03-02T07:15:00.125Z","keeper":"` + strings.Repeat("1", 32) + `","inspector":"` + strings.Repeat("2", 32) + `"}`,
			func(e *event.Envelope) { e.UTC = e.UTC.Add(-time.Millisecond) }, "earlier"},
		{"a parent that is not there", event.KindHeld, 1, held, func(e *event.Envelope) { e.Parents = []event.Hash{{1}} }, "parent"},
		{"a body of another kind", event.KindIssued, 1, held, nil, "body"},
		{"a body in another spelling", event.KindHeld, 1, `{"reason": "forged"}`, nil, "spelling"},
		{"a kind of a newer program", "melted", 1, `{"at":"noon"}`, nil, ""},
		{"a schema of a newer program", event.KindHeld, 2, `{"why":"noon"}`, nil, ""},
		{"a fork", event.KindHeld, 1, held, func(e *event.Envelope) { e.Parents = nil }, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			path, slings := written(t)
			forge(t, path, slings[1], c.kind, c.schema, c.body, c.change)
			breaks := check(t, path)
			if c.why == "" {
				if len(breaks) != 0 {
					t.Errorf("found %v", breaks)
				}
				return
			}
			if len(breaks) == 0 || breaks[0].At != end+1 || !strings.Contains(breaks[0].Why, c.why) {
				t.Errorf("found %v, want position %d, for %q", breaks, end+1, c.why)
			}
		})
	}
}

// What a newer program wrote is kept as it is, and its sling is in doubt; so is
// one whose story forks, until the stories are joined.
func TestDoubt(t *testing.T) {
	path, slings := written(t)
	forge(t, path, slings[1], "melted", 1, `{"at":"noon"}`, nil)
	forge(t, path, slings[2], event.KindHeld, 1, `{"reason":"forged"}`, func(e *event.Envelope) { e.Parents = nil })
	s := storetest.Open(t, path, store.Options{Program: "test"})
	one, err := s.Sling(t.Context(), slings[1].ID)
	if err != nil || one.Doubt != state.NotUnderstood {
		t.Errorf("doubt %b, %v", one.Doubt, err)
	}
	story, err := s.Story(t.Context(), event.Sling(one.ID))
	if last := story[len(story)-1]; err != nil || last.Body != nil || string(last.Raw) != `{"at":"noon"}` || last.Envelope.Kind != "melted" {
		t.Errorf("%+v, %v", last, err)
	}
	// The register goes on working: the story can be added to.
	if one = storetest.Append(t, s, one.ID, one.Heads, event.Returned{From: event.PersonID{1}, Said: event.Nothing}); one.Doubt != state.NotUnderstood {
		t.Errorf("doubt %b", one.Doubt)
	}
	two, err := s.Sling(t.Context(), slings[2].ID)
	if err != nil || two.Doubt&state.Forked == 0 || len(two.Heads) != 2 {
		t.Fatalf("doubt %b, heads %v, %v", two.Doubt, two.Heads, err)
	}
	if _, err := append1(t.Context(), s, plain, state.Sling{ID: two.ID, Heads: two.Heads[:1]}, event.Refused{}); !errors.Is(err, store.ErrConflict) {
		t.Errorf("a writer that saw one of two stories: %v", err)
	}
	slices.Reverse(two.Heads) // in any order
	if two = storetest.Append(t, s, two.ID, two.Heads, event.Refused{}); two.Doubt&state.Forked != 0 || len(two.Heads) != 1 {
		t.Errorf("joined: doubt %b, heads %v", two.Doubt, two.Heads)
	}
	if two.Hold.Reason == "" && two.Details.Sling.State == gate.StateIn {
		t.Error("joined and in, without a hold")
	}
}

// The guards in the file refuse to change the log, whoever asks.
func TestGuards(t *testing.T) {
	path, _ := written(t)
	tamperOnce(t, path, func(db *sql.DB) error {
		for _, s := range []string{
			"UPDATE log SET subject = 'crib' WHERE pos = 20", "DELETE FROM log WHERE pos = 43", "DELETE FROM log",
			"UPDATE body SET body = x'00' WHERE pos = 20", "DELETE FROM body WHERE pos = 20",
			"INSERT INTO log SELECT 45, hash, subject, envelope FROM log WHERE pos = 43",
			"INSERT OR REPLACE INTO log SELECT pos, zeroblob(32), subject, envelope FROM log WHERE pos = 43",
			"INSERT OR REPLACE INTO body SELECT pos, salt, x'00' FROM body WHERE pos = 43",
			"INSERT OR REPLACE INTO body SELECT pos, zeroblob(16), x'00' FROM body WHERE pos = 20",
		} {
			if _, err := db.ExecContext(context.Background(), s); err == nil {
				t.Errorf("%s: was done", s)
			}
		}
		return nil
	})
	if breaks := check(t, path); len(breaks) != 0 {
		t.Errorf("found %v", breaks)
	}
}
