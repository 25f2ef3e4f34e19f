package command

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"cribgate/core/release"
	"cribgate/labeler/commandline"
	"cribgate/store"
)

func verifyCommand() *cobra.Command {
	var register string
	cmd := &cobra.Command{
		Use:   "verify",
		Short: "Walk the register's chain from end to end",
		Long: `Reads every envelope and body of the register in one pass: positions without
gaps, each hash of the one before, parents, commitments, spelling; then tells the
whole story again and holds it against the present. It changes nothing and may
run beside the kiosk. It says where the chain breaks, and prints the head to be
compared with one on paper.`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return verify(cmd.Context(), register, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	registerFlag(cmd, &register)
	return cmd
}

func verify(ctx context.Context, register string, out, errOut io.Writer) (err error) {
	st, err := openRegister(ctx, register)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	bar := commandline.NewProgress(errOut, "verify")
	report, err := st.Verify(ctx, bar.Show)
	bar.End()
	if err != nil {
		return fmt.Errorf("verify %s: %w", register, err)
	}
	return printReport(out, report)
}

// errBroken says that the register is not what it should be.
var errBroken = errors.New("verify: the register does not hold")

// printReport says what was found, one line a break.
func printReport(out io.Writer, r store.Report) error {
	verdict := "holds"
	if !r.Whole() {
		verdict = "does not hold"
	}
	text := fmt.Sprintf("register  %s: %d events\nlog       %s\nhead      %d %s\nnewest    %s\n",
		verdict, r.Events, r.Head.Log, r.Head.At, r.Head.Hash, r.Head.Time.Format(time.RFC3339))
	for _, b := range r.Breaks {
		text += fmt.Sprintf("break     %s\n", b)
	}
	if _, err := io.WriteString(out, text); err != nil {
		return fmt.Errorf("verify: write the report: %w", err)
	}
	if !r.Whole() {
		return errBroken
	}
	return nil
}

// openRegister opens the register that a path names.
func openRegister(ctx context.Context, path string) (*store.Store, error) {
	file, _, _ := store.Paths(path)
	return store.Open(ctx, file, store.Options{Program: release.Version()})
}
