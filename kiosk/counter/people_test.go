package counter

import (
	"context"
	"errors"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/store"
)

// A name is what everyone sees of it: nothing in it is invisible or turns the
// writing round, so that no two people look the same.
func TestNames(t *testing.T) {
	for _, c := range []struct{ typed, want string }{
		{"R. Rigger", "R. Rigger"}, {"  R.   Rigger ", "R. Rigger"}, {"Örjan Åsström", "Örjan Åsström"},
		{"Ωμέγα 2", "Ωμέγα 2"}, {strings.Repeat("x", 60), strings.Repeat("x", 60)},
		{"R.\u00a0Rigger", "R. Rigger"}, {"R.\tRigger", "R. Rigger"},
		{"", ""}, {" \u2003 ", ""}, {strings.Repeat("x", 61), ""},
		{"R. Rigger\u200b", ""}, {"R. \u202eRigger", ""}, {"R.\u00adRigger", ""}, {"\ufeffR. Rigger", ""},
		{"R\x00", ""}, {"R\x7f", ""}, {"R\u0085R", "R R"}, {"R\ufffd", ""}, {"R\xff", ""}, {"\ue000", ""},
	} {
		got, err := CheckName(c.typed)
		if got != c.want || errors.Is(err, ErrName) != (c.want == "") {
			t.Errorf("%q: %q, %v; want %q", c.typed, got, err, c.want)
		}
	}
}

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
	again, err := b.AddPerson(ctx, b.as(b.keeper, ""), p.Name, event.Attendant)
	if err != nil {
		t.Fatal(err)
	}
	if p, err := b.Named(ctx, p.Name); err != nil || p.ID != again {
		t.Errorf("who came after: %v, %v", p, err)
	}
}
