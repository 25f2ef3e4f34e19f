package commandline

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

const settingsFlag = "settings"

const settingsHelp = `Each flag is also a setting: where it is not given, the environment is asked
(CRIBGATE_REGISTER for --register), and then the file that --settings names, of
lines NAME = VALUE; # begins a line that is not read.`

// insteadOf marks a flag with the flags that it cannot stand beside, and settled
// one that was not typed.
const (
	insteadOf = "cribgate_instead_of"
	settled   = "cribgate_settled"
)

// Either says that the flags of one group stand instead of those of the others:
// where one of them is given, those of the others are not filled from weaker
// sources. The command still has to refuse them where they are given alike.
func Either(cmd *cobra.Command, groups ...[]string) {
	for i, group := range groups {
		others := slices.Concat(slices.Concat(groups[:i]...), slices.Concat(groups[i+1:]...))
		for _, name := range group {
			flag := cmd.Flags().Lookup(name)
			if flag == nil {
				panic(fmt.Sprintf("commandline: %s has no flag %q", cmd.Name(), name))
			}
			annotate(flag, insteadOf, others)
		}
	}
}

// Typed reports whether a flag was given on the command line itself: a command
// that has no use for a flag refuses what was typed, and lets be what the
// settings say for others.
func Typed(cmd *cobra.Command, name string) bool {
	flag := cmd.Flags().Lookup(name)
	if flag == nil || !flag.Changed {
		return false
	}
	_, fromElsewhere := flag.Annotations[settled]
	return !fromElsewhere
}

func annotate(flag *pflag.Flag, key string, values []string) {
	if flag.Annotations == nil {
		flag.Annotations = map[string][]string{}
	}
	flag.Annotations[key] = values
}

// settle fills the flags that were not given from the environment, and what is
// then left from the settings file: flag over environment over file. A name in
// the file that no command has is an error; one that this command has not is
// another's.
func settle(cmd *cobra.Command) error {
	err := fill(cmd, func(flag string) (string, bool) { return os.LookupEnv(variable(flag)) }, func(flag string) string {
		return "environment " + variable(flag)
	})
	if err != nil {
		return err
	}
	file := cmd.Flag(settingsFlag).Value.String()
	if file == "" {
		return nil
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return &UsageError{fmt.Errorf("settings: %w", err)}
	}
	settings, err := parse(text)
	if err != nil {
		return Usagef("settings %s: %w", file, err)
	}
	for _, name := range slices.Sorted(maps.Keys(settings)) {
		if !known(cmd.Root(), name) {
			return Usagef("settings %s: %q is no setting of %s", file, name, cmd.Root().Name())
		}
	}
	return fill(cmd, func(flag string) (string, bool) {
		value, ok := settings[flag]
		return value, ok
	}, func(flag string) string { return "settings " + file + ": " + flag })
}

// variable is the name of a flag's environment variable.
func variable(flag string) string {
	return "CRIBGATE_" + strings.ToUpper(strings.ReplaceAll(flag, "-", "_"))
}

// fill sets what stronger sources have left from one source; where says for an
// error where a value came from.
func fill(cmd *cobra.Command, source func(flag string) (string, bool), where func(flag string) string) error {
	given := map[string]bool{}
	cmd.Flags().Visit(func(f *pflag.Flag) { given[f.Name] = true })
	var failed []error
	cmd.Flags().VisitAll(func(f *pflag.Flag) {
		ruledOut := slices.ContainsFunc(f.Annotations[insteadOf], func(other string) bool { return given[other] })
		value, has := source(f.Name)
		if !has || given[f.Name] || ruledOut || f.Name == "help" {
			return
		}
		if err := cmd.Flags().Set(f.Name, value); err != nil {
			failed = append(failed, fmt.Errorf("%s: %w", where(f.Name), err))
		}
		annotate(f, settled, nil)
	})
	if len(failed) > 0 {
		return &UsageError{errors.Join(failed...)}
	}
	return nil
}

// known tells whether a command under root, or root, has a setting of that name.
func known(root *cobra.Command, name string) bool {
	if name == settingsFlag || name == "help" {
		return false
	}
	return root.Flags().Lookup(name) != nil || root.PersistentFlags().Lookup(name) != nil ||
		slices.ContainsFunc(root.Commands(), func(c *cobra.Command) bool { return known(c, name) })
}

// parse reads NAME = VALUE lines; blank lines and lines that start with # are
// skipped.
func parse(text []byte) (map[string]string, error) {
	settings := map[string]string{}
	lines := bufio.NewScanner(bytes.NewReader(text))
	for n := 1; lines.Scan(); n++ {
		line := strings.TrimSpace(lines.Text())
		if line == "" || line[0] == '#' {
			continue
		}
		name, value, ok := strings.Cut(line, "=")
		name = strings.TrimSpace(name)
		if _, twice := settings[name]; !ok || name == "" || twice {
			return nil, fmt.Errorf("line %d is not NAME = VALUE, or a name stands twice", n)
		}
		settings[name] = strings.TrimSpace(value)
	}
	if err := lines.Err(); err != nil {
		return nil, err
	}
	return settings, nil
}
