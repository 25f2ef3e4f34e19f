package desk

import (
	"errors"
	"os"
	"path/filepath"
	"testing"
)

func TestInitAndOpen(t *testing.T) {
	ctx := t.Context()
	dir := filepath.Join(t.TempDir(), "a?b#c%20 d")
	if err := os.Mkdir(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "desk.sqlite")
	if _, err := Open(ctx, path, Options{}); !errors.Is(err, ErrMissing) {
		t.Errorf("missing file: %v", err)
	}
	if _, err := os.Stat(path); err == nil {
		t.Error("Open made a file")
	}
	if err := Init(ctx, path); err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	if info.Mode().Perm() != 0o600 {
		t.Errorf("file mode %v", info.Mode())
	}
	if err := Init(ctx, path); !errors.Is(err, ErrExists) {
		t.Errorf("second Init: %v", err)
	}
	d, err := Open(ctx, path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	pin := setOneTime(t, d, "p1")
	if err := d.Close(); err != nil {
		t.Fatal(err)
	}
	d, err = Open(ctx, path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	if err := d.Verify(ctx, "p1", pin); err != nil {
		t.Errorf("PIN after reopening: %v", err)
	}
}

func TestInitLeavesNothingBehind(t *testing.T) {
	path := filepath.Join(t.TempDir(), "no", "such", "folder", "desk.sqlite")
	if err := Init(t.Context(), path); err == nil {
		t.Error("Init in a missing folder succeeded")
	}
}

func TestOpenRefusesOthers(t *testing.T) {
	for _, c := range []struct {
		name string
		make func(t *testing.T, path string)
		want error
	}{
		{"newer", func(t *testing.T, path string) {
			if err := Init(t.Context(), path); err != nil {
				t.Fatal(err)
			}
			alter(t, path, "INSERT INTO schema_step (version, sha256, at) VALUES (2, x'00', 'later'); PRAGMA user_version = 2")
		}, ErrNewer},
		{"other program's", func(t *testing.T, path string) {
			if err := Init(t.Context(), path); err != nil {
				t.Fatal(err)
			}
			alter(t, path, "PRAGMA application_id = 7")
		}, ErrNotOurs},
		{"empty", func(t *testing.T, path string) { write(t, path, "") }, ErrNotOurs},
		{"text", func(t *testing.T, path string) { write(t, path, "this is not a database at all, only text") }, ErrNotOurs},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "desk.sqlite")
			c.make(t, path)
			if d, err := Open(t.Context(), path, Options{}); !errors.Is(err, c.want) {
				t.Errorf("Open = %v, want %v", err, c.want)
				if err == nil {
					d.Close()
				}
			}
		})
	}
}

func alter(t *testing.T, path, stmt string) {
	t.Helper()
	d, err := Open(t.Context(), path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	if _, err := d.db.Write.Exec(stmt); err != nil {
		t.Fatal(err)
	}
}

func write(t *testing.T, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}
