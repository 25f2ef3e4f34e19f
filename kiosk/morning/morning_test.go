package morning

import (
	"context"
	"errors"
	"path/filepath"
	"testing"
	"time"

	"cribgate/core/quantity"
	"cribgate/labeler/printer"
	"cribgate/labeler/printer/ipp"
	"cribgate/labeler/printer/printertest"
)

// crib is one whose clock a test sets.
type crib struct {
	now   time.Time
	ahead int   // days by which the wall clock is ahead of what can be relied on
	lost  error // why nobody knows the time
	err   error
	drawn int
}

func (c *crib) Local(context.Context) (time.Time, error) { return c.now, c.lost }

func (c *crib) DaySheet(context.Context) ([]byte, quantity.Date, error) {
	c.drawn++
	return []byte("%PDF-1.7 sheet"), quantity.DateOf(c.now).AddDays(-c.ahead), c.err
}

func at(day, hour, minute int) time.Time {
	return time.Date(2026, 3, day, hour, minute, 0, 0, time.FixedZone("crib", -6*3600))
}

// options has no job wait for the clock.
func options() Options {
	now := make(chan time.Time)
	close(now)
	return Options{Printer: printer.Options{After: func(time.Duration) <-chan time.Time { return now }}}
}

// TestOnceADay: the sheet comes at its time, or as soon as there is somebody to print it,
// once a day, also when the program begins anew.
func TestOnceADay(t *testing.T) {
	p := printertest.New(t)
	c := &crib{now: at(2, 5, 20)}
	file := filepath.Join(t.TempDir(), "day-sheet")
	settings := Settings{Printer: p.URL, At: DefaultAt}
	k := New(settings, c, file, options())
	for _, step := range []struct {
		now  time.Time
		jobs int
		wait time.Duration
	}{
		{at(2, 0, 0), 0, lookEvery},
		{at(2, 5, 25), 0, 5 * time.Minute},
		{at(2, 5, 30), 1, lookEvery},
		{at(2, 5, 40), 1, lookEvery},
		{at(2, 23, 59), 1, lookEvery},
		{at(3, 5, 29), 1, time.Minute},
		{at(3, 9, 0), 2, lookEvery}, // the machine was off at half past five
	} {
		c.now = step.now
		if wait := k.Once(t.Context()); wait != step.wait || len(p.Jobs()) != step.jobs || k.State().Failed != nil {
			t.Errorf("%s: wait %v, %d jobs, %v; want %v, %d", step.now, wait, len(p.Jobs()), k.State().Failed, step.wait, step.jobs)
		}
	}
	if jobs := p.Jobs(); len(jobs) != 2 || string(jobs[0].Document) != "%PDF-1.7 sheet" {
		t.Fatalf("%d jobs", len(jobs))
	}
	anew := New(settings, c, file, options())
	if anew.Once(t.Context()); len(p.Jobs()) != 2 || anew.State().Printed != quantity.DateOf(c.now) {
		t.Errorf("printed again when the program began anew: %+v", anew.State())
	}
}

// TestPrintsLater: what the printer does not take is told and tried again; what nobody
// knows of is not sent twice.
func TestPrintsLater(t *testing.T) {
	p := printertest.New(t)
	c := &crib{now: at(2, 6, 0), err: errors.New("the disk cannot be read")}
	k := New(Settings{Printer: p.URL, At: DefaultAt}, c, filepath.Join(t.TempDir(), "day-sheet"), options())
	if k.Once(t.Context()); k.State().Failed == nil || len(p.Jobs()) != 0 {
		t.Errorf("not drawn: %+v", k.State())
	}
	c.err = nil
	p.Script(ipp.GetPrinterAttributes, printertest.Drop())
	if k.Once(t.Context()); k.State().Failed == nil || len(p.Jobs()) != 0 || !k.State().Printed.IsZero() {
		t.Errorf("no answer: %+v", k.State())
	}
	p.Script(ipp.GetPrinterAttributes)
	k.Once(t.Context())
	if s := k.State(); s.Failed != nil || s.Printed != quantity.DateOf(c.now) || s.Unsure || len(p.Jobs()) != 1 {
		t.Errorf("%+v, %d jobs", s, len(p.Jobs()))
	}
	c.now = at(3, 6, 0)
	p.Script(ipp.PrintJob, printertest.Drop())
	k.Once(t.Context())
	sent := p.Asked(ipp.PrintJob)
	if k.Once(t.Context()); !k.State().Unsure || p.Asked(ipp.PrintJob) != sent {
		t.Errorf("nobody knows: %+v, asked %d times, then %d", k.State(), sent, p.Asked(ipp.PrintJob))
	}
}

