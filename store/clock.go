package store

import (
	"context"
	"fmt"
	"sync"
	"time"
	_ "time/tzdata" // a crib's date must not depend on what the machine has installed

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/state"
)

// What a clock is allowed before it is in doubt. Both are site policy of this
// program, no source.
const (
	// Slack is how far the clock may lie behind what the register knows: two
	// machines of one crib may differ by as much.
	Slack = 2 * time.Minute
	// Leap is how far the clock may be ahead of it: a night, and not a weekend
	// during which the machine was off.
	Leap = 24 * time.Hour
)

// Clock is what this machine's clock says, held against what the register knows.
// Where the two agree, Doubt is event.ClockSure, and Today and Reached are one
// and the same day, or two at midnight.
type Clock struct {
	Reads  time.Time // UTC, whole milliseconds: what the clock says
	Floor  time.Time // UTC: it is this late by now, or later
	Newest time.Time // UTC of the newest event
	Doubt  event.ClockDoubt
	leapt  time.Time // UTC: the latest that it has said since it leapt and nobody confirmed that
	zone   *time.Location
}

// Behind reports whether the clock lies so far before what the register knows
// that one of the two is wrong.
func (c Clock) Behind() bool { return c.Floor.Sub(c.Reads) > Slack }

// trusted gives a reading that nothing is held against but the newest event: of
// the clock of a register that is made up, or one that two people vouch for.
func trusted(reads, newest time.Time, zone *time.Location) Clock {
	return Clock{Reads: reads, Floor: newest, Newest: newest, zone: zone}
}

// Stamp is the time that an event gets: never before what is known. A leap that
// nobody has confirmed does not get into the register; the stamp is then the
// least that the time can be.
func (c Clock) Stamp() time.Time {
	if c.Doubt == event.ClockAhead {
		return c.Floor
	}
	return c.latest()
}

func (c Clock) latest() time.Time { return later(c.Reads, later(c.Floor, c.leapt)) }

func later(a, b time.Time) time.Time {
	if a.Before(b) {
		return b
	}
	return a
}

// Today is the crib's local date by which slings are due. In doubt it is the
// later one, so that nothing overdue becomes good.
func (c Clock) Today() quantity.Date { return c.day(c.latest()) }

// Reached is the crib's local date that has been reached for sure. Nothing that
// has happened, such as an inspection, is dated later.
func (c Clock) Reached() quantity.Date { return c.day(c.Stamp()) }

// Local gives a moment as the crib's own clocks on the wall show it.
func (c Clock) Local(t time.Time) time.Time { return t.In(c.zone) }

func (c Clock) day(t time.Time) quantity.Date { return quantity.DateOf(t.In(c.zone)) }

// goesOn is the clock after an event of the act was stamped.
func (c Clock) goesOn(e event.Envelope) Clock {
	if e.Kind == event.KindDateConfirmed || e.Kind == event.KindClockCorrected {
		return trusted(c.Reads, e.UTC, c.zone)
	}
	c.Newest, c.Floor = e.UTC, later(c.Floor, e.UTC)
	return c
}

// watch remembers how late it was, at the least, when somebody last looked, and
// whether the clock has leapt since two people last vouched for it. In one start
// of the machine its uptime tells how much later it is by now, and a clock that is
// set cannot change that. It is safe for many goroutines.
type watch struct {
	mu      sync.Mutex
	floor   time.Time
	leapt   time.Time // the latest reading that was too far ahead; zero for none
	machine reading
	vouched state.Vouched // what had last been vouched for then
}

// hold gives the clock's reading against the least that the time can be, and
// remembers that. A leap is not over when the clock goes back: who knows which of
// the two was right? What two people vouch for takes the place of whatever was
// known before.
func (w *watch) hold(reads time.Time, newest event.Envelope, now reading, vouched state.Vouched, zone *time.Location) Clock {
	c := Clock{Reads: reads, Newest: newest.UTC, zone: zone}
	c.Floor = newest.UTC.Add(now.since(reading{newest.Boot, newest.Uptime}))
	w.mu.Lock()
	defer w.mu.Unlock()
	if !w.floor.IsZero() && w.vouched == vouched {
		passed := now.since(w.machine)
		c.Floor = later(c.Floor, w.floor.Add(passed))
		if !w.leapt.IsZero() {
			c.leapt = w.leapt.Add(passed)
		}
	}
	if newest.Doubt == event.ClockAhead || reads.Sub(c.Floor) > Leap {
		c.leapt = later(c.leapt, reads)
	}
	switch {
	case !c.leapt.IsZero():
		c.Doubt = event.ClockAhead
	case c.Behind():
		c.Doubt = event.ClockBehind
	}
	w.floor, w.leapt, w.machine, w.vouched = c.Floor, c.leapt, now, vouched
	return c
}

// clock reads the clock against the register that r reads, whose newest event
// has the envelope given, and this start of the machine.
func (s *Store) clock(ctx context.Context, r Reader, newest event.Envelope) (c Clock, now reading, err error) {
	crib, err := r.Crib(ctx)
	if err != nil {
		return Clock{}, reading{}, err
	}
	zone, err := zoneOf(crib.Founded.Zone)
	if err != nil {
		return Clock{}, reading{}, err
	}
	if now, err = s.o.Machine.read(); err != nil {
		return Clock{}, reading{}, err
	}
	return s.watch.hold(s.o.clock(), newest, now, crib.Vouched, zone), now, nil
}

// Clock reads this machine's clock and holds it against the register. While it
// is in doubt no sling may be issued.
func (s *Store) Clock(ctx context.Context) (Clock, error) {
	newest, err := s.newest(ctx)
	if err != nil {
		return Clock{}, err
	}
	c, _, err := s.clock(ctx, s.Reader, newest.Envelope)
	return c, err
}

// Today gives the crib's local date by which slings are due: see Clock.Today.
func (s *Store) Today(ctx context.Context) (quantity.Date, error) {
	c, err := s.Clock(ctx)
	if err != nil {
		return quantity.Date{}, err
	}
	return c.Today(), nil
}

func (o Options) clock() time.Time { return o.Now().UTC().Truncate(time.Millisecond) }

// zoneOf finds a time zone by its name. An empty name and "Local" would depend
// on the machine and are refused.
func zoneOf(name string) (*time.Location, error) {
	if name == "" || name == "Local" {
		return nil, fmt.Errorf("store: %q is no time zone name such as Europe/Berlin", name)
	}
	zone, err := time.LoadLocation(name)
	if err != nil {
		return nil, fmt.Errorf("store: time zone %q: %w", name, err)
	}
	return zone, nil
}
