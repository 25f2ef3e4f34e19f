package command

import (
	"crypto/rand"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"cribgate/core/tagcode"
	"cribgate/labeler/commandline"
	"cribgate/store/keyring"
)

func keyCommand() *cobra.Command {
	var out string
	cmd := &cobra.Command{
		Use:   "key --out FILE",
		Short: "Make a key that seals tags",
		Long: `Draws a key and writes it to a new file that only its owner can read. It prints
the key's fingerprint, which every tag made with the key carries.

A register has its own keys, made by kiosk init; this is for tags printed from
lines. Keep a copy: tags made with a lost key can no longer be told from forged
ones where there is no record of them.`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if out == "" {
				return commandline.Usagef("key: --out is missing")
			}
			key, err := tagcode.NewKey(rand.Reader)
			if err != nil {
				return err
			}
			if err := keyring.WriteFile(out, key); err != nil {
				return err
			}
			_, err = fmt.Fprintf(cmd.OutOrStdout(), "%s\t%s\n", key.Fingerprint(), out)
			return err
		},
	}
	cmd.Flags().StringVar(&out, "out", "", "the new key `file`")
	return cmd
}

// readKey reads a key file, and warns on w where it is open to others.
func readKey(path string, w io.Writer) (tagcode.Key, error) {
	key, err := keyring.ReadFile(path)
	if err != nil {
		return tagcode.Key{}, err
	}
	if open, err := keyring.Exposed(path); err != nil || !open {
		return key, err
	}
	return key, warn(w, path)
}

// warn says of key files that they are open to others.
func warn(w io.Writer, files ...string) error {
	for _, file := range files {
		if _, err := fmt.Fprintf(w, "labeler: warning: %s: %s\nhint: chmod go= %[2]s\n", keyring.Warning, file); err != nil {
			return fmt.Errorf("warn of an open key file: %w", err)
		}
	}
	return nil
}
