// Package command is the labeler's command line: stocks, keys, tags, badges, lift
// slips and cards, printers, and how good a print is. Run is the whole program, so
// that tests and the demonstration can start it without a process.
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
and when it is due, for a machine and for people. It prints badges, lift slips and
cards too, sends them to a printer, and grades what came out.

A QR tag never stands in for the maker's rating tag. The labeler supports, and
never replaces, the competent person, the maker's instructions and the local law.`,
	},
		templatesCommand(), keyCommand(), printCommand(), bulkCommand(), sendCommand(),
		cardCommand(), checkCommand(),
	)
}
