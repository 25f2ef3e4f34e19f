// Package tour plays one day at the counter of an invented crib, without a
// browser and without a person, and tells it step by step in plain sentences.
// Each step is held against what should come of it; the first that comes out
// otherwise ends the day with an error, so that the tour is a test as well.
//
// [Run] is the only entry. It builds a crib of its own (cribgate/demo/crib),
// acts through the same counter as the pages do, and for a part of the day
// through the pages themselves, over HTTP on this machine.
package tour

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"slices"
	"strings"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/release"
	"cribgate/demo/crib"
	"cribgate/kiosk/command"
	"cribgate/kiosk/counter"
	"cribgate/store"
	"cribgate/store/keyring"
)

// day is a tour under way.
type day struct {
	ctx  context.Context
	dir  string
	out  io.Writer
	err  error // of the first step that came out otherwise
	step int

	kiosk   *command.Kiosk
	keys    keyring.Ring
	people  []crib.Person
	samples map[string]crib.Sample
	today   quantity.Date
	head    store.Head // at the start of the day

	keeper, inspector, attendant, rigger, other crib.Person
}

// Run plays the day in dir, which must hold no register, and tells it to out.
// The error says which step came out otherwise.
func Run(ctx context.Context, dir string, out io.Writer) (err error) {
	begun := time.Now()
	d := &day{ctx: ctx, dir: dir, out: out}
	d.tell("%s\n", caution)
	d.do("An invented crib is built: 300 slings and what happened to them in two years.", d.build)
	if d.err != nil {
		return d.err
	}
	defer func() {
		if d.kiosk != nil {
			err = errors.Join(err, d.kiosk.Close())
		}
	}()
	d.arrival()
	d.morning()
	d.refusals()
	d.race()
	d.mishap()
	if err := d.atThePages(); err != nil {
		return err
	}
	d.evening()
	if d.err == nil {
		d.tell("\nAll %d steps came out as they should, in %.1f s.\n", d.step, time.Since(begun).Seconds())
	}
	return d.err
}

const caution = `A day at the counter. The tool supports, and never replaces, the competent
person, the maker's instructions and the local law. Everything here is invented.`

// do tells what happens, does it and tells what came of it. After the first step
// that came out otherwise nothing more is done.
func (d *day) do(says string, f func() (came string, err error)) {
	if d.err != nil {
		return
	}
	d.step++
	d.tell("\n%2d. %s\n", d.step, says)
	came, err := f()
	if err == nil {
		err = d.ctx.Err()
	}
	if err != nil {
		d.err = fmt.Errorf("tour: step %d: %w", d.step, err)
		return
	}
	for line := range strings.SplitSeq(came, "\n") {
		d.tell("    %s\n", line)
	}
}

func (d *day) tell(format string, args ...any) {
	if _, err := fmt.Fprintf(d.out, format, args...); err != nil && d.err == nil {
		d.err = fmt.Errorf("tour: %w", err)
	}
}

func (d *day) build() (string, error) {
	built, err := crib.Build(d.ctx, crib.Options{
		Dir: d.dir, Slings: 300, Years: 2, Seed: 1, PINs: true, Last: quantity.DateOf(time.Now().UTC()).AddDays(-1),
	})
	if err != nil {
		return "", err
	}
	d.people, d.samples = built.People, map[string]crib.Sample{}
	for _, s := range built.Samples {
		d.samples[s.Name] = s
	}
	if err := d.open(); err != nil {
		return "", err
	}
	d.keeper, d.inspector = d.person(event.Keeper, 0), d.person(event.Inspector, 0)
	d.attendant, d.rigger, d.other = d.person(event.Attendant, 0), d.person(event.Rigger, 0), d.person(event.Rigger, 1)
	if d.today, err = d.kiosk.Store.Today(d.ctx); err != nil {
		return "", err
	}
	if d.head, err = d.kiosk.Store.Head(d.ctx); err != nil {
		return "", err
	}
	counts, err := d.kiosk.Store.Count(d.ctx)
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("%d events. In the rack %d, out %d, held %d, retired %d, lost %d.", built.Events,
		counts[gate.StateIn], counts[gate.StateOut], counts[gate.StateHeld], counts[gate.StateRetired], counts[gate.StateLost]), nil
}

// open opens the crib as the kiosk does.
func (d *day) open() (err error) {
	_, _, keys := store.Paths(d.dir)
	if d.keys, err = keyring.Load(keys); err != nil {
		return err
	}
	d.kiosk, err = command.Open(d.ctx, d.dir, store.Options{Program: release.Version(), Log: slog.New(slog.DiscardHandler)})
	if err != nil {
		d.kiosk = nil
	}
	return err
}

// person is the n-th of the cast that has just that role.
func (d *day) person(role event.Roles, n int) crib.Person {
	for _, p := range d.people {
		if p.Roles == role {
			if n == 0 {
				return p
			}
			n--
		}
	}
	return crib.Person{}
}

// by says who acts.
func (d *day) by(p crib.Person, way counter.Way) counter.Who {
	return counter.Who{Person: p.ID, Station: "counter-1", Way: way}
}

// ending is what somebody types who reads a plate.
func ending(ident string) string { return ident[max(0, len(ident)-3):] }

// asks has the attendant scan a tag for a rigger and a lift, and hand the sling
// over where it may go.
func (d *day) asks(text, ident string, rigger crib.Person, l gate.Lift) (counter.Outcome, error) {
	return d.kiosk.Counter.Issue(d.ctx, d.by(d.attendant, counter.Scanner), counter.Ask{
		Reading: counter.Reading{Text: text, Way: counter.Scanner, Typed: ending(ident)}, Rigger: rigger.ID, Lift: l,
	})
}

// went holds an outcome against "it was done".
func went(o counter.Outcome) error {
	if !o.May || len(o.Codes) > 0 {
		return fmt.Errorf("it should have been done, and was refused: %v", o.Codes)
	}
	return nil
}

// stayed holds an outcome against "refused, for this reason", and tells it.
func stayed(o counter.Outcome, want gate.Reason) (string, error) {
	if o.May || !slices.Contains(o.Codes, want) {
		return "", fmt.Errorf("it should have been refused for %s; done %v, reasons %v", want, o.May, o.Codes)
	}
	var lines []string
	for _, r := range o.Codes {
		t := r.Text(o.Answer, gate.Speech{})
		lines = append(lines, "Stays here: "+t.Sentence, "  rule: "+t.Rule, "  next: "+t.Next)
	}
	return strings.Join(lines, "\n"), nil
}

// listen takes a free port of this machine.
func listen(ctx context.Context) (net.Listener, error) {
	return (&net.ListenConfig{}).Listen(ctx, "tcp", "127.0.0.1:0")
}
