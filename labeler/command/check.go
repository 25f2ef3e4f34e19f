package command

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"cribgate/core/quantity"
	"cribgate/core/release"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/kiosk/scan"
	"cribgate/labeler/commandline"
	"cribgate/labeler/grade"
	"cribgate/labeler/symbol"
	"cribgate/store"
	"cribgate/store/keyring"
)

const checkLong = `Reads a picture of a fresh print back, says what the tag says, and grades the print
by the parameters of ISO/IEC 15415 that a camera can give without being calibrated:
which it cannot give, and why, stands below. A picture that is too small, blurred,
askew or dazzled is no verdict on the print: take another one.

With --register it says which sling the tag was printed for and whether it waits to
be confirmed; with --key, whether the tag was made with that key. Without either
nobody has asked who made it.

The exit status is 0 where every print is C or better and each tag is what it was
asked to be; else 1. With --json each picture is one line: figures are in thousandths,
null where a parameter cannot be given.

A grade is of the print. It says nothing of the sling: whether that may go out is
decided at the counter.`

// errPoor ends a check in which a print is not good enough, or is another's.
var errPoor = errors.New("not every print can be confirmed")

type checkFlags struct {
	register, key string
	json          bool
}

func checkCommand() *cobra.Command {
	var f checkFlags
	cmd := &cobra.Command{
		Use:   "check IMAGE... [--register DIR | --key FILE]",
		Short: "Read a printed tag back and grade the print",
		Long:  checkLong,
		Example: `  labeler check photo.jpg
  labeler check --register ./crib --json photo.jpg`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, images []string) error {
			if f.register != "" && f.key != "" {
				return commandline.Usagef("check: a register has its own keys: --key goes without --register")
			}
			return f.run(cmd.Context(), cmd.OutOrStdout(), images)
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&f.register, "register", "", "`path` of the register that the tags were printed from")
	flags.StringVar(&f.key, "key", "", "key `file` that the tags were made with")
	flags.BoolVar(&f.json, "json", false, "write one JSON object a picture")
	commandline.Either(cmd, []string{"register"}, []string{"key"})
	return cmd
}

func (f checkFlags) run(ctx context.Context, out io.Writer, images []string) (err error) {
	var ask asker
	switch {
	case f.register != "":
		file, _, _ := store.Paths(f.register)
		s, err := store.Open(ctx, file, store.Options{Program: release.Version()})
		if err != nil {
			return fmt.Errorf("open register %s: %w", f.register, err)
		}
		defer func() { err = errors.Join(err, s.Close()) }()
		today, err := s.Today(ctx)
		if err != nil {
			return fmt.Errorf("check: ask for the day: %w", err)
		}
		ask = registerAsker{s.Reader, today}
	case f.key != "":
		key, err := keyring.ReadFile(f.key)
		if err != nil {
			return err
		}
		ask = keyAsker{key}
	}
	write := checked.people
	if f.json {
		write = checked.machine
	}
	good, graded := true, false
	for _, image := range images {
		c, err := check(ctx, image, ask)
		if err != nil {
			return err
		}
		good, graded = good && c.good(), graded || c.report.Graded()
		text, err := write(c)
		if err != nil {
			return fmt.Errorf("check %s: %w", image, err)
		}
		if _, err := io.WriteString(out, text); err != nil {
			return fmt.Errorf("check: write what was found: %w", err)
		}
	}
	if graded && !f.json {
		text, err := footnotes()
		if err != nil {
			return fmt.Errorf("check: %w", err)
		}
		if _, err := io.WriteString(out, text); err != nil {
			return fmt.Errorf("check: write where the limits come from: %w", err)
		}
	}
	if !good {
		return errPoor
	}
	return nil
}

// A checked is what came of one picture. Of what could not be found out the fields
// are zero, and it is not good.
type checked struct {
	image   string
	problem scan.Problem // why nothing was read
	kind    tagcode.Kind // NoKind where the text is none of ours
	strange error        // why it is none
	tag     tagcode.Sealed
	asked   bool
	answer  answer
	graded  bool // there is a report
	report  grade.Report
}

// good tells whether the print may be confirmed as what it was asked to be.
func (c checked) good() bool {
	return c.graded && c.report.Confirms() && (!c.asked || c.answer.ours)
}

