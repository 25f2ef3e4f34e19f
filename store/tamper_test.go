package store_test

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/tagcode"
	"cribgate/store"
	"cribgate/store/storetest"
)

// line is a row of the log with its body, as somebody with the file finds it.
type line struct {
	pos      int64
	hash     []byte
	subject  string
	envelope []byte
	salt     []byte // nil where there is no body
	body     []byte
}

// says changes what the envelope of a line says, and its hash with it.
func (l *line) says(t *testing.T, change func(e *event.Envelope)) {
	t.Helper()
	e, err := event.ParseEnvelope(l.envelope)
	if err != nil {
		t.Fatal(err)
	}
	change(&e)
	if l.envelope, err = e.Bytes(); err != nil {
		t.Fatal(err)
	}
	hash := event.HashOf(l.envelope)
	l.pos, l.subject, l.hash = e.At, e.Subject.String(), hash[:]
}

// holds gives the line another body, to which its envelope commits.
func (l *line) holds(t *testing.T, body string) {
	l.body = []byte(body)
	l.says(t, func(e *event.Envelope) { e.Body = event.Commit([16]byte(l.salt), l.body) })
}

// chained names the hash of the line before it.
func (l *line) chained(t *testing.T, before line) {
	l.says(t, func(e *event.Envelope) { e.At, e.Prev = before.pos+1, event.Hash(before.hash) })
}

