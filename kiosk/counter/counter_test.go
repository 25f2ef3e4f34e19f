package counter

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/tagcode"
	"cribgate/store"
	"cribgate/store/keyring"
)

// bench is a register with one person of each role, on 2 March 2026.
type bench struct {
	*Counter
	t    testing.TB
	st   *store.Store
	file string
	key  tagcode.Key
	now  time.Time
	off  time.Duration // how far the machine's clock is from right
	boot byte          // which start of the machine it is
	mu   sync.Mutex

	keeper, attendant, inspector, rigger event.PersonID
}

func (b *bench) clock() time.Time {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.now.Add(b.off)
}

func (b *bench) pass(d time.Duration) {
	b.mu.Lock()
	b.now = b.now.Add(d)
	b.mu.Unlock()
}

func newBench(t testing.TB, change func(*event.Policy)) *bench {
	t.Helper()
	ctx := context.Background()
	dir := t.TempDir()
	b := &bench{t: t, now: time.Date(2026, 3, 2, 14, 0, 0, 0, time.UTC)}
	var err error
	if b.key, err = keyring.Create(filepath.Join(dir, "keys"), rand.Reader); err != nil {
		t.Fatal(err)
	}
	ring, err := keyring.Load(filepath.Join(dir, "keys"))
	if err != nil {
		t.Fatal(err)
	}
	policy := event.Policy{MaxMonths: 12, MaxTilt: 5 * quantity.Degree, MarginPct: 10}
	if change != nil {
		change(&policy)
	}
	b.file = filepath.Join(dir, "register.sqlite")
	b.st, b.keeper, err = store.Init(ctx, b.file, store.Founding{
		Name: "North Sluice crib", Units: quantity.Imperial, Rules: due.US, Zone: "UTC",
		Policy: policy, Key: b.key.Fingerprint(), Keeper: "K. Keeper", Station: "setup",
	}, b.options())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := b.st.Close(); err != nil {
			t.Errorf("close: %v", err)
		}
	})
	b.Counter = New(b.st, ring)
	add := func(name string, roles event.Roles) event.PersonID {
		id, err := b.AddPerson(ctx, b.as(b.keeper, ""), event.PersonAdded{Name: name, Roles: roles})
		if err != nil {
			t.Fatal(err)
		}
		return id
	}
	b.attendant = add("A. Attendant", event.Attendant)
	b.inspector = add("I. Inspector", event.Inspector)
	b.rigger = add("R. Rigger", event.Rigger)
	return b
}

func (b *bench) as(p event.PersonID, key string) Who {
	return Who{Person: p, Station: "counter-1", Way: Scanner, Key: key}
}

