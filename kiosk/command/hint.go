package command

import (
	"errors"

	"cribgate/kiosk/desk"
	"cribgate/store"
	"cribgate/store/keyring"
)

// hints says what to do about an error that a person can mend. The error itself
// says what is wrong.
var hints = []struct {
	err  error
	hint string
}{
	{store.ErrWitness, "name a copy that no program has open, or a head in quotes, as position and digits: --against \"17 3f2a9c01\""}, // first: it wraps what the file said
	{errNotEmpty, "name a directory that is not there yet; the register that is there stays as it is"},
	{store.ErrNotACopy, "kiosk backup makes a copy of a register in use; kiosk recover brings back one that is damaged or was not closed"},
	{store.ErrNoCopy, "name the file that kiosk backup made: register-LOG-POSITION.sqlite"},
	{store.ErrOtherCrib, "take a copy of the damaged register itself; the first eight digits in its name are those of its log"},
	{errNoDesk, "mend what is wrong, then: kiosk pin --register DIR --name KEEPER makes the desk and gives the PIN"},
	{store.ErrNotInitialised, "kiosk init --register DIR --name NAME --keeper NAME makes a register; --register names another"},
	{store.ErrExists, "name another directory with --register, or serve the one that is there"},
	{store.ErrNewerSchema, "install the newer program; this one has changed nothing"},
	{store.ErrNotOurs, "check the path; nothing was changed"},
	{store.ErrReadOnly, "give the user that runs this program the right to write the directory and the files in it"},
	{store.ErrLocked, "end the program that holds the register, or wait for it"},
	{store.ErrDiskFull, "make room on the disk; what was acknowledged before is safe"},
	{store.ErrDamaged, "keep the file as it is and stop issuing slings; kiosk recover --register DIR --copy COPY --out NEW --why TEXT brings back what can be, kiosk restore an older copy"},
	{desk.ErrMissing, "put desk.sqlite back from a copy, or kiosk pin --register DIR --name KEEPER makes a new one, in which everybody needs a new PIN"},
	{keyring.ErrBad, "put the key file back from the copy that was kept apart"},
	{errBroken, "stop issuing slings; keep the file as it is and go back to a copy whose head you can compare on paper"},
	{errParts, "keep file, copy and paper as they are, stop issuing slings, and find out who could write the file between the one and the other"},
	{errSomeLines, "each line that failed says why in its \"error\""},
	{errSomeImages, "try a closer, sharper picture, with the whole symbol and the white around it"},
}

func hintFor(err error) string {
	for _, h := range hints {
		if errors.Is(err, h.err) {
			return h.hint
		}
	}
	return ""
}
