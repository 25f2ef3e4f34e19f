package store_test

import (
	"bytes"
	"context"
	"path/filepath"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/store"
	"cribgate/store/storetest"
)

// kiosk is a machine whose clock and starts a test sets.
type kiosk struct {
	t     testing.TB
	clock time.Time
	boot  byte
	up    time.Duration
	path  string
	s     *store.Store
	sling state.Sling
}

func (k *kiosk) options() store.Options {
	return store.Options{
		Program: "test", Now: func() time.Time { return k.clock },
		Machine: func() (event.BootID, time.Duration, error) { return event.BootID{k.boot}, k.up, nil },
	}
}

// newKiosk founds a crib of that zone at that moment of UTC, with one sling.
func newKiosk(t testing.TB, zone, at string) *kiosk {
	t.Helper()
	k := &kiosk{t: t, clock: moment(t, at), boot: 1, up: time.Hour, path: filepath.Join(t.TempDir(), "register.sqlite")}
	f := storetest.Founding()
	f.Zone = zone
	s, _, err := store.Init(context.Background(), k.path, f, k.options())
	if err != nil {
		t.Fatal(err)
	}
	k.s = s
	t.Cleanup(func() { k.closed() })
	k.sling = storetest.Register(t, s, 1)
	return k
}

func moment(t testing.TB, text string) time.Time {
	t.Helper()
	m, err := time.Parse("2006-01-02 15:04:05.000", text)
	if err != nil {
		t.Fatal(err)
	}
	return m.UTC()
}

func (k *kiosk) closed() {
	k.t.Helper()
	report, err := k.s.Verify(context.Background(), nil)
	if err != nil || !report.Whole() {
		k.t.Errorf("%v, %v", report.Breaks, err)
	}
	if err := k.s.Close(); err != nil {
		k.t.Error(err)
	}
}

// started turns the machine off and on again; its clock may have gone wrong.
func (k *kiosk) started(clock time.Time) {
	k.t.Helper()
	k.closed()
	k.boot, k.up, k.clock = k.boot+1, time.Minute, clock
	var err error
	if k.s, err = store.Open(context.Background(), k.path, k.options()); err != nil {
		k.t.Fatal(err)
	}
}

// passes lets time pass, with the clock going on.
func (k *kiosk) passes(d time.Duration) { k.clock, k.up = k.clock.Add(d), k.up+d }

func (k *kiosk) reads() store.Clock {
	k.t.Helper()
	c, err := k.s.Clock(context.Background())
	if err != nil {
		k.t.Fatal(err)
	}
	return c
}

// held records something, and gives its envelope.
func (k *kiosk) held() event.Envelope {
	k.t.Helper()
	rec, err := append1(context.Background(), k.s, plain, k.sling, event.Held{Reason: "x"})
	if err != nil {
		k.t.Fatal(err)
	}
	k.sling.Heads = []event.Hash{rec.Hash}
	return rec.Envelope
}

func (k *kiosk) vouched(body event.Body) event.Envelope {
	k.t.Helper()
	var e event.Envelope
	_, err := k.s.Do(context.Background(), plain, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		crib, err := tx.Crib(ctx)
		if err != nil {
			return nil, err
		}
		rec, err := tx.Append(ctx, event.Crib(), crib.Heads, body)
		e = rec.Envelope
		return nil, err
	})
	if err != nil {
		k.t.Fatal(err)
	}
	return e
}

func both(floor time.Time) (event.DateConfirmed, event.ClockCorrected) {
	signed := event.Signed{Keeper: event.PersonID{1}, Inspector: event.PersonID{2}}
	return event.DateConfirmed{Floor: floor, Signed: signed}, event.ClockCorrected{Floor: floor, Signed: signed}
}

const ms = time.Millisecond

