package store_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/store"
	"cribgate/store/storetest"
)

// bulkAndTell enters slings in bulk, makes the present again, and does one act
// more, and tells how each went.
func bulkAndTell(ctx context.Context, s *store.Store) error {
	err := s.Bulk(ctx, store.Act{Station: "child", Way: "hand"}, func(ctx context.Context, tx *store.Tx) error {
		for n := range 10 {
			d := storetest.Sling(n)
			if _, err := tx.Append(ctx, event.Sling(event.SlingOf(storetest.Key, d.Ident)), nil, event.Registered{Details: d}); err != nil {
				return err
			}
		}
		return nil
	})
	fmt.Println("bulk:", err)
	fmt.Println("rebuild:", s.Rebuild(ctx))
	fmt.Println("act:", enter(ctx, s, 10))
	return nil
}

// Where the write-ahead log cannot be put into the file, all that was recorded
// counts, and nobody is told otherwise.
func TestCheckpointFails(t *testing.T) {
	for _, fault := range []string{
		"inject=pwrite64:error=ENOSPC", "inject=pwrite64:error=EIO", "inject=pwrite64:error=EROFS", "inject=fsync,fdatasync:error=EIO",
	} {
		t.Run(fault, func(t *testing.T) {
			s, _, path := storetest.New(t, store.Options{Program: "test"})
			log := filepath.Join(t.TempDir(), "trace")
			// Of the file alone, which only a checkpoint writes, and not of the log beside it.
			cmd := traced(t, "bulk", path, log, "-P", path, "-e", "trace=pwrite64,fsync,fdatasync", "-e", fault)
			out, err := cmd.Output()
			if err != nil {
				t.Fatalf("%v\n%s", err, out)
			}
			if want := "bulk: <nil>\nrebuild: <nil>\nact: <nil>\n"; string(out) != want {
				t.Errorf("told %q, want %q", out, want)
			}
			if text, err := os.ReadFile(log); err != nil || !strings.Contains(string(text), "INJECTED") {
				t.Errorf("no checkpoint failed: %v\n%s", err, text)
			}
			for n := range 11 {
				if _, err := s.SlingByIdent(t.Context(), storetest.Sling(n).Ident); err != nil {
					t.Errorf("%d: %v", n, err)
				}
			}
		})
	}
}
