package counter

import (
	"context"
	"errors"
	"testing"

	"cribgate/core/event"
	"cribgate/store"
)

func (b *bench) takenOff(id event.PersonID) []event.Hash {
	b.t.Helper()
	ctx := context.Background()
	p, err := b.st.Person(ctx, id)
	if err != nil {
		b.t.Fatal(err)
	}
	if err := b.ChangePerson(ctx, b.as(b.keeper, ""), id, p.Heads, event.PersonChanged{Name: p.Name, Roles: p.Roles}); err != nil {
		b.t.Fatal(err)
	}
	if p, err = b.st.Person(ctx, id); err != nil {
		b.t.Fatal(err)
	}
	return p.Heads
}

// Who may be erased, by whom, and what for.
func TestErasePerson(t *testing.T) {
	ctx := context.Background()
	for _, c := range []struct {
		name string
		by   func(b *bench) event.PersonID
		why  string
		do   func(b *bench) []event.Hash
		err  error
	}{
		{"taken off", nil, "asked for", func(b *bench) []event.Hash { return b.takenOff(b.rigger) }, nil},
		{"still here", nil, "asked for", func(b *bench) []event.Hash {
			p, err := b.st.Person(ctx, b.rigger)
			if err != nil {
				b.t.Fatal(err)
			}
			return p.Heads
		}, ErrStillHere},
		{"by the inspector", func(b *bench) event.PersonID { return b.inspector }, "asked for", func(b *bench) []event.Hash { return b.takenOff(b.rigger) }, ErrNotKeeper},
		{"with a sling out", nil, "asked for", func(b *bench) []event.Hash {
			b.must(b.Issue(ctx, b.as(b.attendant, ""), b.aside(b.ready("CS-0001"))))
			return b.takenOff(b.rigger)
		}, ErrHasSlings},
		{"that came back", nil, "asked for", func(b *bench) []event.Hash {
			tag := b.ready("CS-0001")
			b.must(b.Issue(ctx, b.as(b.attendant, ""), b.aside(tag)))
			b.must(b.Return(ctx, b.as(b.attendant, ""), Reading{Text: tag, Way: Scanner}, Finding{Said: event.Something, Note: "R. Rigger heard a crack"}))
			return b.takenOff(b.rigger)
		}, nil},
		{"with the name in the reason", nil, "r. rigger asked for it", func(b *bench) []event.Hash { return b.takenOff(b.rigger) }, ErrNameInReason},
		{"for no reason", nil, " ", func(b *bench) []event.Hash { return b.takenOff(b.rigger) }, ErrNeeded},
		{"seen before the last change", nil, "asked for", func(b *bench) []event.Hash { b.takenOff(b.rigger); return nil }, store.ErrConflict},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newBench(t, nil)
			seen, by := c.do(b), b.keeper
			if c.by != nil {
				by = c.by(b)
			}
			n, err := b.ErasePerson(ctx, b.as(by, "k"), b.rigger, seen, c.why)
			if !errors.Is(err, c.err) || (n > 0) != (c.err == nil) {
				t.Fatalf("%d, %v, want %v", n, err, c.err)
			}
			p, err := b.st.Person(ctx, b.rigger)
			if err != nil || p.Erased != (c.err == nil) || (p.Name == event.InsteadOf(b.rigger)) != (c.err == nil) {
				t.Errorf("%+v, %v", p, err)
			}
			if c.err == nil {
				if again, err := b.ErasePerson(ctx, b.as(by, "k"), b.rigger, seen, c.why); err != nil || again != n {
					t.Errorf("sent twice: %d, %v", again, err)
				}
			}
		})
	}
}

// The last keeper cannot be taken off, and is therefore never erased.
func TestTheLastKeeperIsNotErased(t *testing.T) {
	ctx := context.Background()
	b := newBench(t, nil)
	p, err := b.st.Person(ctx, b.keeper)
	if err != nil {
		t.Fatal(err)
	}
	if err := b.ChangePerson(ctx, b.as(b.keeper, ""), b.keeper, p.Heads, event.PersonChanged{Name: p.Name, Roles: p.Roles}); !errors.Is(err, ErrLastKeeper) {
		t.Errorf("%v", err)
	}
	if _, err := b.ErasePerson(ctx, b.as(b.keeper, ""), b.keeper, p.Heads, "asked for"); !errors.Is(err, ErrStillHere) {
		t.Errorf("%v", err)
	}
}
