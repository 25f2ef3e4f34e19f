package store_test

import (
	"bytes"
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/store"
	"cribgate/store/storetest"
)

// wrecked is a register that goes on after its copy, as bytes to be damaged.
type wrecked struct {
	file   []byte
	hashes []event.Hash // of every event, from position 1
	newest []byte       // the end of the newest one's row: hash, subject and envelope
	copy   store.CopyFile
}

// wreck makes a register of some hundred events with a copy from its middle.
func wreck(t *testing.T) wrecked {
	t.Helper()
	clock := &storetest.Clock{T: time.Date(2026, 1, 5, 7, 0, 0, 0, time.UTC)}
	path := filepath.Join(t.TempDir(), "register.sqlite")
	s, _, err := store.Init(t.Context(), path, storetest.Founding(), store.Options{Program: "test", Now: clock.Now})
	if err != nil {
		t.Fatal(err)
	}
	if err := storetest.Fill(t.Context(), s, clock, 20, 160); err != nil {
		t.Fatal(err)
	}
	w := wrecked{}
	if w.copy, err = s.Copy(t.Context(), copiesOf(path), store.Copying{}); err != nil {
		t.Fatal(err)
	}
	for n := range 60 {
		storetest.Register(t, s, 100+n)
	}
	list, err := s.Since(t.Context(), 0, 1000)
	if err != nil {
		t.Fatal(err)
	}
	for _, rec := range list {
		w.hashes = append(w.hashes, rec.Hash)
	}
	end := list[len(list)-1]
	text, err := end.Envelope.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	w.newest = append(append(end.Hash[:], end.Envelope.Subject.String()...), text...)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if w.file, err = os.ReadFile(path); err != nil {
		t.Fatal(err)
	}
	return w
}

// damages are the ways in which a file is damaged, and what each does to it.
var damages = map[string]func(r *rand.Rand, file []byte) []byte{
	"bytes flipped": func(r *rand.Rand, file []byte) []byte {
		for range 1 + r.IntN(20) {
			file[r.IntN(len(file))] ^= byte(1 + r.IntN(255))
		}
		return file
	},
	"pages of zeros": func(r *rand.Rand, file []byte) []byte {
		for range 1 + r.IntN(4) {
			clear(file[r.IntN(len(file)/pageSize)*pageSize:][:pageSize])
		}
		return file
	},
	"pages of something else": func(r *rand.Rand, file []byte) []byte {
		n := len(file) / pageSize
		for range 1 + r.IntN(3) {
			copy(file[r.IntN(n)*pageSize:][:pageSize], file[r.IntN(n)*pageSize:])
		}
		return file
	},
	"cut": func(r *rand.Rand, file []byte) []byte { return file[:r.IntN(len(file))] },
	"cut and filled up": func(r *rand.Rand, file []byte) []byte {
		clear(file[r.IntN(len(file)):])
		return file
	},
}

const pageSize = 4096 // SQLite's own

// Whatever happens to the file of a register, what is recovered beyond the copy
// was in it word for word, without a gap; what was not is named to the position.
func TestRecover(t *testing.T) {
	r := random(t)
	w := wreck(t)
	all := int64(len(w.hashes))
	some, whole := 0, 0
	for name, damage := range damages {
		for round := range 4 * *rounds {
			dir := t.TempDir()
			bad, to := filepath.Join(dir, "bad.sqlite"), filepath.Join(dir, "register.sqlite")
			damaged := damage(r, append([]byte(nil), w.file...))
			if err := os.WriteFile(bad, damaged, 0o600); err != nil {
				t.Fatal(err)
			}
			got, err := store.Recover(t.Context(), bad, w.copy.Path, to, "damaged", store.Options{Program: "test"}, nil)
			if err != nil {
				t.Fatalf("%s, round %d: %v", name, round, err)
			}
			if after, err := os.ReadFile(bad); err != nil || string(after) != string(damaged) {
				t.Errorf("%s, round %d: the damaged file was changed, %v", name, round, err)
			}
			s := storetest.Open(t, to, store.Options{Program: "test"})
			last := got.From.At
			if got.Copy != w.copy.At || last < got.Copy || last > all || got.Head.At != last+1 {
				t.Fatalf("%s, round %d: %+v", name, round, got)
			}
			list, err := s.Since(t.Context(), 0, 1000)
			if err != nil || int64(len(list)) != last+1 {
				t.Fatalf("%s, round %d: %d events, %v", name, round, len(list), err)
			}
			for i, rec := range list[:last] {
				if rec.Hash != w.hashes[i] {
					t.Fatalf("%s, round %d: position %d was never in the register", name, round, i+1)
				}
			}
			from, end := got.Lost()
			switch {
			case got.Traces > all || end > all:
				t.Errorf("%s, round %d: traces of position %d, there were %d", name, round, max(got.Traces, end), all)
			case got.Stop == "" && (from != 0 || end != 0 || got.Traces > last):
				t.Errorf("%s, round %d: lost %d to %d of %d, and it did not stop", name, round, from, end, got.Traces)
			case got.Stop != "" && (from != last+1 || end != max(from, got.Traces) || !strings.Contains(got.Stop, fmt.Sprintf("position %d", from))):
				t.Errorf("%s, round %d: lost %d to %d, traces of %d after %d, stopped since %q", name, round, from, end, got.Traces, last, got.Stop)
			case bytes.Contains(damaged, w.newest) && end != all && last != all:
				t.Errorf("%s, round %d: the newest event stands in the file, and %d to %d are said to be lost", name, round, from, end)
			}
			if last > got.Copy && last < all {
				some++
			}
			if last == all {
				whole++
			}
		}
	}
	if some == 0 || whole == 0 {
		t.Errorf("of %d registers %d came back in part and %d whole: the test proves nothing", 4**rounds*len(damages), some, whole)
	}
}

