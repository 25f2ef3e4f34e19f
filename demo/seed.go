package main

import (
	"fmt"
	"runtime/debug"
	"time"

	"github.com/spf13/cobra"

	"cribgate/core/quantity"
	"cribgate/demo/crib"
	"cribgate/labeler/commandline"
	"cribgate/store"
)

func seedCommand() *cobra.Command {
	var o crib.Options
	var until string
	cmd := &cobra.Command{
		Use:   "seed --slings N --years Y --out DIR",
		Short: "Write an invented register of any size",
		Long: `Writes a register with an invented history, its desk and its key into a directory:
DIR/register.sqlite, DIR/desk.sqlite and DIR/keys. The same seed, size and last
day give the same history. The key follows from the seed, which everybody knows:
never keep a real crib in such a register.

` + caution,
		RunE: func(cmd *cobra.Command, _ []string) (err error) {
			if o.Dir == "" {
				return commandline.Usagef("seed: --out is needed")
			}
			if o.Last = yesterday(); until != "" {
				if o.Last, err = quantity.ParseDate(until); err != nil {
					return commandline.Usagef("seed: --until: %w", err)
				}
			}
			show := commandline.NewProgress(cmd.ErrOrStderr(), "playing day")
			o.Progress = func(done, of int) { show.Show(int64(done), int64(of)) }
			debug.SetGCPercent(400) // most of what a long history makes is used once; the time is worth the memory
			begun := time.Now()
			built, err := crib.Build(cmd.Context(), o)
			show.End()
			if err != nil {
				return fmt.Errorf("seed: %w", err)
			}
			took := time.Since(begun)
			register, desk, keys := store.Paths(o.Dir)
			_, err = fmt.Fprintf(cmd.OutOrStdout(), `register  %s
desk      %s
keys      %s
history   %d slings, %d events up to %s
head      %s
took      %.1f s, %.0f events a second
`, register, desk, keys, o.Slings, built.Events, o.Last, built.Head.Hash, took.Seconds(), float64(built.Events)/took.Seconds())
			return err
		},
	}
	cmd.Flags().IntVar(&o.Slings, "slings", 300, "how many slings")
	cmd.Flags().IntVar(&o.Years, "years", 2, "how many years")
	cmd.Flags().StringVar(&o.Dir, "out", "", "directory to write into; must hold no register (required)")
	cmd.Flags().Uint64Var(&o.Seed, "seed", 1, "what the history follows from")
	cmd.Flags().IntVar(&o.Events, "events", 0, "about how many events in all; by default each sling goes out some ten times a year")
	cmd.Flags().StringVar(&until, "until", "", "last day of the history, YYYY-MM-DD; by default yesterday (UTC)")
	cmd.Flags().BoolVar(&o.PINs, "pins", true, "set the PINs of those who sign in")
	return cmd
}

func yesterday() quantity.Date { return quantity.DateOf(time.Now().UTC()).AddDays(-1) }
