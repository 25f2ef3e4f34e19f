// Package command is the kiosk's command line: the counter as a web
// application, and the machine surface that asks the same questions on JSON
// lines. Run is the whole program, so that tests and the demonstration can
// start it without a process.
package command

import (
	"context"
	"io"

	"github.com/spf13/cobra"

	"cribgate/labeler/commandline"
)

// Run runs the command line and gives the exit status: 0 done, 1 failed, 2
// wrong usage.
func Run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	return commandline.Run(ctx, newRoot(), hintFor, args, stdin, stdout, stderr)
}

func newRoot() *cobra.Command {
	return commandline.Root(&cobra.Command{
		Use:   "kiosk",
		Short: "The gate at the counter of a crib that lends chain slings",
		Long: `kiosk keeps the register of a crib's chain slings and serves its counter.

It supports, and never replaces, the competent person, the maker's instructions
and the local law.`,
	},
		initCommand(), serveCommand(),
		linesCommand("decide", "Answer questions: may this sling go out for this lift?", decideLong, decide),
		linesCommand("assess", "Answer measurements: may this sling stay in service?", assessLong, assess),
		linesCommand("due", "Answer records: when is this sling due next?", dueLong, nextDue),
		readCommand(), verifyCommand(), pinCommand(),
		backupCommand(), restoreCommand(), recoverCommand(),
	)
}

const (
	decideLong = `Reads questions from standard input, one JSON object a line, and answers each on
standard output, one a line, in order. The verdict is "issue" exactly when no
reason stands against it. A line that cannot be understood gets an "error", and
the exit status is then 1.`
	assessLong = `Reads measurements of slings from standard input, one JSON object a line, and
answers each with a verdict (fit, hold, out) and its findings. A line that cannot
be understood gets an "error", and the exit status is then 1.`
	dueLong = `Reads records of thorough inspections from standard input, one JSON object a
line, and answers each with the day by which the next one is due. A line that
cannot be understood gets an "error", and the exit status is then 1.`
)