// TestSaysWhatIsTrue: what failed is told until the sheet is there or its day is over, and
// what nobody knows is still not known when the program begins anew.
func TestSaysWhatIsTrue(t *testing.T) {
	p := printertest.New(t)
	file := filepath.Join(t.TempDir(), "day-sheet")
	settings := Settings{Printer: p.URL, At: DefaultAt}
	c := &crib{now: at(2, 6, 0)}
	k := New(settings, c, file, options())
	lost, torn := errors.New("the register is locked"), errors.New("the disk cannot be read")
	for _, step := range []struct {
		now       time.Time
		lost, err error
		failed    bool
		jobs      int
	}{
		{at(2, 6, 0), nil, nil, false, 1},
		{at(2, 9, 0), lost, nil, true, 1},
		{at(2, 9, 10), nil, nil, false, 1}, // it was printed all the same
		{at(3, 6, 0), nil, torn, true, 1},
		{at(4, 0, 5), nil, nil, false, 1}, // yesterday's is no longer asked for
	} {
		c.now, c.lost, c.err = step.now, step.lost, step.err
		if k.Once(t.Context()); (k.State().Failed != nil) != step.failed || len(p.Jobs()) != step.jobs {
			t.Errorf("%s: %+v, %d jobs", step.now, k.State(), len(p.Jobs()))
		}
	}
	c.now = at(4, 6, 0)
	p.Script(ipp.PrintJob, printertest.Drop())
	k.Once(t.Context())
	if s := New(settings, c, file, options()).State(); !s.Unsure || s.Printed != quantity.DateOf(c.now) {
		t.Errorf("begun anew: %+v", s)
	}
}

// TestClockAhead: while the wall clock is ahead of what can be relied on, the sheet is
// drawn once in a day of that clock.
func TestClockAhead(t *testing.T) {
	p := printertest.New(t)
	c := &crib{now: at(5, 6, 0), ahead: 3}
	k := New(Settings{Printer: p.URL, At: DefaultAt}, c, filepath.Join(t.TempDir(), "day-sheet"), options())
	for range 5 {
		k.Once(t.Context())
	}
	if len(p.Jobs()) != 1 || c.drawn != 1 {
		t.Errorf("drawn %d times, %d jobs", c.drawn, len(p.Jobs()))
	}
}

func TestSettings(t *testing.T) {
	for _, c := range []struct {
		s  Settings
		ok bool
	}{
		{Settings{}, true}, {Settings{Printer: "ipp://printer.example/ipp/print", At: DefaultAt}, true}, {Settings{Printer: "tcp://192.0.2.7:9100"}, true},
		{Settings{At: 24 * time.Hour}, false}, {Settings{At: -1}, false}, {Settings{Printer: "printer"}, false},
	} {
		if err := c.s.Check(); errors.Is(err, ErrSettings) == c.ok || (err == nil) != c.ok {
			t.Errorf("%+v: %v", c.s, err)
		}
	}
	for text, want := range map[string]time.Duration{"05:30": DefaultAt, "00:00": 0, "23:59": 24*time.Hour - time.Minute} {
		if got, err := ParseAt(text); err != nil || got != want {
			t.Errorf("%q: %v, %v", text, got, err)
		}
	}
	for _, text := range []string{"", "24:00", "5.30", "05:60", "half past"} {
		if _, err := ParseAt(text); !errors.Is(err, ErrSettings) {
			t.Errorf("%q: %v", text, err)
		}
	}
}
