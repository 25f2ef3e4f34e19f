package commandline

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/spf13/cobra"
)

var errBroken = errors.New("it broke")

// program has two commands: show, which says what its settings came to, and
// fail, which takes words and fails.
func program() *cobra.Command {
	var from, to, other string
	var count int
	show := &cobra.Command{
		Use: "show --from A", Short: "Say the settings", Long: "Says what its settings are.", Example: "  prog show --from a",
		RunE: func(cmd *cobra.Command, _ []string) error {
			_, err := fmt.Fprintf(cmd.OutOrStdout(), "from=%s to=%s other=%s count=%d\n", from, to, other, count)
			for _, name := range []string{"from", "count", "none"} {
				if Typed(cmd, name) {
					fmt.Fprintln(cmd.ErrOrStderr(), "typed", name)
				}
			}
			return err
		},
	}
	show.Flags().StringVar(&from, "from", "-", "a `place`")
	show.Flags().StringVar(&to, "to-place", "-", "a place")
	show.Flags().StringVar(&other, "other", "-", "instead of both")
	show.Flags().IntVar(&count, "count", 1, "a number")
	Either(show, []string{"from", "to-place"}, []string{"other"})
	fail := &cobra.Command{
		Use: "fail", Short: "Fail", Long: "Fails.", Args: cobra.MinimumNArgs(1),
		RunE: func(*cobra.Command, []string) error { return fmt.Errorf("fail: %w", errBroken) },
	}
	fail.Flags().String("colour", "", "a colour")
	return Root(&cobra.Command{Use: "prog", Short: "A program", Long: "prog is a program."}, show, fail)
}

func hint(err error) string {
	if errors.Is(err, errBroken) {
		return "mend it"
	}
	return ""
}

func run(args ...string) (status int, out, errOut string) {
	var o, e bytes.Buffer
	status = Run(context.Background(), program(), hint, args, strings.NewReader(""), &o, &e)
	return status, o.String(), e.String()
}

func TestStatusAndWords(t *testing.T) {
	const list = "hint: prog help lists the commands, prog help COMMAND its flags\n"
	for _, c := range []struct {
		args        []string
		status      int
		out, errOut string
	}{
		{[]string{"show"}, 0, "from=- to=- other=- count=1\n", ""},
		{[]string{"version"}, 0, "dev\n", ""},
		{[]string{"fail", "x"}, 1, "", "prog: fail: it broke\nhint: mend it\n"},
		{[]string{"fail"}, 2, "", "prog: fail: requires at least 1 arg(s), only received 0\n" + list},
		{[]string{"show", "more"}, 2, "", "prog: show: \"more\" is neither a command nor a flag\n" + list},
		{[]string{"paint"}, 2, "", "prog: prog: \"paint\" is neither a command nor a flag\n" + list},
		{[]string{"show", "--count", "many"}, 2, "", "prog: invalid argument \"many\" for \"--count\" flag: strconv.ParseInt: parsing \"many\": invalid syntax\n" + list},
		{[]string{"version", "--from", "a"}, 2, "", "prog: unknown flag: --from\n" + list},
	} {
		status, out, errOut := run(c.args...)
		if status != c.status || out != c.out || errOut != c.errOut {
			t.Errorf("%q: %d %q %q, want %d %q %q", c.args, status, out, errOut, c.status, c.out, c.errOut)
		}
	}
	if status, out, _ := run(); status != 0 || !strings.Contains(out, "prog is a program.") || !strings.Contains(out, "CRIBGATE_REGISTER") {
		t.Errorf("without a command: %d, %q", status, out)
	}
}

func TestVersionThatCannotBeWritten(t *testing.T) {
	var e bytes.Buffer
	status := Run(context.Background(), program(), hint, []string{"version"}, nil, failing{}, &e)
	if status != 1 || !strings.Contains(e.String(), os.ErrInvalid.Error()) {
		t.Errorf("%d: %q", status, e.String())
	}
}

// failing is a writer on a full disk.
type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, os.ErrInvalid }

