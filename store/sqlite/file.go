package sqlite

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"syscall"
)

// explainFile does for the operating system's errors what Explain does for the
// driver's.
func explainFile(err error) error {
	switch {
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return fmt.Errorf("%w: %w", ErrReadOnly, err)
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT), errors.Is(err, syscall.EFBIG):
		return fmt.Errorf("%w: %w", ErrDiskFull, err)
	}
	return err
}

// syncDir makes a new name in dir outlast a power cut.
func syncDir(dir string) (err error) {
	d, err := os.Open(dir)
	if err != nil {
		return fmt.Errorf("sqlite: sync directory: %w", err)
	}
	defer func() { err = errors.Join(err, d.Close()) }()
	if err := d.Sync(); err != nil {
		return fmt.Errorf("sqlite: sync directory: %w", err)
	}
	return nil
}
