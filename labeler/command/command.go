// Package command is the labeler's command line: list the tag stocks, make a
// key, print tags. Run is the whole program, so that tests and the demonstration
// can start it without a process.
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
		Use:   "labeler",
		Short: "QR tags for the chain slings of a crib",
		Long: `labeler prints QR tags for chain slings: what a sling is, when it was inspected
and when it is due, for a machine and for people.

A QR tag never stands in for the maker's rating tag. The labeler supports, and
never replaces, the competent person, the maker's instructions and the local law.`,
	},
		templatesCommand(), keyCommand(), printCommand(), bulkCommand(), sendCommand(),
		cardCommand(), checkCommand(),
	)
}

func usagef(format string, args ...any) error { return commandline.Usagef(format, args...) }

// noArgs refuses arguments: everything is said with flags.
func noArgs(cmd *cobra.Command, args []string) error {
	if len(args) > 0 {
		return usagef("%s: %q is neither a command nor a flag", cmd.Name(), args[0])
	}
	return nil
}
