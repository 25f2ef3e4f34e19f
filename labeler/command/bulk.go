package command

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"cribgate/core/quantity"
	"cribgate/core/release"
	"cribgate/labeler/bulk"
	"cribgate/labeler/commandline"
	"cribgate/labeler/print"
	"cribgate/printtemplates"
	"cribgate/store"
	"cribgate/store/keyring"
)

const bulkLong = `Prints the next tags of many slings of a register into a new directory: a file for
each stock, or of SVG, PNG and DXF a file a page, and report.tsv, which says of
each sling on which page its tag is, or why it has none.

Which slings: --all; those inspected on a day or later; those that hang at a rack
place or under it (B-1 is also B-1 peg 3 and B-1/2, not B-10); those of a list, one
identification a line. What is given of it must all hold. Slings that are retired,
lost or in doubt, and those whose tag the stock has no room for, are left out, and
the report says so.

A sling's tag goes on the stock that its last one was on, where that is known, else
on --template; --restock puts all on --template. --first-cell says from which place
on the first sheet of --template is used, row by row from 1.

A run that was stopped, or whose machine went down, is taken up with --resume: tags
that the register has already are drawn once more as they were, the others follow,
and no serial is used twice. Files get their names when all are drawn. Each tag is
confirmed at the counter once it hangs on its sling; what is not confirmed lapses.`

// bulkFlags are the flags of bulk.
type bulkFlags struct {
	register, template, out, resume string
	since, place, list              string
	all, restock, outline           bool
	period, format                  string
	first, dpi                      int
}

