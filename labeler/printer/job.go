package printer

import (
	"bytes"
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"sync/atomic"
	"time"

	"cribgate/labeler/printer/ipp"
)

// ErrNotAccepting: the printer is set to take no jobs.
var ErrNotAccepting = errors.New("the printer accepts no jobs")

// errStalled: the printer has taken no byte of the document, and given no
// answer, for as long as patience lasts.
var errStalled = errors.New("the printer took no more of the document")

// A lostError is a fault after the document, or a part of it, had left.
type lostError struct{ cause error }

func (e *lostError) Error() string { return e.cause.Error() }
func (e *lostError) Unwrap() error { return e.cause }

// order is what is asked of the printer for one document.
type order struct {
	doc   Document
	name  string // of the job: no other has it
	about About
}

// sendJob sends the document by IPP: asks what the printer takes, has the job
// checked without the document, sends it, and follows it.
func (p *Printer) sendJob(ctx context.Context, doc Document) Outcome {
	about, err := p.Ask(ctx)
	if err == nil {
		_, err = about.Choose(doc.Format)
	}
	if err == nil && !about.Accepting {
		err = ErrNotAccepting
	}
	if err != nil {
		return Outcome{End: Refused, Reasons: about.Reasons, Why: err}
	}
	o := order{doc: doc, name: newJobName(doc.Name), about: about}
	var first view
	err = p.whileBusy(ctx, func() error { return p.validate(ctx, o) })
	if err == nil {
		err = p.whileBusy(ctx, func() (err error) {
			first, err = p.print(ctx, o)
			return err
		})
	}
	outcome := Outcome{KeepsSize: about.KeepsSize && !first.changed}
	var lost *lostError
	var status *StatusError
	switch {
	case err == nil:
		return p.follow(ctx, o, first, outcome)
	case errors.As(err, &lost):
		outcome.End = Unknown
	case errors.As(err, &status) && status.Status == ipp.CancelledMeanwhile:
		outcome.End = Cancelled
	default:
		outcome.End = Refused
	}
	outcome.Why = err
	return outcome
}

// newJobName makes a name that no other job has, so that a job can be told from
// another of the same number after the printer was switched off and on. What
// tells them apart stands first, where no printer cuts it off.
func newJobName(document string) string {
	var b [tokenLength / 2]byte
	rand.Read(b[:]) // never fails
	name := hex.EncodeToString(b[:]) + " " + plain(document)
	return cut(name, maxName)
}

const (
	tokenLength = 12
	maxName     = 255 // bytes of a name (RFC 8011; from memory, not seen)
)

// cut keeps the first n bytes, and no half of a character.
func cut(s string, n int) string {
	if len(s) <= n {
		return s
	}
	for n > 0 && s[n]&0xC0 == 0x80 {
		n--
	}
	return s[:n]
}

// message is the request for the job, to be checked or to be printed. Nothing is
// asked that the printer does not say it can do, and what is asked it must do:
// it may not put something else in its place.
func (p *Printer) message(op ipp.Operation, o order) ipp.Message {
	m := p.request(op, 0)
	g := &m.Groups[0]
	g.Add("job-name", ipp.Name(o.name))
	g.Add("ipp-attribute-fidelity", ipp.Boolean(true))
	g.Add("document-format", ipp.Mime(string(o.doc.Format)))
	job := ipp.Group{Tag: ipp.OfJob}
	if o.about.copies {
		job.Add("copies", ipp.Integer(1))
	}
	if o.about.sides {
		job.Add("sides", ipp.Keyword("one-sided"))
	}
	if o.about.KeepsSize {
		job.Add("print-scaling", ipp.Keyword("none"))
	}
	if len(job.Attributes) > 0 {
		m.Groups = append(m.Groups, job)
	}
	return m
}

// validate asks whether the printer would take the job. One that does not know
// the question says so when it gets the job.
func (p *Printer) validate(ctx context.Context, o order) error {
	_, err := p.ask(ctx, p.message(ipp.ValidateJob, o))
	var status *StatusError
	if errors.As(err, &status) && status.Status == ipp.NotSupported {
		return nil
	}
	return err
}

// print sends the document. The error is a lostError where nobody can say
// whether the printer has it.
func (p *Printer) print(ctx context.Context, o order) (view, error) {
	m := p.message(ipp.PrintJob, o)
	head, err := m.Encode()
	if err != nil {
		return view{}, err
	}
	file, err := o.doc.Open()
	if err != nil {
		return view{}, fmt.Errorf("open document: %w", err)
	}
	defer file.Close() // only read from
	p.options.Say(News{State: Sending})
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	up := &upload{file: file, patience: p.options.Patience}
	up.stall = time.AfterFunc(up.patience, func() { cancel(errStalled) })
	defer up.stall.Stop()
	answer, err := p.post(ctx, m.ID, io.MultiReader(bytes.NewReader(head), up))
	if err != nil {
		return view{}, up.judge(err)
	}
	return accepted(answer)
}

// An upload is the document under way.
type upload struct {
	file     io.Reader
	stall    *time.Timer
	patience time.Duration
	left     atomic.Bool // a part of the document has been handed over
}

func (u *upload) Read(b []byte) (int, error) {
	n, err := u.file.Read(b)
	if n > 0 {
		u.left.Store(true)
	}
	u.stall.Reset(u.patience)
	return n, err
}

// judge makes a lostError of what failed after a part of the document had left,
// unless the answer says that the request was declined.
func (u *upload) judge(err error) error {
	var status httpError
	if !u.left.Load() || errors.As(err, &status) && status.declined() {
		return err
	}
	return &lostError{err}
}

// errNoNumber: a printer took the job and gave it no number to ask for.
var errNoNumber = errors.New("the printer took the job and gives it no number")

// accepted reads the answer to a job that was sent. A printer whose device
// failed on the way may have the job all the same, and names it.
func accepted(answer ipp.Message) (view, error) {
	v := readView(answer)
	err := statusError(answer)
	if err == nil {
		v.changed = answer.Code != 0
		if v.job == 0 {
			return view{}, &lostError{errNoNumber}
		}
		return v, nil
	}
	s := ipp.Status(answer.Code)
	switch {
	case v.job != 0 && !s.Declined():
		return v, nil
	case s.Declined(), s.Busy(), s == ipp.NotSupported, s == ipp.VersionNotSupported, s == ipp.NotAcceptingJobs, s == ipp.CancelledMeanwhile:
		return view{}, err
	}
	return view{}, &lostError{err}
}