func date(t testing.TB, text string) quantity.Date {
	t.Helper()
	d, err := quantity.ParseDate(text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// details is a grade 80, 3/8 in sling of two legs: 12,300 lb at 60° from
// horizontal, 10,000 lb at 45° (US OSHA, Guidance on Safe Sling Use, table 1).
func (b *bench) details(ident string) event.Details {
	size, err := rating.ParseSize(rating.US, "3/8")
	if err != nil {
		b.t.Fatal(err)
	}
	return event.Details{
		Ident: ident, Maker: "TESTMARK", Place: "C4", Outcome: tagcode.Fit, Service: due.Normal,
		Sling: gate.Sling{
			Plate: rating.Plate{
				System: rating.US, Grade: rating.Grade80, Size: size, Legs: 2, Reach: 2400 * quantity.Millimetre,
				Stamped: []rating.Stamp{{Legs: 2, Basis: rating.H60, Load: 12_300 * quantity.Pound}},
			},
			RatingTag: gate.TagLegible, State: gate.StateIn, Inspected: date(b.t, "2025-11-10"),
		},
	}
}

// must fails the test where an act did not come out.
func (b *bench) must(o Outcome, err error) Outcome {
	b.t.Helper()
	if err != nil {
		b.t.Fatal(err)
	}
	if !o.May {
		b.t.Fatalf("refused: %v", o.Codes)
	}
	return o
}

// refused fails the test where an act was not refused for just these reasons.
func (b *bench) refused(o Outcome, err error, want ...gate.Reason) Outcome {
	b.t.Helper()
	if err != nil {
		b.t.Fatal(err)
	}
	if o.May || !slices.Equal(o.Codes, want) {
		b.t.Fatalf("may %t, reasons %v, want refused for %v", o.May, o.Codes, want)
	}
	return o
}

func (b *bench) seen(id event.SlingID) Seen {
	b.t.Helper()
	s, err := b.st.Sling(context.Background(), id)
	if err != nil {
		b.t.Fatal(err)
	}
	return Seen{Sling: id, Heads: s.Heads}
}

// printTag writes down the next tag of a sling and gives its text.
func (b *bench) printTag(id event.SlingID) string {
	b.t.Helper()
	ctx := context.Background()
	s, err := b.st.Sling(ctx, id)
	if err != nil {
		b.t.Fatal(err)
	}
	tag, err := s.Tag(b.key.Fingerprint(), s.NextSerial())
	if err != nil {
		b.t.Fatal(err)
	}
	sealed, err := tag.Seal(b.key)
	if err != nil {
		b.t.Fatal(err)
	}
	body := event.TagPrinted{Serial: tag.Serial, Key: tag.Key, Digest: tagcode.Digest(sealed.Text()), Version: 5, Level: "H", Mask: 0, Stock: "test"}
	_, err = b.st.Do(ctx, store.Act{By: b.keeper, Station: "labeler", Way: "program"}, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		_, err := tx.Append(ctx, event.Sling(id), s.Heads, body)
		return nil, err
	})
	if err != nil {
		b.t.Fatal(err)
	}
	return sealed.Text()
}

// tagged registers a sling and gives its id and the text of its live tag.
func (b *bench) tagged(ident string) (event.SlingID, string) {
	b.t.Helper()
	ctx := context.Background()
	o := b.must(b.Register(ctx, b.as(b.keeper, ""), b.details(ident)))
	text := b.printTag(o.Sling.ID)
	b.must(b.Confirm(ctx, b.as(b.inspector, ""), Reading{Text: text, Way: Scanner, Typed: ident[len(ident)-4:]}, o.Sling.ID))
	return o.Sling.ID, text
}

func (b *bench) ask(text string, pounds int64) Ask {
	return Ask{
		Reading: Reading{Text: text, Way: Scanner}, Rigger: b.rigger,
		Lift: gate.Lift{
			Use: gate.UseOrdinary, Load: quantity.Mass(pounds) * quantity.Pound, Hitch: gate.Straight, Legs: 2,
			Angle: &gate.Angle{From: gate.FromHorizontal, Size: 60 * quantity.Degree}, Centred: true,
			ReturnBy: date(b.t, "2026-03-04"),
		},
	}
}

func (b *bench) state(id event.SlingID) gate.State {
	b.t.Helper()
	s, err := b.st.Sling(context.Background(), id)
	if err != nil {
		b.t.Fatal(err)
	}
	if s.Doubt != 0 {
		b.t.Fatalf("doubt %v", s.Doubt)
	}
	return s.Details.Sling.State
}

func TestAWholeLoan(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	id, text := b.tagged("NS-0417")
	ask := b.ask(text, 12_300) // the cell itself: equal is allowed
	if o := b.must(b.Look(ctx, b.as(b.attendant, ""), ask)); o.At != 0 || b.state(id) != gate.StateIn {
		t.Fatal("looking wrote something")
	}
	if o := b.must(b.Refuse(ctx, b.as(b.attendant, "k1"), ask)); o.At != 0 || b.state(id) != gate.StateIn {
		t.Fatal("asking handed it over")
	}
	o := b.must(b.Issue(ctx, b.as(b.attendant, "k2"), ask))
	if o.At == 0 || b.state(id) != gate.StateOut || o.Sling.Loan.Rigger != b.rigger || o.Sling.Loan.ReturnBy != date(t, "2026-03-04") {
		t.Fatalf("after the issue: %+v", o.Sling.Loan)
	}
	again := b.must(b.Issue(ctx, b.as(b.attendant, "k2"), ask))
	if again.At != o.At {
		t.Errorf("a repeated request acted again: %d, first %d", again.At, o.At)
	}
	if again.Answer.Allowed != o.Answer.Allowed || again.Answer.Allowed == 0 {
		t.Errorf("a repeated request has another answer")
	}
	b.refused2(b.Issue(ctx, b.as(b.attendant, "k3"), ask))(gate.AlreadyOut)
	b.must(b.Return(ctx, b.as(b.attendant, "k4"), Reading{Text: text, Way: Scanner}, Finding{Said: event.Nothing}))
	if b.state(id) != gate.StateIn {
		t.Error("not in after the return")
	}
	b.refused2(b.Return(ctx, b.as(b.attendant, "k5"), Reading{Text: text, Way: Scanner}, Finding{Said: event.Nothing}))(gate.NotOut)
	if _, err := b.Issue(ctx, b.as(b.attendant, "k2"), b.ask(text, 1)); !errors.Is(err, store.ErrKeyReused) {
		t.Errorf("a key used for another request: %v", err)
	}
}

// refused2 lets refused take both results of a call.
func (b *bench) refused2(o Outcome, err error) func(want ...gate.Reason) Outcome {
	b.t.Helper()
	return func(want ...gate.Reason) Outcome {
		b.t.Helper()
		return b.refused(o, err, want...)
	}
}

func TestReturnHoldsAndAnInspectorReleases(t *testing.T) {
	for _, said := range []event.Said{event.Something, event.NotKnown} {
		t.Run(string(said), func(t *testing.T) {
			b := newBench(t, nil)
			ctx := context.Background()
			id, text := b.tagged("NS-0417")
			b.must(b.Issue(ctx, b.as(b.attendant, ""), b.ask(text, 100)))
			b.must(b.Return(ctx, b.as(b.attendant, ""), Reading{Text: text, Way: Scanner}, Finding{Said: said, Note: "load dropped a hand's breadth"}))
			if b.state(id) != gate.StateHeld {
				t.Fatal("not held")
			}
			b.refused2(b.Issue(ctx, b.as(b.attendant, ""), b.ask(text, 100)))(gate.Held)
			b.refused2(b.Release(ctx, b.as(b.attendant, ""), b.seen(id), "looks fine"))(gate.RoleNotAllowed)
			b.refused2(b.Release(ctx, b.as(b.keeper, ""), b.seen(id), "looks fine"))(gate.RoleNotAllowed)
			if _, err := b.Release(ctx, b.as(b.inspector, ""), b.seen(id), "  "); !errors.Is(err, ErrNeeded) {
				t.Errorf("released without a reason: %v", err)
			}
			b.must(b.Release(ctx, b.as(b.inspector, ""), b.seen(id), "measured, no growth"))
			b.must(b.Issue(ctx, b.as(b.attendant, ""), b.ask(text, 100)))
		})
	}
}

func TestWhatStandsAgainstAnIssue(t *testing.T) {
	ctx := context.Background()
	for _, c := range []struct {
		name   string
		policy func(*event.Policy)
		set    func(b *bench, id event.SlingID, ask *Ask) (who Who)
		want   []gate.Reason
	}{
		{"nothing", nil, func(b *bench, _ event.SlingID, _ *Ask) Who { return b.as(b.attendant, "") }, nil},
		{"one pound over", nil, func(b *bench, _ event.SlingID, a *Ask) Who {
			a.Lift.Load += quantity.Pound
			return b.as(b.attendant, "")
		}, []gate.Reason{gate.UnderRated}},
		{"a rigger hands it over", nil, func(b *bench, _ event.SlingID, _ *Ask) Who { return b.as(b.rigger, "") }, []gate.Reason{gate.RoleNotAllowed}},
		{"a keeper hands it over", nil, func(b *bench, _ event.SlingID, _ *Ask) Who { return b.as(b.keeper, "") }, []gate.Reason{gate.RoleNotAllowed}},
		{"an unknown rigger", nil, func(b *bench, _ event.SlingID, a *Ask) Who {
			a.Rigger = event.PersonID{1}
			return b.as(b.attendant, "")
		}, []gate.Reason{gate.RiggerUnknown}},
		{"no rigger", nil, func(b *bench, _ event.SlingID, a *Ask) Who {
			a.Rigger = event.PersonID{}
			return b.as(b.attendant, "")
		}, []gate.Reason{gate.RiggerUnknown}},
		{"somebody who draws no gear", nil, func(b *bench, _ event.SlingID, a *Ask) Who {
			a.Rigger = b.inspector
			return b.as(b.attendant, "")
		}, []gate.Reason{gate.RiggerNotCleared}},
		{"held", nil, func(b *bench, id event.SlingID, _ *Ask) Who {
			b.must(b.Hold(ctx, b.as(b.attendant, ""), b.seen(id), "a bent link"))
			return b.as(b.attendant, "")
		}, []gate.Reason{gate.Held}},
		{"its inspection corrected to out of service", nil, func(b *bench, id event.SlingID, _ *Ask) Who {
			d := b.details("NS-0417")
			d.Outcome = tagcode.Out
			b.must(b.Correct(ctx, b.as(b.inspector, ""), b.seen(id), event.Corrected{Details: d, Reason: "the report says otherwise"}))
			return b.as(b.attendant, "")
		}, []gate.Reason{gate.Held}},
		{"retired", nil, func(b *bench, id event.SlingID, _ *Ask) Who {
			b.must(b.Retire(ctx, b.as(b.inspector, ""), b.seen(id), event.Retired{Reason: "stretched", How: "cut in three"}))
			return b.as(b.attendant, "")
		}, []gate.Reason{gate.Retired}},
		{"lost", nil, func(b *bench, id event.SlingID, _ *Ask) Who {
			b.must(b.Lose(ctx, b.as(b.keeper, ""), b.seen(id), ""))
			return b.as(b.attendant, "")
		}, []gate.Reason{gate.Lost}},
		{"found again, not looked at", nil, func(b *bench, id event.SlingID, _ *Ask) Who {
			b.must(b.Lose(ctx, b.as(b.keeper, ""), b.seen(id), ""))
			b.must(b.FindAgain(ctx, b.as(b.attendant, ""), b.seen(id), "behind the press"))
			return b.as(b.attendant, "")
		}, []gate.Reason{gate.Held}},
		{"due day itself", nil, func(b *bench, _ event.SlingID, a *Ask) Who {
			b.pass(days("2026-03-02", "2026-11-10"))
			a.Lift.ReturnBy = date(b.t, "2026-11-10")
			return b.as(b.attendant, "")
		}, nil},
		{"the day after", nil, func(b *bench, _ event.SlingID, a *Ask) Who {
			b.pass(days("2026-03-02", "2026-11-11"))
			a.Lift.ReturnBy = quantity.Date{}
			return b.as(b.attendant, "")
		}, []gate.Reason{gate.Overdue}},
		{"the clock behind the register", nil, func(b *bench, _ event.SlingID, a *Ask) Who {
			b.wrong(-3 * time.Minute)
			return b.as(b.attendant, "")
		}, []gate.Reason{gate.ClockBehind}},
		{"the inspector who passed it, at the counter", nil, func(b *bench, id event.SlingID, _ *Ask) Who {
			b.inspectorAttends()
			b.inspect(id, "2026-03-01")
			return b.as(b.inspector, "")
		}, []gate.Reason{gate.TagDatesBehind, gate.InspectorIssuesOwn}},
		{"the same in a crib of one person, where old tags go", func(p *event.Policy) { p.OnePerson, p.OldTagGoes = true, true }, func(b *bench, id event.SlingID, _ *Ask) Who {
			b.inspectorAttends()
			b.inspect(id, "2026-03-01")
			return b.as(b.inspector, "")
		}, nil},
		{"asked for the plate every time", func(p *event.Policy) { p.AskEvery = 1 }, func(b *bench, _ event.SlingID, _ *Ask) Who {
			return b.as(b.attendant, "")
		}, []gate.Reason{gate.PlateNeeded}},
		{"asked for the plate, and read", func(p *event.Policy) { p.AskEvery = 1 }, func(b *bench, _ event.SlingID, a *Ask) Who {
			a.Reading.Typed = " 417"
			return b.as(b.attendant, "")
		}, nil},
		{"the plate says something else", nil, func(b *bench, _ event.SlingID, a *Ask) Who {
			a.Reading.Typed = "0418"
			return b.as(b.attendant, "")
		}, []gate.Reason{gate.PlateMismatch}},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newBench(t, c.policy)
			id, text := b.tagged("NS-0417")
			ask := b.ask(text, 12_300)
			who := c.set(b, id, &ask)
			before := b.state(id)
			o, err := b.Issue(ctx, who, ask)
			if len(c.want) == 0 {
				b.must(o, err)
				return
			}
			b.refused(o, err, c.want...)
			if b.state(id) != before {
				t.Errorf("a refusal changed the state to %s", b.state(id))
			}
			if recorded := o.At != 0; recorded == o.AskPlate {
				t.Errorf("recorded %t, asks for the plate %t", recorded, o.AskPlate)
			}
		})
	}
}

