// Package printer sends a document to a printer and follows it until the printer
// says what became of it.
//
// Accepted is not printed. [Printer.Send] ends in an [Outcome]: printed, which
// only a finished job is; broken off; cancelled; refused, and then nothing of
// the document is with the printer; or unknown, where the printer vanished or
// told no end. Unknown is the zero Outcome, and is neither printed nor not
// printed: only somebody who looks at the printer can tell.
//
// [ParseAddress] reads where a printer is. One that speaks the Internet Printing
// Protocol, RFC 8010 and RFC 8011, is asked first what it takes ([Printer.Ask]),
// and is told to keep sizes, where it can: a tag that is scaled lies about the
// size of its modules. One behind a raw socket says nothing, so that what went
// there is [Sent] and no more.
//
// Nothing here knows what a tag is, or waits for ever.
package printer

import (
	"context"
	"crypto/x509"
	"net/http"
	"time"
)

// Defaults of Options (site policy, no source).
const (
	// Patience is as long as somebody may need to fetch a roll of media.
	Patience = time.Hour
	// AnswerTime is far longer than a printer needs for an answer.
	AnswerTime = time.Minute
)

// Options say how a printer is spoken to. The zero Options are in order.
type Options struct {
	// Authorities vouch for the certificate of an ipps printer; nil is those that
	// the system trusts.
	Authorities *x509.CertPool
	// Patience is how long a job may stand without any change before it is
	// cancelled; zero is the constant Patience.
	Patience time.Duration
	// AnswerTime is how long one answer may take; zero is the constant AnswerTime.
	AnswerTime time.Duration
	// Say is told what there is to tell while a job is under way; nil is nobody.
	Say func(News)
	// After is time.After, or a test's own.
	After func(time.Duration) <-chan time.Time
}

// A Printer is where a document can be sent. It serves one caller at a time.
type Printer struct {
	address  Address
	options  Options
	http     *http.Client
	requests int32 // the number of the last one
}

// New returns the printer at that address. It is not spoken to yet.
func New(address Address, o Options) *Printer {
	if o.Patience <= 0 {
		o.Patience = Patience
	}
	if o.AnswerTime <= 0 {
		o.AnswerTime = AnswerTime
	}
	if o.Say == nil {
		o.Say = func(News) {}
	}
	if o.After == nil {
		o.After = time.After
	}
	return &Printer{address: address, options: o, http: client(o)}
}

// Address returns where the printer is.
func (p *Printer) Address() Address { return p.address }

// Close gives back the connections that are still open.
func (p *Printer) Close() { p.http.CloseIdleConnections() }

// Send sends the document and returns what became of it, as far as it is known.
// When ctx ends, the job is cancelled, and that takes another moment.
func (p *Printer) Send(ctx context.Context, doc Document) Outcome {
	if p.address.Raw() {
		return p.sendRaw(ctx, doc)
	}
	return p.sendJob(ctx, doc)
}

// A pacer gives pauses that grow from one to the next, so that a printer is
// neither pestered nor kept waiting (site policy, no source). The zero pacer
// begins with the shortest.
type pacer struct{ last time.Duration }

const (
	firstPause   = 250 * time.Millisecond
	longestPause = 5 * time.Second
)

func (c *pacer) next() time.Duration {
	c.last = min(max(firstPause, c.last*3/2), longestPause)
	return c.last
}

// pause waits for d; it is false where ctx ends before.
func (p *Printer) pause(ctx context.Context, d time.Duration) bool {
	select {
	case <-ctx.Done():
		return false
	case <-p.options.After(d):
		return ctx.Err() == nil
	}
}
