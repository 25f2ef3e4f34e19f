package store_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/store"
	"cribgate/store/storetest"
)

// Two programs that write to one register at the same time, each with a write-ahead
// log that the other puts into the file: whenever the power goes, what either was
// told is there.
func TestPowerCutTwoPrograms(t *testing.T) {
	r := random(t)
	d, calls, lines, final := streamOf(t, fmt.Sprintf("both %d", 2**rounds))
	var of [2]int
	cuts, err := campaign(t, r, d, calls, lines, times(), func(path string, said []string) error {
		of = [2]int{}
		for _, line := range said {
			if strings.HasPrefix(line, other) {
				of[1]++
			} else {
				of[0]++
			}
		}
		return holds(t.Context(), path, said, final, 0)
	})
	if err != nil {
		t.Fatal(err)
	}
	var turns []bool // of who was told something
	for _, c := range calls {
		if c.args[0] != stdout {
			continue
		}
		if now := strings.HasPrefix(c.args[1], other); len(turns) == 0 || turns[len(turns)-1] != now {
			turns = append(turns, now)
		}
	}
	if least := 2 * *rounds * writers; of[0] < least || of[1] < least || len(turns) < 3 {
		t.Errorf("told %d and %d times, in %d turns: they did not write beside each other", of[0], of[1], len(turns))
	}
	t.Logf("%d events, told %d and %d times in %d turns, %d cuts", len(final), of[0], of[1], len(turns), cuts)
}

// copyAndTell makes copies beside the register, each with what was recorded since,
// and tells of each its name and position.
func copyAndTell(ctx context.Context, s *store.Store, path string) error {
	for n := range 3 {
		if err := enter(ctx, s, 100+n); err != nil {
			return err
		}
		c, err := s.Copy(ctx, filepath.Dir(path), store.Copying{})
		if err != nil {
			return err
		}
		fmt.Println(filepath.Base(c.Path), c.At)
	}
	return nil
}

// While copies are made, whatever has the name of a copy is whole and can be brought
// back, a copy that was told of is there, and the register is none the worse.
func TestPowerCutCopy(t *testing.T) {
	r := random(t)
	path := filepath.Join(t.TempDir(), "register.sqlite")
	s, _, err := store.Init(t.Context(), path, storetest.Founding(), store.Options{Program: "test"})
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	d, calls, lines := recorded(t, "copy", path)
	var without, with int
	cuts, err := campaign(t, r, d, calls, lines, times(), func(path string, said []string) error {
		list, err := store.Copies(filepath.Dir(path), "")
		if err != nil {
			return err
		}
		for _, line := range said {
			name, _, _ := strings.Cut(line, " ")
			if !slices.ContainsFunc(list, func(c store.CopyFile) bool { return filepath.Base(c.Path) == name }) {
				return fmt.Errorf("%s was made, and is not there", name)
			}
		}
		if len(list) == 0 {
			without++
		}
		for i, c := range list {
			with++
			back := filepath.Join(filepath.Dir(path), fmt.Sprint("back", i), "register.sqlite")
			got, err := store.Restore(t.Context(), c.Path, back, "the power went", store.Options{Program: "test"}, nil)
			if err != nil || got.From.At != c.At {
				return fmt.Errorf("%s, up to %d: %w", c.Path, got.From.At, err)
			}
		}
		s, err := store.Open(t.Context(), path, store.Options{Program: "test"})
		if err != nil {
			return err
		}
		return errors.Join(sound(t.Context(), s), s.Close())
	})
	if err != nil {
		t.Fatal(err)
	}
	if without == 0 || with == 0 {
		t.Errorf("%d times no copy, %d copies", without, with)
	}
	t.Logf("%d cuts: %d times no copy, %d copies brought back", cuts, without, with)
}

// copyBeside is the copy that a register is brought back from.
func copyBeside(path string) string { return filepath.Dir(path) + "-copy.sqlite" }

// restoreAndTell brings a register back and says so.
func restoreAndTell(ctx context.Context, path string) error {
	r, err := store.Restore(ctx, copyBeside(path), path, "the disk failed", store.Options{Program: "child"}, nil)
	if err != nil {
		return err
	}
	fmt.Println("restored", r.Head.At, r.Head.Hash)
	return nil
}

// While a register is brought back there is none, or a whole one in its new log;
// where there is none it can be brought back, and one that was told of stays.
func TestPowerCutRestore(t *testing.T) {
	r := random(t)
	from, _, _ := storetest.New(t, store.Options{Program: "test"})
	for n := range 3 {
		storetest.Register(t, from, n)
	}
	c, err := from.Copy(t.Context(), t.TempDir(), store.Copying{})
	if err != nil {
		t.Fatal(err)
	}
	before, err := logOf(t.Context(), from)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "crib", "register.sqlite")
	if err := errors.Join(os.Mkdir(filepath.Dir(path), 0o700), os.Rename(c.Path, copyBeside(path))); err != nil {
		t.Fatal(err)
	}
	d, calls, lines := recorded(t, "restore", path)
	var none, there int
	cuts, err := campaign(t, r, d, calls, lines, 4*times(), func(cut string, said []string) error {
		s, err := store.Open(t.Context(), cut, store.Options{Program: "test"})
		switch {
		case err == nil:
			there++
		case errors.Is(err, store.ErrNotInitialised) && len(said) == 0:
			none++
			if _, err := store.Restore(t.Context(), copyBeside(path), cut, "again", store.Options{Program: "test"}, nil); err != nil {
				return err
			}
			s, err = store.Open(t.Context(), cut, store.Options{Program: "test"})
		}
		if err != nil {
			return err
		}
		return errors.Join(broughtBack(t.Context(), s, before, said), s.Close())
	})
	if err != nil {
		t.Fatal(err)
	}
	if none == 0 || there == 0 {
		t.Errorf("%d times no register, %d times one", none, there)
	}
	t.Logf("%d cuts: %d times no register, %d times a whole one", cuts, none, there)
}

// broughtBack is nil where a register holds what it held before and goes on in
// another log, with the head that was told of, if one was.
func broughtBack(ctx context.Context, s *store.Store, before []event.Hash, said []string) error {
	list, err := s.Since(ctx, 0, store.MaxPage)
	if err != nil {
		return err
	}
	if len(list) != len(before)+1 || list[len(before)].Envelope.Kind != event.KindRestored || list[len(before)].Envelope.Log == list[0].Envelope.Log {
		return fmt.Errorf("%d events before, %d now", len(before), len(list))
	}
	for i, hash := range before {
		if list[i].Hash != hash {
			return fmt.Errorf("position %d is another event", i+1)
		}
	}
	if end := list[len(before)]; len(said) > 0 && said[0] != fmt.Sprint("restored ", end.Envelope.At, " ", end.Hash) {
		return fmt.Errorf("told %q, the register ends with %d %s", said[0], end.Envelope.At, end.Hash)
	}
	return sound(ctx, s)
}