// What the clock may say, on both sides of every boundary (site policy, no
// source): two minutes back, a day ahead.
func TestClockBoundaries(t *testing.T) {
	const day = 24 * time.Hour
	for _, c := range []struct {
		name  string
		off   bool          // the machine was turned off and on in between
		takes time.Duration // that really pass
		set   time.Duration // how far the clock is from right then
		want  event.ClockDoubt
	}{
		{"right", false, time.Hour, 0, event.ClockSure},
		{"two minutes back", false, 0, -2 * time.Minute, event.ClockSure},
		{"a little more", false, 0, -2*time.Minute - ms, event.ClockBehind},
		{"two minutes back after three days", false, 3 * day, -2 * time.Minute, event.ClockSure},
		{"a little more after three days: after the newest event, but not after what has passed", false, 3 * day, -2*time.Minute - ms, event.ClockBehind},
		{"a day back after three", false, 3 * day, -day, event.ClockBehind},
		{"a day ahead", false, 0, day, event.ClockSure},
		{"a little more", false, 0, day + ms, event.ClockAhead},
		{"a weekend with the machine on", false, 62 * time.Hour, 0, event.ClockSure},
		{"a weekend and a day ahead", false, 62 * time.Hour, day, event.ClockSure},
		{"a weekend and a little more", false, 62 * time.Hour, day + ms, event.ClockAhead},
		{"a year with the machine on", false, 365 * day, 0, event.ClockSure},
		{"a night off", true, 14 * time.Hour, 0, event.ClockSure},
		{"a day off", true, day, 0, event.ClockSure},
		{"a little more than a day off", true, day + ms, 0, event.ClockAhead},
		{"a weekend off", true, 62 * time.Hour, 0, event.ClockAhead},
		{"off, and the battery of its clock is flat", true, time.Hour, -20 * 365 * day, event.ClockBehind},
		{"off for an hour, and two minutes before it went off", true, time.Hour, -time.Hour - 2*time.Minute, event.ClockSure},
		{"a little more", true, time.Hour, -time.Hour - 2*time.Minute - ms, event.ClockBehind},
	} {
		k := newKiosk(t, "Europe/Berlin", "2026-03-10 12:00:00.000")
		newest := k.held()
		right := k.clock.Add(c.takes)
		if c.off {
			k.started(right.Add(c.set))
		} else {
			k.passes(c.takes)
			k.clock = right.Add(c.set)
		}
		got := k.reads()
		if got.Doubt != c.want || got.Reads != right.Add(c.set) || got.Newest != newest.UTC {
			t.Errorf("%s: doubt %d, want %d: %+v", c.name, got.Doubt, c.want, got)
		}
		if floor := right; c.off { // nothing is known of the time between
			if got.Floor != newest.UTC {
				t.Errorf("%s: floor %s, want %s", c.name, got.Floor, newest.UTC)
			}
		} else if got.Floor != floor {
			t.Errorf("%s: floor %s, want %s", c.name, got.Floor, floor)
		}
		e := k.held()
		if e.Doubt != c.want || e.UTC.Before(newest.UTC) || c.want == event.ClockAhead && e.UTC != got.Floor {
			t.Errorf("%s: recorded %s, doubt %d", c.name, e.UTC, e.Doubt)
		}
		if got.Today().Before(got.Reached()) || c.want == event.ClockSure && got.Today() != got.Reached() {
			t.Errorf("%s: today %s, reached %s", c.name, got.Today(), got.Reached())
		}
	}
}

// The crib's date is that of its zone, whatever its clocks on the wall do.
func TestClockDays(t *testing.T) {
	for _, c := range []struct {
		name, zone, at string
		takes          time.Duration
		today          string
	}{
		{"before the clocks go forward", "Europe/Berlin", "2026-03-28 22:59:59.999", 0, "2026-03-28"},
		{"the day on which they go forward", "Europe/Berlin", "2026-03-28 22:59:59.999", ms, "2026-03-29"},
		{"its last moment, an hour earlier", "Europe/Berlin", "2026-03-28 22:59:59.999", 23 * time.Hour, "2026-03-29"},
		{"the day after", "Europe/Berlin", "2026-03-28 22:59:59.999", 23*time.Hour + ms, "2026-03-30"},
		{"the day on which they go back", "Europe/Berlin", "2026-10-24 21:59:59.999", ms, "2026-10-25"},
		{"its last moment, an hour later", "Europe/Berlin", "2026-10-24 21:59:59.999", 25 * time.Hour, "2026-10-25"},
		{"the day after", "Europe/Berlin", "2026-10-24 21:59:59.999", 25*time.Hour + ms, "2026-10-26"},
		{"the last moment of the year", "America/Chicago", "2027-01-01 05:59:59.999", 0, "2026-12-31"},
		{"New Year", "America/Chicago", "2027-01-01 05:59:59.999", ms, "2027-01-01"},
		{"a leap day", "Asia/Tokyo", "2028-02-28 14:59:59.999", ms, "2028-02-29"},
		{"the day after it", "Asia/Tokyo", "2028-02-28 14:59:59.999", 24*time.Hour + ms, "2028-03-01"},
		{"a zone that goes back at midnight", "America/Sao_Paulo", "2018-02-18 01:59:59.999", ms, "2018-02-17"},
	} {
		k := newKiosk(t, c.zone, c.at)
		k.passes(c.takes)
		if got := k.reads(); got.Today().String() != c.today || got.Doubt != event.ClockSure {
			t.Errorf("%s: %s, doubt %d, want %s", c.name, got.Today(), got.Doubt, c.today)
		}
		if e := k.held(); e.Day.String() != c.today {
			t.Errorf("%s: recorded on %s, want %s", c.name, e.Day, c.today)
		}
	}
}

