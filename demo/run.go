package main

import (
	"context"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"cribgate/labeler/commandline"
)

// caution stands wherever somebody might rely on what is shown.
const caution = `It supports, and never replaces, the competent person, the maker's instructions
and the local law. Everybody and everything in it is invented.`

// run runs a command line and gives the exit status: 0 done, 1 failed, 2 wrong
// usage.
func run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	return commandline.Run(ctx, newRoot(), hintFor, args, strings.NewReader(""), stdout, stderr)
}

func newRoot() *cobra.Command {
	var o serving
	root := &cobra.Command{
		Use:   "demo",
		Short: "A whole invented crib to try",
		Long: `demo builds a crib that does not exist, with 300 slings and two years of history,
serves it on this machine, and says where to look and how to sign in. What is
done in it is gone at the end, unless --dir keeps it.

` + caution,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return serve(cmd.Context(), o, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	root.Flags().StringVar(&o.dir, "dir", "", "directory that keeps the crib; a new one is made in the system's own place and taken away at the end")
	root.Flags().StringVar(&o.listen, "listen", "", "address and port; 127.0.0.1:8480, or a free port where that is taken")
	return commandline.Root(root, tourCommand(), seedCommand(), wornCommand())
}
