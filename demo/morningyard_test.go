package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"testing"
	"time"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/demo/crib"
	"cribgate/kiosk/command"
	"cribgate/kiosk/counter"
	"cribgate/kiosk/desk"
	"cribgate/store"
	"cribgate/store/keyring"
)

// A yard is a crib as it stood last evening: who works there, what hangs on which
// peg, and what was lent yesterday.
type yard struct {
	t      *testing.T
	dir    string
	key    tagcode.Key
	at     time.Time // the time of what is laid out; it moves on with each act
	people map[string]person
	hung   map[string]hung // by identification
	keeper counter.Who
}

type person struct {
	state.Person
	badge string // the text of the badge
}

// sinceYesterday is how long before the morning the yard was laid out: less than a day, so
// that nobody has to sign for the clock.
const sinceYesterday = 17 * time.Hour

// newYard founds the crib in a time zone in which it is seven in the morning now.
func newYard(t *testing.T) *yard {
	t.Helper()
	now := time.Now()
	y := &yard{t: t, dir: t.TempDir(), at: now.Add(-sinceYesterday), people: map[string]person{}, hung: map[string]hung{}}
	east := 7 - now.UTC().Hour()
	if east < -12 {
		east += 24
	}
	zone := fmt.Sprintf("Etc/GMT%+d", -east) // these names count westward
	register, deskFile, keys := store.Paths(y.dir)
	y.key = made(keyring.Create(keys, rand.Reader))(t)
	founding := store.Founding{Name: crib.Name, Units: quantity.Imperial, Rules: due.US, Zone: zone, Key: y.key.Fingerprint(),
		Policy: event.Policy{MaxMonths: 12, MaxTilt: 5 * quantity.Degree, MarginPct: 5}, Keeper: "Odette Copperkettle", Station: "office-1"}
	st, keeper, err := store.Init(t.Context(), register, founding, store.Options{Now: y.clock, Program: "test"})
	if err == nil {
		err = errors.Join(st.Close(), desk.Init(t.Context(), deskFile))
	}
	if err != nil {
		t.Fatal(err)
	}
	y.keeper = counter.Who{Person: keeper, Station: "office-1", Way: counter.Hand}
	return y
}

func (y *yard) clock() time.Time {
	y.at = y.at.Add(time.Millisecond)
	return y.at
}

// lays opens the crib yesterday, for a while.
func (y *yard) lays(do func(*command.Kiosk)) {
	y.t.Helper()
	k := made(command.Open(y.t.Context(), y.dir, store.Options{Now: y.clock, Program: "test"}))(y.t)
	do(k)
	if err := k.Close(); err != nil {
		y.t.Fatal(err)
	}
}

// joins enters somebody, with a badge, and with the PIN of the cast where there is one.
func (y *yard) joins(k *command.Kiosk, name string, roles event.Roles, terms event.Terms, pin string) {
	y.t.Helper()
	ctx := y.t.Context()
	id := made(k.Counter.AddPerson(ctx, y.keeper, event.PersonAdded{Name: name, Roles: roles, Terms: terms}))(y.t)
	p := made(k.Store.Person(ctx, id))(y.t)
	next, ok := p.NextBadge(y.key.Fingerprint())
	if !ok {
		y.t.Fatalf("%s has no next badge", name)
	}
	sealed := made(next.Seal(y.key))(y.t)
	err := k.Counter.PrintBadge(ctx, y.keeper, id, event.BadgePrinted{Serial: next.Serial, Key: next.Key, Digest: tagcode.Digest(sealed.Text()), Until: next.Until, Stock: "badge"})
	if err == nil && pin != "" {
		if _, err = k.Desk.SetOneTime(ctx, id.String()); err == nil {
			err = k.Desk.Choose(ctx, id.String(), pin)
		}
	}
	if err != nil {
		y.t.Fatal(err)
	}
	y.people[name] = person{made(k.Store.Person(ctx, id))(y.t), sealed.Text()}
}

// A metal is what slings of one kind are. What is stamped is what US OSHA, Guidance on
// Safe Sling Use, table 1 has for grade 80.
type metal struct {
	size  string
	legs  int
	basis rating.Basis
	load  int64 // in pounds
	rack  string
}

var (
	threeEighths = metal{"3/8", 2, rating.H60, 12_300, "C"}
	half         = metal{"1/2", 2, rating.H60, 20_800, "D"}
	single       = metal{"3/8", 1, rating.Vertical, 7_100, "A"}
)

