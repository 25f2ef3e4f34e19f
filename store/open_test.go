package store_test

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"syscall"
	"testing"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/required"
	"cribgate/store"
	"cribgate/store/storetest"
)

func TestInit(t *testing.T) {
	s, keeper, path := storetest.New(t, store.Options{Program: "test"})
	story, err := s.Since(t.Context(), 0, 10)
	if err != nil || len(story) != 3 {
		t.Fatalf("%d events, %v", len(story), err)
	}
	for i, want := range []event.Kind{event.KindFounded, event.KindKeyMade, event.KindPersonAdded} {
		if story[i].Envelope.Kind != want || story[i].Envelope.At != int64(i+1) {
			t.Errorf("position %d: %s, want %s", i+1, story[i].Envelope.Kind, want)
		}
	}
	crib, err := s.Crib(t.Context())
	if f := storetest.Founding(); err != nil || crib.Founded.Name != f.Name || crib.Founded.Zone != f.Zone || !reflect.DeepEqual(crib.Founded.Policy, f.Policy) || crib.Key() != f.Key {
		t.Errorf("%+v, %v", crib, err)
	}
	if p, err := s.Person(t.Context(), keeper); err != nil || !p.May(event.Keeper, quantity.Date{}) {
		t.Errorf("%+v, %v", p, err)
	}
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := store.Init(t.Context(), path, storetest.Founding(), store.Options{}); !errors.Is(err, store.ErrExists) || !strings.Contains(err.Error(), path) {
		t.Errorf("over a register: %v", err)
	}
	if after, err := os.ReadFile(path); err != nil || !bytes.Equal(before, after) {
		t.Errorf("the register was changed, %v", err)
	}
}

func TestInitRefuses(t *testing.T) {
	for name, change := range map[string]func(*store.Founding){
		"no name":      func(f *store.Founding) { f.Name = "" },
		"no keeper":    func(f *store.Founding) { f.Keeper = "" },
		"no rules":     func(f *store.Founding) { f.Rules = 0 },
		"no zone":      func(f *store.Founding) { f.Zone = "" },
		"Local":        func(f *store.Founding) { f.Zone = "Local" },
		"unknown zone": func(f *store.Founding) { f.Zone = "Nowhere/Here" },
		"13 months":    func(f *store.Founding) { f.Policy.MaxMonths = 13 },
		"no station":   func(f *store.Founding) { f.Station = "" },
	} {
		dir := t.TempDir()
		f := storetest.Founding()
		change(&f)
		if _, _, err := store.Init(t.Context(), filepath.Join(dir, "register.sqlite"), f, store.Options{}); err == nil {
			t.Errorf("%s: founded", name)
		}
		if left, err := os.ReadDir(dir); err != nil || len(left) != 0 {
			t.Errorf("%s: left %v, %v", name, left, err)
		}
	}
}

func TestOpenRefuses(t *testing.T) {
	written := func(t *testing.T) string { path, _ := written(t); return path }
	file := func(t *testing.T, content []byte) string {
		path := filepath.Join(t.TempDir(), "register.sqlite")
		if err := os.WriteFile(path, content, 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	cases := []struct {
		name string
		path func(t *testing.T) string
		want error
	}{
		{"nothing there", func(t *testing.T) string { return filepath.Join(t.TempDir(), "register.sqlite") }, store.ErrNotInitialised},
		{"a directory", func(t *testing.T) string { return t.TempDir() }, store.ErrNotOurs},
		{"an empty file", func(t *testing.T) string { return file(t, nil) }, store.ErrNotOurs},
		{"a picture", func(t *testing.T) string { return file(t, bytes.Repeat([]byte("\x89PNG\r\n\x1a\n"), 500)) }, store.ErrNotOurs},
		{"another program's database", func(t *testing.T) string {
			path := filepath.Join(t.TempDir(), "register.sqlite")
			tamperOnce(t, path, statements("CREATE TABLE log (pos)"))
			return path
		}, store.ErrNotOurs},
		{"a newer schema", func(t *testing.T) string {
			path := written(t)
			tamperOnce(t, path, statements("PRAGMA user_version = 999"))
			return path
		}, store.ErrNewerSchema},
		{"another layout of the same number", func(t *testing.T) string {
			path := written(t)
			tamperOnce(t, path, statements("UPDATE schema_step SET sha256 = zeroblob(32) WHERE version = 1"))
			return path
		}, store.ErrNotOurs},
		{"cut in half", func(t *testing.T) string {
			path := written(t)
			info, err := os.Stat(path)
			if err != nil {
				t.Fatal(err)
			}
			if err := os.Truncate(path, info.Size()/2); err != nil {
				t.Fatal(err)
			}
			return path
		}, store.ErrDamaged},
		{"zeros in the middle", func(t *testing.T) string {
			path := written(t)
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			clear(text[4096 : len(text)-4096])
			return file(t, text)
		}, store.ErrDamaged},
		{"an empty log", func(t *testing.T) string {
			path := written(t)
			tamper(t, path, statements("PRAGMA foreign_keys = OFF", "DELETE FROM body", "DELETE FROM log"))
			return path
		}, store.ErrDamaged},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			path := c.path(t)
			before, _ := os.ReadFile(path)
			s, err := store.Open(t.Context(), path, store.Options{})
			if err == nil {
				s.Close()
			}
			if !errors.Is(err, c.want) || !strings.Contains(err.Error(), path) {
				t.Errorf("got %v, want %v", err, c.want)
			}
			if after, _ := os.ReadFile(path); c.want != store.ErrDamaged && !bytes.Equal(before, after) {
				t.Error("the file was changed")
			}
		})
	}
}

