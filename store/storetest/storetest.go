// Package storetest helps tests of whoever stands on a register: it makes small
// real ones and invented events. It decides nothing and is linked into no
// program.
//
// [New] founds a register in a directory of the test's own; when the test ends it
// is verified and closed, so that every test is also one of the store. [Sling]
// gives an invented sling's details, [Register] enters it.
package storetest

import (
	"context"
	"fmt"
	"path/filepath"
	"testing"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/store"
)

// Key is the fingerprint that New founds a register with; no key has it.
var Key = tagcode.Fingerprint{0xC0, 0xFF, 0xEE, 0x01}

// Founding is what New founds a register with.
func Founding() store.Founding {
	return store.Founding{
		Name: "Test crib", Units: quantity.Metric, Rules: due.EN, Zone: "Europe/Berlin",
		Policy:  event.Policy{MaxMonths: 12, MaxTilt: 5 * quantity.Degree, MarginPct: 10, AskEvery: 20},
		Key:     Key,
		Keeper:  "Kay Keeper",
		Station: "test",
	}
}

// New founds a register and opens it. It is verified and closed when the test
// ends.
func New(t testing.TB, o store.Options) (s *store.Store, keeper event.PersonID, path string) {
	t.Helper()
	path, _, _ = store.Paths(filepath.Join(t.TempDir(), "register.sqlite"))
	s, keeper, err := store.Init(t.Context(), path, Founding(), o)
	if err != nil {
		t.Fatal(err)
	}
	Check(t, s)
	return s, keeper, path
}

// Open opens a register that is there. It is verified and closed when the test
// ends.
func Open(t testing.TB, path string, o store.Options) *store.Store {
	t.Helper()
	s, err := store.Open(t.Context(), path, o)
	if err != nil {
		t.Fatal(err)
	}
	Check(t, s)
	return s
}

// Check has s verified and closed when the test ends.
func Check(t testing.TB, s *store.Store) {
	t.Cleanup(func() {
		report, err := s.Verify(context.Background(), nil)
		if err != nil {
			t.Errorf("verify: %v", err)
		}
		for _, b := range report.Breaks {
			t.Errorf("verify: %s", b)
		}
		if err := s.Close(); err != nil {
			t.Errorf("close: %v", err)
		}
	})
}

// Sling gives the details of an invented sling, the n-th of its kind: grade 80,
// 13 mm, two legs, in, inspected and due within the year 2026.
func Sling(n int) event.Details {
	size, err := rating.ParseSize(rating.EN, "13")
	if err != nil {
		panic("storetest: 13 is no size") // a constant of this file
	}
	inspected, _ := quantity.NewDate(2026, 1, 1+n%28)
	return event.Details{
		Ident: fmt.Sprintf("CS-%05d", n),
		Place: fmt.Sprintf("B-%02d peg %d", n/10%100, n%10),
		Sling: gate.Sling{
			Plate: rating.Plate{
				System: rating.EN, Grade: rating.Grade80, Size: size, Legs: 2, Reach: 3 * quantity.Metre,
				// EN 818-4: 13 mm, grade 80, two legs at 0° to 45° to the vertical, 7.5 t.
				Stamped: []rating.Stamp{{Legs: 2, Basis: rating.B45, Load: 7500 * quantity.Kilogram}},
			},
			RatingTag: gate.TagLegible, State: gate.StateIn,
			Inspected: inspected, Due: inspected.AddMonths(12),
		},
		Outcome: tagcode.Fit, Service: due.Normal,
	}
}

// Stated is an invented lift that such a sling can do: two legs at 45° from horizontal.
func Stated() event.StatedLift {
	return event.StatedLift{Weighed: true, Lift: gate.Lift{
		Use: gate.UseOrdinary, Load: 3 * quantity.Tonne, Hitch: gate.Straight, Legs: 2, Centred: true,
		Angle: &gate.Angle{From: gate.FromHorizontal, Size: 45 * quantity.Degree},
	}}
}

// Register enters the n-th invented sling and gives it as it is then.
func Register(t testing.TB, s *store.Store, n int) state.Sling {
	t.Helper()
	d := Sling(n)
	id := event.SlingOf(Key, d.Ident)
	return Append(t, s, id, nil, event.Registered{Details: d})
}

// Append adds one event to a sling's story in an act of its own, and gives the
// sling as it is then.
func Append(t testing.TB, s *store.Store, id event.SlingID, seen []event.Hash, body event.Body) state.Sling {
	t.Helper()
	_, err := s.Do(t.Context(), store.Act{Station: "test", Way: "hand"}, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		_, err := tx.Append(ctx, event.Sling(id), seen, body)
		return nil, err
	})
	if err != nil {
		t.Fatal(err)
	}
	sling, err := s.Sling(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	return sling
}
