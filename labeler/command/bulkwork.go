package command

import (
	"context"
	"fmt"
	"io"
	"strings"

	"cribgate/labeler/bulk"
	"cribgate/labeler/commandline"
	"cribgate/store"
	"cribgate/store/keyring"
)

// A stoppedError is a run that can be taken up again.
type stoppedError struct {
	dir string
	err error
}

func (e *stoppedError) Error() string { return e.err.Error() }
func (e *stoppedError) Unwrap() error { return e.err }

// work does a run to its end, shows how far it is, and says what it came to.
func work(ctx context.Context, run *bulk.Run, s *store.Store, keys keyring.Ring, dir string, stdout, stderr io.Writer) error {
	bar := commandline.NewProgress(stderr, "tags")
	summary, err := run.Work(ctx, s, keys, func(done, of int) { bar.Show(int64(done), int64(of)) })
	bar.End()
	if err != nil {
		return &stoppedError{dir, err}
	}
	if err := tellLeft(stderr, summary.Left, run.Plan()); err != nil {
		return err
	}
	text := counted(summary.Printed, "tag")
	switch files := summary.Files; {
	case len(files) > 5:
		text += ": " + files[0] + " to " + files[len(files)-1]
	case len(files) > 0:
		text += ": " + strings.Join(files, ", ")
	}
	text += "\n"
	for _, r := range summary.Rasters {
		text += sizeError(r)
	}
	if n := len(summary.Left); n > 0 {
		text += counted(n, "sling") + " left out\n"
	}
	text += "report: " + summary.Report + "\n"
	text += fmt.Sprintf("register: stands at %d %s\n", summary.Head.At, summary.Head.Hash)
	if err := say(stdout, text); err != nil {
		return err
	}
	if summary.Printed == 0 {
		return fmt.Errorf("bulk: %w: all were left out", bulk.ErrNothing)
	}
	return nil
}

// shown is how many slings that were left out are named on a screen; the report
// has them all.
const shown = 20

func tellLeft(w io.Writer, left []bulk.Left, p bulk.Plan) error {
	var text strings.Builder
	for i, l := range left {
		if i == shown {
			fmt.Fprintf(&text, "left out: %d more, see the report\n", len(left)-i)
			break
		}
		fmt.Fprintf(&text, "left out: %s: %s\n", l.Ident, l.Why)
	}
	unknown := 0
	for _, e := range p.Entries {
		if e.Unknown != "" {
			unknown++
		}
	}
	if unknown > 0 {
		fmt.Fprintf(&text, "%s on %s: the stock of the last tag is not known, see the report\n", counted(unknown, "sling"), p.Template)
	}
	return say(w, text.String())
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func say(w io.Writer, text string) error {
	if _, err := io.WriteString(w, text); err != nil {
		return fmt.Errorf("say what was done: %w", err)
	}
	return nil
}
