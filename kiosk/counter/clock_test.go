package counter

import (
	"context"
	"errors"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
	"cribgate/store"
)

// options are those of a machine that is up all the while, unless boot says that
// it was started anew.
func (b *bench) options() store.Options {
	begin := time.Date(2026, 3, 2, 14, 0, 0, 0, time.UTC) // where newBench begins
	return store.Options{Now: b.clock, Program: "test", Machine: func() (event.BootID, time.Duration, error) {
		return event.BootID{b.boot}, b.right().Sub(begin), nil
	}}
}

// reopened closes the register and opens it again.
func (b *bench) reopened() error {
	err := b.st.Close()
	if err != nil {
		return err
	}
	if b.st, err = store.Open(context.Background(), b.file, b.options()); err == nil {
		b.Counter = New(b.st, b.keys)
	}
	return err
}

// right is what time it really is.
func (b *bench) right() time.Time {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.now
}

// wrong sets the machine's clock so far from right.
func (b *bench) wrong(d time.Duration) {
	b.mu.Lock()
	b.off = d
	b.mu.Unlock()
}

// ready gives the text of the live tag of a sling that may go out.
func (b *bench) ready(ident string) string {
	_, text := b.tagged(ident)
	return text
}

func (b *bench) slingOf(tag string) event.SlingID {
	b.t.Helper()
	f, err := b.Find(context.Background(), Reading{Text: tag, Way: Scanner})
	if err != nil {
		b.t.Fatal(err)
	}
	return f.Sling.ID
}

func (b *bench) head() int64 {
	b.t.Helper()
	h, err := b.st.Head(context.Background())
	if err != nil {
		b.t.Fatal(err)
	}
	return h.At
}

// aside asks for a sling for a lift that no sling is too light for.
func (b *bench) aside(tag string) Ask {
	a := b.ask(tag, 1000)
	a.Lift.ReturnBy = quantity.Date{}
	return a
}

func passing(day quantity.Date) Inspection {
	return Inspection{Date: day, Outcome: tagcode.Fit, Service: due.Normal, RatingTag: gate.TagLegible}
}

func (b *bench) keeperInspects() {
	b.t.Helper()
	ctx := context.Background()
	p, err := b.st.Person(ctx, b.keeper)
	if err != nil {
		b.t.Fatal(err)
	}
	to := event.PersonChanged{Name: p.Name, Roles: p.Roles | event.Inspector, Here: true}
	if err := b.ChangePerson(ctx, b.as(b.keeper, ""), b.keeper, p.Heads, to); err != nil {
		b.t.Fatal(err)
	}
}

func (b *bench) doubt() event.ClockDoubt {
	b.t.Helper()
	c, err := b.st.Clock(context.Background())
	if err != nil {
		b.t.Fatal(err)
	}
	return c.Doubt
}

// vouching is what the two would sign now.
func (b *bench) vouching() Vouching {
	b.t.Helper()
	c, err := b.st.Clock(context.Background())
	if err != nil {
		b.t.Fatal(err)
	}
	return Vouching{Shown: c.Reads, Behind: c.Behind(), Signed: event.Signed{Keeper: b.keeper, Inspector: b.inspector}}
}

// Nothing goes out in doubt; what comes back comes in, and holds hold.
func TestClockDoubt(t *testing.T) {
	ctx := context.Background()
	for _, c := range []struct {
		name string
		off  time.Duration
		code gate.Reason
		want event.ClockDoubt
	}{
		{"two minutes back", -2 * time.Minute, 0, event.ClockSure},
		{"a little more", -2*time.Minute - time.Millisecond, gate.ClockBehind, event.ClockBehind},
		{"a year back", -365 * 24 * time.Hour, gate.ClockBehind, event.ClockBehind},
		{"a day ahead", 24 * time.Hour, 0, event.ClockSure},
		{"a little more", 24*time.Hour + time.Millisecond, gate.ClockAhead, event.ClockAhead},
		{"nine years ahead", 9 * 365 * 24 * time.Hour, gate.ClockAhead, event.ClockAhead},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newBench(t, nil)
			out, inTag := b.ready("CS-0001"), b.ready("CS-0002")
			b.must(b.Issue(ctx, b.as(b.attendant, ""), b.aside(out)))
			b.wrong(c.off)
			o, err := b.Issue(ctx, b.as(b.attendant, ""), b.aside(inTag))
			if err != nil || o.May != (c.code == 0) {
				t.Fatalf("%v, %v", o.Codes, err)
			}
			if c.code != 0 && (len(o.Codes) == 0 || o.Codes[0] != c.code) {
				t.Errorf("refused for %v, want %v", o.Codes, c.code)
			}
			back := b.must(b.Return(ctx, b.as(b.attendant, ""), Reading{Text: out, Way: Scanner}, Finding{Said: event.Nothing}))
			id := back.Sling.ID
			b.must(b.Hold(ctx, b.as(b.attendant, ""), b.seen(id), "bent"))
			story, err := b.st.Story(ctx, event.Sling(id))
			if err != nil {
				t.Fatal(err)
			}
			for _, r := range story[len(story)-2:] {
				if r.Envelope.Doubt != c.want {
					t.Errorf("%s recorded with doubt %d, want %d", r.Envelope.Kind, r.Envelope.Doubt, c.want)
				}
			}
		})
	}
}

