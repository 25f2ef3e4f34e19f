package counter

import (
	"context"
	"errors"
	"testing"

	"cribgate/core/event"
	"cribgate/store"
)

// Staff sign in by name, in capitals or not; who has left has no name here.
func TestNamed(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	if p, err := b.Named(ctx, "a. ATTENDANT"); err != nil || p.ID != b.attendant {
		t.Errorf("%v, %v", p, err)
	}
	if _, err := b.Named(ctx, "Nobody"); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("nobody: %v", err)
	}
	p, err := b.st.Person(ctx, b.attendant)
	if err != nil {
		t.Fatal(err)
	}
	if err := b.ChangePerson(ctx, b.as(b.keeper, ""), p.ID, p.Heads, event.PersonChanged{Name: p.Name, Roles: p.Roles}); err != nil {
		t.Fatal(err)
	}
	if _, err := b.Named(ctx, p.Name); !errors.Is(err, store.ErrNotFound) {
		t.Errorf("who has left: %v", err)
	}
	again, err := b.AddPerson(ctx, b.as(b.keeper, ""), event.PersonAdded{Name: p.Name, Roles: event.Attendant})
	if err != nil {
		t.Fatal(err)
	}
	if p, err := b.Named(ctx, p.Name); err != nil || p.ID != again {
		t.Errorf("who came after: %v, %v", p, err)
	}
}
