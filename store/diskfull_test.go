package store_test

import (
	"bytes"
	"context"
	"errors"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/store"
	"cribgate/store/storetest"
)

// heard is a log that a test can read while others write.
type heard struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (h *heard) Write(b []byte) (int, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.text.Write(b)
}

func (h *heard) has(text string) bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	return strings.Contains(h.text.String(), text)
}

// On a disk that is full again and again, an act is recorded whole or it is said
// that nothing was; reading goes on, and once there is room so does writing, in
// the same program.
func TestDiskFullAgainAndAgain(t *testing.T) {
	r := random(t)
	dir := storetest.SmallDisk(t, 64<<10)
	s, _, err := store.Init(t.Context(), filepath.Join(dir, "register.sqlite"), storetest.Founding(), store.Options{Program: "test"})
	if err != nil {
		t.Fatal(err)
	}
	storetest.Check(t, s)
	storetest.Register(t, s, 0)
	id := event.SlingOf(storetest.Key, storetest.Sling(0).Ident)
	at := head(t, s).At
	act := func() error {
		_, err := s.Do(t.Context(), plain, func(ctx context.Context, tx *store.Tx) ([]byte, error) { return toggle(ctx, tx, id) })
		switch {
		case err == nil:
			at++
		case !errors.Is(err, store.ErrDiskFull):
			t.Fatalf("an act on a full disk: %v", err)
		}
		return err
	}
	refused := func(round int, what string, err error) {
		t.Helper()
		if !errors.Is(err, store.ErrDiskFull) {
			t.Errorf("round %d: %s on a full disk: %v", round, what, err)
		}
	}
	for round := range *rounds {
		for range 20 {
			if act() != nil {
				t.Fatalf("round %d: no room on a disk that has room", round)
			}
		}
		room := storetest.FillDisk(t, dir, r.Int64N(200<<10))
		for act() == nil {
			if at > 100_000 {
				t.Fatal("the disk does not get full")
			}
		}
		refused(round, "a bulk", s.Bulk(t.Context(), plain, func(ctx context.Context, tx *store.Tx) error {
			d := storetest.Sling(1 + round)
			_, err := tx.Append(ctx, event.Sling(event.SlingOf(storetest.Key, d.Ident)), nil, event.Registered{Details: d})
			return err
		}))
		var before, after bytes.Buffer
		if err := s.Dump(t.Context(), &before); err != nil {
			t.Errorf("round %d: reading on a full disk: %v", round, err)
		}
		refused(round, "a rebuild", s.Rebuild(t.Context()))
		if report, err := s.Verify(t.Context(), nil); err != nil || !report.Whole() || report.Head.At != at {
			t.Errorf("round %d: on a full disk: head %d, want %d, %v, %v", round, report.Head.At, at, report.Breaks, err)
		}
		if err := s.Dump(t.Context(), &after); err != nil || !bytes.Equal(before.Bytes(), after.Bytes()) {
			t.Errorf("round %d: what was refused changed the present, %v", round, err)
		}
		room()
		// These rounds are quicker than the checkpoints that go on beside them.
		if err := s.Bulk(t.Context(), plain, func(context.Context, *store.Tx) error { return nil }); err != nil {
			t.Fatal(err)
		}
	}
	if act() != nil || head(t, s).At != at {
		t.Errorf("the head is %d, want %d", head(t, s).At, at)
	}
	t.Logf("%d rounds, %d events", *rounds, at)
}

