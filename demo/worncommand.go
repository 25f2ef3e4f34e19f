package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"cribgate/demo/worn"
	"cribgate/labeler/commandline"
)

// errWrongText is what the bench fails with: a text that is not there is worse than
// none.
var errWrongText = errors.New("worn: a text was read that no symbol in the picture says")

// A bench is what the command was asked for.
type bench struct {
	worn.Bench
	seed      uint64
	severity  int
	live      int
	photos    string
	elsewhere []string
	each      bool
}

func wornCommand() *cobra.Command {
	var b bench
	cmd := &cobra.Command{
		Use:   "worn",
		Short: "Make pictures of worn tags and count what is read of them",
		Long: `Makes pictures of invented tags that are worn, torn, spattered, bent, wet, badly lit
or moving, has each read by this program, and by zbarimg and ZXingReader where
they are installed, and prints one table: how many were read right, wrong and not,
by severity and by kind of damage, and how long it took. Frames without any tag, and
tags of which a quarter is hidden, are counted apart.

The frame is 1280 by 720 pixels. Each reader reads the same JPEG file; this program
also reads the decoded brightness, which is what a camera's page on the same machine
sends, and once more with a register of live tags, which it compares with what it
cannot read. "Still there" is how many a plain look at the true place of each module
could mend. The others are started anew for each picture, and that is part of their time.

With --photos, frames that another generator made are read just so: of the texts beside
them those that are tags hang on slings of the register.

It ends with 1 where this program read a text that is not in the picture.

` + caution,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return b.run(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	cmd.Flags().IntVar(&b.Scenes, "scenes", 5, "how many of each kind and severity")
	cmd.Flags().Uint64Var(&b.seed, "seed", 1, "what the pictures follow from")
	cmd.Flags().IntVar(&b.severity, "severity", 0, "one severity, 1 to 5; 0 for all")
	cmd.Flags().StringVar(&b.Out, "out", "", "directory that keeps the pictures and their texts, as --photos reads them")
	cmd.Flags().IntVar(&b.live, "live", 5000, "how many live tags the register has that a tag is compared with")
	cmd.Flags().StringVar(&b.photos, "photos", "", "read photographs instead, DIR/SET/NAME.png with the text in DIR/SET/NAME.txt")
	cmd.Flags().StringArrayVar(&b.elsewhere, "truth", nil, "SET/NAME=SET/OTHER: the text of that photograph stands in another's file")
	cmd.Flags().BoolVar(&b.each, "each", false, "a line for each kind at each severity too")
	return cmd
}

func (b bench) run(ctx context.Context, out, errOut io.Writer) error {
	switch {
	case b.Scenes < 1:
		return commandline.Usagef("worn: --scenes is at least 1")
	case b.live < worn.Shown:
		return commandline.Usagef("worn: --live is at least %d: the tags of the pictures are among them", worn.Shown)
	case b.severity < 0 || b.severity > worn.Severities:
		return commandline.Usagef("worn: --severity is 1 to %d, or 0 for all", worn.Severities)
	}
	elsewhere := map[string]string{}
	for _, pair := range b.elsewhere {
		name, other, ok := strings.Cut(pair, "=")
		if !ok || b.photos == "" {
			return commandline.Usagef("worn: --truth %s: wanted SET/NAME=SET/OTHER, with --photos", pair)
		}
		elsewhere[name] = other
	}
	var err error
	if b.Maker, err = worn.NewMaker(b.seed); err != nil {
		return err
	}
	var further []string
	if b.photos != "" {
		if further, err = worn.TagsIn(b.photos); err != nil {
			return err
		}
	}
	byRegister, err := b.Maker.ByRegister(ctx, b.live, further)
	if err != nil {
		return err
	}
	others, missing := worn.Others()
	table := worn.Table{Readers: slices.Concat(worn.Ours(), []worn.Reader{byRegister}, others), Each: b.each}
	show := commandline.NewProgress(errOut, "frame")
	progress := func(done, of int) { show.Show(int64(done), int64(of)) }
	if b.photos != "" {
		table.Results, err = worn.Photos(ctx, b.photos, elsewhere, table.Readers, progress)
	} else {
		b.Readers, b.Progress, b.Kinds = table.Readers, progress, worn.Kinds()
		for s := 1; s <= worn.Severities; s++ {
			if b.severity == 0 || b.severity == s {
				b.Severities = append(b.Severities, s)
			}
		}
		table.Results, err = worn.Run(ctx, b.Bench)
	}
	show.End()
	if err != nil {
		return err
	}
	for _, r := range table.Readers {
		took, err := worn.Start(ctx, r)
		if err != nil {
			return err
		}
		table.Start = append(table.Start, took)
	}
	return b.tell(out, table, missing)
}

// tell prints what came of it.
func (b bench) tell(out io.Writer, table worn.Table, missing []string) error {
	what := fmt.Sprintf("%d frames of %d by %d pixels, seed %d, %d live tags", len(table.Results), worn.Width, worn.Height, b.seed, b.live)
	if b.photos != "" {
		what = fmt.Sprintf("%d photographs", len(table.Results))
	}
	if _, err := fmt.Fprintf(out, "%s\n\n", what); err != nil {
		return err
	}
	if err := table.Write(out); err != nil {
		return err
	}
	for _, name := range missing {
		if _, err := fmt.Fprintf(out, "%s is not installed, so it was not asked\n", name); err != nil {
			return err
		}
	}
	wrong := table.WrongTexts()
	for _, r := range wrong {
		if _, err := fmt.Fprintf(out, "wrong: %s says %q\n", r.Name, r.Texts); err != nil {
			return err
		}
		for i, reader := range table.Readers {
			if _, err := fmt.Fprintf(out, "       %s read %q\n", reader.Name, r.Readings[i].Texts); err != nil {
				return err
			}
		}
	}
	if len(wrong) > 0 {
		return fmt.Errorf("%w: %d of %d frames", errWrongText, len(wrong), len(table.Results))
	}
	return nil
}
