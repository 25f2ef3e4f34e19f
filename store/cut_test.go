package store_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// recorded runs a child under strace in the directory of path and gives what it
// wrote there and told, and the directory as it was before.
func recorded(t *testing.T, role, path string, options ...string) (before *disk, calls []*call, lines int) {
	t.Helper()
	before, err := newDisk(filepath.Dir(path))
	if err != nil {
		t.Fatal(err)
	}
	log := filepath.Join(memory(t), "trace")
	cmd := traced(t, role, path, log, append(slices.Clone(traceOptions), options...)...)
	if out, err := cmd.Output(); err != nil {
		t.Fatalf("%s: %v\n%s", role, err, out)
	}
	calls, lines = readTrace(t, log)
	return before, calls, lines
}

// replay goes through a recorded stream and has look look at the disk before each
// sync, when it is over, and at the end, with the lines that were told until then.
func replay(d *disk, calls []*call, lines int, look func(at int, said []string) error) error {
	ends := slices.Clone(calls)
	slices.SortStableFunc(ends, func(a, b *call) int { return a.done - b.done })
	var said []string
	for line := 1; line <= lines; line++ {
		for ; len(calls) > 0 && calls[0].begun == line; calls = calls[1:] {
			c := calls[0]
			if d.syncs(c) {
				if err := look(line, said); err != nil {
					return err
				}
			}
			if c.name == "write" && c.args[0] == stdout {
				said = append(said, strings.Split(strings.TrimSpace(c.args[1]), "\n")...)
			} else if err := d.begin(c); err != nil {
				return err
			}
		}
		for ; len(ends) > 0 && ends[0].done == line; ends = ends[1:] {
			d.end(ends[0])
			if d.syncs(ends[0]) {
				if err := look(line, said); err != nil {
					return err
				}
			}
		}
	}
	return look(lines, said)
}

// syncs tells whether a call is a sync of the directory or of something in it.
func (d *disk) syncs(c *call) bool {
	_, ours := d.name(c.args[0])
	return (c.name == "fsync" || c.name == "fdatasync") && (ours || c.args[0] == d.dir)
}

// campaign cuts a recorded stream at each sync, before and after it, so many
// times each, and has hold look at what is left. It gives the number of cuts.
func campaign(t *testing.T, r *rand.Rand, d *disk, calls []*call, lines, times int, hold func(path string, said []string) error) (cuts int, err error) {
	t.Helper()
	scratch := filepath.Join(memory(t), "cut")
	err = replay(d, calls, lines, func(at int, said []string) error {
		for range times {
			cuts++
			if err := os.Mkdir(scratch, 0o700); err != nil {
				return err
			}
			if err := d.cut(r, scratch); err != nil {
				return err
			}
			if err := hold(filepath.Join(scratch, "register.sqlite"), said); err != nil {
				return fmt.Errorf("cut %d, at line %d of %d, after %d acknowledgements: %w", cuts, at, lines, len(said), err)
			}
			if err := os.RemoveAll(scratch); err != nil {
				return err
			}
		}
		return nil
	})
	return cuts, err
}

// memory is a directory of the test's own, in memory where there is such a place:
// what is in it need not last.
func memory(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("/dev/shm", "cribgate-*")
	if err != nil {
		return t.TempDir()
	}
	t.Cleanup(func() {
		if err := os.RemoveAll(dir); err != nil {
			t.Error(err)
		}
	})
	return dir
}

// times is how often each place of a stream is cut.
func times() int {
	if testing.Short() {
		return 1
	}
	return *rounds
}

// count is how many calls are of a kind.
func count(calls []*call, kind func(*call) bool) (n int) {
	for _, c := range calls {
		if kind(c) {
			n++
		}
	}
	return n
}

// checkpointed tells whether a call writes into the register's file itself.
func (d *disk) checkpointed(c *call) bool {
	return c.name == "pwrite64" && c.args[0] == filepath.Join(d.dir, "register.sqlite")
}
