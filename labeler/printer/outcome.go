package printer

import (
	"errors"
	"fmt"
	"strings"
)

// End is how the sending of a document ended: a closed list.
type End uint8

// The ends.
const (
	Unknown   End = iota // nobody has said: look at the printer
	Refused              // the printer took nothing of it
	Aborted              // the printer broke it off; a part may have come out
	Cancelled            // it was cancelled; a part may have come out
	Sent                 // a raw socket has taken all of it and says nothing more
	Printed              // the printer says that it is finished
)

// Errors of an Outcome.
var (
	ErrNotPrinted = errors.New("not printed")
	ErrUnknown    = errors.New("it is not known whether it was printed")
)

// An Outcome is what became of a document. The zero Outcome is unknown.
type Outcome struct {
	End End
	Job int32 // its number at the printer; 0 where there is none
	// KeepsSize reports that the printer was told not to scale the pages and says
	// that it can do so. Where it is false, a print has to be measured.
	KeepsSize bool
	// Reasons are what the printer gives, in words.
	Reasons []string
	// Why is what went wrong on our side; nil where only the printer says so.
	Why error
}

// Err is nil where the document was printed, or was sent where nothing more can
// be known. Else it says what is known, and is ErrNotPrinted or ErrUnknown.
func (o Outcome) Err() error {
	switch o.End {
	case Printed, Sent:
		return nil
	case Refused:
		return o.err(ErrNotPrinted, "the printer took nothing of it")
	case Aborted:
		return o.err(ErrNotPrinted, o.job("the printer broke %s off; throw away what came out"))
	case Cancelled:
		return o.err(ErrNotPrinted, o.job("%s was cancelled; throw away what came out"))
	}
	return o.err(ErrUnknown, o.job("the printer has not said how %s ended"))
}

func (o Outcome) err(kind error, what string) error {
	if len(o.Reasons) > 0 {
		what += " (" + strings.Join(o.Reasons, ", ") + ")"
	}
	if o.Why != nil {
		return fmt.Errorf("%w: %s: %w", kind, what, o.Why)
	}
	return fmt.Errorf("%w: %s", kind, what)
}

func (o Outcome) job(format string) string {
	if o.Job == 0 {
		return fmt.Sprintf(format, "the job")
	}
	return fmt.Sprintf(format, fmt.Sprintf("job %d", o.Job))
}

// String says what became of the document.
func (o Outcome) String() string {
	switch o.End {
	case Printed:
		return o.job("printed (%s)")
	case Sent:
		return "sent; a raw socket does not say whether it was printed"
	}
	return o.Err().Error()
}
