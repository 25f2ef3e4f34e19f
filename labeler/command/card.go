package command

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/labeler/card"
	"cribgate/labeler/commandline"
	"cribgate/labeler/print"
	"cribgate/labeler/sheet"
	"cribgate/printtemplates"
)

const cardLong = `Draws a card true to size. A PDF holds all pages; of the other formats a file
holds one, so that two pages go to numbered files, out-001.svg for out.svg. The
smallest type is 2 mm. Print it at 100 %, without scaling.

A pocket card says what one sling may carry, by hitch, legs used and angle, on two
sides of A6, as the gate would decide on that day: --sling of a --register, or the
one line of --in, a sling object of the machine surface with "id" and "outcome". A
sling that is held, retired, lost, unchecked, overdue or in doubt gets none. A line
says nothing of the site's policy: --choke strict is for a site that allows no
choke above 75 %.

A go/no-go card, --gauge, is for a chain size: slots to cut out, as wide as the
least thickness of a link, and a lane to lay a run of links along, with lines at
the limits of growth. Its bars are measured before use; it can only fail a chain.

Cards support, and never replace, the competent person, the maker's instructions
and the local law. The rating tag on the sling governs.`

// cardFlags are the flags of card.
type cardFlags struct {
	register, sling     string
	in, choke           string
	gauge               bool
	system, size, paper string
	grade               int
	out                 string
	dpi                 int
}

func cardCommand() *cobra.Command {
	var f cardFlags
	cmd := &cobra.Command{
		Use:   "card (--register PATH --sling ID | --in FILE | --gauge --system S --size N --grade N) --out FILE",
		Short: "Draw a sling's pocket card, or a go/no-go card for a chain size",
		Long:  cardLong,
		Example: `  labeler card --register ./crib --sling CS-0417 --out card.pdf
  labeler card --gauge --system us --size 3/8 --grade 80 --out gauge.pdf`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := f.check(cmd); err != nil {
				return err
			}
			return f.run(cmd.Context(), cmd.InOrStdin(), cmd.OutOrStdout())
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&f.register, "register", "", "`path` of a register, for a pocket card of one of its slings")
	flags.StringVar(&f.sling, "sling", "", "owner's `identification` of that sling")
	flags.StringVar(&f.in, "in", "", "`file` of one line, a sling object, for its pocket card; - for standard input")
	flags.StringVar(&f.choke, "choke", "listed", "`policy` of chokes for --in: listed or strict")
	flags.BoolVar(&f.gauge, "gauge", false, "a go/no-go card for a chain size")
	flags.StringVar(&f.system, "system", "", "`system` of the size: us or en")
	flags.StringVar(&f.size, "size", "", "chain `size` as it is stamped: 3/8, 10")
	flags.IntVar(&f.grade, "grade", 0, "`grade` of the chain: 80, 100 or 120")
	flags.StringVar(&f.paper, "paper", "", "`sheet` of a go/no-go card: a4, a3, letter or ledger; letter for us, a4 for en by default")
	flags.StringVar(&f.out, "out", "", "output `file`, ending in "+strings.Join(formatEndings(), ", "))
	flags.IntVar(&f.dpi, "dpi", 600, "dots an inch of a PNG")
	commandline.Either(cmd, []string{"register", "sling"}, []string{"in", "choke"}, []string{"gauge", "system", "size", "grade", "paper"})
	return cmd
}

func formatEndings() []string {
	var all []string
	for _, f := range print.Formats() {
		all = append(all, string(f))
	}
	return all
}

// cardWays are the flags that go with each way to ask for a card.
var cardWays = []struct {
	way  string
	with []string
}{
	{"register", []string{"sling"}},
	{"in", []string{"choke"}},
	{"gauge", []string{"system", "size", "grade", "paper"}},
}

