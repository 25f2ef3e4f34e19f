package command

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"cribgate/labeler/print"
	"cribgate/labeler/printer"
)

// A printed is what print has written into files.
type printed struct {
	result   print.Result
	names    []string // of the tags, or what else it was, in the order of their places
	recorded bool     // the register has noted them
}

// toPrinter prints into files and sends them: to the place that --out names, or
// to a folder that is gone afterwards. What the printer does not take is found
// out before anything is recorded.
func (f printFlags) toPrinter(ctx context.Context, job print.Job, write func(print.Job) (printed, error), stdout, stderr io.Writer) (err error) {
	p, err := f.printer.open(stderr)
	if err != nil {
		return err
	}
	defer p.Close()
	format, err := f.choose(ctx, p)
	if err != nil {
		return fmt.Errorf("%w: %w", printer.ErrNotPrinted, err)
	}
	if f.out == "" {
		dir, err := os.MkdirTemp("", "labeler-")
		if err != nil {
			return fmt.Errorf("print: %w", err)
		}
		defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
		job.Out = filepath.Join(dir, "tags"+string(format))
	}
	done, err := write(job)
	if err != nil {
		return err
	}
	if f.out != "" {
		if err := report(stdout, job.Stock, done); err != nil {
			return err
		}
	}
	return deliver(ctx, p, job, done, stdout)
}

// choose finds the format that the printer takes: that of --out, or PDF before
// PNG; PNG alone where --dpi asks for it. A raw socket cannot be asked and gets
// the first.
func (f printFlags) choose(ctx context.Context, p *printer.Printer) (print.Format, error) {
	kinds := map[print.Format]printer.Format{print.PDF: printer.PDF, print.PNG: printer.PNG}
	can := []print.Format{print.PDF, print.PNG}
	switch {
	case f.out != "":
		format, err := print.FormatOf(f.out)
		if err != nil {
			return "", err
		}
		can = []print.Format{format}
	case f.dpiGiven:
		can = []print.Format{print.PNG}
	}
	if p.Address().Raw() {
		return can[0], nil
	}
	about, err := p.Ask(ctx)
	if err != nil {
		return "", err
	}
	if !about.Accepting {
		return "", fmt.Errorf("print: %s: %w", p.Address(), printer.ErrNotAccepting)
	}
	for _, format := range can {
		if about.Takes(kinds[format]) {
			return format, nil
		}
	}
	_, err = about.Choose(kinds[can[0]])
	return "", fmt.Errorf("print: %s as %s: %w", p.Address(), kinds[can[0]], err)
}

// deliver sends the files one after the other, until one is not printed.
func deliver(ctx context.Context, p *printer.Printer, job print.Job, done printed, stdout io.Writer) error {
	var outcome printer.Outcome
	sized := true
	for i, file := range done.result.Files {
		doc, err := printer.OpenFile(file)
		if err == nil {
			outcome = p.Send(ctx, doc)
			err = outcome.Err()
		} else {
			err = fmt.Errorf("%w: %w", printer.ErrNotPrinted, err)
		}
		if err != nil {
			err = fmt.Errorf("print: send %s to %s: %w", filepath.Base(file), p.Address(), err)
			return &sendError{err: err, recorded: done.recorded, lines: undone(job, done, i, err)}
		}
		sized = sized && outcome.KeepsSize
	}
	outcome.KeepsSize = sized
	return say(stdout, fmt.Sprintf("%s: %s\n%s%s", counted(len(done.names), job.Stock.Kind.String()), arrived(p, outcome), sizeError(done.result.Raster), sizesInDoubt(outcome)))
}

// undone says of each tag from a file on, which failed, what is known of it.
func undone(job print.Job, done printed, file int, err error) []string {
	cells := len(done.names) // all are in the one file of a PDF
	if len(done.result.Files) > 1 {
		cells = job.Stock.Paper.Cells()
	}
	what := "not printed"
	if errors.Is(err, printer.ErrUnknown) {
		what = "not known"
	}
	var lines []string
	for i, name := range done.names {
		at := i
		if len(done.result.Files) > 1 {
			at += job.First
		}
		switch {
		case at/cells == file:
			lines = append(lines, name+": "+what)
		case at/cells > file:
			lines = append(lines, name+": not sent")
		}
	}
	return lines
}

// What a register knows of tags that were not printed, or may not have been.
var (
	errNoted        = errors.New("the register has noted these tags as printed")
	errNotedUnknown = errors.New("the register has noted these tags as printed, and nobody knows whether they were")
)

// A sendError is tags that are not known to be printed, a line each.
type sendError struct {
	err      error
	recorded bool
	lines    []string
}

// Error says what failed and then each tag.
func (e *sendError) Error() string {
	text := e.err.Error()
	if e.recorded {
		text += "\n" + errNoted.Error()
	}
	if len(e.lines) > 0 {
		text += ":\n" + strings.Join(e.lines, "\n")
	}
	return text
}

// Unwrap returns what failed, and what that means for the register.
func (e *sendError) Unwrap() []error {
	switch {
	case !e.recorded:
		return []error{e.err}
	case errors.Is(e.err, printer.ErrUnknown):
		return []error{errNotedUnknown, e.err}
	}
	return []error{errNoted, e.err}
}