// hangs registers a sling that was inspected so many days ago, and tags it.
func (y *yard) hangs(k *command.Kiosk, n int, m metal, days int) hung {
	y.t.Helper()
	ctx := y.t.Context()
	size := made(rating.ParseSize(rating.US, m.size))(y.t)
	d := event.Details{
		Ident: fmt.Sprintf("QB-%04d", n), Maker: "THREE HERONS", Place: fmt.Sprintf("%s-%02d", m.rack, n%50+1), Outcome: tagcode.Fit, Service: due.Normal,
		Sling: gate.Sling{RatingTag: gate.TagLegible, State: gate.StateIn, Inspected: made(k.Store.Today(ctx))(y.t).AddDays(-days),
			Plate: rating.Plate{System: rating.US, Grade: rating.Grade80, Size: size, Legs: m.legs, Reach: 2438 * quantity.Millimetre,
				Stamped: []rating.Stamp{{Legs: m.legs, Basis: m.basis, Load: quantity.Mass(m.load) * quantity.Pound}}}},
	}
	o := made(k.Counter.Register(ctx, y.keeper, d))(y.t)
	if !o.May {
		y.t.Fatalf("register %s: %v", d.Ident, o.Codes)
	}
	h := hung{id: o.Sling.ID, ident: d.Ident}
	h.text = y.tagged(k, h.id)
	y.hung[d.Ident] = h
	return h
}

// tagged prints the next tag of a sling and confirms it there; those before it are no
// longer good.
func (y *yard) tagged(k *command.Kiosk, id event.SlingID) (text string) {
	y.t.Helper()
	ctx := y.t.Context()
	s := made(k.Store.Sling(ctx, id))(y.t)
	o := made(k.Counter.Print(ctx, y.keeper, counter.Seen{Sling: id, Heads: s.Heads}, "test", func(_ context.Context, _ *store.Tx, s state.Sling) (event.TagPrinted, error) {
		tag, err := s.Tag(y.key.Fingerprint(), s.NextSerial())
		if err != nil {
			return event.TagPrinted{}, err
		}
		sealed, err := tag.Seal(y.key)
		text = sealed.Text()
		return event.TagPrinted{Serial: tag.Serial, Key: tag.Key, Digest: tagcode.Digest(text), Version: 5, Level: "H", Stock: "test"}, err
	}))(y.t)
	if o.May {
		o = made(k.Counter.Confirm(ctx, y.keeper, counter.Reading{Text: text, Way: counter.Scanner, Typed: s.Details.Ident}, id))(y.t)
	}
	if !o.May {
		y.t.Fatalf("tag %s: %v", s.Details.Ident, o.Codes)
	}
	return text
}

// lends hands slings over yesterday, for 9,000 lb, weighed, on two legs no further
// apart than a leg is long; back says that they came in again.
func (y *yard) lends(k *command.Kiosk, rigger string, back bool, slings ...hung) {
	y.t.Helper()
	ctx := y.t.Context()
	clerk := counter.Who{Person: y.people["Marla Tidewater"].ID, Station: "counter-1", Way: counter.Scanner}
	ask := counter.LoanAsk{Rigger: y.people[rigger].ID, Lifts: []event.StatedLift{{Weighed: true, Drawn: true, Lift: gate.Lift{
		Use: gate.UseOrdinary, Load: 9000 * quantity.Pound, Hitch: gate.Straight, Legs: 2, Centred: true,
		Angle: &gate.Angle{From: gate.FromHorizontal, Size: 60 * quantity.Degree}, ReturnBy: made(k.Store.Today(ctx))(y.t).AddDays(1)}}}}
	if _, err := rand.Read(ask.Loan[:]); err != nil {
		y.t.Fatal(err)
	}
	for _, h := range slings {
		ask.Lines = append(ask.Lines, counter.LoanLine{Reading: counter.Reading{Text: h.text, Way: counter.Scanner}, Lift: 1})
	}
	if o := made(k.Counter.IssueLoan(ctx, clerk, ask))(y.t); o.Went() != len(slings) {
		y.t.Fatalf("lent yesterday to %s: %+v", rigger, o.Lines)
	}
	for _, h := range slings {
		if !back {
			continue
		}
		if o := made(k.Counter.Return(ctx, clerk, counter.Reading{Text: h.text, Way: counter.Scanner}, counter.Finding{Said: event.Nothing}))(y.t); !o.May {
			y.t.Fatalf("back from %s: %v", rigger, o.Codes)
		}
	}
}
