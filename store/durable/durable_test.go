package durable_test

import (
	"os"
	"path/filepath"
	"testing"

	"cribgate/store/durable"
)

func TestMakeDir(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a", "b")
	for range 2 { // the second time it is there
		if err := durable.MakeDir(dir); err != nil {
			t.Fatal(err)
		}
	}
	if info, err := os.Stat(dir); err != nil || info.Mode().Perm() != 0o700 {
		t.Errorf("%v, %v", info, err)
	}
	file := filepath.Join(dir, "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := durable.MakeDir(filepath.Join(file, "c")); err == nil {
		t.Error("a directory in a file")
	}
	if err := durable.SyncDir(filepath.Join(dir, "nothing")); err == nil {
		t.Error("synced what is not there")
	}
}
