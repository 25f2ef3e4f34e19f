package store

import (
	"context"
	"crypto/sha256"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"
	"time"
	_ "time/tzdata" // a crib's date must not depend on what the machine has installed

	"cribgate/core/event"
	"cribgate/core/quantity"
)

// slack is how far the clock may lie behind the newest event before it cannot
// be right: two machines of one crib may differ by as much (site policy of this
// program, no source).
const slack = 2 * time.Minute

// instant is the clock and the floor that the register sets it.
type instant struct {
	clock  time.Time // UTC, whole milliseconds
	newest time.Time // UTC of the newest event
	zone   *time.Location
}

// stamp is the time an event gets: never before the newest there is.
func (i instant) stamp() time.Time {
	if i.clock.Before(i.newest) {
		return i.newest
	}
	return i.clock
}

// day is the crib's local date.
func (i instant) day() quantity.Date { return quantity.DateOf(i.stamp().In(i.zone)) }

func (i instant) behind() bool { return i.newest.Sub(i.clock) > slack }

func (o Options) clock() time.Time { return o.Now().UTC().Truncate(time.Millisecond) }

// instant reads the clock against the head of the register that r reads.
func (s *Store) instant(ctx context.Context, r Reader, head Head) (instant, error) {
	crib, err := r.Crib(ctx)
	if err != nil {
		return instant{}, err
	}
	zone, err := zoneOf(crib.Founded.Zone)
	if err != nil {
		return instant{}, err
	}
	return instant{clock: s.o.clock(), newest: head.Time, zone: zone}, nil
}

func (s *Store) now(ctx context.Context) (instant, error) {
	head, err := s.Head(ctx)
	if err != nil {
		return instant{}, err
	}
	return s.instant(ctx, s.Reader, head)
}

// Today gives the crib's local date. Where the clock lies behind the register
// it is the date of the newest event, so that nothing overdue becomes good
// again.
func (s *Store) Today(ctx context.Context) (quantity.Date, error) {
	i, err := s.now(ctx)
	if err != nil {
		return quantity.Date{}, err
	}
	return i.day(), nil
}

// ClockBehind gives the time of the newest event and whether this machine's
// clock lies more than two minutes before it, which cannot be right.
func (s *Store) ClockBehind(ctx context.Context) (newest time.Time, behind bool, err error) {
	i, err := s.now(ctx)
	if err != nil {
		return time.Time{}, true, err
	}
	return i.newest, i.behind(), nil
}

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

// machine tells one start of the machine from the next, so that times of one
// start can be compared by its uptime.
type machine struct {
	boot   event.BootID
	base   time.Duration // uptime when it was looked at
	looked time.Time     // with the monotonic clock's reading
}

// thisMachine asks the kernel where it tells (Linux); elsewhere the program's
// own start stands for the machine's.
func thisMachine(o Options) (machine, error) {
	m := machine{looked: o.Now()}
	id, idErr := os.ReadFile("/proc/sys/kernel/random/boot_id")
	up, upErr := os.ReadFile("/proc/uptime")
	if idErr == nil && upErr == nil {
		seconds, _, _ := strings.Cut(string(up), " ")
		if s, err := strconv.ParseFloat(seconds, 64); err == nil {
			sum := sha256.Sum256(id) // names the start without giving the machine's own id away
			m.boot, m.base = event.BootID(sum[:16]), time.Duration(s*1000)*time.Millisecond
			return m, nil
		}
	}
	if _, err := io.ReadFull(o.Random, m.boot[:]); err != nil {
		return machine{}, fmt.Errorf("store: name this start: %w", err)
	}
	return m, nil
}

// uptime at a reading of the clock. A clock that tests set may go backwards.
func (m machine) uptime(now time.Time) time.Duration {
	return max(0, m.base+now.Sub(m.looked)).Truncate(time.Millisecond)
}
