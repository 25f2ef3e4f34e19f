package sqlite

import (
	"context"
	"errors"
	"fmt"
	"syscall"

	"github.com/mattn/go-sqlite3"
)

// What can be wrong with a file or a write. Each is one sentence that a person
// can act on; what SQLite said is wrapped beside it.
var (
	ErrMissing        = errors.New("there is no such file")
	ErrExists         = errors.New("there is a file of that name already")
	ErrNotOurs        = errors.New("the file was not made by this program")
	ErrNewer          = errors.New("the file was written by a newer program; use that one")
	ErrEdited         = errors.New("the file was laid out by other migrations than this program has")
	ErrInUse          = errors.New("the file alone is not all: what was written last lies beside it")
	ErrReadOnly       = errors.New("the file or its directory cannot be written")
	ErrLocked         = errors.New("another program keeps the file locked; try again")
	ErrDiskFull       = errors.New("the disk is full; nothing was written")
	ErrDamaged        = errors.New("the file is damaged; go back to a copy")
	ErrIO             = errors.New("the disk reports an error")
	ErrUnknownOutcome = errors.New("the disk reported an error at the last moment; whether it was written is not known")
)

// Explain puts one of the errors above in front of what the driver said. An
// error of something else comes back as it is, and so does one that has been
// explained.
func Explain(err error) error {
	for _, known := range []error{ErrReadOnly, ErrLocked, ErrDiskFull, ErrDamaged, ErrIO, ErrUnknownOutcome} {
		if errors.Is(err, known) {
			return err
		}
	}
	var e sqlite3.Error
	if !errors.As(err, &e) {
		return err
	}
	if errors.Is(e.SystemErrno, syscall.ENOSPC) || errors.Is(e.SystemErrno, syscall.EDQUOT) || errors.Is(e.SystemErrno, syscall.EFBIG) {
		return fmt.Errorf("%w: %w", ErrDiskFull, err)
	}
	if errors.Is(e.SystemErrno, syscall.EROFS) || errors.Is(e.SystemErrno, syscall.EACCES) || errors.Is(e.SystemErrno, syscall.EPERM) {
		return fmt.Errorf("%w: %w", ErrReadOnly, err)
	}
	switch e.Code {
	case sqlite3.ErrFull:
		return fmt.Errorf("%w: %w", ErrDiskFull, err)
	case sqlite3.ErrReadonly:
		return fmt.Errorf("%w: %w", ErrReadOnly, err)
	case sqlite3.ErrBusy, sqlite3.ErrLocked:
		return fmt.Errorf("%w: %w", ErrLocked, err)
	case sqlite3.ErrCorrupt, sqlite3.ErrNotADB:
		return fmt.Errorf("%w: %w", ErrDamaged, err)
	case sqlite3.ErrIoErr, sqlite3.ErrCantOpen:
		return fmt.Errorf("%w: %w", ErrIO, err)
	}
	return err
}

// explainCommit says what a failed commit left behind. Only a lock, and bytes that
// the system refused to take, are met before the commit's last bytes are in the
// file. After any other error they may be there, and count when the file is
// opened again: a sync can fail with any errno, and comes after all of them.
func explainCommit(err error) error {
	if err == nil {
		return nil
	}
	explained := Explain(err)
	switch {
	case errors.Is(explained, ErrLocked), errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return explained
	case (errors.Is(explained, ErrDiskFull) || errors.Is(explained, ErrReadOnly)) && !afterwards(err):
		return explained
	}
	return fmt.Errorf("%w: %w", ErrUnknownOutcome, explained)
}

// afterwards tells whether the disk reported an error other than that of a write.
func afterwards(err error) bool {
	var e sqlite3.Error
	return errors.As(err, &e) && e.Code == sqlite3.ErrIoErr && e.ExtendedCode != sqlite3.ErrIoErrWrite
}
