// Package command is the labeler's command line: list the tag stocks, make a
// key, print tags. Run is the whole program, so that tests and the demonstration
// can start it without a process.
package command

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"cribgate/labeler/print"
	"cribgate/labeler/render"
	"cribgate/labeler/sheet"
	"cribgate/printtemplates"
	"cribgate/store"
	"cribgate/store/keyring"
)

// Run runs the command line and gives the exit status: 0 done, 1 failed, 2
// wrong usage.
func Run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	root := newRoot()
	root.SetArgs(args)
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	err := root.ExecuteContext(ctx)
	if err == nil {
		return 0
	}
	fmt.Fprintf(stderr, "labeler: %v\n", err)
	if hint := hintFor(err); hint != "" {
		fmt.Fprintf(stderr, "hint: %s\n", hint)
	}
	var usage *usageError
	if errors.As(err, &usage) {
		return 2
	}
	return 1
}

// A usageError is a command line that cannot be understood.
type usageError struct{ err error }

func (u *usageError) Error() string { return u.err.Error() }
func (u *usageError) Unwrap() error { return u.err }

func usagef(format string, args ...any) error { return &usageError{fmt.Errorf(format, args...)} }

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:   "labeler",
		Short: "QR tags for the chain slings of a crib",
		Long: `labeler prints QR tags for chain slings: what a sling is, when it was inspected
and when it is due, for a machine and for people.

A QR tag never stands in for the maker's rating tag. The labeler supports, and
never replaces, the competent person, the maker's instructions and the local law.`,
		SilenceErrors: true, SilenceUsage: true,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
		Args: noArgs,
	}
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return &usageError{err} })
	root.AddCommand(templatesCommand(), keyCommand(), printCommand())
	return root
}

// noArgs refuses arguments: everything is said with flags.
func noArgs(cmd *cobra.Command, args []string) error {
	if len(args) > 0 {
		return usagef("%s: %q is neither a command nor a flag", cmd.Name(), args[0])
	}
	return nil
}

// hints say what to do about an error; the first that fits is shown.
var hints = []struct {
	err  error
	hint string
}{
	{errRecorded, "mend the cause and run the same command again: it prints the tags after these, which lapse"},
	{printtemplates.ErrUnknown, "labeler templates lists the stocks; a file of your own is given as ./NAME.json"},
	{keyring.ErrExists, "a key is never written over: tags made with it could no longer be told from forged ones; choose another name"},
	{keyring.ErrNoKey, "labeler key --out FILE makes a key; a register's keys lie in the folder keys beside it"},
	{print.ErrFormat, "name the output out.pdf, out.svg or out.png"},
	{print.ErrChanged, "somebody worked on that sling meanwhile; run the same command again"},
	{print.ErrGone, "a sling that was found again is entered as found at the counter first"},
	{print.ErrTwice, "a serial is never used twice on one sling: number the tags anew"},
	{render.ErrDPI, "choose a finer --dpi: 203, 300 and 600 are usual"},
	{sheet.ErrFit, "shorten the text or take a larger stock"},
	{sheet.ErrModule, "the stock's own file does not hold together; see printtemplates/README.md"},
	{sheet.ErrOverlap, "the stock's own file does not hold together; see printtemplates/README.md"},
	{sheet.ErrEdge, "the stock's own file does not hold together; see printtemplates/README.md"},
	{store.ErrNotInitialised, "kiosk init makes a register; --register takes its directory"},
}

func hintFor(err error) string {
	for _, h := range hints {
		if errors.Is(err, h.err) {
			return h.hint
		}
	}
	var usage *usageError
	var line *print.LineError
	switch {
	case errors.As(err, &usage):
		return "labeler help lists the commands, labeler help COMMAND its flags"
	case errors.As(err, &line):
		return "nothing was printed; each line is one sling object with id, serial and outcome"
	}
	return ""
}
