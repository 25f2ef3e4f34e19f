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

	"cribgate/core/release"
	"cribgate/labeler/print"
	"cribgate/labeler/render"
	"cribgate/printtemplates"
	"cribgate/store"
	"cribgate/store/keyring"
)

const printLong = `Prints one tag or thousands on a stock, to PDF, SVG or PNG by the ending of --out.
A PDF holds all tags, a page each. SVG and PNG hold one; several tags go to
numbered files, out-001.png for out.png. A run that fails leaves no file.

With --in, each line is a sling object of the machine surface, and in it "id"
(the owner's identification, up to 16 characters), "serial" (the tag's, 1 to
1023), "outcome" (fit, hold, out; null without an inspection) beside "inspected"
and "due". --key names the key that seals the tags; labeler key makes one. A line
that is not a tag is named, with its reason, and nothing is printed.

With --register, the next tags of the register's slings are printed, and the
register then knows them: of those named with --sling, else of all that are
neither retired nor lost. The register's own key and prefix are used.

A PNG has modules of whole dots; where that makes them smaller than the stock
says, by how much is said.`

// printFlags are the flags of print.
type printFlags struct {
	template, in, key, prefix, out string
	register                       string
	slings                         []string
	dpi                            int
	outline                        bool
}

func printCommand() *cobra.Command {
	var f printFlags
	cmd := &cobra.Command{
		Use:   "print --template NAME (--in FILE --key FILE | --register PATH [--sling ID…]) --out FILE",
		Short: "Print tags to PDF, SVG or PNG",
		Long:  printLong,
		Example: `  labeler print --template plate-50x80 --in slings.jsonl --key crib.key --out tags.pdf
  labeler print --template disc-70 --register ./crib --sling CS-0417 --out tag.png --dpi 600`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := f.check(cmd); err != nil {
				return err
			}
			return f.run(cmd.Context(), cmd.InOrStdin(), cmd.OutOrStdout())
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&f.template, "template", "", "`name` of the stock, or a file of your own that ends in .json")
	flags.StringVar(&f.in, "in", "", "`file` of slings, one JSON object a line; - for standard input")
	flags.StringVar(&f.key, "key", "", "key `file` for --in")
	flags.StringVar(&f.prefix, "prefix", "", "`address` in front of each tag's text for --in: HTTPS://HOST/, up to 23 characters")
	flags.StringVar(&f.register, "register", "", "`path` of a register, instead of --in")
	flags.StringArrayVar(&f.slings, "sling", nil, "owner's `identification` of a sling of the register; may be given again")
	flags.StringVar(&f.out, "out", "", "output `file`, ending in .pdf, .svg or .png")
	flags.IntVar(&f.dpi, "dpi", 300, "dots an inch of a PNG")
	flags.BoolVar(&f.outline, "outline", false, "draw the edge of the blank and its hole too, for a proof")
	return cmd
}

// check refuses flags that do not go together, before anything is read.
func (f printFlags) check(cmd *cobra.Command) error {
	given := func(name string) bool { return cmd.Flags().Changed(name) }
	fromLines, fromRegister := given("in"), given("register")
	switch {
	case f.template == "":
		return usagef("print: --template is missing")
	case f.out == "":
		return usagef("print: --out is missing")
	case fromLines == fromRegister:
		return usagef("print: either --in or --register says what to print")
	case fromLines && f.key == "":
		return usagef("print: --key is missing")
	case fromLines && given("sling"):
		return usagef("print: --sling goes with --register")
	case fromRegister && (given("key") || given("prefix")):
		return usagef("print: a register has its own key and prefix: --key and --prefix go with --in")
	}
	format, err := print.FormatOf(f.out)
	if err != nil {
		return usagef("%w", err)
	}
	if given("dpi") && format != print.PNG {
		return usagef("print: --dpi is for PNG")
	}
	return nil
}

func (f printFlags) run(ctx context.Context, stdin io.Reader, stdout io.Writer) error {
	stock, err := openStock(f.template)
	if err != nil {
		return err
	}
	job := print.Job{Stock: stock, Out: f.out, DPI: f.dpi, Options: render.Options{Outline: f.outline}}
	var n int
	var result print.Result
	if f.register != "" {
		n, result, err = f.fromRegister(ctx, job)
	} else {
		n, result, err = f.fromLines(ctx, job, stdin)
	}
	if err != nil {
		return err
	}
	return report(stdout, n, result)
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

func (f printFlags) fromLines(ctx context.Context, job print.Job, stdin io.Reader) (n int, r print.Result, err error) {
	key, err := keyring.ReadFile(f.key)
	if err != nil {
		return 0, r, err
	}
	in := stdin
	if f.in != "-" {
		file, err := os.Open(f.in)
		if err != nil {
			return 0, r, fmt.Errorf("read slings: %w", err)
		}
		defer file.Close() // only read from
		in = file
	}
	tags, err := print.ReadLines(in, key, f.prefix)
	if err != nil {
		return 0, r, err
	}
	r, err = job.Write(ctx, tags, nil)
	return len(tags), r, err
}

func (f printFlags) fromRegister(ctx context.Context, job print.Job) (n int, r print.Result, err error) {
	file, _, keysDir := store.Paths(f.register)
	s, err := store.Open(ctx, file, store.Options{Program: release.Version()})
	if err != nil {
		return 0, r, fmt.Errorf("open register %s: %w", f.register, err)
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	keys, err := keyring.Load(keysDir)
	if err != nil {
		return 0, r, err
	}
	tags, err := print.FromRegister(ctx, s.Reader, keys, f.slings)
	if err != nil {
		return 0, r, err
	}
	recorded := false
	r, err = job.Write(ctx, tags, func(drawn []print.Drawn) error {
		act := store.Act{Station: "labeler", Way: "program"}
		_, err := s.Do(ctx, act, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
			return nil, print.Record(ctx, tx, drawn)
		})
		recorded = err == nil
		return err
	})
	if err != nil && recorded {
		err = fmt.Errorf("%w: %w", errRecorded, err)
	}
	return len(tags), r, err
}

// errRecorded marks a run that failed after the register was told.
var errRecorded = errors.New("the register has noted these tags as printed, but they were not written")

// report says what was written.
func report(w io.Writer, n int, r print.Result) error {
	where := r.Files[0]
	if len(r.Files) > 1 {
		where += " to " + r.Files[len(r.Files)-1]
	}
	return say(w, fmt.Sprintf("%s: %s\n%s", counted(n, "tag"), where, sizeError(r.Raster)))
}

// sizeError says by how much modules of whole dots miss the stock's, if at all.
func sizeError(x render.Raster) string {
	if x.Dots == 0 || x.Module == x.Wanted {
		return ""
	}
	off := float64(x.Module-x.Wanted) / float64(x.Wanted) * 100
	return fmt.Sprintf("modules of %d dots at %d dots an inch are %s, %+.1f %% of the stock's %s\n", x.Dots, x.DPI, x.Module, off, x.Wanted)
}