func TestSettings(t *testing.T) {
	file := func(t *testing.T, text string) string {
		t.Helper()
		name := filepath.Join(t.TempDir(), "settings")
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return name
	}
	for name, c := range map[string]struct {
		env    []string // name, value, …
		file   string
		args   []string
		status int
		want   string // in what is written, or in the complaint
	}{
		"nothing is said":              {nil, "", nil, 0, "from=- to=- other=- count=1"},
		"environment":                  {[]string{"FROM", "e", "TO_PLACE", "f"}, "", nil, 0, "from=e to=f"},
		"file":                         {nil, "# places\n\n from = x y \ncount=3\n", nil, 0, "from=x y to=- other=- count=3"},
		"environment over file":        {[]string{"FROM", "e"}, "from=x\ncount=3", nil, 0, "from=e to=- other=- count=3"},
		"an empty one over file":       {[]string{"FROM", ""}, "from=x", nil, 0, "from= to=-"},
		"flag over both":               {[]string{"FROM", "e"}, "from=x", []string{"--from", "a"}, 0, "from=a"},
		"another command's":            {nil, "colour=red\ncount=2", nil, 0, "count=2"},
		"a flag rules out the file":    {nil, "other=x\ncount=2", []string{"--from", "a"}, 0, "from=a to=- other=- count=2"},
		"and the environment":          {[]string{"OTHER", "e"}, "", []string{"--to-place", "a"}, 0, "from=- to=a other=-"},
		"the other way":                {[]string{"FROM", "e"}, "to-place=x", []string{"--other", "a"}, 0, "from=- to=- other=a"},
		"environment rules out file":   {[]string{"OTHER", "e"}, "from=x", nil, 0, "from=- to=- other=e"},
		"the same source has both":     {[]string{"OTHER", "e", "FROM", "f"}, "", nil, 0, "from=f to=- other=e"},
		"flags beside each other stay": {nil, "", []string{"--from", "a", "--other", "b"}, 0, "from=a to=- other=b"},
		"no number in the environment": {[]string{"COUNT", "many"}, "", nil, 2, "environment CRIBGATE_COUNT: invalid argument"},
		"no number in the file":        {nil, "count=many", nil, 2, ": count: invalid argument"},
		"nobody's setting":             {nil, "from=x\nfro=x", nil, 2, `"fro" is no setting of prog`},
		"help is no setting":           {nil, "help=true", nil, 2, `"help" is no setting`},
		"nor is the file":              {nil, "settings=x", nil, 2, `"settings" is no setting`},
		"no value":                     {nil, "from=x\ncount", nil, 2, "line 2 is not NAME = VALUE"},
		"no name":                      {nil, "=x", nil, 2, "line 1 is not NAME = VALUE"},
		"twice":                        {nil, "from=x\nfrom=y", nil, 2, "a name stands twice"},
		"a line without end":           {nil, "from=" + strings.Repeat("x", 1<<16), nil, 2, "token too long"},
		"no such file":                 {nil, "", []string{"--settings", "nowhere/at/all"}, 2, "settings: open nowhere/at/all"},
		"the file by the environment":  {[]string{"SETTINGS", "nowhere/at/all"}, "", nil, 2, "settings: open nowhere/at/all"},
	} {
		t.Run(name, func(t *testing.T) {
			for i := 0; i < len(c.env); i += 2 {
				t.Setenv("CRIBGATE_"+c.env[i], c.env[i+1])
			}
			args := append([]string{"show"}, c.args...)
			if c.file != "" {
				args = append(args, "--settings", file(t, c.file))
			}
			status, out, errOut := run(args...)
			if status != c.status || !strings.Contains(out+errOut, c.want) {
				t.Errorf("%d %q %q, want %d with %q", status, out, errOut, c.status, c.want)
			}
		})
	}
}

func TestTyped(t *testing.T) {
	t.Setenv("CRIBGATE_COUNT", "3")
	if _, out, typed := run("show", "--from", "a"); typed != "typed from\n" || !strings.Contains(out, "count=3") {
		t.Errorf("%q, typed %q", out, typed)
	}
	if _, _, typed := run("show", "--count", "1"); typed != "typed count\n" {
		t.Errorf("typed %q", typed)
	}
}

func TestDoc(t *testing.T) {
	got, err := Doc(program())
	if err != nil {
		t.Fatal(err)
	}
	const want = `// The prog is a program.
//
// Each flag is also a setting: where it is not given, the environment is asked
// (CRIBGATE_REGISTER for --register), and then the file that --settings names, of
// lines NAME = VALUE; # begins a line that is not read.
//
//	Usage:
//
//	  prog COMMAND
//
//	Commands:
//
//	  fail         Fail
//	  show         Say the settings
//	  version      Print the version
//
// # prog fail
//
// Fails.
//
//	Usage:
//
//	  prog fail [flags]
//
//	Flags:
//
//	      --colour string   a colour
//
// # prog show
//
// Says what its settings are.
//
//	Usage:
//
//	  prog show --from A [flags]
//
//	Flags:
//
//	      --count int         a number (default 1)
//	      --from place        a place (default "-")
//	      --other string      instead of both (default "-")
//	      --to-place string   a place (default "-")
//
//	Examples:
//
//	  prog show --from a
//
// # prog version
//
// Prints the version of the program: a release, or the commit that it was built
// from, with "+dirty" where the files differed from it; "dev" where that is not known.
//
//	Usage:
//
//	  prog version
package main
`
	if string(got) != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}
