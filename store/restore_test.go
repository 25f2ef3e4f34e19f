package store_test

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/state"
	"cribgate/store"
	"cribgate/store/storetest"
)

// copyOf makes a copy of a register that is closed.
func copyOf(t *testing.T, path string) store.CopyFile {
	t.Helper()
	s, err := store.Open(t.Context(), path, store.Options{Program: "test"})
	if err != nil {
		t.Fatal(err)
	}
	c, err := s.Copy(t.Context(), copiesOf(path), store.Copying{})
	if err := errors.Join(err, s.Close()); err != nil {
		t.Fatal(err)
	}
	return c
}

// A restored register goes on in a new log, position after position, says what it
// was restored from, and has every sling compared again.
func TestRestore(t *testing.T) {
	path, slings := written(t)
	c := copyOf(t, path)
	before, err := os.ReadFile(c.Path)
	if err != nil {
		t.Fatal(err)
	}
	to := filepath.Join(t.TempDir(), "deep", "register.sqlite")
	steps := map[string]int64{}
	r, err := store.Restore(t.Context(), c.Path, to, "the disk failed", store.Options{Program: "test"}, func(stage string, done, total int64) {
		if steps[stage] = done; done > total {
			t.Errorf("%s: %d of %d", stage, done, total)
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	if steps[store.StageCopy] != c.Bytes || steps[store.StageVerify] != r.Head.At {
		t.Errorf("progress %v", steps)
	}
	if after, err := os.ReadFile(c.Path); err != nil || !bytes.Equal(before, after) {
		t.Errorf("the copy was changed: %v", err)
	}
	s := storetest.Open(t, to, store.Options{Program: "test"})
	head, err := s.Head(t.Context())
	if err != nil || head.At != c.At+1 || head != r.Head || r.From.At != c.At || head.Log == r.From.Log || head.Crib != r.From.Crib {
		t.Fatalf("head %+v after %+v, %v", head, r.From, err)
	}
	crib, err := s.Crib(t.Context())
	want := state.Restoration{Log: head.Log, From: r.From.Log, At: c.At, Head: r.From.Hash, Why: "the disk failed", Since: crib.Restored.Since}
	if err != nil || crib.Restored != want || crib.Doubt != 0 {
		t.Errorf("%+v, want %+v, %v", crib.Restored, want, err)
	}
	if n, err := s.ToCompare(t.Context(), head.Log); err != nil || n != len(slings) || r.ToCompare != n {
		t.Errorf("%d and %d slings to compare, %v", n, r.ToCompare, err)
	}
	left := func() (idents string) {
		t.Helper()
		q := store.Query{NotIn: head.Log, Limit: 2}
		for {
			page, next, err := s.List(t.Context(), q)
			if err != nil {
				t.Fatal(err)
			}
			for _, sl := range page {
				if !crib.ToCompare(sl) {
					t.Errorf("%s is listed", sl.Details.Ident)
				}
				idents += sl.Details.Ident[7:]
			}
			if q.After = next; next == "" {
				return idents
			}
		}
	}
	if got := left(); got != "01234" {
		t.Errorf("to compare: %s", got)
	}
	tell := func(n int, body event.Body) {
		t.Helper()
		sl, err := s.Sling(t.Context(), slings[n].ID)
		if err != nil {
			t.Fatal(err)
		}
		storetest.Append(t, s, sl.ID, sl.Heads, body)
	}
	tell(2, event.Returned{Said: event.Nothing})
	tell(2, event.Compared{Serial: 1, Typed: "002"})
	tell(4, event.Lost{})
	tell(1, event.Retired{Reason: "r", How: "h"})
	storetest.Register(t, s, 9)
	if got := left(); got != "03" {
		t.Errorf("to compare: %s", got)
	}
	tell(4, event.Found{})
	if n, err := s.ToCompare(t.Context(), head.Log); err != nil || n != 3 || left() != "034" {
		t.Errorf("%d to compare: %s, %v", n, left(), err)
	}
	if page, _, err := s.List(t.Context(), store.Query{NotIn: head.Log, Text: "CS-00003"}); err != nil || len(page) != 1 {
		t.Errorf("%v, %v", page, err)
	}
	if _, _, err := s.List(t.Context(), store.Query{NotIn: head.Log, ByPlace: true}); err == nil {
		t.Error("what is to be compared is listed by place")
	}
	var dump, again strings.Builder
	if err := errors.Join(s.Dump(t.Context(), &dump), s.Rebuild(t.Context()), s.Dump(t.Context(), &again)); err != nil || dump.String() != again.String() {
		t.Errorf("a rebuild gives another present, %v", err)
	}
}

// A copy of a restored register is restored as well: each log follows the other.
func TestRestoreTwice(t *testing.T) {
	path, _ := written(t)
	c := copyOf(t, path)
	for range 2 {
		to := filepath.Join(t.TempDir(), "register.sqlite")
		if _, err := store.Restore(t.Context(), c.Path, to, "", store.Options{Program: "test"}, nil); err != nil {
			t.Fatal(err)
		}
		c = copyOf(t, to)
	}
	if head := headIn(t, c.Path); head.At != 45 {
		t.Errorf("head at %d, want 45: 43 events and two restorations", head.At)
	}
}

// The oldest register there is can be restored from a copy as it is.
func TestRestoreOlder(t *testing.T) {
	to := filepath.Join(t.TempDir(), "register.sqlite")
	r, err := store.Restore(t.Context(), filepath.Join(fixtures(t)[0], "register.sqlite"), to, "", store.Options{Program: "test"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if head := headIn(t, to); head != r.Head || r.ToCompare == 0 {
		t.Errorf("%+v, %+v", head, r)
	}
}

// What cannot be restored leaves nothing, and what is there stays.
func TestRestoreRefuses(t *testing.T) {
	path, _ := written(t)
	c := copyOf(t, path)
	open := storetest.Open(t, path, store.Options{Program: "test"})
	storetest.Register(t, open, 77) // lies in the log beside the file
	bad := filepath.Join(t.TempDir(), "bad")
	text, err := os.ReadFile(c.Path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(bad, text, 0o600); err != nil {
		t.Fatal(err)
	}
	db, err := sql.Open("sqlite3", bad)
	if err != nil {
		t.Fatal(err)
	}
	for _, statement := range []string{"DROP TRIGGER body_update", "UPDATE body SET body = x'7b7d' WHERE pos = 7"} {
		if _, err := db.ExecContext(t.Context(), statement); err != nil {
			t.Fatal(err)
		}
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	gone, cancel := context.WithCancel(t.Context())
	cancel()
	for name, x := range map[string]struct {
		ctx      context.Context
		from, to string
		err      error
	}{
		"a register is there":   {t.Context(), c.Path, path, store.ErrExists},
		"a register in use":     {t.Context(), path, "", store.ErrNotACopy},
		"nothing":               {t.Context(), c.Path + "-none", "", store.ErrNoCopy},
		"a copy that is broken": {t.Context(), bad, "", store.ErrDamaged},
		"given up":              {gone, c.Path, "", context.Canceled},
	} {
		dir := t.TempDir()
		if x.to == "" {
			x.to = filepath.Join(dir, "register.sqlite")
		}
		if _, err := store.Restore(x.ctx, x.from, x.to, "", store.Options{Program: "test"}, nil); !errors.Is(err, x.err) {
			t.Errorf("%s: %v", name, err)
		}
		left, err := os.ReadDir(dir)
		if err != nil || len(left) != 0 {
			t.Errorf("%s: left behind: %v, %v", name, left, err)
		}
	}
}

// A log that another follows without saying so, or saying something else, breaks.
func TestAnotherLog(t *testing.T) {
	path, _ := written(t)
	s, err := store.Open(t.Context(), path, store.Options{Program: "test"})
	if err != nil {
		t.Fatal(err)
	}
	head, err := s.Head(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	good := event.Restored{From: head.Log, At: head.At, Head: head.Hash}
	for name, c := range map[string]struct {
		log  event.LogID
		body event.Body
		ok   bool
	}{
		"a copy was restored":       {event.LogID{7}, good, true},
		"no word of it":             {event.LogID{7}, event.KeyMade{Fingerprint: storetest.Key}, false},
		"from another log":          {event.LogID{7}, event.Restored{From: event.LogID{8}, At: head.At, Head: head.Hash}, false},
		"from another position":     {event.LogID{7}, event.Restored{From: head.Log, At: head.At - 1, Head: head.Hash}, false},
		"from another event":        {event.LogID{7}, event.Restored{From: head.Log, At: head.At, Head: event.Hash{1}}, false},
		"the log is the same":       {head.Log, good, false},
		"and is not what was there": {head.Log, event.Restored{From: event.LogID{8}, At: head.At, Head: head.Hash}, false},
	} {
		to := filepath.Join(t.TempDir(), "register.sqlite")
		file, err := os.ReadFile(copyOfOpen(t, s).Path)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(to, file, 0o600); err != nil {
			t.Fatal(err)
		}
		forged := store.Unchecked(t, to)
		if err := store.AppendIn(t.Context(), forged, c.log, c.body); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		report, err := forged.Verify(t.Context(), nil)
		if err != nil || report.Whole() != c.ok || !c.ok && report.Breaks[0].At != head.At+1 {
			t.Errorf("%s: %v, %v", name, report.Breaks, err)
		}
		again, err := store.Open(t.Context(), to, store.Options{Program: "test"})
		if c.ok != (err == nil) || err != nil && !errors.Is(err, store.ErrDamaged) {
			t.Errorf("%s: opened: %v", name, err)
		}
		if err != nil {
			continue
		}
		if err := again.Close(); err != nil {
			t.Error(err)
		}
	}
	if err := s.Close(); err != nil {
		t.Error(err)
	}
}

// copyOfOpen makes a copy of a register that is open.
func copyOfOpen(t *testing.T, s *store.Store) store.CopyFile {
	t.Helper()
	c, err := s.Copy(t.Context(), t.TempDir(), store.Copying{})
	if err != nil {
		t.Fatal(err)
	}
	return c
}
