package main

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"
)

// caution stands wherever somebody might rely on what is shown.
const caution = `It supports, and never replaces, the competent person, the maker's instructions
and the local law. Everybody and everything in it is invented.`

// usageError is a command line that cannot be understood.
type usageError struct{ error }

func (u usageError) Unwrap() error { return u.error }

// run runs a command line and gives the exit status: 0 done, 1 failed, 2 wrong
// usage.
func run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	root := newRoot()
	root.SetArgs(args)
	root.SetOut(stdout)
	root.SetErr(stderr)
	err := root.ExecuteContext(ctx)
	var usage usageError
	switch {
	case err == nil:
		return 0
	case errors.As(err, &usage):
		fmt.Fprintf(stderr, "demo: %v\nhint: demo help lists the commands\n", err)
		return 2
	}
	fmt.Fprintf(stderr, "demo: %v\n", err)
	if hint := hintFor(err); hint != "" {
		fmt.Fprintf(stderr, "hint: %s\n", hint)
	}
	return 1
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
		Args:          noArgs,
		SilenceErrors: true, SilenceUsage: true,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return serve(cmd.Context(), o, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	root.Flags().StringVar(&o.dir, "dir", "", "directory that keeps the crib; a new one is made in the system's own place and taken away at the end")
	root.Flags().StringVar(&o.listen, "listen", "", "address and port; 127.0.0.1:8480, or a free port where that is taken")
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return usageError{err} })
	root.CompletionOptions.DisableDefaultCmd = true
	root.AddCommand(tourCommand(), seedCommand())
	return root
}

func noArgs(cmd *cobra.Command, args []string) error {
	if len(args) > 0 {
		return usageError{fmt.Errorf("%s: %q is no command and no argument is taken", cmd.Name(), args[0])}
	}
	return nil
}