func TestOpenReadOnly(t *testing.T) {
	path, _ := written(t)
	dir := filepath.Dir(path)
	modes := func(file, directory os.FileMode) {
		if err := errors.Join(os.Chmod(path, file), os.Chmod(dir, directory)); err != nil {
			t.Fatal(err)
		}
	}
	if os.Geteuid() == 0 { // may write everything
		for d := dir; len(d) > len(os.TempDir()); d = filepath.Dir(d) {
			if err := os.Chmod(d, 0o755); err != nil {
				t.Fatal(err)
			}
		}
		const nobody = 65534
		if err := errors.Join(os.Chown(path, nobody, nobody), os.Chown(dir, nobody, nobody), syscall.Setresuid(-1, nobody, 0)); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() {
			if err := syscall.Setresuid(-1, 0, 0); err != nil {
				t.Fatal(err)
			}
		})
	}
	modes(0o444, 0o755)
	if _, err := store.Open(t.Context(), path, store.Options{}); !errors.Is(err, store.ErrReadOnly) {
		t.Errorf("a file that cannot be written: %v", err)
	}
	modes(0o600, 0o555)
	if _, err := store.Open(t.Context(), path, store.Options{}); !errors.Is(err, store.ErrReadOnly) {
		t.Errorf("a directory that cannot be written: %v", err)
	}
	if _, _, err := store.Init(t.Context(), filepath.Join(dir, "new.sqlite"), storetest.Founding(), store.Options{}); !errors.Is(err, store.ErrReadOnly) {
		t.Errorf("founding in it: %v", err)
	}
	modes(0o600, 0o755)
}

// A full disk: the act is refused whole, with its own sentence, and goes through
// once there is room.
func TestDiskFull(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "small")
	if err := os.Mkdir(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=1536k"); err != nil {
		required.Lacks(t, "no small disk can be mounted: %v", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(dir, 0); err != nil {
			t.Error(err)
		}
	})
	s, _, err := store.Init(t.Context(), filepath.Join(dir, "register.sqlite"), storetest.Founding(), store.Options{Program: "test"})
	if err != nil {
		t.Fatal(err)
	}
	storetest.Check(t, s)
	n := 0
	for err == nil && n < 10_000 {
		n++
		err = enter(t.Context(), s, n)
	}
	if !errors.Is(err, store.ErrDiskFull) {
		t.Fatalf("got %v, want %v", err, store.ErrDiskFull)
	}
	if at := head(t, s).At; at != int64(3+n-1) {
		t.Errorf("the head is %d after %d acts, want %d", at, n-1, 3+n-1)
	}
	if _, err := s.SlingByIdent(t.Context(), storetest.Sling(n).Ident); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("half of the act was recorded: %v", err)
	}
	if err := s.Bulk(t.Context(), plain, func(ctx context.Context, tx *store.Tx) error {
		for i := range 2000 {
			d := storetest.Sling(20_000 + i)
			if _, err := tx.Append(ctx, event.Sling(event.SlingOf(storetest.Key, d.Ident)), nil, event.Registered{Details: d}); err != nil {
				return err
			}
		}
		return nil
	}); !errors.Is(err, store.ErrDiskFull) {
		t.Errorf("a bulk: %v", err)
	}
	if err := syscall.Mount("tmpfs", dir, "tmpfs", syscall.MS_REMOUNT, "size=32m"); err != nil {
		t.Fatal(err)
	}
	if err := enter(t.Context(), s, n); err != nil {
		t.Errorf("with room again: %v", err)
	}
}

// A register that another program keeps locked says so, and nothing is recorded; what
// was recorded under the key before is not denied.
func TestLocked(t *testing.T) {
	s, _, path := storetest.New(t, store.Options{Program: "test"})
	if err := enter(t.Context(), s, 1); err != nil {
		t.Fatal(err)
	}
	other, err := sql.Open("sqlite3", path+"?_txlock=immediate")
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	tx, err := other.BeginTx(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	before := head(t, s)
	if err := enter(t.Context(), s, 1); !errors.Is(err, store.ErrLocked) || errors.Is(err, store.ErrNotRecorded) { // after waiting five seconds
		t.Errorf("got %v, want %v: it was recorded under that key before", err, store.ErrLocked)
	}
	if _, err := s.Crib(t.Context()); err != nil || head(t, s) != before {
		t.Errorf("reading beside a writer: %v", err)
	}
	if err := tx.Rollback(); err != nil {
		t.Fatal(err)
	}
	if err := enter(t.Context(), s, 1); err != nil {
		t.Errorf("afterwards: %v", err)
	}
}

func TestPaths(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "register.sqlite")
	odd := filepath.Join(dir, "copy")
	if err := os.WriteFile(odd, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	for path, want := range map[string]string{dir: file, file: file, odd: odd, filepath.Join(dir, "new"): filepath.Join(dir, "new", "register.sqlite")} {
		register, desk, keys := store.Paths(path)
		in := filepath.Dir(want)
		if register != want || desk != filepath.Join(in, "desk.sqlite") || keys != filepath.Join(in, "keys") {
			t.Errorf("%s: %s, %s, %s", path, register, desk, keys)
		}
	}
}
