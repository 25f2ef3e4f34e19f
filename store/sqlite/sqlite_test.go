package sqlite

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"syscall"
	"testing"
	"testing/fstest"
)

// Small invented layouts: v1 and v1 with a step more.
const (
	step1 = "-- +goose Up\nCREATE TABLE peg (n INTEGER PRIMARY KEY, word TEXT NOT NULL) STRICT;\n"
	step2 = "-- +goose Up\nALTER TABLE peg ADD COLUMN colour TEXT NOT NULL DEFAULT '';\nUPDATE peg SET n = n + 100;\n"
)

const testID = 0x74657374

func schemaOf(steps ...string) Schema {
	files := fstest.MapFS{}
	for i, text := range steps {
		files[fmt.Sprintf("%04d_step.sql", i+1)] = &fstest.MapFile{Data: []byte(text)}
	}
	return Schema{AppID: testID, Migrations: files}
}

func create(t *testing.T, schema Schema) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "peg.sqlite")
	if err := Create(t.Context(), path, schema, nil); err != nil {
		t.Fatal(err)
	}
	return path
}

func open(t *testing.T, path string, schema Schema) *DB {
	t.Helper()
	db, err := Open(t.Context(), path, schema, nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := db.Close(); err != nil {
			t.Error(err)
		}
	})
	return db
}

func insert(ctx context.Context, db *DB, n int) error {
	return db.Tx(ctx, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, "INSERT INTO peg (n, word) VALUES (?, 'x')", n)
		return err
	})
}

func TestSettings(t *testing.T) {
	db := open(t, create(t, schemaOf(step1)), schemaOf(step1))
	want := []struct{ pragma, write, read string }{
		{"journal_mode", "wal", "wal"},
		{"synchronous", "2", "2"}, // FULL
		{"foreign_keys", "1", "1"},
		{"busy_timeout", "5000", "5000"},
		{"wal_autocheckpoint", "0", "0"},
		{"query_only", "0", "1"},
	}
	// Three connections at once: the writer and two readers.
	conns := map[string]*sql.Conn{}
	for name, pool := range map[string]*sql.DB{"write": db.Write, "read 1": db.Read, "read 2": db.Read} {
		c, err := pool.Conn(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
		conns[name] = c
	}
	for name, c := range conns {
		for _, w := range want {
			expected := w.read
			if name == "write" {
				expected = w.write
			}
			var got string
			if err := c.QueryRowContext(t.Context(), "PRAGMA "+w.pragma).Scan(&got); err != nil {
				t.Fatal(err)
			}
			if got != expected {
				t.Errorf("%s: %s is %s, want %s", name, w.pragma, got, expected)
			}
		}
	}
	if n := db.Write.Stats().MaxOpenConnections; n != 1 {
		t.Errorf("the writer's pool has %d connections", n)
	}
	if _, err := conns["read 1"].ExecContext(t.Context(), "INSERT INTO peg VALUES (1, 'x')"); !errors.Is(Explain(err), ErrReadOnly) {
		t.Errorf("a reader wrote: %v", err)
	}
}

// A write transaction takes its lock when it begins, not at its first write.
func TestImmediate(t *testing.T) {
	path := create(t, schemaOf(step1))
	a, b := open(t, path, schemaOf(step1)), open(t, path, schemaOf(step1))
	if _, err := b.Write.ExecContext(t.Context(), "PRAGMA busy_timeout = 0"); err != nil {
		t.Fatal(err)
	}
	err := a.Tx(t.Context(), func(*sql.Tx) error {
		return b.Tx(t.Context(), func(*sql.Tx) error { return errors.New("began beside another") })
	})
	if !errors.Is(err, ErrLocked) {
		t.Errorf("got %v, want %v", err, ErrLocked)
	}
}

func TestCreate(t *testing.T) {
	path := create(t, schemaOf(step1))
	left, err := os.ReadDir(filepath.Dir(path))
	if err != nil || len(left) != 1 {
		t.Errorf("Create left %v, %v", left, err)
	}
	if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("mode %v, %v", info.Mode(), err)
	}
	if err := Create(t.Context(), path, schemaOf(step1), nil); !errors.Is(err, ErrExists) {
		t.Errorf("over a file: %v", err)
	}

	broken := filepath.Join(t.TempDir(), "broken.sqlite")
	sentinel := errors.New("no founder")
	if err := Create(t.Context(), broken, schemaOf(step1), func(context.Context, *DB) error { return sentinel }); !errors.Is(err, sentinel) {
		t.Errorf("fill's error: %v", err)
	}
	if left, err := os.ReadDir(filepath.Dir(broken)); err != nil || len(left) != 0 {
		t.Errorf("a failed Create left %v, %v", left, err)
	}
}