// What was written last lies in the log beside a file that was not closed.
func TestRecoverFromLog(t *testing.T) {
	path, _ := written(t)
	c := copyOf(t, path)
	s := storetest.Open(t, path, store.Options{Program: "test"})
	storetest.Register(t, s, 50)
	last := storetest.Register(t, s, 51)
	dir := t.TempDir()
	for _, end := range []string{"", "-wal"} {
		text, err := os.ReadFile(path + end)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, "bad"+end), text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	to := filepath.Join(dir, "register.sqlite")
	got, err := store.Recover(t.Context(), filepath.Join(dir, "bad"), c.Path, to, "", store.Options{Program: "test"}, nil)
	if err != nil || got.From.At != c.At+2 || got.Stop != "" || got.Traces != c.At+2 {
		t.Fatalf("%+v, %v", got, err)
	}
	again := storetest.Open(t, to, store.Options{Program: "test"})
	if sl, err := again.Sling(t.Context(), last.ID); err != nil || sl.Heads[0] != last.Heads[0] {
		t.Errorf("%+v, %v", sl, err)
	}
}

// A copy of another register has no use, and is not mixed with this one.
func TestRecoverAnother(t *testing.T) {
	path, _ := written(t)
	c := copyOf(t, path)
	w := wreck(t)
	dir := t.TempDir()
	bad, to := filepath.Join(dir, "bad"), filepath.Join(dir, "register.sqlite")
	if err := os.WriteFile(bad, w.file, 0o600); err != nil {
		t.Fatal(err)
	}
	got, err := store.Recover(t.Context(), bad, c.Path, to, "", store.Options{Program: "test"}, nil)
	if !errors.Is(err, store.ErrOtherCrib) {
		t.Errorf("%+v, %v", got, err)
	}
	if _, err := store.Recover(t.Context(), bad+"-none", c.Path, to, "", store.Options{Program: "test"}, nil); !errors.Is(err, store.ErrNotInitialised) {
		t.Errorf("%v", err)
	}
	if _, err := store.Recover(t.Context(), bad, c.Path, bad, "", store.Options{Program: "test"}, nil); !errors.Is(err, store.ErrExists) {
		t.Errorf("%v", err)
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) != 1 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

// What was taken out of a damaged register stays out of what is recovered, where
// the copy has it still and where it came after the copy; a body that is missing
// for no reason ends what is taken.
func TestRecoverErased(t *testing.T) {
	k := newKnown(t)
	c, err := k.s.Copy(t.Context(), copiesOf(k.path), store.Copying{})
	if err != nil {
		t.Fatal(err)
	}
	sling := k.slings[0]
	k.tell(event.Sling(sling.ID), event.Held{Reason: "Zebulon Ward again"}) // after the copy, and erased below
	if n := k.erase(k.ward); n == 0 {
		t.Fatal("nothing was erased")
	}
	k.tell(event.Sling(sling.ID), event.Released{Reason: "looked at"})
	if n := k.erase(k.yard); n == 0 { // cuts into what the first erasure left
		t.Fatal("nothing was erased")
	}
	var want strings.Builder
	head, err := k.s.Head(t.Context())
	if err = errors.Join(err, k.s.Dump(t.Context(), &want)); err != nil {
		t.Fatal(err)
	}
	now, err := k.s.Copy(t.Context(), t.TempDir(), store.Copying{}) // a file of one piece, to be damaged below
	if err != nil {
		t.Fatal(err)
	}
	to := filepath.Join(t.TempDir(), "register.sqlite")
	got, err := store.Recover(t.Context(), now.Path, c.Path, to, "a look", store.Options{Program: "test"}, nil)
	if err != nil || got.From.At != head.At || got.From.Hash != head.Hash || got.Stop != "" {
		t.Fatalf("%+v, want up to %d, %v", got, head.At, err)
	}
	s := storetest.Open(t, to, store.Options{Program: "test"})
	var dump strings.Builder
	if err := s.Dump(t.Context(), &dump); err != nil {
		t.Fatal(err)
	}
	_, slingsWere, _ := strings.Cut(want.String(), "\nperson") // the crib says that it was restored
	_, slingsAre, _ := strings.Cut(dump.String(), "\nperson")
	if slingsAre != slingsWere {
		t.Errorf("recovered\n%s\nwas\n%s", slingsAre, slingsWere)
	}
	file, err := os.ReadFile(to)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"Zebulon", "ZEBULON", "zebulon", "Quentin"} {
		if bytes.Contains(file, []byte(name)) {
			t.Errorf("%s is in the recovered register", name)
		}
	}
	for _, at := range []int64{c.At + 1, head.At - 1} { // what was erased after the copy, and what says so
		bad := filepath.Join(t.TempDir(), "bad.sqlite")
		text, err := os.ReadFile(now.Path)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(bad, text, 0o600); err != nil {
			t.Fatal(err)
		}
		changed(t, bad, "DROP TRIGGER body_delete", fmt.Sprintf("DELETE FROM body WHERE pos >= %d", at))
		to := filepath.Join(t.TempDir(), "register.sqlite")
		got, err := store.Recover(t.Context(), bad, c.Path, to, "", store.Options{Program: "test"}, nil)
		if err != nil || got.From.At >= at && at > c.At+1 || !strings.Contains(got.Stop, "its body is missing") {
			t.Errorf("bodies from %d on are missing: %+v, %v", at, got, err)
		}
		storetest.Open(t, to, store.Options{Program: "test"})
	}
}

