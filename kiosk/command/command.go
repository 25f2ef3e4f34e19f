// Package command is the kiosk's command line: the counter as a web
// application, and the machine surface that asks the same questions on JSON
// lines. Run is the whole program, so that tests and the demonstration can
// start it without a process.
package command

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"cribgate/core/release"
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
	var usage usageError
	switch {
	case err == nil:
		return 0
	case errors.As(err, &usage):
		fmt.Fprintf(stderr, "kiosk: %v\nhint: kiosk help lists the commands\n", err)
		return 2
	}
	fmt.Fprintf(stderr, "kiosk: %v\n", err)
	if hint := hintFor(err); hint != "" {
		fmt.Fprintf(stderr, "hint: %s\n", hint)
	}
	return 1
}

// usageError is a command line that cannot be understood.
type usageError struct{ error }

func (u usageError) Unwrap() error { return u.error }

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:   "kiosk",
		Short: "The gate at the counter of a crib that lends chain slings",
		Long: `kiosk keeps the register of a crib's chain slings and serves its counter.

It supports, and never replaces, the competent person, the maker's instructions
and the local law.`,
		SilenceErrors: true, SilenceUsage: true,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
		Args: usageArgs(cobra.NoArgs),
	}
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return usageError{err} })
	root.AddCommand(
		initCommand(), serveCommand(),
		linesCommand("decide", "Answer questions: may this sling go out for this lift?", decideLong, decide),
		linesCommand("assess", "Answer measurements: may this sling stay in service?", assessLong, assess),
		linesCommand("due", "Answer records: when is this sling due next?", dueLong, nextDue),
		readCommand(), verifyCommand(), pinCommand(), versionCommand(),
	)
	for _, c := range root.Commands() {
		c.Args = usageArgs(c.Args)
	}
	return root
}

// usageArgs turns a complaint about arguments into a usage error.
func usageArgs(check cobra.PositionalArgs) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if check == nil {
			return nil
		}
		if err := check(cmd, args); err != nil {
			return usageError{fmt.Errorf("%s: %w", cmd.Name(), err)}
		}
		return nil
	}
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

func versionCommand() *cobra.Command {
	return &cobra.Command{
		Use: "version", Short: "Print the version", Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			_, err := fmt.Fprintln(cmd.OutOrStdout(), release.Version())
			return err
		},
	}
}
