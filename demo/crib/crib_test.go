package crib_test

import (
	"context"
	"errors"
	"flag"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
	"cribgate/demo/crib"
	"cribgate/kiosk/counter"
	"cribgate/kiosk/desk"
	"cribgate/store"
	"cribgate/store/keyring"
)

var (
	rounds = flag.Int("rounds", 2, "how many random cribs are built")
	seed   = flag.Uint64("seed", 0, "seed of the random cribs; 0 draws one")
)

func last(t testing.TB) quantity.Date {
	d, err := quantity.ParseDate("2026-03-03")
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// chance is a stream that follows from the seed, which is told with how to run
// the test again.
func chance(t testing.TB, name string) *rand.Rand {
	from := *seed
	if from == 0 {
		from = rand.Uint64()
	}
	t.Logf("seed %d; again: go test ./demo/crib -run '^%s$' -args -seed %d -rounds %d", from, name, from, *rounds)
	return rand.New(rand.NewPCG(from, 0))
}

func build(t testing.TB, o crib.Options) crib.Built {
	t.Helper()
	if o.Dir == "" {
		o.Dir = t.TempDir()
	}
	if o.Last.IsZero() {
		o.Last = last(t)
	}
	built, err := crib.Build(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	return built
}

// open opens a register on the morning after the usual last day.
func open(t testing.TB, dir string) *store.Store { return openOn(t, dir, last(t).AddDays(1)) }

func openOn(t testing.TB, dir string, day quantity.Date) *store.Store {
	t.Helper()
	register, _, _ := store.Paths(dir)
	y, m, d := day.YMD()
	morning := time.Date(y, time.Month(m), d, 7, 0, 0, 0, time.UTC)
	st, err := store.Open(t.Context(), register, store.Options{Program: "test", Now: func() time.Time { return morning }})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := st.Close(); err != nil {
			t.Error(err)
		}
	})
	return st
}

// all reads the whole log.
func all(t testing.TB, st *store.Store) []store.Record {
	t.Helper()
	var list []store.Record
	for {
		part, err := st.Since(t.Context(), int64(len(list)), 5000)
		if err != nil {
			t.Fatal(err)
		}
		if len(part) == 0 {
			return list
		}
		list = append(list, part...)
	}
}

