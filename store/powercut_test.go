package store_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/store"
	"cribgate/store/storetest"
)

// stream records a child that writes to a register with some slings in it, and
// gives what the register holds in the end.
func stream(t *testing.T, each int, options ...string) (before *disk, calls []*call, lines int, final []event.Hash) {
	t.Helper()
	return streamOf(t, fmt.Sprintf("stream %d", each), options...)
}

// streamOf is stream for a child of any role that does so.
func streamOf(t *testing.T, role string, options ...string) (before *disk, calls []*call, lines int, final []event.Hash) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "register.sqlite")
	s, _, err := store.Init(t.Context(), path, storetest.Founding(), store.Options{Program: "test"})
	if err != nil {
		t.Fatal(err)
	}
	for w := range writers {
		storetest.Register(t, s, w)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	before, calls, lines = recorded(t, role, path, options...)
	s = storetest.Open(t, path, store.Options{Program: "test"})
	if final, err = logOf(t.Context(), s); err != nil {
		t.Fatal(err)
	}
	return before, calls, lines, final
}

// logOf gives the hashes of all that a register holds.
func logOf(ctx context.Context, s *store.Store) (hashes []event.Hash, err error) {
	list, err := s.Since(ctx, 0, 1<<20)
	for _, r := range list {
		hashes = append(hashes, r.Hash)
	}
	return hashes, err
}

// holds opens what a power cut has left and holds it against what was told until
// then and what was in the register in the end. At most doubtful events at its end
// may be others than those: they are of an act whose outcome was not known and which
// was asked again.
func holds(ctx context.Context, path string, said []string, final []event.Hash, doubtful int) (err error) {
	s, err := store.Open(ctx, path, store.Options{Program: "test"})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	hashes, err := logOf(ctx, s)
	if err != nil {
		return err
	}
	same := 0
	for same < min(len(hashes), len(final)) && hashes[same] == final[same] {
		same++
	}
	if len(hashes)-same > doubtful {
		return fmt.Errorf("the register holds %d events; those from %d on are not what was recorded", len(hashes), same+1)
	}
	for _, line := range said {
		var key, hash string
		var at int
		if _, err := fmt.Sscan(line, &key, &at, &hash); err != nil {
			return fmt.Errorf("told %q: %w", line, err)
		}
		if at > len(hashes) || hashes[at-1].String() != hash {
			return fmt.Errorf("%q was acknowledged and is lost: the register holds %d events", line, len(hashes))
		}
	}
	if n := len(said); n > 0 && !strings.Contains(said[n-1], "bulk ") {
		key, want, _ := strings.Cut(said[n-1], " ")
		answer, err := s.Do(ctx, store.Act{Station: "child", Way: "hand", Key: key}, func(context.Context, *store.Tx) ([]byte, error) {
			return nil, errors.New("its key is not known")
		})
		if err != nil || string(answer) != want {
			return fmt.Errorf("%q was acknowledged; asked again: %q, %w", said[n-1], answer, err)
		}
	}
	return sound(ctx, s)
}

// sound is nil where the register is whole, its present is what its log gives, and
// it goes on.
func sound(ctx context.Context, s *store.Store) error {
	report, err := s.Verify(ctx, nil)
	if err != nil || !report.Whole() {
		return fmt.Errorf("not whole: %v, %w", report.Breaks, err)
	}
	var before, after bytes.Buffer
	if err := errors.Join(s.Dump(ctx, &before), s.Rebuild(ctx), s.Dump(ctx, &after)); err != nil {
		return err
	}
	if !bytes.Equal(before.Bytes(), after.Bytes()) {
		return errors.New("a rebuild gives another present")
	}
	return enter(ctx, s, 900)
}

// Whenever the power goes, the register opens, is whole, and holds every act that
// was acknowledged until then and nothing that never was: whatever part of what
// was written since the last sync has reached the disk, torn at any sector, in any
// order.
func TestPowerCut(t *testing.T) {
	r := random(t)
	d, calls, lines, final := stream(t, 2**rounds)
	pages := count(calls, d.checkpointed)
	if pages < 20 {
		t.Fatalf("only %d pages were written into the file itself: no checkpoint is cut", pages)
	}
	cuts, err := campaign(t, r, d, calls, lines, times(), func(path string, said []string) error { return holds(t.Context(), path, said, final, 0) })
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d events, %d syncs, %d pages written into the file, %d cuts", len(final), count(calls, d.syncs), pages, cuts)
}