func TestOpenRefuses(t *testing.T) {
	foreign := func(t *testing.T, setup string) string {
		path := filepath.Join(t.TempDir(), "other.sqlite")
		db, err := sql.Open("sqlite3", path)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := db.ExecContext(t.Context(), setup); err != nil {
			t.Fatal(err)
		}
		if err := db.Close(); err != nil {
			t.Fatal(err)
		}
		return path
	}
	file := func(t *testing.T, content string) string {
		path := filepath.Join(t.TempDir(), "file")
		if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	cases := []struct {
		name string
		path func(t *testing.T) string
		want error
	}{
		{"nothing there", func(t *testing.T) string { return filepath.Join(t.TempDir(), "none") }, ErrMissing},
		{"no such directory", func(t *testing.T) string { return filepath.Join(t.TempDir(), "no", "ne") }, ErrMissing},
		{"a directory", func(t *testing.T) string { return t.TempDir() }, ErrNotOurs},
		{"an empty file", func(t *testing.T) string { return file(t, "") }, ErrNotOurs},
		{"a text", func(t *testing.T) string { return file(t, string(bytes.Repeat([]byte("not a database\n"), 100))) }, ErrNotOurs},
		{"another program's database", func(t *testing.T) string { return foreign(t, "CREATE TABLE x (y)") }, ErrNotOurs},
		{"a newer schema", func(t *testing.T) string { return create(t, schemaOf(step1, step2)) }, ErrNewer},
		{"edited migrations", func(t *testing.T) string { return create(t, schemaOf(step1+"-- later")) }, ErrEdited},
		{"cut in the middle of the first page", func(t *testing.T) string {
			path := create(t, schemaOf(step1))
			if err := os.Truncate(path, 1500); err != nil {
				t.Fatal(err)
			}
			return path
		}, ErrDamaged},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			path := c.path(t)
			before, _ := os.ReadFile(path)
			db, err := Open(t.Context(), path, schemaOf(step1), nil)
			if err == nil {
				db.Close()
			}
			if !errors.Is(err, c.want) {
				t.Errorf("got %v, want %v", err, c.want)
			}
			if after, _ := os.ReadFile(path); !bytes.Equal(before, after) {
				t.Error("the file was changed")
			}
		})
	}
}

func TestReadOnly(t *testing.T) {
	path := create(t, schemaOf(step1))
	dir := filepath.Dir(path)
	asNobody(t, dir, path)
	for name, modes := range map[string][2]fs.FileMode{"file": {0o444, 0o777}, "directory": {0o666, 0o555}} {
		t.Run(name, func(t *testing.T) {
			chmod(t, path, modes[0])
			chmod(t, dir, modes[1])
			db, err := Open(t.Context(), path, schemaOf(step1), nil)
			if err == nil {
				db.Close()
			}
			if !errors.Is(err, ErrReadOnly) {
				t.Errorf("got %v, want %v", err, ErrReadOnly)
			}
		})
	}
}

// asNobody drops the rights of the superuser, who may write everything, for the
// rest of the test.
func asNobody(t *testing.T, dir, path string) {
	if os.Geteuid() != 0 {
		return
	}
	const nobody = 65534
	for d := dir; len(d) > len(os.TempDir()); d = filepath.Dir(d) {
		chmod(t, d, 0o755)
	}
	for _, p := range []string{dir, path} {
		if err := os.Chown(p, nobody, nobody); err != nil {
			t.Fatal(err)
		}
	}
	if err := syscall.Setresuid(-1, nobody, 0); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := syscall.Setresuid(-1, 0, 0); err != nil {
			t.Fatal(err)
		}
	})
}

func chmod(t *testing.T, path string, mode fs.FileMode) {
	t.Helper()
	if err := os.Chmod(path, mode); err != nil {
		t.Fatal(err)
	}
}

