package web

import (
	"errors"
	"net/http"
	"slices"

	"cribgate/kiosk/desk"
	"cribgate/store"
)

// A Code names why a request was not done, for pages, tests and programs.
type Code string

// The codes.
const (
	NoPage     Code = "no-page"     // nothing lives at this address
	NotAllowed Code = "not-allowed" // this role may not
	BadInput   Code = "bad-input"   // what was sent cannot be understood
	TooLarge   Code = "too-large"   // more bytes than this page takes
	Stale      Code = "stale"       // the page was older than the facts
	Foreign    Code = "foreign"     // the request came from another site's page
	Busy       Code = "busy"        // too much at once; the same again will do
	Unusable   Code = "unusable"    // the register or the desk cannot be used now
	Unexpected Code = "unexpected"  // a fault of ours; the log has the detail
)

// statuses maps each code to its HTTP status.
var statuses = map[Code]int{
	NoPage:     http.StatusNotFound,
	NotAllowed: http.StatusForbidden,
	BadInput:   http.StatusUnprocessableEntity,
	TooLarge:   http.StatusRequestEntityTooLarge,
	Stale:      http.StatusConflict,
	Foreign:    http.StatusForbidden,
	Busy:       http.StatusServiceUnavailable,
	Unusable:   http.StatusServiceUnavailable,
	Unexpected: http.StatusInternalServerError,
}

// Visible is the only error whose words reach a person: what is wrong in one
// sentence, and what to do now. Every other error becomes a fixed sentence with
// a reference number, and its detail goes to the log.
type Visible struct {
	Code     Code
	Sentence string
	Next     string
	Cause    error // for the log only; may be nil
}

func (v *Visible) Error() string {
	if v.Cause == nil {
		return "web: " + string(v.Code) + ": " + v.Sentence
	}
	return "web: " + string(v.Code) + ": " + v.Sentence + ": " + v.Cause.Error()
}

// Unwrap returns the cause.
func (v *Visible) Unwrap() error { return v.Cause }

// sorry is all that a person sees of an error that is not Visible. It may have
// come after the act was recorded, so it does not say that nothing was.
const sorry = "Something went wrong here."

var errNoPage = &Visible{
	Code:     NoPage,
	Sentence: "There is no page at this address.",
	Next:     "Choose a place from the row at the top.",
}

// visible turns any error into one that a person may see.
func visible(err error, id string) *Visible {
	if v, ok := errors.AsType[*Visible](err); ok {
		return v
	}
	if _, ok := errors.AsType[*http.MaxBytesError](err); ok {
		return &Visible{Code: TooLarge, Cause: err,
			Sentence: "What was sent is larger than this page takes.",
			Next:     "Send a smaller file."}
	}
	if v, ok := errors.AsType[*Visible](registerError(err)); ok {
		return v
	}
	return &Visible{Code: Unexpected, Cause: err,
		Sentence: sorry,
		Next:     "Load the page again and look before you do it again. If it goes wrong again, tell the keeper the reference " + id + "."}
}

// told is what a person is told of an error that they can do something about.
type told struct {
	is             error
	code           Code
	sentence, next string
}

