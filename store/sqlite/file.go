package sqlite

import (
	"errors"
	"fmt"
	"io/fs"
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