func TestLocked(t *testing.T) {
	path := create(t, schemaOf(step1))
	db := open(t, path, schemaOf(step1))
	if _, err := db.Write.ExecContext(t.Context(), "PRAGMA busy_timeout = 0"); err != nil {
		t.Fatal(err)
	}
	other := open(t, path, schemaOf(step1))
	if err := other.Tx(t.Context(), func(*sql.Tx) error {
		if err := insert(t.Context(), db, 1); !errors.Is(err, ErrLocked) {
			t.Errorf("got %v, want %v", err, ErrLocked)
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
}

func TestFull(t *testing.T) {
	db := open(t, create(t, schemaOf(step1)), schemaOf(step1))
	var pages int
	if err := db.Write.QueryRowContext(t.Context(), "PRAGMA page_count").Scan(&pages); err != nil {
		t.Fatal(err)
	}
	if _, err := db.Write.ExecContext(t.Context(), fmt.Sprintf("PRAGMA max_page_count = %d", pages)); err != nil {
		t.Fatal(err)
	}
	var err error
	n := 0
	for ; err == nil && n < 10_000; n++ {
		err = insert(t.Context(), db, n)
	}
	if !errors.Is(err, ErrDiskFull) {
		t.Fatalf("got %v, want %v", err, ErrDiskFull)
	}
	var rows int
	if err := db.Read.QueryRowContext(t.Context(), "SELECT count(*) FROM peg").Scan(&rows); err != nil || rows != n-1 {
		t.Errorf("%d rows, want %d, %v", rows, n-1, err)
	}
}

func TestTxRollsBack(t *testing.T) {
	db := open(t, create(t, schemaOf(step1)), schemaOf(step1))
	sentinel := errors.New("changed my mind")
	err := db.Tx(t.Context(), func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(t.Context(), "INSERT INTO peg VALUES (1, 'x')"); err != nil {
			return err
		}
		return sentinel
	})
	if !errors.Is(err, sentinel) {
		t.Errorf("got %v", err)
	}
	for range 50 { // the driver may roll back before or after it is asked to commit
		ctx, cancel := context.WithCancel(t.Context())
		err = db.Tx(ctx, func(tx *sql.Tx) error {
			_, err := tx.ExecContext(ctx, "INSERT INTO peg VALUES (2, 'x')")
			cancel()
			return err
		})
		if !errors.Is(err, context.Canceled) || errors.Is(err, ErrUnknownOutcome) {
			t.Errorf("a transaction that ended with its context: %v", err)
		}
	}
	var rows int
	if err := db.Read.QueryRowContext(t.Context(), "SELECT count(*) FROM peg").Scan(&rows); err != nil || rows != 0 {
		t.Errorf("%d rows, %v", rows, err)
	}
	if err := insert(t.Context(), db, 3); err != nil {
		t.Errorf("the next transaction: %v", err)
	}
}

// Two programs that start together make each step once.
func TestMigrateTogether(t *testing.T) {
	for round := range 10 {
		path := create(t, schemaOf(step1))
		first, err := Open(t.Context(), path, schemaOf(step1), nil)
		if err != nil {
			t.Fatal(err)
		}
		if err := errors.Join(insert(t.Context(), first, 1), first.Close()); err != nil {
			t.Fatal(err)
		}
		var both sync.WaitGroup
		for range 2 {
			both.Go(func() {
				db, err := Open(t.Context(), path, schemaOf(step1, step2), nil)
				if err != nil {
					t.Errorf("round %d: %v", round, err)
					return
				}
				if err := db.Close(); err != nil {
					t.Error(err)
				}
			})
		}
		both.Wait()
		db := open(t, path, schemaOf(step1, step2))
		var n, steps int
		if err := db.Read.QueryRowContext(t.Context(), "SELECT n, (SELECT count(*) FROM schema_step) FROM peg").Scan(&n, &steps); err != nil {
			t.Fatal(err)
		}
		if n != 101 || steps != 3 {
			t.Fatalf("round %d: n is %d, want 101: the step ran twice or never; %d steps, want 3", round, n, steps)
		}
	}
}

func TestStepFails(t *testing.T) {
	path := create(t, schemaOf(step1))
	_, err := Open(t.Context(), path, schemaOf(step1, "-- +goose Up\nUPDATE peg SET n = 1;\nALTER TABLE nothing RENAME TO something;\n"), nil)
	if err == nil {
		t.Fatal("a broken step passed")
	}
	open(t, path, schemaOf(step1)) // still what it was
}
