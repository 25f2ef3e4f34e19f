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
// and the same day.
type Clock struct {
	Reads  time.Time // UTC, whole milliseconds: what the clock says
	Floor  time.Time // UTC: it is this late by now, or later
	Newest time.Time // UTC of the newest event
	Doubt  event.ClockDoubt
	zone   *time.Location
}

// held gives the clock's reading against the least it can be.
func held(reads, floor, newest time.Time, zone *time.Location) Clock {
	c := Clock{Reads: reads, Floor: floor, Newest: newest, zone: zone}
	switch {
	case floor.Sub(reads) > Slack:
		c.Doubt = event.ClockBehind
	case reads.Sub(floor) > Leap:
		c.Doubt = event.ClockAhead
	}
	return c
}

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

func (c Clock) latest() time.Time {
	if c.Reads.Before(c.Floor) {
		return c.Floor
	}
	return c.Reads
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
	c.Newest = e.UTC
	if c.Floor.Before(e.UTC) {
		c.Floor = e.UTC
	}
	return c
}

// watch remembers how late it was, at the least, when somebody last looked. In
// one start of the machine its uptime tells how much later it is since then, and
// a clock that is set cannot change that. It is safe for many goroutines.
type watch struct {
	mu      sync.Mutex
	floor   time.Time
	machine reading
	vouched state.Vouched // what the crib's people had last vouched for then
}

// floorOf gives the least that the time can be, and remembers it. What two people
// vouch for takes the place of whatever was known before.
func (w *watch) floorOf(newest event.Envelope, now reading, vouched state.Vouched) time.Time {
	floor := newest.UTC.Add(now.since(reading{newest.Boot, newest.Uptime}))
	w.mu.Lock()
	defer w.mu.Unlock()
	if !w.floor.IsZero() && w.vouched == vouched {
		if kept := w.floor.Add(now.since(w.machine)); kept.After(floor) {
			floor = kept
		}
	}
	w.floor, w.machine, w.vouched = floor, now, vouched
	return floor
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
	return held(s.o.clock(), s.watch.floorOf(newest, now, crib.Vouched), newest.UTC, zone), now, nil
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
