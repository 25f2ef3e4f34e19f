// Package morning prints a sheet by itself once a day.
//
// [Keeper.Run] has the sheet drawn when its time of day has come, or at once where the
// program was not there at that time, and sends it to a printer. What could not be
// printed is tried again every ten minutes until the day is over; where nobody knows
// whether it was printed, it is not sent twice, since somebody has to look at the
// printer anyway. [Keeper.State] tells what is known.
//
// The day of the last sheet lies in a file beside the register, which is no evidence:
// without it one sheet more is printed.
package morning

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"os"
	"strings"
	"sync"
	"time"

	"cribgate/core/quantity"
	"cribgate/kiosk/chore"
	"cribgate/labeler/printer"
)

// Settings say where and when the sheet is printed. The zero Settings print nothing.
type Settings struct {
	Printer string        // its address; empty: nothing is printed
	At      time.Duration // after midnight, by the crib's clock
}

// File is the usual name of the file beside the register.
const File = "day-sheet"

// DefaultAt is before a morning shift begins (site policy, no source).
const DefaultAt = 5*time.Hour + 30*time.Minute

// ErrSettings reports settings that cannot be followed; the text says which.
var ErrSettings = errors.New("morning: these settings cannot be followed")

// Check is ErrSettings where the settings cannot be followed.
func (s Settings) Check() error {
	if s.At < 0 || s.At >= 24*time.Hour {
		return fmt.Errorf("%w: %v is no time of a day", ErrSettings, s.At)
	}
	if s.Printer == "" {
		return nil
	}
	if _, err := printer.ParseAddress(s.Printer); err != nil {
		return fmt.Errorf("%w: %w", ErrSettings, err)
	}
	return nil
}

// ParseAt reads a time of day such as 05:30.
func ParseAt(text string) (time.Duration, error) {
	t, err := time.Parse("15:04", text)
	if err != nil {
		return 0, fmt.Errorf("%w: %q is no time of a day like 05:30", ErrSettings, text)
	}
	return time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute, nil
}

// A Crib is what the sheet is of.
type Crib interface {
	// DaySheet draws the sheet of today as PDF.
	DaySheet(ctx context.Context) (pdf []byte, day quantity.Date, err error)
	// Local is the time on the clocks on the crib's walls.
	Local(ctx context.Context) (time.Time, error)
}

// Options are what tests set. The zero Options are the machine's own.
type Options struct {
	Printer printer.Options
	Log     *slog.Logger
}

// State is what is known of the sheets. The zero State is of none.
type State struct {
	Printed quantity.Date // day of the last sheet; zero: none was printed
	Unsure  bool          // nobody knows whether that one came out of the printer
	Failed  error         // why the one of today is not printed yet; nil where it is, or its time has not come
}

// Keeper prints the sheets of one crib. State may be asked by many goroutines; Run is for
// one.
type Keeper struct {
	settings Settings
	crib     Crib
	file     string
	o        Options

	done quantity.Date // on that day of the wall clock nothing is left to print

	mu    sync.Mutex
	state State
}

// New gives a keeper whose settings have been checked. file is where it keeps the day
// of the last sheet.
func New(settings Settings, crib Crib, file string, o Options) *Keeper {
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	k := &Keeper{settings: settings, crib: crib, file: file, o: o}
	text, err := os.ReadFile(file)
	if err == nil {
		day, unsure := strings.CutSuffix(strings.TrimSpace(string(text)), unsure)
		k.state.Unsure = unsure
		k.state.Printed, err = quantity.ParseDate(day)
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		k.o.Log.Warn("when the last day sheet was printed cannot be read", "file", file, "err", err)
	}
	return k
}

// unsure stands in the file behind a day of which nobody knows whether its sheet was
// printed.
const unsure = " unsure"

// lookEvery is how often the clock is looked at, and a sheet that could not be printed
// is tried again (site policy, no source).
const lookEvery = 10 * time.Minute

// Run prints until ctx ends.
func (k *Keeper) Run(ctx context.Context) {
	chore.Run(ctx, time.After, k.Once)
}

// Once prints the sheet if its time has come, and gives how long to wait until the next
// look.
func (k *Keeper) Once(ctx context.Context) time.Duration {
	now, err := k.crib.Local(ctx)
	if err != nil {
		k.failed(ctx, err)
		return lookEvery
	}
	since := time.Duration(now.Hour())*time.Hour + time.Duration(now.Minute())*time.Minute + time.Duration(now.Second())*time.Second
	today := quantity.DateOf(now)
	early := k.settings.At - since
	if early > 0 || today == k.done || today == k.State().Printed {
		k.settle(nil) // what failed was another day's, or the clock
		if early > 0 {
			return min(early, lookEvery)
		}
		return lookEvery
	}
	switch err := k.print(ctx); {
	case err == nil:
		k.done = today // while the clock is in doubt the sheet may be of another day
		k.settle(nil)
	case ctx.Err() == nil:
		k.failed(ctx, err)
	}
	return lookEvery
}

func (k *Keeper) settle(failed error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.state.Failed = failed
}

func (k *Keeper) failed(ctx context.Context, err error) {
	k.settle(err)
	k.o.Log.ErrorContext(ctx, "the day sheet was not printed", "printer", k.settings.Printer, "err", err)
}

func (k *Keeper) print(ctx context.Context) error {
	pdf, day, err := k.crib.DaySheet(ctx)
	if err != nil {
		return err
	}
	if k.State().Printed == day {
		return nil
	}
	address, err := printer.ParseAddress(k.settings.Printer)
	if err != nil {
		return err
	}
	p := printer.New(address, k.o.Printer)
	defer p.Close()
	outcome := p.Send(ctx, printer.Document{Name: "Day sheet " + day.String(), Format: printer.PDF,
		Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(pdf)), nil }})
	err = outcome.Err()
	if err != nil && outcome.End != printer.Unknown {
		return err
	}
	k.mu.Lock()
	k.state = State{Printed: day, Unsure: err != nil}
	k.mu.Unlock()
	k.o.Log.InfoContext(ctx, "the day sheet was sent to the printer", "printer", k.settings.Printer, "day", day.String(), "outcome", outcome.String())
	text := day.String()
	if err != nil {
		text += unsure
	}
	if err := os.WriteFile(k.file, []byte(text+"\n"), 0o644); err != nil {
		k.o.Log.WarnContext(ctx, "when the day sheet was printed cannot be kept; it may be printed twice", "file", k.file, "err", err)
	}
	return nil
}

// State tells what is known now.
func (k *Keeper) State() State {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.state
}
