package sqlite

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"cribgate/core/required"
)

// childEnv tells the test program that it is the traced child of a test.
const childEnv = "CRIBGATE_SQLITE_CHILD"

func TestMain(m *testing.M) {
	if path := os.Getenv(childEnv); path != "" {
		if err := traced(context.Background(), path); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

const commits = 50

// traced commits in three parts, with a system call that nothing else makes
// between them.
func traced(ctx context.Context, path string) (err error) {
	db, err := Open(ctx, path, schemaOf(step1), nil)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	n := 0
	part := func() error {
		os.Getppid()
		for range commits {
			n++
			if err := insert(ctx, db, n); err != nil {
				return err
			}
		}
		os.Getppid()
		return nil
	}
	if err := part(); err != nil { // after opening
		return err
	}
	if err := db.shorten(ctx); err != nil {
		return err
	}
	if err := part(); err != nil { // after a checkpoint of ours
		return err
	}
	if _, _, err := checkpoint(ctx, db.Write, "RESTART"); err != nil {
		return err
	}
	return part() // after a checkpoint without the tick
}

// A commit that was acknowledged has cost one sync, also the first after
// opening and the first after a checkpoint.
func TestOneSyncEach(t *testing.T) {
	strace := required.Program(t, "strace")
	path := create(t, schemaOf(step1))
	log := filepath.Join(t.TempDir(), "trace")
	cmd := exec.CommandContext(t.Context(), strace, "-f", "-qq", "-e", "trace=fsync,fdatasync,getppid", "-e", "signal=none", "-o", log, os.Args[0])
	cmd.Env = append(os.Environ(), childEnv+"="+path)
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	text, err := os.ReadFile(log)
	if err != nil {
		t.Fatal(err)
	}
	parts := strings.Split(string(text), "getppid(")
	if len(parts) != 7 {
		t.Fatalf("%d parts in the trace, want 7:\n%s", len(parts), text)
	}
	syncs := func(part string) int { return strings.Count(part, "sync(") }
	if n := syncs(parts[1]); n != commits {
		t.Errorf("after opening: %d syncs for %d commits", n, commits)
	}
	if n := syncs(parts[3]); n != commits {
		t.Errorf("after a checkpoint: %d syncs for %d commits", n, commits)
	}
	// The control: without the tick the log's header costs one more, and the
	// trace shows it.
	if n := syncs(parts[5]); n != commits+1 {
		t.Errorf("after a checkpoint without the tick: %d syncs for %d commits, want one more; does the trace still see them?", n, commits)
	}
}

// A log that has grown is put into the file beside the writer.
func TestShortenIfLong(t *testing.T) {
	db := open(t, create(t, schemaOf(step1)), schemaOf(step1))
	pages := func() int64 {
		all, done, err := checkpoint(t.Context(), db.Read, "NOOP")
		if err != nil {
			t.Fatal(err)
		}
		return all - done
	}
	if err := db.shortenIfLong(t.Context()); err != nil {
		t.Fatal(err)
	}
	for n := 0; pages() < longWAL; n++ {
		if err := insert(t.Context(), db, n); err != nil {
			t.Fatal(err)
		}
	}
	if err := db.shortenIfLong(t.Context()); err != nil {
		t.Fatal(err)
	}
	if n := pages(); n > 1 { // the tick's own page
		t.Errorf("%d pages are left in the log", n)
	}
}
