package store

import (
	"errors"
	"fmt"

	"cribgate/core/event"
	"cribgate/core/state"
	"cribgate/store/sqlite"
)

// Errors of opening and writing, each one sentence and what to do.
var (
	ErrExists         = errors.New("there is a register already; nothing was changed")
	ErrNotInitialised = errors.New("there is no register; make one with init")
	ErrNotOurs        = errors.New("this is no register of this program; nothing was changed")
	ErrNewerSchema    = errors.New("the register was written by a newer program; use that one")
	ErrNotACopy       = errors.New("this is no copy but a register in use, or one that was not closed; nothing was changed")
	ErrNoCopy         = errors.New("there is no such copy")
	ErrOtherCrib      = errors.New("the copy is of another crib than the damaged register; nothing was made")
	ErrReadOnly       = errors.New("the register cannot be written; check the rights of file and directory")
	ErrLocked         = errors.New("another program is writing to the register; try again")
	ErrDiskFull       = errors.New("the disk is full, nothing was recorded; make room and try again")
	ErrDamaged        = errors.New("the register is damaged; stop using it and go back to a copy")
	ErrDisk           = errors.New("the disk reports an error, nothing was recorded; have it looked at")
	ErrNotRecorded    = errors.New("nothing was recorded under the key, now or before")
	ErrUnknownOutcome = errors.New("the disk reported an error at the last moment; ask again with the same key to learn whether it was recorded")
)

// Errors of reading and acting.
var (
	ErrNotFound    = errors.New("not in the register")
	ErrDoubled     = errors.New("more than one in the register; only a keeper can say which")
	ErrConflict    = errors.New("the story has gone on since it was read")
	ErrContradicts = errors.New("that cannot happen after what the register says")
	ErrKeyReused   = errors.New("the key was used for another request")
	ErrCursor      = errors.New("not the cursor of a list")
)

// notRecorded is an error that is ErrNotRecorded as well.
type notRecorded struct{ error }

func (n notRecorded) Unwrap() error { return n.error }

func (n notRecorded) Is(target error) bool { return target == ErrNotRecorded }

// ConflictError says that a story has gone on since the writer read it.
type ConflictError struct {
	Subject event.Subject
	Since   []Record // what happened in between, in order
}

// Error says how much happened in between.
func (e *ConflictError) Error() string {
	return fmt.Sprintf("store: %s: %d events since it was read: %v", e.Subject, len(e.Since), ErrConflict)
}

// Unwrap is ErrConflict.
func (e *ConflictError) Unwrap() error { return ErrConflict }

// sentences puts this package's word for each error of the file in front of it.
var sentences = []struct{ file, ours error }{
	{sqlite.ErrUnknownOutcome, ErrUnknownOutcome}, // first: it wraps what the disk said
	{sqlite.ErrMissing, ErrNotInitialised},
	{sqlite.ErrExists, ErrExists},
	{sqlite.ErrNotOurs, ErrNotOurs},
	{sqlite.ErrNewer, ErrNewerSchema},
	{sqlite.ErrEdited, ErrNotOurs},
	{sqlite.ErrInUse, ErrNotACopy},
	{sqlite.ErrReadOnly, ErrReadOnly},
	{sqlite.ErrLocked, ErrLocked},
	{sqlite.ErrDiskFull, ErrDiskFull},
	{sqlite.ErrDamaged, ErrDamaged},
	{sqlite.ErrIO, ErrDisk},
	{state.ErrState, ErrDamaged},
}

// explain gives an error of the file its sentence; others stay as they are.
func explain(err error) error {
	if err == nil {
		return nil
	}
	err = sqlite.Explain(err)
	for _, s := range sentences {
		if errors.Is(err, s.ours) {
			return err
		}
	}
	for _, s := range sentences {
		if errors.Is(err, s.file) {
			return fmt.Errorf("%w (%w)", s.ours, err)
		}
	}
	return err
}

// damaged says where and why the register is not what it should be.
func damaged(at int64, format string, args ...any) error {
	return fmt.Errorf("%w: position %d: %w", ErrDamaged, at, fmt.Errorf(format, args...))
}
