package store_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"cribgate/store"
)

// erasedName is whom the child erases.
const erasedName = "Zebulon Ward"

// eraseAndTell takes a name out of the register and says so when it is done.
func eraseAndTell(ctx context.Context, s *store.Store) error {
	_, err := s.Do(ctx, store.Act{Station: "child", Way: "hand", Key: "erase"}, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		p, err := tx.PersonByName(ctx, erasedName)
		if err != nil {
			return nil, err
		}
		_, err = tx.ErasePerson(ctx, p.ID, "asked for")
		return nil, err
	})
	if err == nil {
		fmt.Println("erased")
	}
	return err
}

// While a name is being taken out of a register, it is there whole or gone; once it
// is said to be gone it is gone, and it is in no file when the register was opened
// again.
func TestPowerCutErasure(t *testing.T) {
	r := random(t)
	k := newKnown(t)
	dir := filepath.Join(t.TempDir(), "crib")
	if err := os.CopyFS(dir, os.DirFS(k.dir)); err != nil {
		t.Fatal(err)
	}
	d, calls, lines := recorded(t, "erase", filepath.Join(dir, "register.sqlite"))
	var there, gone int
	cuts, err := campaign(t, r, d, calls, lines, times(), func(path string, said []string) (err error) {
		s, err := store.Open(t.Context(), path, store.Options{Program: "test"})
		if err != nil {
			return err
		}
		_, err = s.PersonByName(t.Context(), erasedName)
		erased := errors.Is(err, store.ErrNotFound)
		if err != nil && !erased {
			return err
		}
		if err := errors.Join(sound(t.Context(), s), s.Close()); err != nil {
			return err
		}
		if !erased {
			there++
			if len(said) > 0 {
				return errors.New("the name was said to be gone and is there")
			}
			return nil
		}
		gone++
		if files := found(t, filepath.Dir(path), erasedName); len(files) > 0 {
			return fmt.Errorf("the name is gone from the register, and still in %v", files)
		}
		if _, err := os.Stat(filepath.Join(filepath.Dir(path), "erasures")); err != nil {
			return fmt.Errorf("the name is gone from the register, and older copies are not told: %w", err)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if there == 0 || gone == 0 {
		t.Errorf("%d times there, %d times gone", there, gone)
	}
	t.Logf("%d cuts: %d times the name was there, %d times gone", cuts, there, gone)
}