// The control: on a disk that says that it has synced and has not, an acknowledged
// act is lost, and the campaign finds that.
func TestPowerCutControl(t *testing.T) {
	r := random(t)
	d, calls, lines, final := stream(t, 10)
	d.deaf = true
	_, err := campaign(t, r, d, calls, lines, 1, func(path string, said []string) error { return holds(t.Context(), path, said, final, 0) })
	if err == nil {
		t.Fatal("nothing was lost on a disk that syncs nothing")
	}
	t.Log(err)
}

// The same where syncs fail now and then, and take what they should have made
// lasting with them.
func TestPowerCutAfterErrors(t *testing.T) {
	r := random(t)
	d, calls, lines, final := stream(t, 2**rounds, "-e", fmt.Sprintf("inject=fsync,fdatasync:error=EIO:when=%d+%d", 8+r.IntN(4), 3+r.IntN(4)))
	failed := count(calls, func(c *call) bool { return d.syncs(c) && c.result < 0 })
	if failed < 2 {
		t.Fatalf("%d syncs failed", failed)
	}
	cuts, err := campaign(t, r, d, calls, lines, times(), func(path string, said []string) error { return holds(t.Context(), path, said, final, perBulk) })
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d events, %d syncs failed, %d cuts", len(final), failed, cuts)
}

// While a register is being founded there is none, or a whole one; once it is
// founded it stays, and where there is none one can be founded.
func TestPowerCutInit(t *testing.T) {
	r := random(t)
	path := filepath.Join(t.TempDir(), "register.sqlite")
	d, calls, lines := recorded(t, "found", path)
	var there, none int
	cuts, err := campaign(t, r, d, calls, lines, times(), func(path string, said []string) error {
		s, err := store.Open(t.Context(), path, store.Options{Program: "test"})
		if errors.Is(err, store.ErrNotInitialised) && len(said) == 0 {
			if _, err := os.Stat(path); !errors.Is(err, fs.ErrNotExist) {
				return fmt.Errorf("half a register: %w", err)
			}
			none++
			s, _, err = store.Init(t.Context(), path, storetest.Founding(), store.Options{Program: "test"})
		} else if err == nil {
			there++
		}
		if err != nil {
			return err
		}
		return errors.Join(sound(t.Context(), s), s.Close())
	})
	if err != nil {
		t.Fatal(err)
	}
	if there == 0 || none == 0 {
		t.Errorf("%d whole, %d not there", there, none)
	}
	t.Logf("%d cuts: %d times no register, %d times a whole one", cuts, none, there)
}

// A register of an older layout that is being brought to this one opens after any
// cut, with the same present.
func TestPowerCutMigration(t *testing.T) {
	r := random(t)
	for _, fixture := range fixtures(t) {
		file, err := os.ReadFile(filepath.Join(fixture, "register.sqlite"))
		if err != nil {
			t.Fatal(err)
		}
		want, err := os.ReadFile(filepath.Join(fixture, "dump.txt"))
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(t.TempDir(), "register.sqlite")
		if err := os.WriteFile(path, file, 0o600); err != nil {
			t.Fatal(err)
		}
		d, calls, lines := recorded(t, "open", path)
		cuts, err := campaign(t, r, d, calls, lines, times(), func(path string, _ []string) error {
			s, err := store.Open(t.Context(), path, store.Options{Program: "test"})
			if err != nil {
				return err
			}
			var dump bytes.Buffer
			if err := s.Dump(t.Context(), &dump); err != nil || !bytes.Equal(dump.Bytes(), want) {
				return fmt.Errorf("another present: %w", err)
			}
			return errors.Join(sound(t.Context(), s), s.Close())
		})
		if err != nil {
			t.Fatalf("%s: %v", fixture, err)
		}
		t.Logf("%s: %d cuts", fixture, cuts)
	}
}
