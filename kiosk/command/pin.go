package command

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"os"

	"github.com/spf13/cobra"

	"cribgate/core/event"
	"cribgate/core/release"
	"cribgate/kiosk/desk"
	"cribgate/labeler/commandline"
	"cribgate/store"
)

func pinCommand() *cobra.Command {
	var register, name string
	cmd := &cobra.Command{
		Use:   "pin",
		Short: "Give a person a one-time PIN from the console",
		Long: `Gives the person with that name a one-time PIN, which lifts a lock and ends that
person's sessions. Where the desk file is gone, a new one is made first. It is for
the keeper who is locked out: whoever can write the register's directory can do it,
and the register says that it was done.`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if name == "" {
				return commandline.Usagef("pin: --name is needed")
			}
			return givePIN(cmd.Context(), register, name, cmd.OutOrStdout())
		},
	}
	registerFlag(cmd, &register)
	cmd.Flags().StringVar(&name, "name", "", "the person's name as it stands in the register (required)")
	return cmd
}

func givePIN(ctx context.Context, register, name string, out io.Writer) (err error) {
	_, deskFile, _ := store.Paths(register)
	if err := remakeDesk(ctx, register, deskFile); err != nil {
		return fmt.Errorf("pin: %w", err)
	}
	k, err := Open(ctx, register, store.Options{Program: release.Version(), Log: slog.New(slog.DiscardHandler)})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, k.Close()) }()
	person, err := k.Counter.Named(ctx, name)
	if err != nil {
		return fmt.Errorf("pin: %s: %w", name, err)
	}
	act := store.Act{Station: "console", Way: "program"}
	_, err = k.Store.Do(ctx, act, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		p, err := tx.Person(ctx, person.ID)
		if err != nil {
			return nil, err
		}
		_, err = tx.Append(ctx, event.Person(p.ID), p.Heads, event.PINSet{OneTime: true})
		return nil, err
	})
	if err != nil {
		return fmt.Errorf("pin: %w", err)
	}
	pin, err := k.Desk.SetOneTime(ctx, person.ID.String())
	if err != nil {
		return fmt.Errorf("pin: %w", err)
	}
	_, err = fmt.Fprintf(out, "%s: %s (one time: it is changed at the next sign-in, and shown nowhere again)\n", person.Name, pin)
	return err
}

// remakeDesk makes a desk beside a register that has none.
func remakeDesk(ctx context.Context, register, deskFile string) error {
	if _, err := os.Lstat(deskFile); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	st, err := openRegister(ctx, register) // never a desk without a register
	if err != nil {
		return err
	}
	return errors.Join(desk.Init(ctx, deskFile), st.Close())
}