// A write-ahead log that has grown and cannot be put into the file, because the
// disk is full, loses nothing; once there is room it is put in.
func TestDiskFullCheckpoint(t *testing.T) {
	dir := storetest.SmallDisk(t, 24<<10)
	path := filepath.Join(dir, "register.sqlite")
	log := &heard{}
	s, _, err := store.Init(t.Context(), path, storetest.Founding(), store.Options{Program: "test", Log: slog.New(slog.NewTextHandler(log, nil))})
	if err != nil {
		t.Fatal(err)
	}
	storetest.Check(t, s)
	if err := s.Bulk(t.Context(), plain, func(context.Context, *store.Tx) error { return nil }); err != nil { // the log is in the file
		t.Fatal(err)
	}
	// begins is the header of the write-ahead log, which changes when all of it is in
	// the file and it starts again.
	begins := func() string {
		header := make([]byte, 32)
		f, err := os.Open(path + "-wal") // not the file itself: closing that would end SQLite's locks
		if err == nil {
			_, err = io.ReadFull(f, header)
			err = errors.Join(err, f.Close())
		}
		if err != nil {
			t.Fatal(err)
		}
		return string(header)
	}
	room := storetest.FillDisk(t, dir, 10<<20)
	n := 0
	until := time.Now().Add(time.Minute)
	for ; !log.has("checkpoint") && time.Now().Before(until); n++ { // acts grow the log until nothing fits any more
		if err := enter(t.Context(), s, n); errors.Is(err, store.ErrDiskFull) {
			n--
		} else if err != nil {
			t.Fatal(err)
		}
	}
	if !log.has("checkpoint") {
		t.Fatalf("after %d acts no checkpoint has failed", n)
	}
	list, err := s.Since(t.Context(), 0, 1<<20)
	if err != nil || len(list) != n+3 {
		t.Errorf("%d events, want %d, %v", len(list), n+3, err)
	}
	room()
	before := begins()
	long := func() int64 {
		info, err := os.Stat(path + "-wal")
		if err != nil {
			t.Fatal(err)
		}
		return info.Size()
	}
	for was := long(); begins() == before && long() < was+5<<20; { // more than a thousand pages, whatever of it is in the file already
		if err := enter(t.Context(), s, n); err != nil {
			t.Fatal(err)
		}
		n++
	}
	// Nobody reads the register meanwhile: a log that is being read does not start again.
	for until := time.Now().Add(time.Minute); begins() == before; {
		if time.Now().After(until) {
			t.Fatal("the log does not start again though there is room")
		}
	}
	if err := enter(t.Context(), s, n); err != nil {
		t.Error(err)
	}
	t.Logf("%d events", head(t, s).At)
}

// A register on a full disk opens, or it is said that the disk is full; it is
// neither called damaged nor changed, and opens once there is room.
func TestOpenOnFullDisk(t *testing.T) {
	for _, free := range []int64{0, 4 << 10, 16 << 10, 32 << 10, 40 << 10, 100 << 10} {
		dir := storetest.SmallDisk(t, 4<<10)
		path := filepath.Join(dir, "register.sqlite")
		s, _, err := store.Init(t.Context(), path, storetest.Founding(), store.Options{Program: "test"})
		if err != nil {
			t.Fatal(err)
		}
		storetest.Register(t, s, 0)
		want := head(t, s)
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		room := storetest.FillDisk(t, dir, free)
		s, err = store.Open(t.Context(), path, store.Options{Program: "test"})
		switch {
		case err == nil:
			if got := head(t, s); got != want {
				t.Errorf("%d bytes free: the head is %v, want %v", free, got, want)
			}
			if err := s.Close(); err != nil {
				t.Errorf("%d bytes free: %v", free, err)
			}
		case !errors.Is(err, store.ErrDiskFull):
			t.Errorf("%d bytes free: %v", free, err)
		}
		t.Logf("%d bytes free: %v", free, err)
		if _, _, err := store.Init(t.Context(), filepath.Join(dir, "second.sqlite"), storetest.Founding(), store.Options{}); free < 40<<10 && !errors.Is(err, store.ErrDiskFull) {
			t.Errorf("%d bytes free: founded: %v", free, err)
		}
		room()
		s = storetest.Open(t, path, store.Options{Program: "test"})
		storetest.Register(t, s, 1)
		if list, err := filepath.Glob(filepath.Join(dir, "*new-*")); err != nil || len(list) != 0 {
			t.Errorf("%d bytes free: left %v, %v", free, list, err)
		}
	}
}