// changed does something to a file that no program of ours does.
func changed(t *testing.T, path string, statements ...string) {
	t.Helper()
	db, err := sql.Open("sqlite3", path)
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range statements {
		if _, err := db.ExecContext(t.Context(), text); err != nil {
			t.Fatal(err)
		}
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
}

// A damaged register of the oldest layout comes back too.
func TestRecoverOlder(t *testing.T) {
	old := filepath.Join(fixtures(t)[0], "register.sqlite")
	text, err := os.ReadFile(old)
	if err != nil {
		t.Fatal(err)
	}
	bad, to := filepath.Join(t.TempDir(), "bad.sqlite"), filepath.Join(t.TempDir(), "register.sqlite")
	if err := os.WriteFile(bad, text, 0o600); err != nil {
		t.Fatal(err)
	}
	changed(t, bad, "DROP TRIGGER body_delete", "DELETE FROM body WHERE pos > 30",
		"DROP TRIGGER log_delete", "DELETE FROM log WHERE pos > 30",
		"CREATE TRIGGER log_delete BEFORE DELETE ON log BEGIN SELECT raise(ABORT, 'the log is never changed'); END",
		"CREATE TRIGGER body_delete BEFORE DELETE ON body BEGIN SELECT raise(ABORT, 'a body is never changed'); END")
	part := filepath.Join(t.TempDir(), "part.sqlite")
	if err := os.Rename(bad, part); err != nil {
		t.Fatal(err)
	}
	changed(t, part, "DELETE FROM word", "DELETE FROM tag", "DELETE FROM sling", "DELETE FROM person", "DELETE FROM crib", "DELETE FROM tally", "PRAGMA journal_mode = DELETE")
	got, err := store.Recover(t.Context(), old, part, to, "", store.Options{Program: "test"}, nil)
	if err != nil || got.Copy != 30 || got.From.At <= 30 || got.Stop != "" {
		t.Fatalf("%+v, %v", got, err)
	}
	if head := headIn(t, to); head != got.Head {
		t.Errorf("%+v, %+v", head, got)
	}
}
