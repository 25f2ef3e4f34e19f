package printer

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"cribgate/labeler/printer/ipp"
)

// About is what a printer says of itself. The zero About takes nothing.
type About struct {
	Name      string   // what it calls itself; may be empty
	Formats   []Format // what it takes
	Accepting bool     // it takes jobs now
	KeepsSize bool     // it can be told not to scale
	Stopped   bool
	Reasons   []string // why it is not well, in words

	copies, sides bool // it can be told one copy, one side
}

// Takes reports whether the printer takes that kind of document.
func (a About) Takes(f Format) bool { return slices.Contains(a.Formats, f) }

// Choose returns the first of these formats that the printer takes. The error is
// ErrFormat, and lists what it takes.
func (a About) Choose(formats ...Format) (Format, error) {
	for _, f := range formats {
		if a.Takes(f) {
			return f, nil
		}
	}
	const most = 20
	list := make([]string, 0, most)
	for _, f := range a.Formats[:min(most, len(a.Formats))] {
		list = append(list, plain(string(f)))
	}
	return "", fmt.Errorf("%w: it takes %s", ErrFormat, strings.Join(list, ", "))
}

// ErrRaw: a raw socket answers nothing.
var ErrRaw = errors.New("a raw socket cannot be asked")

// Ask asks the printer what it takes and how it is; nothing is printed. A busy
// printer is asked again, until patience ends.
func (p *Printer) Ask(ctx context.Context) (About, error) {
	if p.address.Raw() {
		return About{}, fmt.Errorf("printer: ask %s: %w", p.address, ErrRaw)
	}
	var about About
	err := p.whileBusy(ctx, func() (err error) {
		about, err = p.about(ctx)
		return err
	})
	if err != nil {
		return About{}, fmt.Errorf("printer: ask %s: %w", p.address, err)
	}
	return about, nil
}

// printerStopped of printer-state (RFC 8011; from memory, not seen).
const printerStopped = 5

func (p *Printer) about(ctx context.Context) (About, error) {
	m := p.request(ipp.GetPrinterAttributes, 0)
	m.Groups[0].Add("requested-attributes", ipp.Keywords("printer-info", "document-format-supported",
		"printer-is-accepting-jobs", "printer-state", "printer-state-reasons", "print-scaling-supported",
		"copies-supported", "sides-supported")...)
	answer, err := p.ask(ctx, m)
	if err != nil {
		return About{}, err
	}
	a := About{Name: plain(answer.Text(ipp.OfPrinter, "printer-info"))}
	for _, f := range answer.Strings(ipp.OfPrinter, "document-format-supported") {
		kind, _, _ := strings.Cut(f, ";")
		a.Formats = append(a.Formats, Format(strings.ToLower(strings.TrimSpace(kind))))
	}
	accepting, said := answer.Bool(ipp.OfPrinter, "printer-is-accepting-jobs")
	a.Accepting = accepting || !said
	a.KeepsSize = slices.Contains(answer.Strings(ipp.OfPrinter, "print-scaling-supported"), "none")
	a.sides = slices.Contains(answer.Strings(ipp.OfPrinter, "sides-supported"), "one-sided")
	_, a.copies = answer.Find(ipp.OfPrinter, "copies-supported")
	a.Stopped, a.Reasons = health(answer)
	return a, nil
}

// health reads whether the printer has stopped, and why it is not well.
func health(answer ipp.Message) (stopped bool, reasons []string) {
	state, _ := answer.Int(ipp.OfPrinter, "printer-state")
	return state == printerStopped, inWords(answer.Strings(ipp.OfPrinter, "printer-state-reasons"))
}

// whileBusy does f, and does it again as long as the printer says that it
// cannot now.
func (p *Printer) whileBusy(ctx context.Context, f func() error) error {
	var pacer pacer
	var waited time.Duration
	for {
		err := f()
		var status *StatusError
		if err == nil || !errors.As(err, &status) || !status.Status.Busy() || waited >= p.options.Patience {
			return err
		}
		if waited == 0 {
			p.options.Say(News{State: Busy})
		}
		d := pacer.next()
		if !p.pause(ctx, d) {
			return context.Cause(ctx)
		}
		waited += d
	}
}
