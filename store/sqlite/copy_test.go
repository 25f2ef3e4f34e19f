package sqlite

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"sync"
	"testing"
)

// draft makes an empty file to copy into.
func draft(t *testing.T) string {
	t.Helper()
	f, err := os.CreateTemp(t.TempDir(), "draft")
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	return f.Name()
}

// A copy is one state of the file, however much is written meanwhile: rows are
// added two at a time, and never is one of a pair copied without the other.
func TestCopyIsOneState(t *testing.T) {
	db := open(t, create(t, schemaOf(step1)), schemaOf(step1))
	big := string(bytes.Repeat([]byte("x"), 3000)) // so that a copy takes many steps
	pair := func(n int) error {
		return db.Tx(t.Context(), func(tx *sql.Tx) error {
			for i := range 2 {
				if _, err := tx.ExecContext(t.Context(), "INSERT INTO peg (n, word) VALUES (?, ?)", 2*n+i, big); err != nil {
					return err
				}
			}
			return nil
		})
	}
	for n := range 1000 {
		if err := pair(n); err != nil {
			t.Fatal(err)
		}
	}
	ending, end := context.WithCancel(t.Context())
	var wg sync.WaitGroup
	wg.Go(func() {
		for n := 1000; ending.Err() == nil; n++ {
			if err := pair(n); err != nil {
				t.Error(err)
				return
			}
		}
	})
	last, steps := 0, 0
	for range 5 {
		path := draft(t)
		if err := db.CopyTo(t.Context(), path, func(done, total int64) {
			if steps++; done > total || total < 1000 {
				t.Errorf("%d pages of %d", done, total)
			}
		}); err != nil {
			t.Fatal(err)
		}
		if beside, err := filepath.Glob(path + "*"); err != nil || len(beside) != 1 {
			t.Errorf("beside the copy: %v, %v", beside, err)
		}
		copied, err := OpenCopy(t.Context(), path, schemaOf(step1))
		if err != nil {
			t.Fatal(err)
		}
		var count, most int
		if err := copied.Read.QueryRowContext(t.Context(), "SELECT count(*), max(n) FROM peg").Scan(&count, &most); err != nil {
			t.Fatal(err)
		}
		if count%2 != 0 || most != count-1 || count < last {
			t.Errorf("%d rows, the last %d, after a copy of %d", count, most, last)
		}
		last = count
		if _, err := copied.Write.ExecContext(t.Context(), "DELETE FROM peg"); !errors.Is(Explain(err), ErrReadOnly) {
			t.Errorf("a copy is written: %v", err)
		}
		if err := copied.Close(); err != nil {
			t.Fatal(err)
		}
		if beside, err := filepath.Glob(path + "*"); err != nil || len(beside) != 1 {
			t.Errorf("beside the copy that was read: %v, %v", beside, err)
		}
	}
	end()
	wg.Wait()
	if last <= 2000 {
		t.Errorf("only %d rows: nothing was written meanwhile", last)
	}
	if steps <= 5 {
		t.Errorf("%d steps for 5 copies: they were made in one", steps)
	}
}

// A copy that is given up fails, and holds nobody up.
func TestCopyEnds(t *testing.T) {
	db := open(t, create(t, schemaOf(step1)), schemaOf(step1))
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := db.CopyTo(ctx, draft(t), nil); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
	if err := insert(t.Context(), db, 1); err != nil {
		t.Error(err)
	}
	if err := db.CopyTo(t.Context(), filepath.Join(t.TempDir(), "nowhere", "copy"), nil); err == nil {
		t.Error("copied into a directory that is not there")
	}
}

// What is no copy is not opened as one, and not touched.
func TestOpenCopyRefuses(t *testing.T) {
	path := create(t, schemaOf(step1))
	db := open(t, path, schemaOf(step1))
	if err := insert(t.Context(), db, 1); err != nil {
		t.Fatal(err)
	}
	other := schemaOf(step1)
	other.AppID++
	whole := draft(t)
	if err := db.CopyTo(t.Context(), whole, nil); err != nil {
		t.Fatal(err)
	}
	text := draft(t)
	if err := os.WriteFile(text, []byte("no register"), 0o600); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		path   string
		schema Schema
		err    error
	}{
		"the file in use": {path, schemaOf(step1), ErrInUse},
		"nothing":         {path + "-none", schemaOf(step1), ErrMissing},
		"a directory":     {t.TempDir(), schemaOf(step1), ErrNotOurs},
		"an empty file":   {draft(t), schemaOf(step1), ErrNotOurs},
		"a text":          {text, schemaOf(step1), ErrNotOurs},
		"another mark":    {whole, other, ErrNotOurs},
	} {
		copied, err := OpenCopy(t.Context(), c.path, c.schema)
		if !errors.Is(err, c.err) || copied != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A draft gets its name once; Replace takes the place of what has it.
func TestPlace(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	to := filepath.Join(dir, "copy")
	if err := Place(write("a", "first"), to); err != nil {
		t.Fatal(err)
	}
	if err := Place(write("b", "second"), to); !errors.Is(err, ErrExists) {
		t.Errorf("placed over another: %v", err)
	}
	if text, err := os.ReadFile(to); err != nil || string(text) != "first" {
		t.Errorf("%q, %v", text, err)
	}
	if err := Replace(write("c", "third"), to); err != nil {
		t.Fatal(err)
	}
	if text, err := os.ReadFile(to); err != nil || string(text) != "third" {
		t.Errorf("%q, %v", text, err)
	}
	for _, name := range []string{"a", "c"} {
		if _, err := os.Lstat(filepath.Join(dir, name)); !errors.Is(err, os.ErrNotExist) {
			t.Errorf("the draft %s is still there: %v", name, err)
		}
	}
	if err := Place(filepath.Join(dir, "none"), filepath.Join(dir, "x")); err == nil {
		t.Error("placed nothing")
	}
}