// readLines gives the log of a register's file.
func readLines(t *testing.T, db *sql.DB) (log []line) {
	t.Helper()
	rows, err := db.QueryContext(t.Context(), "SELECT log.pos, hash, subject, envelope, salt, body FROM log LEFT JOIN body ON body.pos = log.pos ORDER BY log.pos")
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	for rows.Next() {
		var l line
		if err := rows.Scan(&l.pos, &l.hash, &l.subject, &l.envelope, &l.salt, &l.body); err != nil {
			t.Fatal(err)
		}
		log = append(log, l)
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return log
}

// unguarded changes a register's file with the guards that are in it taken off
// meanwhile, and with columns that hold whatever is put into them.
func unguarded(t *testing.T, path string, f func(db *sql.DB)) {
	t.Helper()
	db, err := sql.Open("sqlite3", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	execAll(t, db, "PRAGMA foreign_keys = OFF", "PRAGMA ignore_check_constraints = ON", "PRAGMA synchronous = OFF")
	var off, on []string
	rows, err := db.QueryContext(t.Context(), "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
	if err != nil {
		t.Fatal(err)
	}
	for rows.Next() {
		var name, text string
		if err := rows.Scan(&name, &text); err != nil {
			t.Fatal(err)
		}
		off, on = append(off, "DROP TRIGGER "+name), append(on, text)
	}
	if err := errors.Join(rows.Err(), rows.Close()); err != nil || len(off) == 0 {
		t.Fatalf("%d guards, %v", len(off), err)
	}
	const lax = "replace(replace(replace(sql, ' STRICT, ', ' '), ' STRICT', ''), ' NOT NULL', '')"
	execAll(t, db, off...)
	execAll(t, db, "CREATE TEMP TABLE were AS SELECT name, sql FROM sqlite_schema WHERE type = 'table'", "PRAGMA writable_schema = ON",
		"UPDATE sqlite_schema SET sql = "+lax+" WHERE type = 'table'", "PRAGMA writable_schema = RESET")
	f(db)
	execAll(t, db, "PRAGMA writable_schema = ON", "UPDATE sqlite_schema SET sql = were.sql FROM temp.were WHERE were.name = sqlite_schema.name AND type = 'table'", "PRAGMA writable_schema = RESET")
	execAll(t, db, on...)
}

func execAll(t *testing.T, db *sql.DB, list ...string) {
	t.Helper()
	for _, s := range list {
		if _, err := db.ExecContext(t.Context(), s); err != nil {
			t.Fatalf("%s: %v", s, err)
		}
	}
}

// rewrite puts another log into a register's file and leaves the rest alone.
func rewrite(t *testing.T, path string, change func(log []line) []line) {
	t.Helper()
	unguarded(t, path, func(db *sql.DB) {
		log := change(readLines(t, db))
		tx, err := db.BeginTx(t.Context(), nil)
		if err != nil {
			t.Fatal(err)
		}
		exec := func(query string, args ...any) {
			if _, err := tx.ExecContext(t.Context(), query, args...); err != nil {
				t.Fatalf("%s: %v", query, err)
			}
		}
		exec("DELETE FROM body")
		exec("DELETE FROM log")
		for _, l := range log {
			exec("INSERT INTO log VALUES (?, ?, ?, ?)", l.pos, l.hash, l.subject, l.envelope)
			if l.salt != nil {
				exec("INSERT INTO body VALUES (?, ?, ?)", l.pos, l.salt, l.body)
			}
		}
		if err := tx.Commit(); err != nil {
			t.Fatal(err)
		}
	})
}

// A tampering changes a log at the i-th line, and says at which position that
// shows first; 0 where the chain cannot show it, and the present does.
type tampering struct {
	name string
	do   func(t *testing.T, r *rand.Rand, log []line, i int) []line
	at   func(i, n int) int64
}

// here is the line itself; next the one after it, where there is one; after
// that, what a chain cannot show.
func here(i, _ int) int64 { return int64(i) + 1 }

func next(i, n int) int64 {
	if i+1 == n {
		return 0
	}
	return int64(i) + 2
}

// shift moves the lines from i on to other positions; envelopes stay.
func shift(log []line, i int, by int64) []line {
	for j := i; j < len(log); j++ {
		log[j].pos += by
	}
	return log
}

func say(change func(e *event.Envelope, r *rand.Rand)) func(*testing.T, *rand.Rand, []line, int) []line {
	return func(t *testing.T, r *rand.Rand, log []line, i int) []line {
		log[i].says(t, func(e *event.Envelope) { change(e, r) })
		return log
	}
}

var tamperings = []tampering{
	{"a bit of an envelope", func(t *testing.T, r *rand.Rand, log []line, i int) []line {
		log[i].envelope[r.IntN(len(log[i].envelope))] ^= 1 << r.IntN(8)
		return log
	}, here},
	{"a bit of a body", func(t *testing.T, r *rand.Rand, log []line, i int) []line {
		log[i].body[r.IntN(len(log[i].body))] ^= 1 << r.IntN(8)
		return log
	}, here},
	{"a bit of a salt", func(t *testing.T, r *rand.Rand, log []line, i int) []line {
		log[i].salt[r.IntN(16)] ^= 1 << r.IntN(8)
		return log
	}, here},
	{"a bit of a hash", func(t *testing.T, r *rand.Rand, log []line, i int) []line {
		log[i].hash[r.IntN(32)] ^= 1 << r.IntN(8)
		return log
	}, here},
	{"a subject's row", func(t *testing.T, r *rand.Rand, log []line, i int) []line {
		log[i].subject = event.Person(event.PersonID{0xEE}).String()
		return log
	}, here},
	{"an envelope cut", func(t *testing.T, r *rand.Rand, log []line, i int) []line {
		log[i].envelope = log[i].envelope[:r.IntN(len(log[i].envelope))]
		return log
	}, here},
	{"an envelope cut and hashed again", func(t *testing.T, r *rand.Rand, log []line, i int) []line {
		log[i].envelope = log[i].envelope[:r.IntN(len(log[i].envelope))]
		hash := event.HashOf(log[i].envelope)
		log[i].hash = hash[:]
		return log
	}, here},
	{"a body gone", func(t *testing.T, r *rand.Rand, log []line, i int) []line {
		log[i].salt, log[i].body = nil, nil
		return log
	}, here},

	{"who did it, hashed again", say(func(e *event.Envelope, r *rand.Rand) { e.By[r.IntN(16)] ^= 1 }), next},
	{"when, hashed again", say(func(e *event.Envelope, r *rand.Rand) { e.UTC = e.UTC.Add(time.Millisecond) }), next},
	{"the day, hashed again", say(func(e *event.Envelope, r *rand.Rand) { e.Day = e.Day.AddDays(1) }), next},
	{"where, hashed again", say(func(e *event.Envelope, r *rand.Rand) { e.Station += "x" }), next},
	{"the uptime, hashed again", say(func(e *event.Envelope, r *rand.Rand) { e.Uptime += time.Millisecond }), next},
	{"the one before it, hashed again", say(func(e *event.Envelope, r *rand.Rand) { e.Prev[r.IntN(32)] ^= 1 }), here},
	{"the log, hashed again", say(func(e *event.Envelope, r *rand.Rand) { e.Log[r.IntN(16)] ^= 1 }), func(i, n int) int64 {
		if i == 0 {
			return 2 // nothing before it tells which log it should be of
		}
		return here(i, n)
	}},
	{"the crib, hashed again", say(func(e *event.Envelope, r *rand.Rand) { e.Crib[r.IntN(16)] ^= 1 }), func(i, n int) int64 {
		if i == 0 {
			return 2
		}
		return here(i, n)
	}},
	{"a body, committed to and hashed again", func(t *testing.T, r *rand.Rand, log []line, i int) []line {
		e, err := event.ParseEnvelope(log[i].envelope)
		if err != nil {
			t.Fatal(err)
		}
		log[i].holds(t, another(t, e.Kind, string(log[i].body)))
		return log
	}, next},

	{"two rows swapped", func(t *testing.T, r *rand.Rand, log []line, i int) []line {
		i, j := pair(r, i, len(log))
		log[i], log[j] = log[j], log[i]
		log[i].pos, log[j].pos = log[j].pos, log[i].pos
		return log
	}, nil},
	{"two rows swapped, hashed again", func(t *testing.T, r *rand.Rand, log []line, i int) []line {
		i, j := pair(r, i, len(log))
		log[i], log[j] = log[j], log[i]
		log[i].says(t, func(e *event.Envelope) { e.At = int64(i) + 1 })
		log[j].says(t, func(e *event.Envelope) { e.At = int64(j) + 1 })
		return log
	}, nil},
	{"two bodies swapped", func(t *testing.T, r *rand.Rand, log []line, i int) []line {
		i, j := pair(r, i, len(log))
		log[i].salt, log[j].salt = log[j].salt, log[i].salt
		log[i].body, log[j].body = log[j].body, log[i].body
		return log
	}, nil},

	{"a row dropped", func(t *testing.T, r *rand.Rand, log []line, i int) []line { return slices.Delete(log, i, i+1) }, next},
	{"a row dropped, the rest moved up", func(t *testing.T, r *rand.Rand, log []line, i int) []line {
		return shift(slices.Delete(log, i, i+1), i, -1)
	}, func(i, n int) int64 {
		if i+1 == n {
			return 0
		}
		return here(i, n)
	}},
	{"a row dropped, the next one hashed again", func(t *testing.T, r *rand.Rand, log []line, i int) []line {
		log = shift(slices.Delete(log, i, i+1), i, -1)
		if i < len(log) {
			log[i].says(t, func(e *event.Envelope) { e.At-- })
		}
		return log
	}, func(i, n int) int64 {
		if i+1 == n {
			return 0
		}
		return here(i, n)
	}},
	{"a row twice", func(t *testing.T, r *rand.Rand, log []line, i int) []line {
		return shift(slices.Insert(log, i+1, log[i]), i+1, 1)
	}, func(i, _ int) int64 { return int64(i) + 2 }},
	{"a row put in, chained to the one before it", func(t *testing.T, r *rand.Rand, log []line, i int) []line {
		in := log[i]
		in.chained(t, log[i])
		return shift(slices.Insert(log, i+1, in), i+2, 1)
	}, func(i, n int) int64 {
		if i+1 == n {
			return 0
		}
		return int64(i) + 3
	}},
	{"a row put in, and the next one chained to it", func(t *testing.T, r *rand.Rand, log []line, i int) []line {
		in := log[i]
		in.chained(t, log[i])
		log = shift(slices.Insert(log, i+1, in), i+2, 1)
		if i+2 < len(log) {
			log[i+2].chained(t, log[i+1])
		}
		return log
	}, func(i, n int) int64 {
		if i+2 >= n {
			return 0
		}
		return int64(i) + 4
	}},
}

// another gives a body of the kind that says something else, in good form.
func another(t *testing.T, kind event.Kind, body string) string {
	t.Helper()
	for _, swap := range [][2]string{{`"name":"`, `"name":"X`}, {`"c0ffee01"`, `"c0ffee02"`}, {`"typed":"`, `"typed":"9`}, {`"reason":"`, `"reason":"y`}, {`"note":"`, `"note":"z`}, {`"marked":"`, `"marked":"w`}} {
		changed := bytes.Replace([]byte(body), []byte(swap[0]), []byte(swap[1]), 1)
		for schema := 1; schema <= event.Newest(kind); schema++ {
			if _, err := event.Decode(kind, schema, changed); err == nil && string(changed) != body {
				return string(changed)
			}
		}
	}
	t.Fatalf("no other body for %s %s", kind, body)
	return ""
}

// pair gives two lines, one of them the i-th, in their order.
func pair(r *rand.Rand, i, n int) (int, int) {
	j := r.IntN(n - 1)
	if j >= i {
		j++
	}
	return min(i, j), max(i, j)
}

// firstBreak gives the position of the first break of a register and whether
// Open refuses it as damaged.
func firstBreak(t *testing.T, path string) (at int64, found, refused bool) {
	t.Helper()
	breaks := check(t, path)
	if len(breaks) == 0 {
		return 0, false, refuses(t, path)
	}
	return breaks[0].At, true, refuses(t, path)
}

// refuses tells whether Open refuses a register as damaged.
func refuses(t *testing.T, path string) bool {
	t.Helper()
	s, err := store.Open(t.Context(), path, store.Options{})
	if err == nil {
		err = s.Close()
	}
	if err != nil && !errors.Is(err, store.ErrDamaged) {
		t.Fatal(err)
	}
	return err != nil
}

// Whatever is changed in a log without chaining everything after it again is
// found, and at its position: at every place of a small log, one place of each
// kind in the short run. Where it is the last event that changed, the chain
// cannot show it, and the present does.
func TestTamperMatrix(t *testing.T) {
	r := random(t)
	for _, c := range tamperings {
		places := r.Perm(end)[:min(end, 1+*rounds)]
		if !slices.Contains(places, end-1) {
			places = append(places, end-1)
		}
		if !slices.Contains(places, 0) {
			places = append(places, 0)
		}
		for _, i := range places {
			path, _ := written(t)
			var first int64
			rewrite(t, path, func(log []line) []line {
				before := slices.Clone(log)
				for j := range before { // what is changed in place must not change these
					before[j].envelope, before[j].body = slices.Clone(log[j].envelope), slices.Clone(log[j].body)
					before[j].hash, before[j].salt = slices.Clone(log[j].hash), slices.Clone(log[j].salt)
				}
				log = c.do(t, r, log, i)
				if c.at != nil {
					first = c.at(i, end)
					return log
				}
				for j := range before { // the first of two that were swapped
					if !bytes.Equal(before[j].envelope, log[j].envelope) || !bytes.Equal(before[j].salt, log[j].salt) {
						first = int64(j) + 1
						break
					}
				}
				return log
			})
			at, found, refused := firstBreak(t, path)
			if !found || at != first {
				t.Errorf("%s at %d: found at %d (%v), want %d", c.name, i+1, at, found, first)
			}
			if refused != (first > 0) {
				t.Errorf("%s at %d: refused when opened: %v", c.name, i+1, refused)
			}
		}
	}
}

// In a log of more than a thousand events, Verify finds a change wherever it is,
// and Open finds it among the newest thousand and looks no further.
func TestTamperFarBack(t *testing.T) {
	r := random(t)
	path := filepath.Join(t.TempDir(), "register.sqlite")
	clock := &storetest.Clock{T: time.Date(2026, 1, 5, 7, 0, 0, 0, time.UTC)}
	s, _, err := store.Init(t.Context(), path, storetest.Founding(), store.Options{Program: "test", Now: clock.Now})
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(storetest.Fill(t.Context(), s, clock, 10, 1100), s.Close()); err != nil {
		t.Fatal(err)
	}
	file, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var n int
	unguarded(t, path, func(db *sql.DB) { n = len(readLines(t, db)) })
	try := func(c tampering, i int) {
		for _, name := range []string{path, path + "-wal", path + "-shm"} {
			if err := os.RemoveAll(name); err != nil {
				t.Fatal(err)
			}
		}
		if err := os.WriteFile(path, file, 0o600); err != nil {
			t.Fatal(err)
		}
		length := n
		rewrite(t, path, func(log []line) []line {
			log = c.do(t, r, log, i)
			length = int(log[len(log)-1].pos)
			return log
		})
		want := c.at(i, n)
		at, found, refused := firstBreak(t, path)
		if !found || at != want {
			t.Errorf("%s at %d of %d: found at %d (%v), want %d", c.name, i+1, n, at, found, want)
		}
		if among := want > int64(length)-1000; among && !refused || i == n-1002 && refused {
			t.Errorf("%s at %d of %d: refused when opened: %v", c.name, i+1, n, refused)
		}
	}
	bit, drop := tamperings[0], tamperings[slices.IndexFunc(tamperings, func(c tampering) bool { return c.name == "a row dropped" })]
	try(bit, n-1002) // the last place that Open does not look at
	for _, i := range []int{n - 1001, n - 1000, n - 1} {
		try(bit, i)
		try(drop, i-1)
	}
	for range 2 * *rounds {
		if c := tamperings[r.IntN(len(tamperings))]; c.at != nil && c.name != "a body, committed to and hashed again" {
			try(c, r.IntN(n-1003))
			try(c, n-1000+r.IntN(1000))
		}
	}
}

// A log that was cut at its end and whose present was made again, or that was
// rewritten and chained again from some event to the end, is whole in itself:
// only a head that was kept elsewhere shows it.
func TestOnlyAKeptHeadShows(t *testing.T) {
	for name, change := range map[string]func(log []line) []line{
		"cut at the end": func(log []line) []line { return log[:30] },
		"rewritten from the middle": func(log []line) []line {
			first := event.Hash(log[30].hash)
			log[30].says(t, func(e *event.Envelope) { e.By = event.PersonID{0xBB} })
			was := map[event.Hash]event.Hash{first: event.Hash(log[30].hash)}
			for i := 31; i < len(log); i++ {
				old := event.Hash(log[i].hash)
				log[i].says(t, func(e *event.Envelope) { // parents are named anew as well
					e.Prev = event.Hash(log[i-1].hash)
					for j, p := range e.Parents {
						if now, ok := was[p]; ok {
							e.Parents[j] = now
						}
					}
				})
				was[old] = event.Hash(log[i].hash)
			}
			return log
		},
	} {
		path, _ := written(t)
		s := store.Unchecked(t, path)
		kept, err := s.Head(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		whole, err := s.VerifyAs(t.Context(), store.Verification{Against: store.Paper(tagcode.Head{At: kept.At, Hash: kept.Hash}.Shown(8))})
		if err != nil || !whole.Against.Holds() {
			t.Fatalf("%+v, %v", whole, err)
		}
		rewrite(t, path, change)
		if err := s.Rebuild(context.Background()); err != nil {
			t.Fatal(err)
		}
		if at, found, refused := firstBreak(t, path); found || refused {
			t.Errorf("%s: found at %d, refused %v: what is whole in itself has no break", name, at, refused)
		}
		sheet := tagcode.Head{At: kept.At, Hash: kept.Hash}
		for _, against := range []tagcode.ShownHead{sheet.Shown(8), sheet.Shown(64)} {
			report, err := s.VerifyAs(t.Context(), store.Verification{Against: store.Paper(against)})
			if err != nil || !report.Whole() || report.Against == nil || report.Against.Holds() {
				t.Errorf("%s, against %s: %+v, %v", name, against, report.Against, err)
			}
		}
	}
}
