package audit

import (
	"context"
	"database/sql"
	"errors"
	"log/slog"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/store"
	"cribgate/store/storetest"
)

func register(t *testing.T) (s *store.Store, path, file string) {
	t.Helper()
	s, _, path = storetest.New(t, store.Options{Program: "test"})
	return s, path, filepath.Join(filepath.Dir(path), "verified.json")
}

// spoil makes the register's present say something else than its story, and gives
// the way back.
func spoil(t *testing.T, path string) (mend func()) {
	t.Helper()
	do := func(statement string) {
		t.Helper()
		db, err := sql.Open("sqlite3", path)
		if err != nil {
			t.Fatal(err)
		}
		defer db.Close()
		if _, err := db.ExecContext(t.Context(), statement); err != nil {
			t.Fatal(err)
		}
	}
	do("UPDATE person SET name = name || 'x'")
	return func() { t.Helper(); do("UPDATE person SET name = substr(name, 1, length(name) - 1)") }
}

func TestRemembers(t *testing.T) {
	s, path, file := register(t)
	log := slog.New(slog.DiscardHandler)
	a := Open(s, file, log)
	if last, err := a.Last(); err != nil || !reflect.DeepEqual(last, Result{}) || a.Broken() {
		t.Errorf("before the first: %+v, %v", last, err)
	}
	head, err := s.Head(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	good, err := a.Now(t.Context(), false)
	if err != nil || good.Broken() || good.At != head.At || good.Hash != head.Hash || time.Since(good.Ended) > time.Minute {
		t.Errorf("%+v, %v; head %+v", good, err, head)
	}
	mend := spoil(t, path)
	bad, err := a.Now(t.Context(), true)
	if err != nil || !bad.Broken() || !a.Broken() || len(bad.Breaks) != 1 || !strings.Contains(bad.Breaks[0], "person") {
		t.Errorf("%+v, %v", bad, err)
	}
	// It stays so over a restart, until it is found to hold.
	again := Open(s, file, log)
	if last, err := again.Last(); err != nil || !reflect.DeepEqual(last, bad) || !again.Broken() {
		t.Errorf("read back %+v, %v, want %+v", last, err, bad)
	}
	mend()
	if r, err := again.Now(t.Context(), false); err != nil || r.Broken() || again.Broken() {
		t.Errorf("mended: %+v, %v", r, err)
	}
	if names, err := filepath.Glob(file + "*"); err != nil || len(names) != 1 {
		t.Errorf("files %v, %v", names, err)
	}
}

// What could not be done leaves what is known as it was.
func TestWhatCannotBeDone(t *testing.T) {
	s, path, file := register(t)
	a := Open(s, file, slog.New(slog.DiscardHandler))
	mend := spoil(t, path)
	bad, err := a.Now(t.Context(), false)
	if err != nil {
		t.Fatal(err)
	}
	mend()
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := a.Now(ctx, false); !errors.Is(err, context.Canceled) {
		t.Errorf("ended: %v", err)
	}
	if last, err := a.Last(); err != nil || !reflect.DeepEqual(last, bad) {
		t.Errorf("%+v, %v", last, err)
	}
	// A result that cannot be kept is told, and counts all the same.
	a.file = filepath.Join(file, "nowhere")
	if r, err := a.Now(t.Context(), false); err == nil || r.Broken() || a.Broken() {
		t.Errorf("%+v, %v", r, err)
	}
}

func TestFilesThatAreNone(t *testing.T) {
	s, _, file := register(t)
	good := Result{Ended: time.Date(2026, 3, 2, 7, 15, 0, 0, time.UTC), Took: 12 * time.Millisecond, At: 17, Hash: event.Hash{1}, Breaks: []string{"x"}}
	if err := good.save(file); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if back, err := load(file); err != nil || !reflect.DeepEqual(back, good) {
		t.Errorf("%+v, %v", back, err)
	}
	for _, bad := range []string{"", "{}", "x", string(text[:len(text)/2]), strings.Replace(string(text), "2026", "MMXXVI", 1), strings.Replace(string(text), `"hash":"01`, `"hash":"0`, 1)} {
		if err := os.WriteFile(file, []byte(bad), 0o600); err != nil {
			t.Fatal(err)
		}
		if r, err := load(file); err == nil || !reflect.DeepEqual(r, Result{}) {
			t.Errorf("%q: %+v, %v", bad, r, err)
		}
		a := Open(s, file, slog.New(slog.DiscardHandler))
		if r, err := a.Now(t.Context(), false); err != nil || r.Broken() {
			t.Errorf("%q: then %+v, %v", bad, r, err)
		}
		if back, err := load(file); err != nil || back.At == 0 {
			t.Errorf("%q: %+v, %v", bad, back, err)
		}
	}
}

// Run verifies at once where it has to, and not where it was done just now.
func TestRun(t *testing.T) {
	s, path, file := register(t)
	log := slog.New(slog.DiscardHandler)
	runs := func(a *Audit) (times int) {
		t.Helper()
		ctx, stop := context.WithCancel(t.Context())
		defer stop()
		a.ended = func() { times++; stop() }
		a.Run(ctx, time.Hour)
		return times
	}
	first := Open(s, file, log)
	if n := runs(first); n != 1 {
		t.Errorf("the first time: verified %d times", n)
	}
	mend := spoil(t, path)
	second := Open(s, file, log) // the last time is less than an hour ago
	ctx, stop := context.WithCancel(t.Context())
	stop()
	second.Run(ctx, time.Hour)
	if second.Broken() {
		t.Error("verified again at once")
	}
	if r, err := second.Now(t.Context(), false); err != nil || !r.Broken() {
		t.Fatal(r, err)
	}
	mend()
	if third := Open(s, file, log); runs(third) != 1 || third.Broken() { // a broken one is looked at again
		t.Error("a broken register was not verified again at once, or is still said to be broken")
	}
}