// An inspection is dated by what has been reached for sure: a wrong clock makes
// nothing good.
func TestClockAndInspections(t *testing.T) {
	ctx := context.Background()
	for _, c := range []struct {
		name string
		off  time.Duration
		date string
		code gate.Reason
	}{
		{"today, by a clock that has leapt", 40 * 24 * time.Hour, "2026-04-11", gate.ClockAhead},
		{"the day after the last one known", 40 * 24 * time.Hour, "2026-03-03", gate.ClockAhead},
		{"the last day known", 40 * 24 * time.Hour, "2026-03-02", 0},
		{"today, by a clock that lies behind", -10 * 24 * time.Hour, "2026-03-02", 0},
		{"today, by a clock that is right", 0, "2026-03-02", 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newBench(t, nil)
			id := b.slingOf(b.ready("CS-0001"))
			b.wrong(c.off)
			i := passing(date(t, c.date))
			o, err := b.Inspect(ctx, b.as(b.inspector, ""), b.seen(id), i)
			if err != nil || o.May != (c.code == 0) || c.code != 0 && o.Codes[0] != c.code {
				t.Errorf("%v, %v", o.Codes, err)
			}
			i.Date = date(t, "2026-04-12") // after all of them
			if _, err := b.Inspect(ctx, b.as(b.inspector, ""), b.seen(id), i); !errors.Is(err, ErrInspection) {
				t.Errorf("in the future: %v", err)
			}
			d := b.details("CS-0009")
			d.Sling.Inspected, d.Sling.Due = date(t, c.date), quantity.Date{}
			if o, err = b.Register(ctx, b.as(b.inspector, ""), d); err != nil || o.May != (c.code == 0) || c.code != 0 && o.Codes[0] != c.code {
				t.Errorf("registered: %v, %v", o.Codes, err)
			}
			d = b.details("CS-0001")
			d.Sling.Inspected, d.Sling.Due = date(t, c.date), quantity.Date{}
			if o, err = b.Correct(ctx, b.as(b.inspector, ""), b.seen(id), event.Corrected{Details: d, Reason: "typed wrong"}); err != nil || o.May != (c.code == 0) || c.code != 0 && o.Codes[0] != c.code {
				t.Errorf("corrected: %v, %v", o.Codes, err)
			}
		})
	}
}

// Who may sign, and what for.
func TestVouch(t *testing.T) {
	ctx := context.Background()
	leapt, behind := 3*24*time.Hour, -3*24*time.Hour
	for _, c := range []struct {
		name   string
		one    bool // crib of one person
		off    time.Duration
		change func(b *bench, v *Vouching)
		err    error
	}{
		{"keeper and inspector, leapt", false, leapt, nil, nil},
		{"keeper and inspector, behind", false, behind, nil, nil},
		{"nothing to sign", false, 0, nil, ErrClockSure},
		{"a quarter of an hour later", false, leapt, func(b *bench, _ *Vouching) { b.pass(15 * time.Minute) }, nil},
		{"a little later", false, leapt, func(b *bench, _ *Vouching) { b.pass(15*time.Minute + time.Millisecond) }, ErrClockMoved},
		{"it leapt again", false, leapt, func(b *bench, _ *Vouching) { b.wrong(5 * 24 * time.Hour) }, ErrClockMoved},
		{"the page said something else", false, behind, func(_ *bench, v *Vouching) { v.Behind = false }, ErrClockMoved},
		{"the keeper alone", false, leapt, func(b *bench, v *Vouching) { v.Inspector = b.keeper }, ErrSigners},
		{"a keeper who inspects, alone", false, leapt, func(b *bench, v *Vouching) { b.keeperInspects(); v.Inspector = b.keeper }, ErrSigners},
		{"a keeper who inspects, in a crib of one", true, leapt, func(b *bench, v *Vouching) { b.keeperInspects(); v.Inspector = b.keeper }, nil},
		{"a keeper who does not, in a crib of one", true, leapt, func(b *bench, v *Vouching) { v.Inspector = b.keeper }, ErrSigners},
		{"the attendant for the keeper", false, leapt, func(b *bench, v *Vouching) { v.Keeper = b.attendant }, ErrSigners},
		{"nobody for the inspector", false, leapt, func(_ *bench, v *Vouching) { v.Inspector = event.PersonID{9} }, ErrSigners},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newBench(t, func(p *event.Policy) { p.OnePerson = c.one })
			tag := b.ready("CS-0001")
			b.wrong(c.off)
			before := b.doubt()
			v := b.vouching()
			if c.change != nil {
				c.change(b, &v)
			}
			if err := b.Vouch(ctx, b.as(b.keeper, "k"), v); !errors.Is(err, c.err) {
				t.Fatalf("%v, want %v", err, c.err)
			}
			if c.err != nil {
				if got := b.doubt(); got != before {
					t.Errorf("doubt %d, was %d", got, before)
				}
				return
			}
			crib, err := b.st.Crib(ctx)
			if err != nil || crib.Vouched.Signed != v.Signed || crib.Vouched.Corrected != v.Behind || crib.Vouched.Alone() != c.one {
				t.Errorf("%+v, %v", crib.Vouched, err)
			}
			if err := b.Vouch(ctx, b.as(b.keeper, "k"), v); err != nil { // sent twice
				t.Errorf("again: %v", err)
			}
			if o, err := b.Issue(ctx, b.as(b.attendant, ""), b.aside(tag)); err != nil || b.doubt() != event.ClockSure || slices.Contains(o.Codes, gate.ClockAhead) || slices.Contains(o.Codes, gate.ClockBehind) {
				t.Errorf("after it: %v, %v", o.Codes, err)
			}
		})
	}
}

