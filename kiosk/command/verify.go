package command

import (
	"context"
	"errors"
	"fmt"
	"io"
	"runtime/debug"
	"time"

	"github.com/spf13/cobra"

	"cribgate/core/release"
	"cribgate/core/tagcode"
	"cribgate/labeler/commandline"
	"cribgate/store"
)

func verifyCommand() *cobra.Command {
	var register, against string
	cmd := &cobra.Command{
		Use:   "verify",
		Short: "Walk the register's chain from end to end",
		Long: `Reads every envelope and body of the register in one pass: positions without
gaps, each hash of the one before, parents, commitments, spelling; then tells the
whole story again and holds it against the present. It changes nothing and may
run beside the kiosk. It says where the chain breaks, and prints the head as a
sheet of paper shows it.

Whoever can write the file can write all of it anew, and it holds in itself then.
--against tells: it takes a copy of the register, or a head off a sheet that was
filed, as position and digits in quotes ("17 3f2a9c01", more digits are better)
or as the text of the sheet's symbol, and says whether that is in the chain.`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return verify(cmd.Context(), register, against, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	registerFlag(cmd, &register)
	cmd.Flags().StringVar(&against, "against", "", `a copy of the register, or a head on paper such as "17 3f2a9c01"`)
	return cmd
}

func verify(ctx context.Context, register, against string, out, errOut io.Writer) (err error) {
	witness, closeWitness, err := witnessOf(ctx, against)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, closeWitness()) }()
	st, err := openRegister(ctx, register)
	if errors.Is(err, store.ErrDamaged) {
		return errors.Join(err, examine(ctx, register, out))
	}
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	// Each event is looked at once and let go. While no more than the present of the
	// crib is held, collecting after every tenth megabyte took a sixth of the time.
	defer debug.SetGCPercent(debug.SetGCPercent(400))
	bar := commandline.NewProgress(errOut, "verify")
	report, err := st.VerifyAs(ctx, store.Verification{Progress: bar.Show, Against: witness})
	bar.End()
	if err != nil {
		return fmt.Errorf("verify %s: %w", register, err)
	}
	return printReport(out, report, against != "")
}

// witnessOf finds out what the register is to be held against: nil for nothing.
func witnessOf(ctx context.Context, against string) (w store.Witness, end func() error, err error) {
	end = func() error { return nil }
	if against == "" {
		return nil, end, nil
	}
	if head, err := tagcode.ParseShownHead(against); err == nil {
		return store.Paper(head), end, nil
	}
	file, err := store.OpenWitness(ctx, against)
	if err != nil {
		return nil, end, err
	}
	return file, file.Close, nil
}

var (
	// errBroken says that the register is not what it should be.
	errBroken = errors.New("verify: the register does not hold")
	// errParts says that it is not what it was.
	errParts = errors.New("verify: the register does not hold what it was held against")
)

// printReport says what was found, one line a break.
func printReport(out io.Writer, r store.Report, against bool) error {
	verdict := "holds"
	if !r.Whole() {
		verdict = "does not hold"
	}
	text := fmt.Sprintf("register  %s: %d events\nlog       %s\nhead      %d %s\nnewest    %s\n",
		verdict, r.Events, r.Head.Log, r.Head.At, r.Head.Hash, r.Head.Time.Format(time.RFC3339))
	if seal, err := (tagcode.Head{At: r.Head.At, Hash: r.Head.Hash}).Text(); err == nil { // else there is no head
		text += fmt.Sprintf("symbol    %s\n", seal)
	}
	parts := against && (r.Against == nil || !r.Against.Holds())
	switch {
	case r.Against != nil:
		text += fmt.Sprintf("against   %s\n", r.Against)
	case against:
		text += "against   not compared: the log cannot be read to its end\n"
	}
	if r.Erased > 0 {
		text += fmt.Sprintf("erased    %d bodies, as the chain says\n", r.Erased)
	}
	for _, b := range r.Breaks {
		text += fmt.Sprintf("break     %s\n", b)
	}
	if _, err := io.WriteString(out, text); err != nil {
		return fmt.Errorf("verify: write the report: %w", err)
	}
	switch {
	case !r.Whole():
		return errBroken
	case parts:
		return errParts
	}
	return nil
}

// examine says of a register that cannot be opened what is wrong with its file.
func examine(ctx context.Context, register string, out io.Writer) error {
	file, _, _ := store.Paths(register)
	found, err := store.Examine(ctx, file)
	if err != nil {
		return err
	}
	text := "register  cannot be opened\n"
	for _, sentence := range found {
		text += fmt.Sprintf("break     %s\n", sentence)
	}
	if _, err := io.WriteString(out, text); err != nil {
		return fmt.Errorf("verify: write the report: %w", err)
	}
	return nil
}

// openRegister opens the register that a path names.
func openRegister(ctx context.Context, path string) (*store.Store, error) {
	file, _, _ := store.Paths(path)
	return store.Open(ctx, file, store.Options{Program: release.Version()})
}