func bulkCommand() *cobra.Command {
	var f bulkFlags
	cmd := &cobra.Command{
		Use:   "bulk --register PATH --template NAME --out DIR (--all | --inspected-since DATE | --place PLACE | --list FILE) | --resume DIR",
		Short: "Print tags for many slings of a register, and take up a stopped run",
		Long:  bulkLong,
		Example: `  labeler bulk --register ./crib --template plate-50x80 --out march --inspected-since 2026-03-01
  labeler bulk --register ./crib --template disc-70 --out rack-b --place B --period blue
  labeler bulk --resume march`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := f.check(cmd); err != nil {
				return err
			}
			return f.run(cmd.Context(), cmd.InOrStdin(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&f.register, "register", "", "`path` of the register; with --resume where it has moved since")
	flags.StringVar(&f.template, "template", "", "`name` of the stock for slings without one of their own, or a file of your own that ends in .json")
	flags.StringVar(&f.out, "out", "", "new `directory` for the files of the run")
	flags.StringVar(&f.resume, "resume", "", "`directory` of a stopped run to take up")
	flags.BoolVar(&f.all, "all", false, "all slings")
	flags.StringVar(&f.since, "inspected-since", "", "slings whose last thorough inspection was on that `day` or later, YYYY-MM-DD")
	flags.StringVar(&f.place, "place", "", "slings that hang at that rack `place` or under it")
	flags.StringVar(&f.list, "list", "", "slings of a `file`, one identification a line; - for standard input")
	flags.BoolVar(&f.restock, "restock", false, "put all on --template, whatever stock their last tag was on")
	flags.StringVar(&f.period, "period", "", "`colour` of the period, for stocks that show one: "+colourNames())
	flags.StringVar(&f.format, "format", "pdf", "`kind` of the files: "+formatNames())
	flags.IntVar(&f.dpi, "dpi", 300, "dots an inch of a PNG")
	flags.BoolVar(&f.outline, "outline", false, "draw the edge of the blank and its hole too, for a proof")
	flags.IntVar(&f.first, "first-cell", 1, "first `place` that is free on the first sheet of --template")
	commandline.Either(cmd, []string{"resume"}, bulkOnly)
	return cmd
}

// bulkOnly are the flags that a new run takes and a resumed one has in its plan.
var bulkOnly = []string{"template", "out", "all", "inspected-since", "place", "list", "restock", "period", "format", "dpi", "outline", "first-cell"}

func colourNames() string {
	var names []string
	for _, c := range printtemplates.Colours() {
		names = append(names, c.String())
	}
	return strings.Join(names, ", ")
}

func formatNames() string {
	var names []string
	for _, f := range print.Formats() {
		names = append(names, strings.TrimPrefix(string(f), "."))
	}
	return strings.Join(names, ", ")
}

// check refuses flags that do not go together, before anything is read.
func (f bulkFlags) check(cmd *cobra.Command) error {
	given := func(name string) bool { return cmd.Flags().Changed(name) }
	if given("resume") {
		for _, name := range bulkOnly {
			if given(name) {
				return commandline.Usagef("bulk: --%s is in the plan of the run that --resume takes up", name)
			}
		}
		return nil
	}
	chosen := given("inspected-since") || given("place") || given("list")
	switch {
	case f.register == "":
		return commandline.Usagef("bulk: --register is missing")
	case f.template == "":
		return commandline.Usagef("bulk: --template is missing")
	case f.out == "":
		return commandline.Usagef("bulk: --out is missing")
	case f.all == chosen:
		return commandline.Usagef("bulk: which slings: --all, or any of --inspected-since, --place and --list")
	case given("place") && strings.TrimSpace(f.place) == "":
		return commandline.Usagef("bulk: --place is empty")
	case commandline.Typed(cmd, "dpi") && f.format != "png":
		return commandline.Usagef("bulk: --dpi is for PNG")
	case f.first < 1:
		return commandline.Usagef("bulk: --first-cell counts from 1")
	}
	return nil
}

func (f bulkFlags) run(ctx context.Context, stdin io.Reader, stdout, stderr io.Writer) (err error) {
	if f.resume != "" {
		return f.takeUp(ctx, stdout, stderr)
	}
	order, err := f.order(stdin)
	if err != nil {
		return err
	}
	return withRegister(ctx, order.Register, stderr, func(s *store.Store, keys keyring.Ring) error {
		run, err := bulk.Start(ctx, s.Reader, keys, f.out, order)
		if err != nil {
			return err
		}
		return work(ctx, run, s, keys, f.out, stdout, stderr)
	})
}

// takeUp goes on with a run. One that is done is left as it is.
func (f bulkFlags) takeUp(ctx context.Context, stdout, stderr io.Writer) error {
	run, err := bulk.Resume(f.resume)
	if errors.Is(err, bulk.ErrDone) {
		return say(stdout, fmt.Sprintf("the run in %s is done; nothing was changed\n", f.resume))
	}
	if err != nil {
		return err
	}
	register := run.Plan().Register
	if f.register != "" {
		register, _, _ = store.Paths(f.register)
	}
	return withRegister(ctx, register, stderr, func(s *store.Store, keys keyring.Ring) error {
		return work(ctx, run, s, keys, f.resume, stdout, stderr)
	})
}

// order is what the flags ask for.
func (f bulkFlags) order(stdin io.Reader) (o bulk.Order, err error) {
	o = bulk.Order{Restock: f.restock, Outline: f.outline, First: f.first - 1, Selection: bulk.Selection{Place: f.place}}
	if o.Format, err = print.FormatOf("." + f.format); err != nil {
		return o, commandline.Usagef("bulk: --format %s is not one of %s", f.format, formatNames())
	}
	if o.Format == print.PNG {
		o.DPI = f.dpi
	}
	if f.since != "" {
		if o.Since, err = quantity.ParseDate(f.since); err != nil {
			return o, commandline.Usagef("bulk: --inspected-since: %w", err)
		}
	}
	if f.period != "" {
		if o.Period, err = printtemplates.ParseColour(f.period); err != nil {
			return o, commandline.Usagef("bulk: --period: %w", err)
		}
	}
	if o.Template, o.Own, err = readStock(f.template); err != nil {
		return o, err
	}
	register, _, _ := store.Paths(f.register)
	if o.Register, err = filepath.Abs(register); err != nil {
		return o, fmt.Errorf("bulk: %w", err)
	}
	if f.list != "" {
		o.Idents, err = readIdents(f.list, stdin)
	}
	return o, err
}

// readIdents reads a list of slings, which has one at least.
func readIdents(name string, stdin io.Reader) ([]string, error) {
	in := stdin
	if name != "-" {
		file, err := os.Open(name)
		if err != nil {
			return nil, fmt.Errorf("read the list: %w", err)
		}
		defer file.Close() // only read from
		in = file
	}
	idents, err := bulk.ReadList(in)
	if err == nil && len(idents) == 0 {
		err = fmt.Errorf("bulk: %s: %w", name, bulk.ErrNothing)
	}
	return idents, err
}

// withRegister opens a register with its keys.
func withRegister(ctx context.Context, path string, stderr io.Writer, do func(*store.Store, keyring.Ring) error) (err error) {
	file, _, keysDir := store.Paths(path)
	s, err := store.Open(ctx, file, store.Options{Program: release.Version()})
	if err != nil {
		return fmt.Errorf("open register %s: %w", path, err)
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	keys, err := keyring.Load(keysDir)
	if err != nil {
		return err
	}
	if err := warn(stderr, keys.Exposed...); err != nil {
		return err
	}
	return do(s, keys)
}
