package command

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/release"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/labeler/commandline"
	"cribgate/store"
	"cribgate/store/keyring"
	"cribgate/store/photos"
)

// errNotEmpty says that a register is not restored into something that is there.
var errNotEmpty = errors.New("there is something there already; nothing was changed")

func restoreCommand() *cobra.Command {
	var from, register, why, keys string
	cmd := &cobra.Command{
		Use:   "restore",
		Short: "Bring a register back from a copy",
		Long: `Makes a register in a new directory from a copy that backup made. The copy is
walked to its end first and is not changed.

What happened after the copy is not in the register, and nobody knows what it was.
So the register goes on in a new log, whose first event says from which copy it
was made and why, and every sling stays until tag, plate and record were compared:
at the counter the tag is scanned on the sling and the end of the plate's
identification typed. A tag that knows more than the register is refused and
listed. Take back what comes back as usual.`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if from == "" || why == "" {
				return commandline.Usagef("restore: --from and --why are needed")
			}
			return restore(cmd.Context(), from, register, why, keys, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	cmd.Flags().StringVar(&from, "from", "", "the copy (required)")
	cmd.Flags().StringVar(&register, "register", "crib", "directory of the new register; it must not be there yet")
	cmd.Flags().StringVar(&why, "why", "", "why it is brought back; the register keeps it (required)")
	keysFromFlag(cmd, &keys)
	return cmd
}

func keysFromFlag(cmd *cobra.Command, keys *string) {
	cmd.Flags().StringVar(keys, "keys-from", "", "directory of the key files to put beside the register")
}

func restore(ctx context.Context, from, register, why, keys string, out, errOut io.Writer) error {
	file, err := newPlace(register)
	if err != nil {
		return fmt.Errorf("restore: %w", err)
	}
	bars := newStages(errOut)
	r, err := store.Restore(ctx, from, file, why, store.Options{Program: release.Version()}, bars.show)
	bars.end()
	if err != nil {
		return fmt.Errorf("restore: %w", err)
	}
	pictures, err := photos.In(filepath.Dir(from)).CopyTo(photos.In(filepath.Dir(file)))
	if err != nil {
		return fmt.Errorf("restore: the register was restored, and then: %w", err)
	}
	text := fmt.Sprintf("register  %s\npictures  %d\n", file, pictures) + toldRestoration(r)
	return finish(ctx, "restore", register, keys, text, r, out)
}

func recoverCommand() *cobra.Command {
	var register, from, to, why, keys string
	cmd := &cobra.Command{
		Use:   "recover",
		Short: "Bring a damaged register back from a copy and what can still be read of it",
		Long: `Makes a register in a new directory from a copy and from what a damaged register
tells beyond it: event after event, as long as each can be read, follows the one
before it in the chain and has its body. It stops at the first that does not, and
says what could not be brought back. The damaged register is not changed; stop the
kiosk that serves it first, and keep it.

The rest is as for restore: a new log, and every sling stays until tag, plate and
record were compared.`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if from == "" || to == "" || why == "" {
				return commandline.Usagef("recover: --copy, --out and --why are needed")
			}
			return recoverRegister(cmd.Context(), register, from, to, why, keys, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	cmd.Flags().StringVar(&register, "register", "crib", "directory of the damaged register, or its register.sqlite")
	cmd.Flags().StringVar(&from, "copy", "", "a copy of it (required)")
	cmd.Flags().StringVar(&to, "out", "", "directory of the new register; it must not be there yet (required)")
	cmd.Flags().StringVar(&why, "why", "", "what happened; the register keeps it (required)")
	keysFromFlag(cmd, &keys)
	return cmd
}

func recoverRegister(ctx context.Context, register, from, to, why, keys string, out, errOut io.Writer) error {
	file, err := newPlace(to)
	if err != nil {
		return fmt.Errorf("recover: %w", err)
	}
	damaged, _, damagedKeys := store.Paths(register)
	bars := newStages(errOut)
	r, err := store.Recover(ctx, damaged, from, file, why, store.Options{Program: release.Version()}, bars.show)
	bars.end()
	if err != nil {
		return fmt.Errorf("recover: %w", err)
	}
	pictures := 0
	for _, dir := range []string{filepath.Dir(damaged), filepath.Dir(from)} { // a picture that is damaged here may be whole there
		n, err := photos.In(dir).CopyTo(photos.In(filepath.Dir(file)))
		if err != nil && !errors.Is(err, photos.ErrDamaged) {
			return fmt.Errorf("recover: the register was recovered, and then: %w", err)
		}
		pictures += n
	}
	text := fmt.Sprintf("register  %s\npictures  %d\ncopy      told up to position %d\n", file, pictures, r.Copy) + toldRecovery(r) + toldRestoration(r.Restoration)
	if keys == "" {
		keys = damagedKeys
	}
	return finish(ctx, "recover", to, keys, text, r.Restoration, out)
}

// newPlace gives the register's file in a directory that is not there yet, or is
// empty.
func newPlace(dir string) (file string, err error) {
	file, _, _ = store.Paths(dir)
	if filepath.Dir(file) != filepath.Clean(dir) {
		return "", commandline.Usagef("%s: the directory is named, not the file", dir)
	}
	vacant, err := store.Vacant(dir)
	if err == nil && !vacant {
		err = fmt.Errorf("%s: %w", dir, errNotEmpty)
	}
	if err != nil {
		return "", err
	}
	return file, nil
}

// toldRestoration says what was brought back and what was not.
func toldRestoration(r store.Restoration) string {
	newest := r.From.Time.Format(time.RFC3339)
	return fmt.Sprintf(`from      log %s up to position %d, %s
log       %s
head      %d %s
compare   %s until tag and plate were compared
gone      whatever happened after %s: look for it on paper, and ask
`, r.From.Log, r.From.At, newest, r.Head.Log, r.Head.At, r.Head.Hash, slings(r.ToCompare), newest)
}

func slings(n int) string {
	if n == 1 {
		return "1 sling stays"
	}
	return fmt.Sprintf("%d slings stay", n)
}

func toldRecovery(r store.Recovery) string {
	text := "beyond    nothing was read from the damaged register\n"
	if r.From.At > r.Copy {
		text = fmt.Sprintf("beyond    %s read from the damaged register\n", positions(r.Copy+1, r.From.At))
	}
	from, to := r.Lost()
	if from == 0 {
		return text + "lost      nothing that the damaged register shows a trace of\n"
	}
	return text + fmt.Sprintf("lost      %s, and whatever came after\nbecause   %s\n", positions(from, to), r.Stop)
}

func positions(from, to int64) string {
	if from == to {
		return fmt.Sprintf("position %d", from)
	}
	return fmt.Sprintf("positions %d to %d", from, to)
}

// finish puts the keys beside the new register, and prints what was done and what
// is to be done next.
func finish(ctx context.Context, what, register, keys, text string, r store.Restoration, out io.Writer) (err error) {
	_, _, keysDir := store.Paths(register)
	if keys != "" {
		if _, err := copyKeys(keys, keysDir); err != nil {
			return fmt.Errorf("%s: the register was made; its keys: %w", what, err)
		}
	}
	st, err := openRegister(ctx, register)
	if err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	crib, err := st.Crib(ctx)
	if err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	people, err := st.People(ctx)
	if err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	ring, err := keyring.Load(keysDir)
	if err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	_, err = io.WriteString(out, text+nextSteps(register, keysDir, crib, people, ring, time.Since(r.From.Time)))
	if err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	return nil
}

// nextSteps says what a restored register still wants, of which the newest event
// is so old.
func nextSteps(register, keysDir string, crib state.Crib, people []state.Person, ring keyring.Ring, age time.Duration) string {
	keeper := "KEEPER"
	for _, p := range people {
		if p.May(event.Keeper, quantity.Date{}) {
			keeper = p.Name
			break
		}
	}
	text := "\nnext:\n"
	if missing := missingKeys(crib.Keys, ring); len(missing) > 0 {
		text += fmt.Sprintf("put the key files %s into %s, else no tags can be printed and none told from a forgery\n", strings.Join(missing, ", "), keysDir)
	}
	if age > store.Leap {
		text += "give PINs to a keeper and an inspector: the record ends more than a day ago, so both confirm the date on the clock page\n"
	}
	return text + fmt.Sprintf(`kiosk pin --register %s --name %q   makes the desk and gives a PIN; everybody needs a new one
kiosk serve --register %s   the page "To compare" lists the slings
`, register, keeper, register)
}

func missingKeys(named []tagcode.Fingerprint, ring keyring.Ring) []string {
	var missing []string
	for _, f := range named {
		if _, err := ring.Current(f); err != nil {
			missing = append(missing, f.String()+".key")
		}
	}
	return missing
}
