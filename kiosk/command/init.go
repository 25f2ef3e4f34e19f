package command

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/release"
	"cribgate/core/tagcode"
	"cribgate/kiosk/counter"
	"cribgate/kiosk/desk"
	"cribgate/labeler/commandline"
	"cribgate/store"
	"cribgate/store/keyring"
)

// registerFlag is the one flag that most commands share.
func registerFlag(cmd *cobra.Command, path *string) {
	cmd.Flags().StringVar(path, "register", "crib", "directory of the register, or its register.sqlite")
}

type founding struct {
	register, name, units, rules, zone, keeper, prefix string
}

func initCommand() *cobra.Command {
	var f founding
	cmd := &cobra.Command{
		Use:   "init",
		Short: "Make a register, its key and its first keeper",
		Long: `Makes the directory of a new register: the register itself, the desk file with
PINs and sessions, and a key that seals tags. It prints a one-time PIN for the
first keeper, who changes it when signing in for the first time. Nothing that is
there already is touched.

Keep a copy of the keys directory apart from the machine: whoever has a key can
make tags.`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return found(cmd.Context(), f, cmd.OutOrStdout())
		},
	}
	registerFlag(cmd, &f.register)
	cmd.Flags().StringVar(&f.name, "name", "", "name of the crib (required)")
	cmd.Flags().StringVar(&f.keeper, "keeper", "", "name of the first keeper (required)")
	cmd.Flags().StringVar(&f.units, "units", "lb-in", "units that lead on pages: lb-in or kg-mm")
	cmd.Flags().StringVar(&f.rules, "rules", "us", "inspection intervals: us, en, uk or yard")
	cmd.Flags().StringVar(&f.zone, "zone", "UTC", "time zone of the crib, such as America/Chicago")
	cmd.Flags().StringVar(&f.prefix, "prefix", "", "in front of each tag's text, HTTPS://HOST/ in capitals; none by default")
	return cmd
}

// firstPolicy is the policy of a crib that has decided nothing yet: the longest
// interval of the rules, and the rest site policy, no source.
func firstPolicy(rules due.Rules) event.Policy {
	p := gate.DefaultPolicy()
	months := p.MaxMonths
	if row, ok := due.Find(due.Normal, rules); ok {
		months = row.Months
	}
	return event.Policy{MaxMonths: months, MaxTilt: p.MaxTilt, MarginPct: 10, AskEvery: 20}
}

func found(ctx context.Context, f founding, out io.Writer) (err error) {
	rules, known := due.ParseRules(f.rules)
	units, unitsKnown := quantity.ParseUnits(f.units)
	_, zoneErr := time.LoadLocation(f.zone)
	_, prefixErr := tagcode.Sealed{}.WithPrefix(f.prefix)
	crib, cribErr := event.CheckName(f.name)
	keeperName, nameErr := event.CheckName(f.keeper)
	switch {
	case f.name == "" || f.keeper == "":
		return commandline.Usagef("init: --name and --keeper are needed")
	case !known:
		return commandline.Usagef("init: --rules %q is not us, en, uk or yard", f.rules)
	case !unitsKnown:
		return commandline.Usagef("init: --units %q is not lb-in or kg-mm", f.units)
	case f.zone == "" || f.zone == "Local": // would be another one on another machine
		return commandline.Usagef("init: --zone: a time zone's name, such as Europe/Berlin, is needed")
	case zoneErr != nil:
		return commandline.Usagef("init: --zone: %w", zoneErr)
	case cribErr != nil:
		return commandline.Usagef("init: --name: %w", cribErr)
	case nameErr != nil:
		return commandline.Usagef("init: --keeper: %w", nameErr)
	case prefixErr != nil:
		return commandline.Usagef("init: --prefix: %w", prefixErr)
	}
	register, deskFile, keys := store.Paths(f.register)
	for _, path := range []string{register, deskFile} {
		if _, err := os.Lstat(path); err == nil {
			return fmt.Errorf("init: %s: %w", path, store.ErrExists)
		}
	}
	if err := os.MkdirAll(filepath.Dir(register), 0o700); err != nil {
		return fmt.Errorf("init: %w", err)
	}
	key, err := keyring.Create(keys, rand.Reader)
	if err != nil {
		return fmt.Errorf("init: %w", err)
	}
	policy := firstPolicy(rules)
	policy.Prefix = f.prefix
	st, keeper, err := store.Init(ctx, register, store.Founding{
		Name: crib, Units: units, Rules: rules, Zone: f.zone,
		Policy: policy, Key: key.Fingerprint(), Keeper: keeperName, Station: "setup",
	}, store.Options{Program: release.Version()})
	if err != nil {
		return fmt.Errorf("init: %w", err)
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	pin, err := firstPIN(ctx, st, deskFile, keeper)
	if err != nil {
		return fmt.Errorf("init: %w", err)
	}
	_, err = fmt.Fprintf(out, `register  %s
desk      %s
keys      %s (key %s; keep a copy elsewhere)
keeper    %s
PIN       %s (one time: it is changed at the first sign-in, and shown nowhere again)

next: kiosk serve --register %s
`, register, deskFile, keys, key.Fingerprint(), keeperName, pin, f.register)
	return err
}

// errNoDesk says that the register stands and nobody can sign in yet.
var errNoDesk = errors.New("the register was made, and its desk was not")

// firstPIN makes the desk and gives the keeper a one-time PIN.
func firstPIN(ctx context.Context, st *store.Store, deskFile string, keeper event.PersonID) (pin string, err error) {
	if err := desk.Init(ctx, deskFile); err != nil {
		return "", fmt.Errorf("%w: %w", errNoDesk, err)
	}
	d, err := desk.Open(ctx, deskFile, desk.Options{})
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, d.Close()) }()
	pin, err = d.SetOneTime(ctx, keeper.String())
	if err != nil {
		return "", err
	}
	who := counter.Who{Person: keeper, Station: "setup", Way: counter.Program}
	return pin, counter.New(st, keyring.Ring{}).PINWasSet(ctx, who, keeper, true)
}