// The crib of the demonstration has something of everything.
func TestSomethingOfEverything(t *testing.T) {
	built := build(t, crib.Options{Slings: 300, Years: 2, Seed: 1})
	st := open(t, built.Dir)
	counts, err := st.Count(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	total := 0
	for state, least := range map[gate.State]int{gate.StateIn: 200, gate.StateOut: 10, gate.StateHeld: 2, gate.StateRetired: 5, gate.StateLost: 1, gate.StateUnchecked: 4} {
		if counts[state] < least {
			t.Errorf("%d slings are %s, want at least %d", counts[state], state, least)
		}
	}
	for _, n := range counts {
		total += n
	}
	if total != 300 {
		t.Errorf("%d slings, want 300", total)
	}
	kinds := map[event.Kind]int{}
	for _, r := range all(t, st) {
		kinds[r.Envelope.Kind]++
	}
	for _, k := range []event.Kind{
		event.KindFounded, event.KindPolicySet, event.KindKeyMade, event.KindPersonAdded, event.KindPersonChanged, event.KindPINSet,
		event.KindRegistered, event.KindCorrected, event.KindTagPrinted, event.KindTagConfirmed, event.KindIssued, event.KindRefused,
		event.KindReturned, event.KindHeld, event.KindReleased, event.KindInspected, event.KindRetired, event.KindLost, event.KindFound,
		event.KindBadgePrinted, event.KindTakenIn, event.KindRecalled, event.KindPlaced, event.KindStray, event.KindCountBegun, event.KindSeen, event.KindCountEnded,
	} {
		if kinds[k] == 0 {
			t.Errorf("nothing of kind %s happened", k)
		}
	}
	if n := kinds[event.KindIssued] + kinds[event.KindReturned]; n < 5000 {
		t.Errorf("%d issues and returns are no two busy years", n)
	}
	people, err := st.People(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for role, least := range map[event.Roles]int{event.Attendant: 3, event.Rigger: 20, event.Inspector: 2, event.Keeper: 2} {
		n := 0
		for _, p := range people {
			if p.May(role, quantity.Date{}) {
				n++
			}
		}
		if n < least {
			t.Errorf("%d people are %s, want at least %d", n, role, least)
		}
	}
}

// wants is what the counter says to each sample when it is asked for a light,
// well stated lift the morning after.
var wants = map[string]gate.Reason{
	"good": gate.NotDecided, "stamped-lower": gate.NotDecided, "heated": gate.NotDecided, "unconfirmed": gate.TagUnconfirmed, "lapsed": gate.TagLapsed,
	"never-inspected": gate.NeverInspected, "stamp-too-high": gate.StampTooHigh, "rating-tag-worn": gate.RatingTagUnfit,
	"overdue": gate.Overdue, "late": gate.AlreadyOut, "due-soon": gate.AlreadyOut, "recalled": gate.AlreadyOut, "placed": gate.AlreadyOut, "unchecked": gate.Unchecked, "lost": gate.Lost, "retired": gate.Retired,
	"replaced": gate.TagReplaced, "held": gate.Held, "forged": gate.TagForged, "foreign": gate.TagNotOurs,
}

// Whatever the day, the demonstration has all samples, and the counter says to
// each what it is there to show.
func TestSamplesShowWhatTheySay(t *testing.T) {
	chance := chance(t, "TestSamplesShowWhatTheySay")
	for range *rounds {
		day := last(t).AddDays(chance.IntN(1000))
		t.Run(day.String(), func(t *testing.T) { samplesShow(t, day) })
	}
}

func samplesShow(t *testing.T, day quantity.Date) {
	built := build(t, crib.Options{Slings: 300, Years: 2, Seed: 1, Last: day})
	st := openOn(t, built.Dir, day.AddDays(1))
	_, _, keys := store.Paths(built.Dir)
	ring, err := keyring.Load(keys)
	if err != nil {
		t.Fatal(err)
	}
	c := counter.New(st, ring)
	attendant, rigger := who(t, built, event.Attendant), who(t, built, event.Rigger)
	seen := map[string]bool{}
	for _, s := range built.Samples {
		seen[s.Name] = true
		want, ok := wants[s.Name]
		if !ok {
			t.Errorf("sample %s is not in this test", s.Name)
			continue
		}
		f, err := c.Find(t.Context(), counter.Reading{Text: s.Text, Way: counter.Scanner})
		if err != nil {
			t.Fatal(err)
		}
		lift := gate.Lift{Use: gate.UseOrdinary, Load: 100 * quantity.Pound, Hitch: gate.Straight, Legs: 1, Centred: true}
		if f.Known {
			lift.Legs = f.Sling.Details.Sling.Legs
			if lift.Legs > 1 {
				lift.Angle = &gate.Angle{From: gate.FromHorizontal, Size: 60 * quantity.Degree}
			}
		}
		o, err := c.Look(t.Context(), counter.Who{Person: attendant, Station: "counter-1", Way: counter.Scanner},
			counter.Ask{Reading: counter.Reading{Text: s.Text, Way: counter.Scanner, Typed: s.Ident[len(s.Ident)-3:]}, Rigger: rigger, Lift: lift})
		if err != nil {
			t.Fatal(err)
		}
		if want == gate.NotDecided && !o.May || want != gate.NotDecided && (o.May || !slices.Contains(o.Codes, want)) {
			t.Errorf("sample %s: may go %v, reasons %v, want %v", s.Name, o.May, o.Codes, want)
		}
	}
	for name := range wants {
		if !seen[name] {
			t.Errorf("there is no sample %s", name)
		}
	}
}

func who(t testing.TB, b crib.Built, role event.Roles) event.PersonID {
	t.Helper()
	for _, p := range b.People {
		if p.Roles == role {
			return p.ID
		}
	}
	t.Fatalf("nobody is %s", role)
	return event.PersonID{}
}

// One seed, day and size give one history, whatever else is in the envelopes.
func TestOneSeedOneHistory(t *testing.T) {
	told := func(seed uint64) string {
		built := build(t, crib.Options{Slings: 60, Years: 1, Seed: seed})
		var b strings.Builder
		for _, r := range all(t, open(t, built.Dir)) {
			e := r.Envelope
			for _, part := range []string{e.Subject.String(), string(e.Kind), e.By.String(), e.UTC.String(), e.Station, e.Way, string(r.Raw)} {
				b.WriteString(part + "\n")
			}
		}
		return b.String()
	}
	one, again, other := told(7), told(7), told(8)
	if one != again {
		t.Error("the same seed gave two histories")
	}
	if one == other {
		t.Error("two seeds gave the same history")
	}
}

func TestPINsOpenTheDesk(t *testing.T) {
	built := build(t, crib.Options{Slings: 5, Years: 1, Seed: 3, PINs: true})
	_, file, _ := store.Paths(built.Dir)
	d, err := desk.Open(t.Context(), file, desk.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	roles := event.Roles(0)
	for _, p := range built.People {
		if p.PIN == "" {
			continue
		}
		roles |= p.Roles
		if err := d.Verify(t.Context(), p.ID.String(), p.PIN); err != nil {
			t.Errorf("%s: %v", p.Name, err)
		}
		if s, err := d.Standing(t.Context(), p.ID.String()); err != nil || s.OneTime {
			t.Errorf("%s: %+v, %v: the PIN is one to be changed", p.Name, s, err)
		}
	}
	if want := event.Attendant | event.Rigger | event.Inspector | event.Keeper; !roles.Has(want) {
		t.Errorf("PINs for %s only", roles)
	}
}

func TestBuildRefuses(t *testing.T) {
	for name, o := range map[string]crib.Options{
		"no slings": {Years: 1, Last: last(t)}, "no years": {Slings: 1, Last: last(t)}, "no day": {Slings: 1, Years: 1},
		"too many years": {Slings: 1, Years: 21, Last: last(t)},
	} {
		o.Dir = t.TempDir()
		if _, err := crib.Build(t.Context(), o); !errors.Is(err, crib.ErrOptions) {
			t.Errorf("%s: %v", name, err)
		}
	}
	built := build(t, crib.Options{Slings: 1, Years: 1})
	if _, err := crib.Build(t.Context(), crib.Options{Dir: built.Dir, Slings: 1, Years: 1, Last: last(t)}); !errors.Is(err, store.ErrExists) {
		t.Errorf("over an old register: %v", err)
	}
	ended, end := context.WithCancel(t.Context())
	end()
	if _, err := crib.Build(ended, crib.Options{Dir: t.TempDir(), Slings: 50, Years: 1, Last: last(t)}); !errors.Is(err, context.Canceled) {
		t.Errorf("ended: %v", err)
	}
}

// What the counter, the pages of what is out, the count and the people's pages need to
// show themselves is there, whatever the day.
func TestWhatTheNewPagesShow(t *testing.T) {
	chance := chance(t, "TestWhatTheNewPagesShow")
	for range *rounds {
		day := last(t).AddDays(chance.IntN(1000))
		built := build(t, crib.Options{Slings: 300, Years: 2, Seed: 1, Last: day})
		st := openOn(t, built.Dir, day.AddDays(1))
		now, err := st.Crib(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if now.Doubt != 0 || len(now.Strays) != 1 || len(now.Founded.Policy.Cranes) != 2 || !now.Count.ID.IsZero() {
			t.Errorf("%s: in doubt %v, %d strays, cranes %v, a count that goes on %v", day, now.Doubt, len(now.Strays), now.Founded.Policy.Cranes, now.Count.ID)
		}
		var ended event.CountEnded
		for _, r := range all(t, st) {
			if e, ok := r.Body.(event.CountEnded); ok {
				ended = e
			}
		}
		if ended.Tally.Seen < 3 || ended.Tally.WrongPlace != 1 || ended.Tally.NotSeen != 1 || ended.Tally.OutButHere != 0 {
			t.Errorf("%s: the count came to %+v", day, ended.Tally)
		}
		terms := map[event.Terms]int{}
		badges := 0
		for _, p := range built.People {
			who, err := st.Person(t.Context(), p.ID)
			if err != nil || who.Doubt != 0 {
				t.Fatal(err, who)
			}
			terms[who.Terms]++
			if who.Here != (p.Badge != "") || p.Badge != "" && tagcode.Digest(p.Badge) != who.Badge.Digest {
				t.Errorf("%s: here %v, badge %q", p.Name, who.Here, p.Badge)
			}
			if p.Badge != "" {
				badges++
			}
			if p.Name != crib.Usual {
				continue
			}
			loans, err := st.LoansOf(t.Context(), p.ID, 1)
			if err != nil || len(loans) != 1 {
				t.Fatal(err, loans)
			}
			lines, err := st.Loan(t.Context(), loans[0])
			if err != nil || len(lines) != 2 {
				t.Errorf("%s took %d slings yesterday, %v", p.Name, len(lines), err)
			}
		}
		for _, want := range []event.Terms{{ShiftGear: true}, {Learner: true}, {Until: day.AddDays(1)}} {
			if terms[want] != 1 {
				t.Errorf("%s: %d people on terms %+v", day, terms[want], want)
			}
		}
		if badges != len(built.People)-1 {
			t.Errorf("%d badges of %d people", badges, len(built.People))
		}
		unchecked, _, err := st.List(t.Context(), store.Query{States: []gate.State{gate.StateUnchecked}, Limit: 100})
		if err != nil || len(unchecked) != 4 || unchecked[0].Owes == nil {
			t.Errorf("%s: %d wait to be looked at, %v", day, len(unchecked), err)
		}
	}
}
