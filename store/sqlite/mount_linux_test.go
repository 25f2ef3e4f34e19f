package sqlite

import (
	"errors"
	"path/filepath"
	"syscall"
	"testing"
)

// A file system that is mounted for reading only says neither that the file nor
// that its directory has no rights.
func TestReadOnlyFileSystem(t *testing.T) {
	path := create(t, schemaOf(step1))
	dir := filepath.Dir(path)
	if err := syscall.Mount(dir, dir, "", syscall.MS_BIND, ""); err != nil {
		t.Skipf("not allowed to mount: %v", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(dir, 0); err != nil {
			t.Error(err)
		}
	})
	if err := syscall.Mount("", dir, "", syscall.MS_BIND|syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
		t.Skipf("not allowed to mount: %v", err)
	}
	db, err := Open(t.Context(), path, schemaOf(step1), nil)
	if err == nil {
		db.Close()
	}
	if !errors.Is(err, ErrReadOnly) {
		t.Errorf("got %v, want %v", err, ErrReadOnly)
	}
}
