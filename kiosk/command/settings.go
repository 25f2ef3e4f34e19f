package command

import (
	"bufio"
	"errors"
	"fmt"
	"os"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// settle fills the flags that were not given from the environment
// (CRIBGATE_LISTEN for --listen), and what is then left from the settings file
// (--settings, lines of "listen = 127.0.0.1:8480"): flag over environment over
// file. An unknown name in the file is an error.
func settle(cmd *cobra.Command) error {
	given := map[string]bool{}
	cmd.Flags().Visit(func(f *pflag.Flag) { given[f.Name] = true })
	var failed error
	cmd.Flags().VisitAll(func(f *pflag.Flag) {
		name := "CRIBGATE_" + strings.ToUpper(strings.ReplaceAll(f.Name, "-", "_"))
		value, set := os.LookupEnv(name)
		if !set || given[f.Name] || f.Name == "help" {
			return
		}
		given[f.Name] = true
		if err := cmd.Flags().Set(f.Name, value); err != nil {
			failed = errors.Join(failed, fmt.Errorf("environment %s: %w", name, err))
		}
	})
	if failed != nil {
		return usageError{failed}
	}
	file, err := cmd.Flags().GetString("settings")
	if err != nil || file == "" {
		return err
	}
	settings, err := readSettings(file)
	if err != nil {
		return usageError{err}
	}
	for name, value := range settings {
		switch {
		case cmd.Flags().Lookup(name) == nil || name == "settings" || name == "help":
			return usageError{fmt.Errorf("settings %s: %q is no setting of %s", file, name, cmd.Name())}
		case given[name]:
		default:
			if err := cmd.Flags().Set(name, value); err != nil {
				return usageError{fmt.Errorf("settings %s: %s: %w", file, name, err)}
			}
		}
	}
	return nil
}

// readSettings reads "name = value" lines; blank lines and lines that start
// with # are skipped.
func readSettings(file string) (map[string]string, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, fmt.Errorf("settings: %w", err)
	}
	defer f.Close()
	settings := map[string]string{}
	lines := bufio.NewScanner(f)
	for n := 1; lines.Scan(); n++ {
		line := strings.TrimSpace(lines.Text())
		if line == "" || line[0] == '#' {
			continue
		}
		name, value, ok := strings.Cut(line, "=")
		name = strings.TrimSpace(name)
		if _, twice := settings[name]; !ok || name == "" || twice {
			return nil, fmt.Errorf("settings %s: line %d is not NAME = VALUE, or a name stands twice", file, n)
		}
		settings[name] = strings.TrimSpace(value)
	}
	if err := lines.Err(); err != nil {
		return nil, fmt.Errorf("settings %s: %w", file, err)
	}
	return settings, nil
}
