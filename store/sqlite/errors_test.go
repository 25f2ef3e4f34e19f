package sqlite

import (
	"context"
	"errors"
	"fmt"
	"syscall"
	"testing"

	"github.com/mattn/go-sqlite3"
)

// After a commit that failed, only what cannot have reached the file counts as not
// written. A sync may fail with any errno, and when it does all of the commit is
// in the file already and counts when the file is opened again; so is what
// fails when the index of the write-ahead log is to grow.
func TestExplainCommit(t *testing.T) {
	io := func(extended sqlite3.ErrNoExtended, errno syscall.Errno) error {
		return sqlite3.Error{Code: sqlite3.ErrIoErr, ExtendedCode: extended, SystemErrno: errno}
	}
	for name, c := range map[string]struct {
		err, want error
	}{
		"full while writing":              {sqlite3.Error{Code: sqlite3.ErrFull}, ErrDiskFull},
		"quota while writing":             {io(sqlite3.ErrIoErrWrite, syscall.EDQUOT), ErrDiskFull},
		"read-only while writing":         {io(sqlite3.ErrIoErrWrite, syscall.EROFS), ErrReadOnly},
		"a file that cannot be written":   {sqlite3.Error{Code: sqlite3.ErrReadonly}, ErrReadOnly},
		"locked":                          {sqlite3.Error{Code: sqlite3.ErrBusy}, ErrLocked},
		"the act was given up":            {context.Canceled, context.Canceled},
		"the act took too long":           {context.DeadlineExceeded, context.DeadlineExceeded},
		"error while writing":             {io(sqlite3.ErrIoErrWrite, syscall.EIO), ErrUnknownOutcome},
		"error in the sync":               {io(sqlite3.ErrIoErrFsync, syscall.EIO), ErrUnknownOutcome},
		"full in the sync":                {io(sqlite3.ErrIoErrFsync, syscall.ENOSPC), ErrUnknownOutcome},
		"quota in the sync":               {io(sqlite3.ErrIoErrFsync, syscall.EDQUOT), ErrUnknownOutcome},
		"read-only in the sync":           {io(sqlite3.ErrIoErrFsync, syscall.EROFS), ErrUnknownOutcome},
		"full in the sync of a directory": {io(sqlite3.ErrIoErrDirFsync, syscall.ENOSPC), ErrUnknownOutcome},
		"full where the index grows":      {io(sqlite3.ErrIoErrSHMSize, syscall.ENOSPC), ErrUnknownOutcome},
		"no memory for the index":         {sqlite3.Error{Code: sqlite3.ErrNomem}, ErrUnknownOutcome},
		"anything else":                   {errors.New("something else"), ErrUnknownOutcome},
	} {
		got := explainCommit(c.err)
		if !errors.Is(got, c.want) || !errors.Is(got, c.err) || errors.Is(got, ErrUnknownOutcome) != (c.want == ErrUnknownOutcome) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
		if again := Explain(fmt.Errorf("an act: %w", got)); errors.Is(again, ErrUnknownOutcome) != (c.want == ErrUnknownOutcome) {
			t.Errorf("%s, explained again: %v", name, again)
		}
	}
	if err := explainCommit(nil); err != nil {
		t.Error(err)
	}
}