// check refuses flags that do not go together, before anything is read.
func (f cardFlags) check(cmd *cobra.Command) error {
	given := func(name string) bool { return cmd.Flags().Changed(name) }
	ways := 0
	for _, w := range cardWays {
		if given(w.way) {
			ways++
			continue
		}
		for _, name := range w.with {
			if given(name) {
				return commandline.Usagef("card: --%s goes with --%s", name, w.way)
			}
		}
	}
	switch {
	case ways != 1:
		return commandline.Usagef("card: one of --register, --in and --gauge says which card")
	case f.out == "":
		return commandline.Usagef("card: --out is missing")
	case given("register") && f.sling == "":
		return commandline.Usagef("card: --sling is missing")
	case f.gauge && (f.system == "" || f.size == "" || f.grade == 0):
		return commandline.Usagef("card: --gauge needs --system, --size and --grade")
	case given("gauge") && !f.gauge:
		return commandline.Usagef("card: --gauge is said or left out")
	case f.choke != gate.ChokeListed.String() && f.choke != gate.ChokeStrict.String():
		return commandline.Usagef("card: --choke %q is neither listed nor strict", f.choke)
	}
	format, err := print.FormatOf(f.out)
	if err != nil {
		return commandline.Usagef("%w", err)
	}
	if commandline.Typed(cmd, "dpi") && format != print.PNG {
		return commandline.Usagef("card: --dpi is for PNG")
	}
	return nil
}

func (f cardFlags) run(ctx context.Context, stdin io.Reader, stdout io.Writer) error {
	var pages []sheet.Drawing
	var err error
	switch {
	case f.gauge:
		pages, err = f.gaugeCard()
	case f.register != "":
		pages, err = f.registerCard(ctx)
	default:
		pages, err = f.lineCard(stdin)
	}
	if err != nil {
		return err
	}
	files, err := f.write(pages)
	if err != nil {
		return err
	}
	text := "1 card: " + strings.Join(files, ", ") + "\n"
	if f.gauge {
		text += "print it at 100 %, and measure its bars before use\n"
	}
	return say(stdout, text)
}

func (f cardFlags) gaugeCard() ([]sheet.Drawing, error) {
	system, err := rating.ParseSystem(f.system)
	if err != nil {
		return nil, commandline.Usagef("card: --system: %w", err)
	}
	size, err := rating.ParseSize(system, f.size)
	if err != nil {
		return nil, commandline.Usagef("card: --size: %w", err)
	}
	grade := rating.Grade(f.grade)
	if int(grade) != f.grade || !grade.Known() {
		return nil, commandline.Usagef("card: --grade: %d is not 80, 100 or 120", f.grade)
	}
	paper, err := card.ParsePaper(f.paper, system)
	if err != nil {
		return nil, commandline.Usagef("%w", err)
	}
	g, err := card.NewGauge(grade, size, paper)
	if err != nil {
		return nil, err
	}
	d, err := g.Draw()
	if err != nil {
		return nil, err
	}
	return []sheet.Drawing{d}, nil
}

func (f cardFlags) lineCard(stdin io.Reader) ([]sheet.Drawing, error) {
	in := stdin
	if f.in != "-" {
		file, err := os.Open(f.in)
		if err != nil {
			return nil, fmt.Errorf("read sling: %w", err)
		}
		defer file.Close() // only read from
		in = file
	}
	r, err := card.ReadLine(in)
	if err != nil {
		return nil, err
	}
	r.Policy = gate.DefaultPolicy()
	if r.Policy.Choke, err = gate.ParseChoke(f.choke); err != nil {
		return nil, commandline.Usagef("card: --choke: %w", err)
	}
	r.Units = quantity.Metric
	if r.Sling.System == rating.US {
		r.Units = quantity.Imperial
	}
	r.Printed = quantity.DateOf(time.Now())
	r.AsOf = r.Printed
	return pocketCard(r)
}

func pocketCard(r card.Record) ([]sheet.Drawing, error) {
	p, err := r.Pocket()
	if err != nil {
		return nil, err
	}
	return p.Draw()
}

// write puts the pages into files, all or none, and names them.
func (f cardFlags) write(pages []sheet.Drawing) (names []string, err error) {
	job := print.Job{
		Stock: printtemplates.Stock{Name: "card", Width: pages[0].Width, Height: pages[0].Height},
		Out:   f.out, DPI: f.dpi,
	}
	out, err := job.Begin(len(pages))
	if err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, out.Drop())
		}
	}()
	for _, d := range pages {
		if _, err := out.Add(d); err != nil {
			return nil, err
		}
	}
	if err := out.Finish(); err != nil {
		return nil, err
	}
	if err := out.Keep(); err != nil {
		return nil, err
	}
	return out.Result().Files, nil
}