// However the clock is set, and whoever comes in between, no sling goes out after
// its due day and no overdue one is counted as good, while two people do not vouch
// for the date. Only what passed while the machine was off is not known, or since
// it was started where nothing was entered before the program was, too; and if
// that was more than a day, nothing goes out.
func TestClockHidesNothing(t *testing.T) {
	ctx := context.Background()
	last := date(t, "2026-11-10") // on which b.ready's sling is due
	rapid.Check(t, func(r *rapid.T) {
		b := newBench(t, nil)
		tag := b.ready("CS-0001")
		out := false
		var off time.Duration // how long before the newest entry of this start the machine was off
		known := func() quantity.Date { return quantity.DateOf(b.right().Add(-off - store.Slack)) }
		entered := func(r *rapid.T) {
			head, err := b.st.Head(ctx)
			if err != nil {
				r.Fatal(err)
			}
			off = max(0, b.right().Sub(head.Time))
		}
		b.pass(days("2026-03-02", "2026-11-07")) // close to where it matters
		hours := func(r *rapid.T) time.Duration {
			return time.Duration(rapid.IntRange(0, 60).Draw(r, "minutes")*rapid.SampledFrom([]int{1, 60}).Draw(r, "times")) * time.Minute
		}
		r.Repeat(map[string]func(*rapid.T){
			"pass": func(r *rapid.T) { b.pass(hours(r)) },
			"set": func(r *rapid.T) {
				by := time.Duration(rapid.SampledFrom([]int{400 * 24, 60, 60, 1}).Draw(r, "at most")) * time.Hour
				b.wrong(by * time.Duration(rapid.IntRange(-100, 100).Draw(r, "percent")) / 100)
			},
			"open again": func(r *rapid.T) {
				newest, err := b.st.Since(ctx, b.head()-1, 1)
				if err != nil {
					r.Fatal(err)
				}
				forgets := newest[0].Envelope.Boot != event.BootID{b.boot}
				if forgets {
					b.wrong(0)
				}
				if err := b.reopened(); err != nil {
					r.Fatal(err)
				}
				if forgets {
					entered(r)
				}
			},
			"start anew": func(r *rapid.T) {
				b.pass(hours(r))
				b.wrong(0) // the clock on its battery went on
				b.boot++
				if err := b.reopened(); err != nil {
					r.Fatal(err)
				}
				entered(r)
			},
			"issue": func(r *rapid.T) {
				o, err := b.Issue(ctx, b.as(b.attendant, ""), b.aside(tag))
				if err != nil {
					r.Fatal(err)
				}
				if o.May && (known().After(last) || off > store.Leap+store.Slack) {
					r.Fatalf("went out on %s with the clock %s off; %s are not known", b.right(), b.off, off)
				}
				out = out || o.May
				entered(r)
			},
			"return": func(r *rapid.T) {
				o, err := b.Return(ctx, b.as(b.attendant, ""), Reading{Text: tag, Way: Scanner}, Finding{Said: event.Nothing})
				if err != nil || o.May != out {
					r.Fatalf("%v, %v", o, err)
				}
				if out = false; o.May {
					entered(r)
				}
			},
			"": func(r *rapid.T) {
				if today, err := b.st.Today(ctx); err != nil || today.Before(known()) {
					r.Fatalf("today is %s, and it is %s: the clock is %s off, %v", today, b.right(), b.off, err)
				}
			},
		})
	})
}
