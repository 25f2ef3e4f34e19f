package main

import (
	"fmt"
	"io"
	"os"
	"runtime/debug"
	"time"

	"github.com/spf13/cobra"

	"cribgate/core/quantity"
	"cribgate/demo/crib"
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
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) (err error) {
			if o.Dir == "" {
				return usageError{fmt.Errorf("seed: --out is needed")}
			}
			if o.Last = yesterday(); until != "" {
				if o.Last, err = quantity.ParseDate(until); err != nil {
					return usageError{fmt.Errorf("seed: --until: %w", err)}
				}
			}
			show := newProgress(cmd.ErrOrStderr(), "playing day")
			o.Progress = show.step
			debug.SetGCPercent(400) // most of what a long history makes is used once; the time is worth the memory
			begun := time.Now()
			built, err := crib.Build(cmd.Context(), o)
			show.end()
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

// progress shows how far long work is, on a terminal and nowhere else.
type progress struct {
	w    io.Writer
	what string
	on   bool
	last time.Time
}

func newProgress(w io.Writer, what string) *progress {
	f, ok := w.(*os.File)
	if !ok {
		return &progress{}
	}
	info, err := f.Stat()
	return &progress{w: w, what: what, on: err == nil && info.Mode()&os.ModeCharDevice != 0}
}

func (p *progress) step(done, of int) {
	if p.on && time.Since(p.last) > 100*time.Millisecond {
		p.last = time.Now()
		fmt.Fprintf(p.w, "\r%s %d of %d", p.what, done, of)
	}
}

// end takes the line away.
func (p *progress) end() {
	if p.on && !p.last.IsZero() {
		fmt.Fprint(p.w, "\r\x1b[K")
	}
}