// check reads and grades one picture. What is wrong with the picture is in the
// result; the error says that there is no picture, or that the register failed.
func check(ctx context.Context, image string, ask asker) (checked, error) {
	c := checked{image: image}
	data, err := readPicture(image)
	if err != nil {
		return c, fmt.Errorf("check: %w", err)
	}
	v, err := scan.Locate(data)
	if errors.As(err, &c.problem) {
		return c, nil
	} else if err != nil {
		return c, fmt.Errorf("check %s: %w", image, err)
	}
	if c.kind, c.strange = tagcode.KindOf(v.Text()); c.strange != nil {
		return c, nil
	}
	want, err := symbol.Encode(v.Text())
	if err != nil {
		c.strange = err
		return c, nil
	}
	c.report, c.graded = grade.Print(v, want), true
	if c.kind == tagcode.KindTag {
		if c.tag, err = tagcode.Parse(v.Text()); err != nil {
			return c, fmt.Errorf("check %s: %w", image, err)
		}
	}
	if ask != nil {
		c.asked = true
		if c.answer, err = ask.about(ctx, c.kind, v.Text()); err != nil {
			return c, fmt.Errorf("check %s: %w", image, err)
		}
	}
	return c, nil
}

// readPicture reads a file, and not more of it than a picture may have.
func readPicture(file string) ([]byte, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close() // only read from
	return io.ReadAll(io.LimitReader(f, scan.MaxBytes+1))
}

// An asker knows whether a code is one of a crib's own.
type asker interface {
	about(ctx context.Context, kind tagcode.Kind, text string) (answer, error)
}

// An answer is what an asker says of a code.
type answer struct {
	ours  bool
	words string
	sling string // identification, where the register has it
	state string // of the tag: printed, live, replaced, spoiled, lapsed
}

// keyAsker goes by the authentication alone.
type keyAsker struct{ key tagcode.Key }

func (k keyAsker) about(_ context.Context, kind tagcode.Kind, text string) (answer, error) {
	var err error
	switch kind {
	case tagcode.KindBadge:
		var b tagcode.SealedBadge
		if b, err = tagcode.ParseBadge(text); err == nil {
			err = b.Verify(k.key)
		}
	case tagcode.KindSlip:
		var s tagcode.SealedSlip
		if s, err = tagcode.ParseSlip(text); err == nil {
			err = s.Verify(k.key)
		}
	default:
		var t tagcode.Sealed
		if t, err = tagcode.Parse(text); err == nil {
			err = t.Verify(k.key)
		}
	}
	switch {
	case errors.Is(err, tagcode.ErrForged):
		return answer{words: "NOT made with this key"}, nil
	case err != nil:
		return answer{}, err
	}
	return answer{ours: true, words: "made with this key"}, nil
}

// registerAsker goes by what a register knows of its own tags.
type registerAsker struct {
	store.Reader
	today quantity.Date
}

func (r registerAsker) about(ctx context.Context, kind tagcode.Kind, text string) (answer, error) {
	if kind != tagcode.KindTag {
		return answer{words: "the register keeps no " + kind.String() + "s: --key tells who made it"}, nil
	}
	sling, tag, err := r.SlingByTag(ctx, tagcode.Digest(text))
	if errors.Is(err, store.ErrNotFound) {
		return answer{words: "NOT a tag that this register has printed"}, nil
	}
	if err != nil {
		return answer{}, fmt.Errorf("look the tag up: %w", err)
	}
	a := answer{ours: true, sling: sling.Details.Ident}
	switch lapses := tag.Printed.AddDays(state.LapseDays); {
	case tag.Status == state.TagLive:
		a.state, a.words = "live", "confirmed: it is the tag on the sling"
	case tag.Status == state.TagReplaced:
		a.state, a.words, a.ours = "replaced", "NOT good any more: a newer tag was confirmed", false
	case tag.Status == state.TagSpoiled:
		a.state, a.words, a.ours = "spoiled", "NOT good: it was thrown away", false
	case tag.Lapsed(r.today):
		a.state, a.words, a.ours = "lapsed", "NOT good any more: never confirmed, and lapsed after "+lapses.Long(), false
	default:
		a.state, a.words = "printed", "printed "+tag.Printed.Long()+" on "+tag.Stock+", not confirmed yet, good until "+lapses.Long()
	}
	if doubt := sling.Doubt; doubt != 0 {
		a.words += "; the sling's record is in doubt"
	}
	return a, nil
}
