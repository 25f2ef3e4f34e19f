package command

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"cribgate/labeler/commandline"
	"cribgate/store"
	"cribgate/store/keyring"
	"cribgate/store/photos"
)

func backupCommand() *cobra.Command {
	var register, to string
	var keys bool
	cmd := &cobra.Command{
		Use:   "backup",
		Short: "Copy the register while it is in use",
		Long: `Makes a copy of the register in a directory, beside a kiosk that goes on serving:
one file, register-LOG-POSITION.sqlite. It gets that name only after it was opened
and its chain walked to the end, as verify does; a copy that was killed half-way
has no name and is swept away later.

PINs and sessions are not copied: after a restore everybody gets a new PIN. Keys
are copied only with --keys, to the directory keys beside the copies; whoever has
a key can make tags, so keep them apart from the copies where you can. Put the
directory on another disk than the register's: a copy beside it burns with it.

Write the head that is printed on paper. It tells years later whether a register
is the one that it was.`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if to == "" {
				return commandline.Usagef("backup: --to is needed")
			}
			return backup(cmd.Context(), register, to, keys, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	registerFlag(cmd, &register)
	cmd.Flags().StringVar(&to, "to", "", "directory of the copies (required)")
	cmd.Flags().BoolVar(&keys, "keys", false, "copy the keys as well, to the directory keys beside the copies")
	return cmd
}

func backup(ctx context.Context, register, to string, keys bool, out, errOut io.Writer) (err error) {
	st, err := openRegister(ctx, register)
	if err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	bars := newStages(errOut)
	c, err := st.Copy(ctx, to, store.Copying{Progress: bars.show})
	bars.end()
	if err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	rec, err := st.Since(ctx, c.At-1, 1)
	if err != nil || len(rec) == 0 {
		return fmt.Errorf("backup: read the head of the copy: %w", err)
	}
	file, _, _ := store.Paths(register)
	pictures, err := photos.In(filepath.Dir(file)).CopyTo(photos.In(to))
	if err != nil {
		return fmt.Errorf("backup: the register was copied to %s, and then: %w", c.Path, err)
	}
	text := fmt.Sprintf("copy      %s\nhead      %d %s\nnewest    %s\n", c.Path, c.At, rec[0].Hash, rec[0].Envelope.UTC.Format(time.RFC3339))
	text += fmt.Sprintf("pictures  %d more\n", pictures)
	if keys {
		_, _, from := store.Paths(register)
		n, err := copyKeys(from, filepath.Join(to, "keys"))
		if err != nil {
			return fmt.Errorf("backup: %w", err)
		}
		text += fmt.Sprintf("keys      %d copied to %s\n", n, filepath.Join(to, "keys"))
	} else {
		text += "keys      not copied; --keys does\n"
	}
	if _, err := io.WriteString(out, text); err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	return nil
}

// copyKeys puts every key of one directory into another where it is missing, and
// says how many are there now.
func copyKeys(from, to string) (n int, err error) {
	ring, err := keyring.Load(from)
	if err != nil {
		return 0, err
	}
	for _, key := range ring.All() {
		if err := keyring.Add(to, key); err != nil && !errors.Is(err, keyring.ErrExists) {
			return 0, err
		}
	}
	return len(ring.All()), nil
}

// stages shows how far long work of more than one stage is, where there is a
// terminal.
type stages struct {
	w     io.Writer
	stage string
	bar   *commandline.Progress
}

func newStages(w io.Writer) *stages { return &stages{w: w, bar: &commandline.Progress{}} }

func (s *stages) show(stage string, done, total int64) {
	if stage != s.stage {
		s.bar.End()
		s.stage, s.bar = stage, commandline.NewProgress(s.w, stage)
	}
	s.bar.Show(done, total)
}

func (s *stages) end() { s.bar.End() }