func days(from, to string) time.Duration {
	a, _ := time.Parse(time.DateOnly, from)
	z, _ := time.Parse(time.DateOnly, to)
	return z.Sub(a)
}

func (b *bench) inspectorAttends() {
	b.t.Helper()
	p, err := b.st.Person(context.Background(), b.inspector)
	if err != nil {
		b.t.Fatal(err)
	}
	to := event.PersonChanged{Name: p.Name, Roles: event.Inspector | event.Attendant, Here: true}
	if err := b.ChangePerson(context.Background(), b.as(b.keeper, ""), b.inspector, p.Heads, to); err != nil {
		b.t.Fatal(err)
	}
}

func (b *bench) inspect(id event.SlingID, day string) Outcome {
	b.t.Helper()
	return b.must(b.Inspect(context.Background(), b.as(b.inspector, ""), b.seen(id), Inspection{
		Date: date(b.t, day), Outcome: tagcode.Fit, Service: due.Normal, RatingTag: gate.TagLegible,
	}))
}

func TestOfTwoHundredWhoWantOneSlingOneGetsItAndEveryLoserIsTold(t *testing.T) {
	const rounds, clients = 3, 200
	b := newBench(t, nil)
	ctx := context.Background()
	id, text := b.tagged("NS-0417")
	for round := range rounds {
		var all sync.WaitGroup
		outcomes := make([]Outcome, clients)
		fails := make([]error, clients)
		for i := range clients {
			all.Go(func() {
				outcomes[i], fails[i] = b.Issue(ctx, b.as(b.attendant, fmt.Sprintf("race-%d-%d", round, i)), b.ask(text, 100))
			})
		}
		all.Wait()
		won := 0
		for i, o := range outcomes {
			switch {
			case fails[i] != nil:
				t.Fatal(fails[i])
			case o.May:
				won++
			case !slices.Equal(o.Codes, []gate.Reason{gate.AlreadyOut}):
				t.Fatalf("a loser is told %v", o.Codes)
			}
		}
		if won != 1 {
			t.Fatalf("round %d: %d issues", round, won)
		}
		b.must(b.Return(ctx, b.as(b.attendant, ""), Reading{Text: text, Way: Scanner}, Finding{Said: event.Nothing}))
	}
	if b.state(id) != gate.StateIn {
		t.Error("not in at the end")
	}
}

