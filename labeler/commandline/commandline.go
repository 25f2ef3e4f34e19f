// Package commandline is how the command lines of this house behave: what they
// say when something fails, where their settings come from, and how they show
// that they are at work. It knows no command.
//
// A program builds its commands with [Root] and runs them with [Run]. Its exit
// status is 0 where all was done, 1 where something failed and 2 where the
// command line cannot be understood ([UsageError]). An error is said in one line
// after the program's name, and after it, where there is one, the hint what to do.
//
// Each flag is also a setting: what was not given as a flag is taken from the
// environment (CRIBGATE_LISTEN for --listen), and what is not there from the file
// that --settings names. [Either] keeps a setting of one way to work from
// getting between the flags of another.
package commandline

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"cribgate/core/release"
)

// Root finishes the root of a program's commands and adds them, and version: it
// says nothing by itself, takes settings before each command runs, and calls
// every complaint about flags and arguments wrong usage. A command that says
// nothing about its arguments takes none.
func Root(root *cobra.Command, commands ...*cobra.Command) *cobra.Command {
	root.SilenceErrors, root.SilenceUsage = true, true
	if root.RunE == nil {
		root.RunE = func(cmd *cobra.Command, _ []string) error { return cmd.Help() }
	}
	root.Long += "\n\n" + settingsHelp
	root.PersistentPreRunE = func(cmd *cobra.Command, _ []string) error { return settle(cmd) }
	root.PersistentFlags().String(settingsFlag, "", "`file` of NAME = VALUE lines")
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return &UsageError{err} })
	root.CompletionOptions.DisableDefaultCmd = true
	root.AddCommand(append(commands, versionCommand())...)
	for _, c := range append(root.Commands(), root) {
		c.Args = usageArgs(c.Args)
	}
	return root
}

// Run runs a command line and gives the exit status. hint says what to do about
// an error, or nothing.
func Run(ctx context.Context, root *cobra.Command, hint func(error) string, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	root.SetArgs(args)
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	err := root.ExecuteContext(ctx)
	if err == nil {
		return 0
	}
	fmt.Fprintf(stderr, "%s: %v\n", root.Name(), err)
	var usage *UsageError
	wrong := errors.As(err, &usage)
	text := hint(err)
	if text == "" && wrong {
		text = fmt.Sprintf("%s help lists the commands, %[1]s help COMMAND its flags", root.Name())
	}
	if text != "" {
		fmt.Fprintf(stderr, "hint: %s\n", text)
	}
	if wrong {
		return 2
	}
	return 1
}

// A UsageError is a command line that cannot be understood. Its zero value is
// none.
type UsageError struct{ Err error }

// Error is what Err says.
func (u *UsageError) Error() string { return u.Err.Error() }

// Unwrap returns Err.
func (u *UsageError) Unwrap() error { return u.Err }

// Usagef makes a UsageError as fmt.Errorf makes an error.
func Usagef(format string, args ...any) error { return &UsageError{fmt.Errorf(format, args...)} }

// usageArgs turns a complaint about arguments into a UsageError.
func usageArgs(check cobra.PositionalArgs) cobra.PositionalArgs {
	if check == nil {
		check = noArgs
	}
	return func(cmd *cobra.Command, args []string) error {
		err := check(cmd, args)
		var usage *UsageError
		if err == nil || errors.As(err, &usage) {
			return err
		}
		return Usagef("%s: %w", cmd.Name(), err)
	}
}

// noArgs refuses arguments: everything is said with flags.
func noArgs(_ *cobra.Command, args []string) error {
	if len(args) > 0 {
		return fmt.Errorf("%q is neither a command nor a flag", args[0])
	}
	return nil
}

func versionCommand() *cobra.Command {
	return &cobra.Command{
		Use: "version", Short: "Print the version",
		Long: `Prints the version of the program: a release, or the commit that it was built
from, with "+dirty" where the files differed from it; "dev" where that is not known.`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if _, err := fmt.Fprintln(cmd.OutOrStdout(), release.Version()); err != nil {
				return fmt.Errorf("version: %w", err)
			}
			return nil
		},
	}
}
