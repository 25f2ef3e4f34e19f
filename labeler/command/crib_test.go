package command_test

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/rogpeppe/go-internal/testscript"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/tagcode"
	"cribgate/store"
	"cribgate/store/keyring"
)

// crib DIR IDENT… makes a register with slings of those identifications, and
// its key.
func crib(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 1 {
		ts.Fatalf("usage: crib dir ident…")
	}
	ts.Check(found(ts.MkAbs(args[0]), rand.Reader, args[1:], func(event.SlingID, int) []event.Body { return nil }))
}

// found makes a register with a key of that source, and registers the slings.
// more gives what else has happened to each.
func found(dir string, key io.Reader, idents []string, more func(id event.SlingID, n int) []event.Body) error {
	ctx := context.Background()
	if err := os.Mkdir(dir, 0o700); err != nil {
		return err
	}
	file, _, keys := store.Paths(dir)
	k, err := keyring.Create(keys, key)
	if err != nil {
		return err
	}
	s, keeper, err := store.Init(ctx, file, store.Founding{
		Name: "Test crib", Units: quantity.Imperial, Rules: due.US, Zone: "UTC",
		Policy: event.Policy{MaxMonths: 12, MaxTilt: 5 * quantity.Degree},
		Key:    k.Fingerprint(), Keeper: "Keeper", Station: "test",
	}, store.Options{})
	if err != nil {
		return err
	}
	_, err = s.Do(ctx, store.Act{By: keeper, Station: "test", Way: "program"}, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		for n, ident := range idents {
			d, err := details(ident)
			if err != nil {
				return nil, err
			}
			id := event.SlingOf(k.Fingerprint(), ident)
			var seen []event.Hash
			for _, body := range append([]event.Body{event.Registered{Details: d}}, more(id, n)...) {
				rec, err := tx.Append(ctx, event.Sling(id), seen, body)
				if err != nil {
					return nil, err
				}
				seen = []event.Hash{rec.Hash}
			}
		}
		return nil, nil
	})
	return errors.Join(err, s.Close())
}

func details(ident string) (event.Details, error) {
	size, err := rating.ParseSize(rating.US, "3/8")
	if err != nil {
		return event.Details{}, err
	}
	inspected, err := quantity.ParseDate("2025-11-10")
	return event.Details{
		Ident: ident, Outcome: tagcode.Fit, Service: due.Normal,
		Sling: gate.Sling{
			Plate: rating.Plate{
				System: rating.US, Grade: rating.Grade80, Size: size, Legs: 2, Reach: 2400 * quantity.Millimetre,
				Stamped: []rating.Stamp{{Legs: 2, Basis: rating.H60, Load: 12300 * quantity.Pound}},
			},
			RatingTag: gate.TagLegible, State: gate.StateIn, Inspected: inspected, Due: inspected.AddMonths(12),
		},
	}, err
}

// tags DIR FILE writes down what badges and tags a register knows, one a line.
func tags(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: tags dir file")
	}
	ctx := context.Background()
	file, _, _ := store.Paths(ts.MkAbs(args[0]))
	s, err := store.Open(ctx, file, store.Options{})
	ts.Check(err)
	var b strings.Builder
	page, _, err := s.List(ctx, store.Query{})
	ts.Check(err)
	people, err := s.People(ctx)
	ts.Check(err)
	for _, p := range people {
		if p.Badge.Serial > 0 {
			fmt.Fprintf(&b, "%s %d %s\n", p.Name, p.Badge.Serial, p.Badge.Stock)
		}
	}
	for _, sling := range page {
		for _, t := range sling.Tags {
			fmt.Fprintf(&b, "%s %d %s %d %s\n", sling.Details.Ident, t.Serial, t.Stock, t.Version, t.Level)
		}
	}
	ts.Check(s.Close())
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), []byte(b.String()), 0o644))
}