func TestAStaleFormIsRefused(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	id, _ := b.tagged("NS-0417")
	old := b.seen(id)
	b.must(b.Hold(ctx, b.as(b.attendant, ""), old, "a bent link"))
	b.refused2(b.Retire(ctx, b.as(b.inspector, ""), old, event.Retired{Reason: "stretched", How: "cut"}))(gate.ChangedMeanwhile)
	if b.state(id) != gate.StateHeld {
		t.Error("the stale form acted")
	}
}

func TestDetailsThatCannotBeRegistered(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	for name, change := range map[string]func(*event.Details){
		"no identification":                 func(d *event.Details) { d.Ident = "" },
		"lower case":                        func(d *event.Details) { d.Ident = "ns-1" },
		"out from the start":                func(d *event.Details) { d.Sling.State = gate.StateOut },
		"five legs":                         func(d *event.Details) { d.Sling.Legs = 5 },
		"an inspection in the future":       func(d *event.Details) { d.Sling.Inspected = date(t, "2026-03-03") },
		"an inspection without outcome":     func(d *event.Details) { d.Outcome = tagcode.NoOutcome },
		"an outcome without inspection":     func(d *event.Details) { d.Sling.Inspected = quantity.Date{} },
		"a chart rating without source":     func(d *event.Details) { d.Sling.Chart = quantity.Tonne },
		"special service without months":    func(d *event.Details) { d.Service = due.Special },
		"months beside normal service":      func(d *event.Details) { d.Months = 3 },
		"a stamp for more legs than it has": func(d *event.Details) { d.Sling.Stamped[0].Legs = 3 },
	} {
		d := b.details("NS-0417")
		change(&d)
		if o, err := b.Register(ctx, b.as(b.keeper, ""), d); !errors.Is(err, ErrDetails) || o.May {
			t.Errorf("%s: may %t, %v", name, o.May, err)
		}
	}
	for name, c := range map[string]struct {
		recorded, want string
	}{ // due follows from the rule, never later (29 CFR 1910.184(e)(3): 12 months)
		"none recorded": {"", "2026-11-10"}, "earlier": {"2026-06-01", "2026-06-01"}, "later": {"2027-06-01", "2026-11-10"},
	} {
		d := b.details("NS-" + c.want[2:4] + c.want[5:7] + map[string]string{"": "A", "2026-06-01": "B", "2027-06-01": "C"}[c.recorded])
		if c.recorded != "" {
			d.Sling.Due = date(t, c.recorded)
		}
		if o := b.must(b.Register(ctx, b.as(b.keeper, ""), d)); o.Sling.Details.Sling.Due != date(t, c.want) {
			t.Errorf("%s: due %s, want %s", name, o.Sling.Details.Sling.Due, c.want)
		}
	}
	d := b.details("NS-2611A")
	b.refused2(b.Register(ctx, b.as(b.keeper, ""), d))(gate.IdentTaken)
	b.refused2(b.Register(ctx, b.as(b.attendant, ""), b.details("NS-1")))(gate.RoleNotAllowed)
}

func TestPlateMatches(t *testing.T) {
	for _, c := range []struct {
		ident, typed string
		want         bool
	}{
		{"NS-0417", "417", true}, {"NS-0417", "0417", true}, {"NS-0417", " ns-0417 ", true},
		{"NS-0417", "17", false}, {"NS-0417", "", false}, {"NS-0417", "418", false}, {"NS-0417", "XNS-0417", false},
		{"A1", "A1", true}, {"A1", "1", false},
	} {
		if got := PlateMatches(c.ident, c.typed); got != c.want {
			t.Errorf("%q against %q: %t", c.typed, c.ident, got)
		}
	}
}