func date(t testing.TB, text string) quantity.Date {
	t.Helper()
	d, err := quantity.ParseDate(text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// A leap does not get into the register before two people have confirmed it; the
// time at which something is due runs ahead with it meanwhile.
func TestClockLeaps(t *testing.T) {
	k := newKiosk(t, "UTC", "2026-12-30 12:00:00.000")
	k.passes(time.Hour)
	k.clock = k.clock.AddDate(0, 0, 3) // over New Year
	c := k.reads()
	if c.Doubt != event.ClockAhead || c.Today() != date(t, "2027-01-02") || c.Reached() != date(t, "2026-12-30") {
		t.Fatalf("%+v: today %s, reached %s", c, c.Today(), c.Reached())
	}
	if e := k.held(); e.Doubt != event.ClockAhead || e.UTC != c.Floor || e.Day != date(t, "2026-12-30") {
		t.Errorf("recorded %s, %s, doubt %d", e.UTC, e.Day, e.Doubt)
	}
	k.clock = k.clock.AddDate(0, 0, -3) // right again, or wrong for the first time
	if c = k.reads(); c.Doubt != event.ClockAhead || c.Today() != date(t, "2027-01-02") {
		t.Errorf("after it went back: doubt %d, today %s", c.Doubt, c.Today())
	}
	k.started(k.clock.Add(time.Hour)) // the register remembers, too
	if c = k.reads(); c.Doubt != event.ClockAhead {
		t.Errorf("after a start: doubt %d", c.Doubt)
	}
	confirmed, _ := both(c.Floor)
	e := k.vouched(confirmed)
	if e.UTC != k.clock || e.Doubt != event.ClockSure {
		t.Errorf("confirmed at %s, doubt %d", e.UTC, e.Doubt)
	}
	k.passes(time.Minute)
	if c = k.reads(); c.Doubt != event.ClockSure || c.Floor != k.clock || c.Today() != c.Reached() {
		t.Errorf("after it was confirmed: %+v", c)
	}
	if e := k.held(); e.Doubt != event.ClockSure || e.UTC != k.clock {
		t.Errorf("after it was confirmed: recorded %s, doubt %d", e.UTC, e.Doubt)
	}
}

// A date that was wrongly confirmed far ahead is mended by two people, for every
// program that has the register open.
func TestClockCorrected(t *testing.T) {
	k := newKiosk(t, "UTC", "2026-03-10 12:00:00.000")
	right := k.clock
	k.clock = right.AddDate(9, 0, 0)
	confirmed, _ := both(right)
	k.vouched(confirmed)
	k.held()
	other, err := store.Open(t.Context(), k.path, k.options()) // and knows 2035 by heart
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := other.Close(); err != nil {
			t.Error(err)
		}
	}()
	k.clock = right.Add(time.Hour)
	k.up += time.Hour
	c := k.reads()
	if c.Doubt != event.ClockBehind || c.Today() != date(t, "2035-03-10") {
		t.Fatalf("%+v", c)
	}
	if e := k.held(); e.Doubt != event.ClockBehind || e.UTC != c.Floor {
		t.Errorf("recorded %s, doubt %d", e.UTC, e.Doubt)
	}
	_, corrected := both(c.Floor)
	if e := k.vouched(corrected); e.UTC != k.clock || e.Doubt != event.ClockSure || e.Day != date(t, "2026-03-10") {
		t.Errorf("corrected to %s, %s, doubt %d", e.UTC, e.Day, e.Doubt)
	}
	k.passes(time.Minute)
	for name, s := range map[string]*store.Store{"this": k.s, "the other": other} {
		c, err := s.Clock(t.Context())
		if err != nil || c.Doubt != event.ClockSure || c.Floor != k.clock {
			t.Errorf("%s program: %+v, %v", name, c, err)
		}
	}
	if e := k.held(); e.Doubt != event.ClockSure || e.UTC != k.clock {
		t.Errorf("after it was corrected: recorded %s, doubt %d", e.UTC, e.Doubt)
	}
	var before, after bytes.Buffer
	if err := k.s.Dump(t.Context(), &before); err != nil {
		t.Fatal(err)
	}
	if err := k.s.Rebuild(t.Context()); err != nil {
		t.Fatal(err)
	}
	if err := k.s.Dump(t.Context(), &after); err != nil || before.String() != after.String() {
		t.Errorf("rebuilt\n%s\nwant\n%s\n%v", &after, &before, err)
	}
}

// While the clock lies behind, time goes on as the machine's uptime says, so that
// a clock that stands still, or creeps, hides nothing.
func TestClockStandsStill(t *testing.T) {
	k := newKiosk(t, "UTC", "2026-03-10 12:00:00.000")
	right := k.clock
	for range 100 {
		right = right.Add(time.Hour)
		k.up += time.Hour
		if c := k.reads(); c.Floor != right || c.Doubt != event.ClockBehind {
			t.Fatalf("floor %s, want %s, doubt %d", c.Floor, right, c.Doubt)
		}
		if e := k.held(); e.UTC != right || e.Doubt != event.ClockBehind {
			t.Fatalf("recorded %s, want %s, doubt %d", e.UTC, right, e.Doubt)
		}
	}
	k.started(right.Add(-time.Minute)) // of this start nothing is recorded
	for range 30 {
		k.up += time.Hour
	}
	k.clock = right.Add(29 * time.Hour) // after the newest event, and an hour behind
	if c := k.reads(); c.Doubt != event.ClockBehind {
		t.Errorf("%+v", c)
	}
}
