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

	"cribgate/labeler/commandline"
	"cribgate/labeler/print"
	"cribgate/labeler/render"
	"cribgate/printtemplates"
	"cribgate/store"
	"cribgate/store/keyring"
)

const printLong = `Prints one tag or thousands on a stock, to PDF, SVG, PNG or DXF by the ending of
--out, or to the printer that --to names, or both. A PDF holds all tags; of the
others a file holds one page, and several pages go to numbered files, out-001.png
for out.png. A run that fails before all is drawn leaves no file.

With --in, each line is a sling object of the machine surface, and in it "id"
(the owner's identification, up to 16 characters), "serial" (the tag's, 1 to
1023), "outcome" (fit, hold, out; null without an inspection) beside "inspected"
and "due". --key names the key that seals them; labeler key makes one. A line that
cannot be printed is named, with its reason, and nothing is printed.

On stock for badges each line has "person" (the id in the register), "name", "crib",
"role" (attendant, rigger, inspector, keeper), "badge" (1 to 1023, never used twice
for one person) and, where it ends, "until". A badge names a person to the counter
and permits nothing. On stock for lift slips each line is a question as kiosk decide
takes it, whose "id" is the sling's and whose lift has "return_by", and in it "slip"
(its number), "name", "crib" and "what" is lifted. Only what the gate answers with
"issue" is printed, with its figures; the counter decides again. Slips are not
printed from a register.

With --register, the next tags of the register's slings are printed, and the
register then knows them: of those named with --sling, else of all that are
neither retired nor lost. The register's own key and prefix are used.

On stock for badges, --register prints the next badge of each person named with
--person, else of everybody here who has none that is good. Whoever has a last day
has it on the badge. The badges printed for the same person before are no longer
good at the counter: so a lost one is made useless.

With --to, the printer gets a PDF where it takes one, else a PNG (always with
--dpi), and is followed until it says that it has printed: labeler help send says
how. The printer is asked first; then the register notes the tags; then they are
sent. Tags that did not come out, or of which nobody knows, are listed, and the
next run prints the ones after them.

On stock that is a sheet of many, --first-cell says which place is the first that is
free, row by row from 1. --period is the colour of the period, for stock that shows
one.

A PNG has modules of whole dots; where that makes them smaller than the stock
says, by how much is said.`

// printFlags are the flags of print.
type printFlags struct {
	template, in, key, prefix, out string
	register                       string
	slings, people                 []string
	period                         string
	dpi, first                     int
	dpiGiven, outline              bool
	printer                        printerFlags
}