// registerError gives the errors of register and desk that a person can do
// something about their sentence; every other stays what it is.
func registerError(err error) error {
	list := []told{
		// First: it wraps what else is wrong, and only it says that the rest may have been saved.
		{store.ErrUnknownOutcome, Unusable, "The disk reported an error at the last moment, so it is not known whether this was saved.", "Load the sling’s page and look before you do it again."},
		{store.ErrKeyReused, Stale, "This form was sent before with something else in it.", "Load the page again and repeat what you did."},
		{store.ErrConflict, Stale, "Someone else changed this just now, and what you sent was not done.", "Load the page again and look."},
		{store.ErrContradicts, Stale, "This cannot be done with the sling as it stands now.", "Load the page again and look where it stands."},
		{store.ErrNotFound, Stale, "What this is about is not in the register.", "Load the page again and choose anew."},
		// Whoever pressed before may have been heard, and that could not be looked up.
		{store.ErrLocked, Busy, "Another program is writing to the register, so that what you asked for now was not done.", "Try again in a few seconds. If you had pressed before, that may have been saved: look first."},
		{store.ErrDiskFull, Unusable, "The disk is full, so that what you asked for now was not done.", "Tell the keeper to make room. If you had pressed before, that may have been saved: look before you do it again."},
		{store.ErrReadOnly, Unusable, "The register cannot be written, so that what you asked for now was not done.", "Tell the keeper to check the disk, and the rights of the file and its directory. If you had pressed before, that may have been saved: look before you do it again."},
		// SQLite says of a page that the disk cannot read that it is damaged.
		{store.ErrDamaged, Unusable, "The register is damaged, or the disk cannot read it.", "Stop using it, and tell the keeper to have the disk looked at and to go back to a copy."},
		{store.ErrDisk, Unusable, "The disk reports an error.", "Tell the keeper to have it looked at. Look how things stand before you repeat what you did."},
		// After the register's own, which wrap the same errors of the file.
		{desk.ErrDiskFull, Unusable, "The disk is full, so that sign-ins and what lies on the counter cannot be kept.", "Tell the keeper to make room. Look how things stand before you repeat what you did."},
		{desk.ErrReadOnly, Unusable, "The desk file cannot be written, so that sign-ins and what lies on the counter cannot be kept.", "Tell the keeper to check the rights of the file and its directory. Look how things stand before you repeat what you did."},
		{desk.ErrDisk, Unusable, "The disk reports an error, so that sign-ins and what lies on the counter may not have been kept.", "Tell the keeper to have it looked at. Look how things stand before you repeat what you did."},
		{desk.ErrUnknownOutcome, Unusable, "The disk reports an error, so that sign-ins and what lies on the counter may not have been kept.", "Tell the keeper to have it looked at. Look how things stand before you repeat what you did."},
		{desk.ErrHeld, Busy, "Another program is writing to the desk file.", "Try again in a few seconds. Look how things stand before you repeat what you did."},
	}
	if errors.Is(err, store.ErrNotRecorded) {
		list = slices.Insert(list, 1,
			told{store.ErrLocked, Busy, "Another program is writing to the register, and nothing was saved.", "Try again in a few seconds."},
			told{store.ErrDiskFull, Unusable, "The disk is full, and nothing was saved.", "Tell the keeper to make room, then do it again."},
			told{store.ErrReadOnly, Unusable, "The register cannot be written, and nothing was saved.", "Tell the keeper to check the disk, and the rights of the file and its directory."},
		)
	}
	for _, known := range list {
		if errors.Is(err, known.is) {
			return &Visible{Code: known.code, Sentence: known.sentence, Next: known.next, Cause: err}
		}
	}
	return err
}

// ErrorPage says that a request was not done.
type ErrorPage struct {
	Base
	Code      Code
	Sentence  string
	Next      string
	Reference string // empty unless the log has more
	Again     *Again // nil where asking again is of no use
}

// fail answers a visit that ended in err.
func (s *Server) fail(v *visit, err error) {
	seen := visible(err, v.id)
	status := statuses[seen.Code]
	p := &ErrorPage{Code: seen.Code, Sentence: seen.Sentence, Next: seen.Next, Again: v.again(seen.Code)}
	if status >= http.StatusInternalServerError {
		p.Reference = v.id
		s.Log.ErrorContext(v.r.Context(), "request failed", "id", v.id, "route", v.r.Pattern, "error", err)
	} else {
		s.Log.InfoContext(v.r.Context(), "request refused", "id", v.id, "route", v.r.Pattern, "code", seen.Code)
	}
	if err := s.render(v, status, "error", p); err != nil {
		s.Log.ErrorContext(v.r.Context(), "error page failed", "id", v.id, "error", err)
		http.Error(v.w, seen.Sentence+" "+seen.Next, status)
	}
}
