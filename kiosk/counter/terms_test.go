package counter

import (
	"context"
	"errors"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/state"
	"cribgate/store"
)

// person is what the register has of somebody now.
func (b *bench) person(id event.PersonID) state.Person {
	b.t.Helper()
	p, err := b.st.Person(context.Background(), id)
	if err != nil {
		b.t.Fatal(err)
	}
	return p
}

// What is changed of a person is all that was said, the terms too, and a key stands
// for just that.
func TestChangePersonTerms(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	p := b.person(b.rigger)
	to := event.PersonChanged{Name: p.Name, Roles: p.Roles, Here: true, Terms: event.Terms{ShiftGear: true}}
	if err := b.ChangePerson(ctx, b.as(b.keeper, "k1"), p.ID, p.Heads, to); err != nil {
		t.Fatal(err)
	}
	if err := b.ChangePerson(ctx, b.as(b.keeper, "k1"), p.ID, p.Heads, to); err != nil {
		t.Errorf("the same again: %v", err)
	}
	to.Terms.Learner = true
	if err := b.ChangePerson(ctx, b.as(b.keeper, "k1"), p.ID, p.Heads, to); !errors.Is(err, store.ErrKeyReused) {
		t.Errorf("other terms under the same key: %v", err)
	}
	if got := b.person(b.rigger).Terms; got != (event.Terms{ShiftGear: true}) {
		t.Errorf("terms %+v", got)
	}
	guest := event.PersonAdded{Name: "Guest", Roles: event.Rigger}
	if _, err := b.AddPerson(ctx, b.as(b.keeper, "k2"), guest); err != nil {
		t.Fatal(err)
	}
	guest.Terms.Until = date(t, "2026-03-02")
	if _, err := b.AddPerson(ctx, b.as(b.keeper, "k2"), guest); !errors.Is(err, store.ErrKeyReused) {
		t.Errorf("added with other terms under the same key: %v", err)
	}
}

// Whose last day is over may nothing, and leaves the name to whoever comes next;
// nobody is taken on for a day that is over.
func TestLastDay(t *testing.T) {
	b := newBench(t, nil) // on 2 March 2026
	ctx := context.Background()
	add := func(name, until string) (event.PersonID, error) {
		return b.AddPerson(ctx, b.as(b.keeper, ""), event.PersonAdded{Name: name, Roles: event.Rigger, Terms: event.Terms{Until: date(t, until)}})
	}
	if _, err := add("Guest", "2026-03-01"); !errors.Is(err, ErrDayOver) {
		t.Errorf("for yesterday: %v", err)
	}
	first, err := add("Guest", "2026-03-02")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := add("guest", "2026-03-02"); !errors.Is(err, ErrNameTaken) {
		t.Errorf("the same name on the same day: %v", err)
	}
	if p := b.person(first); !p.May(event.Rigger, date(t, "2026-03-02")) || p.May(event.Rigger, date(t, "2026-03-03")) {
		t.Errorf("%+v may on other days", p)
	}
	b.pass(24 * time.Hour)
	if p, err := b.Named(ctx, "Guest"); err != nil || p.ID != first {
		t.Errorf("who ended yesterday is told so by name: %v, %v", p, err)
	}
	second, err := add("Guest", "2026-03-03")
	if err != nil {
		t.Fatal(err)
	}
	if p, err := b.Named(ctx, "GUEST"); err != nil || p.ID != second {
		t.Errorf("of two of one name, who is here: %v, %v", p, err)
	}
	p := b.person(first)
	again := event.PersonChanged{Name: p.Name, Roles: p.Roles, Here: true, Terms: event.Terms{Until: date(t, "2026-03-04")}}
	if err := b.ChangePerson(ctx, b.as(b.keeper, ""), first, p.Heads, again); !errors.Is(err, ErrNameTaken) {
		t.Errorf("on again under a name that is taken: %v", err)
	}
	b.pass(24 * time.Hour)
	if p, err := b.Named(ctx, "Guest"); err != nil || p.ID != second {
		t.Errorf("of two who ended, the later: %v, %v", p, err)
	}
	if err := b.ChangePerson(ctx, b.as(b.keeper, ""), first, p.Heads, again); err != nil {
		t.Errorf("on again: %v", err)
	}
}

// A keeper whose days are numbered is not the one who stays.
func TestLastKeeperForGood(t *testing.T) {
	b := newBench(t, nil)
	p := b.person(b.keeper)
	to := event.PersonChanged{Name: p.Name, Roles: p.Roles, Here: true, Terms: event.Terms{Until: date(t, "2026-04-01")}}
	if err := b.ChangePerson(context.Background(), b.as(b.keeper, ""), p.ID, p.Heads, to); !errors.Is(err, ErrLastKeeper) {
		t.Errorf("the only keeper gets a last day: %v", err)
	}
}