func printCommand() *cobra.Command {
	var f printFlags
	cmd := &cobra.Command{
		Use:   "print --template NAME (--in FILE --key FILE | --register PATH [--sling ID…] [--person NAME…]) (--out FILE | --to URL)",
		Short: "Print tags, badges or lift slips to a file or a printer",
		Long:  printLong,
		Example: `  labeler print --template plate-50x80 --in slings.jsonl --key crib.key --out tags.pdf
  labeler print --template disc-70 --register ./crib --sling CS-0417 --out tag.png --dpi 600
  labeler print --template disc-70 --register ./crib --sling CS-0417 --to ipp://printer.example/ipp/print
  labeler print --template badge --register ./crib --person "K. Dorn" --out badge.pdf`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := f.check(cmd); err != nil {
				return err
			}
			f.dpiGiven = commandline.Typed(cmd, "dpi")
			return f.run(cmd.Context(), cmd.InOrStdin(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&f.template, "template", "", "`name` of the stock, or a file of your own that ends in .json")
	flags.StringVar(&f.in, "in", "", "`file` of what to print, one JSON object a line; - for standard input")
	flags.StringVar(&f.key, "key", "", "key `file` for --in")
	flags.StringVar(&f.prefix, "prefix", "", "`address` in front of each tag's text for --in: HTTPS://HOST/, up to 23 characters")
	flags.StringVar(&f.register, "register", "", "`path` of a register, instead of --in")
	flags.StringArrayVar(&f.slings, "sling", nil, "owner's `identification` of a sling of the register; may be given again")
	flags.StringArrayVar(&f.people, "person", nil, "`name` of a person of the register, for a badge; may be given again")
	flags.StringVar(&f.out, "out", "", "output `file`; its ending is one of "+formatNames())
	flags.IntVar(&f.dpi, "dpi", 300, "dots an inch of a PNG")
	flags.BoolVar(&f.outline, "outline", false, "draw the edge of the blank and its hole too, for a proof")
	flags.StringVar(&f.period, "period", "", "`colour` of the period, for stocks that show one: "+colourNames())
	flags.IntVar(&f.first, "first-cell", 1, "first `place` that is free on the first sheet")
	f.printer.add(cmd)
	commandline.Either(cmd, []string{"in", "key", "prefix"}, []string{"register", "sling", "person"})
	commandline.Either(cmd, []string{"out"}, []string{"to"}) // a printer of the settings does not print what goes to a file
	return cmd
}

// check refuses flags that do not go together, before anything is read.
func (f printFlags) check(cmd *cobra.Command) error {
	given := func(name string) bool { return cmd.Flags().Changed(name) }
	fromLines, fromRegister := given("in"), given("register")
	switch {
	case f.template == "":
		return commandline.Usagef("print: --template is missing")
	case f.out == "" && f.printer.to == "":
		return commandline.Usagef("print: --out or --to is missing")
	case fromLines == fromRegister:
		return commandline.Usagef("print: either --in or --register says what to print")
	case fromLines && f.key == "":
		return commandline.Usagef("print: --key is missing")
	case fromLines && given("sling"):
		return commandline.Usagef("print: --sling goes with --register")
	case fromLines && given("person"):
		return commandline.Usagef("print: --person goes with --register")
	case fromRegister && (given("key") || given("prefix")):
		return commandline.Usagef("print: a register has its own key and prefix: --key and --prefix go with --in")
	case f.first < 1:
		return commandline.Usagef("print: --first-cell counts from 1")
	}
	if f.printer.to != "" {
		if err := f.printer.check(cmd); err != nil {
			return err
		}
	} else if commandline.Typed(cmd, "printer-ca") || commandline.Typed(cmd, "patience") {
		return commandline.Usagef("print: --printer-ca and --patience go with --to")
	}
	if f.out == "" {
		return nil
	}
	format, err := print.FormatOf(f.out)
	switch {
	case err != nil:
		return commandline.Usagef("%w", err)
	case commandline.Typed(cmd, "dpi") && format != print.PNG:
		return commandline.Usagef("print: --dpi is for PNG")
	case f.printer.to != "" && format != print.PDF && format != print.PNG:
		return commandline.Usagef("print: %s: a printer gets PDF or PNG; --to and --out name the same files", f.out)
	}
	return nil
}

func (f printFlags) run(ctx context.Context, stdin io.Reader, stdout, stderr io.Writer) error {
	stock, err := openStock(f.template)
	if err != nil {
		return err
	}
	switch badge := stock.Kind == printtemplates.Badge; {
	case f.register != "" && stock.Kind != printtemplates.Tag && !badge:
		return commandline.Usagef("print: %s is for a %s, which is printed from lines, with --in, and not from a register", stock.Name, stock.Kind)
	case len(f.people) > 0 && !badge:
		return commandline.Usagef("print: %s is for a %s; --person is for badges", stock.Name, stock.Kind)
	case len(f.slings) > 0 && badge:
		return commandline.Usagef("print: %s is for a badge; --sling is for tags", stock.Name)
	}
	job := print.Job{Stock: stock, Out: f.out, First: f.first - 1, DPI: f.dpi, Options: render.Options{Outline: f.outline}}
	if f.period != "" {
		if job.Period, err = printtemplates.ParseColour(f.period); err != nil {
			return commandline.Usagef("print: --period: %w", err)
		}
	}
	write := func(job print.Job) (printed, error) {
		if f.register != "" && job.Stock.Kind == printtemplates.Badge {
			return f.badges(ctx, job, stderr)
		}
		if f.register != "" {
			return f.fromRegister(ctx, job, stderr)
		}
		return f.fromLines(ctx, job, stdin, stderr)
	}
	if f.printer.to != "" {
		return f.toPrinter(ctx, job, write, stdout, stderr)
	}
	done, err := write(job)
	if err != nil {
		return err
	}
	return report(stdout, job.Stock, done)
}

// openStock opens a stock by name, or a file that ends in .json.
func openStock(template string) (printtemplates.Stock, error) {
	stock, _, err := readStock(template)
	return stock, err
}

// readStock is openStock with the text of the file, where it is one.
func readStock(template string) (stock printtemplates.Stock, own string, err error) {
	name, isFile := strings.CutSuffix(filepath.Base(template), ".json")
	if !isFile {
		stock, err = printtemplates.Open(template)
		return stock, "", err
	}
	data, err := os.ReadFile(template)
	if err != nil {
		return stock, "", fmt.Errorf("read stock: %w", err)
	}
	stock, err = printtemplates.Parse(name, data)
	return stock, string(data), err
}

func (f printFlags) fromLines(ctx context.Context, job print.Job, stdin io.Reader, stderr io.Writer) (done printed, err error) {
	key, err := readKey(f.key, stderr)
	if err != nil {
		return done, err
	}
	in := stdin
	if f.in != "-" {
		file, err := os.Open(f.in)
		if err != nil {
			return done, fmt.Errorf("read lines: %w", err)
		}
		defer file.Close() // only read from
		in = file
	}
	done.names, done.result, err = job.WriteLines(ctx, in, key, f.prefix)
	return done, err
}

func (f printFlags) fromRegister(ctx context.Context, job print.Job, stderr io.Writer) (done printed, err error) {
	err = withRegister(ctx, f.register, stderr, func(s *store.Store, keys keyring.Ring) error {
		tags, err := print.FromRegister(ctx, s.Reader, keys, f.slings)
		if err != nil {
			return err
		}
		for _, t := range tags {
			done.names = append(done.names, t.Title())
		}
		done.result, err = job.Write(ctx, tags, func(drawn []print.Drawn) error {
			act := store.Act{Station: "labeler", Way: "program"}
			_, err := s.Do(ctx, act, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
				return nil, print.Record(ctx, tx, drawn)
			})
			done.recorded = err == nil
			return err
		})
		return done.failed(err)
	})
	return done, err
}

// failed says of a run that came to nothing whether the register was told.
func (p printed) failed(err error) error {
	if err != nil && p.recorded {
		return fmt.Errorf("%w: %w", errRecorded, err)
	}
	return err
}

// errRecorded marks a run that failed after the register was told.
var errRecorded = errors.New("the register has noted these tags as printed, but they were not written")

// report says what was written.
func report(w io.Writer, stock printtemplates.Stock, done printed) error {
	r := done.result
	where := r.Files[0]
	if len(r.Files) > 1 {
		where += " to " + r.Files[len(r.Files)-1]
	}
	return say(w, fmt.Sprintf("%s: %s\n%s", counted(len(done.names), stock.Kind.String()), where, sizeError(r.Raster)))
}

// sizeError says by how much modules of whole dots miss the stock's, if at all.
func sizeError(x render.Raster) string {
	if x.Dots == 0 || x.Module == x.Wanted {
		return ""
	}
	off := float64(x.Module-x.Wanted) / float64(x.Wanted) * 100
	return fmt.Sprintf("modules of %d dots at %d dots an inch are %s, %+.1f %% of the stock's %s\n", x.Dots, x.DPI, x.Module, off, x.Wanted)
}
