package command_test

import (
	"context"
	"crypto/rand"
	"fmt"
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
	ctx := context.Background()
	dir := ts.MkAbs(args[0])
	ts.Check(os.Mkdir(dir, 0o700))
	file, _, keys := store.Paths(dir)
	key, err := keyring.Create(keys, rand.Reader)
	ts.Check(err)
	s, keeper, err := store.Init(ctx, file, store.Founding{
		Name: "Test crib", Units: quantity.Imperial, Rules: due.US, Zone: "UTC",
		Policy: event.Policy{MaxMonths: 12, MaxTilt: 5 * quantity.Degree},
		Key:    key.Fingerprint(), Keeper: "Keeper", Station: "test",
	}, store.Options{})
	ts.Check(err)
	act := store.Act{By: keeper, Station: "test", Way: "program"}
	_, err = s.Do(ctx, act, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		for _, ident := range args[1:] {
			subject := event.Sling(event.SlingOf(key.Fingerprint(), ident))
			if _, err := tx.Append(ctx, subject, nil, event.Registered{Details: details(ts, ident)}); err != nil {
				return nil, err
			}
		}
		return nil, nil
	})
	ts.Check(err)
	ts.Check(s.Close())
}

func details(ts *testscript.TestScript, ident string) event.Details {
	size, err := rating.ParseSize(rating.US, "3/8")
	ts.Check(err)
	inspected, err := quantity.ParseDate("2025-11-10")
	ts.Check(err)
	return event.Details{
		Ident: ident, Outcome: tagcode.Fit, Service: due.Normal,
		Sling: gate.Sling{
			Plate: rating.Plate{
				System: rating.US, Grade: rating.Grade80, Size: size, Legs: 2, Reach: 2400 * quantity.Millimetre,
				Stamped: []rating.Stamp{{Legs: 2, Basis: rating.H60, Load: 12300 * quantity.Pound}},
			},
			RatingTag: gate.TagLegible, State: gate.StateIn, Inspected: inspected, Due: inspected.AddMonths(12),
		},
	}
}

// tags DIR FILE writes down what tags a register knows, one a line.
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
	for _, sling := range page {
		for _, t := range sling.Tags {
			fmt.Fprintf(&b, "%s %d %s %d %s\n", sling.Details.Ident, t.Serial, t.Stock, t.Version, t.Level)
		}
	}
	ts.Check(s.Close())
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), []byte(b.String()), 0o644))
}
