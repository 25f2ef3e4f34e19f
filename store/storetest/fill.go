package storetest

import (
	"context"
	"fmt"
	"strings"
	"time"

	"cribgate/core/event"
	"cribgate/core/tagcode"
	"cribgate/store"
)

// Clock is a clock that a test sets. It is for one goroutine at a time.
type Clock struct{ T time.Time }

// Now reads the clock.
func (c *Clock) Now() time.Time { return c.T }

// TagText is the text that stands on the tag of that serial of the n-th sling;
// it is no real tag, but the register knows it by its digest all the same.
func TagText(n int, serial tagcode.Serial) string {
	return fmt.Sprintf("TAG %d OF SLING %d", serial, n)
}

// Fill enters slings 1 to n with a confirmed tag each, and has them go out and
// come back until the register holds at least so many events. It is much the
// same for the same numbers, and quick.
func Fill(ctx context.Context, s *store.Store, clock *Clock, n, events int) error {
	rigger, err := event.NewPersonID(strings.NewReader("sixteen bytes ok"))
	if err != nil {
		return err
	}
	// As long as what the machine surface says of a lift, so that sizes are real.
	verdict := event.Verdict{
		Question: `{"id":"` + strings.Repeat("q", 560) + `"}`,
		Answer:   `{"id":"` + strings.Repeat("a", 640) + `"}`, Edition: "test",
	}
	act := store.Act{Station: "test", Way: "scanner"}
	heads := make([][]event.Hash, n)
	told := 0
	add := func(ctx context.Context, tx *store.Tx, i int, body event.Body) error {
		clock.T = clock.T.Add(time.Second)
		d := Sling(i + 1)
		rec, err := tx.Append(ctx, event.Sling(event.SlingOf(Key, d.Ident)), heads[i], body)
		heads[i] = []event.Hash{rec.Hash}
		told++
		return err
	}
	const each = 50_000 // events in one transaction
	next := func(want int, f func(ctx context.Context, tx *store.Tx) (more bool, err error)) error {
		for more := true; more; {
			until := told + want
			err := s.Bulk(ctx, act, func(ctx context.Context, tx *store.Tx) (err error) {
				for more && told < until && err == nil {
					more, err = f(ctx, tx)
				}
				return err
			})
			if err != nil {
				return err
			}
		}
		return nil
	}
	i := 0
	err = next(each, func(ctx context.Context, tx *store.Tx) (bool, error) {
		if i == n {
			return false, nil
		}
		body := []event.Body{
			event.Registered{Details: Sling(i + 1)},
			event.TagPrinted{
				Serial: 1, Key: Key, Digest: tagcode.Digest(TagText(i+1, 1)), Version: 5, Level: "H", Mask: i % 8, Stock: "test",
			},
			event.TagConfirmed{Serial: 1, Typed: "001"},
		}
		for _, b := range body {
			if err := add(ctx, tx, i, b); err != nil {
				return false, err
			}
		}
		i++
		return true, nil
	})
	if err != nil {
		return err
	}
	i = 0
	return next(each, func(ctx context.Context, tx *store.Tx) (bool, error) {
		if told >= events {
			return false, nil
		}
		if err := add(ctx, tx, i, event.Issued{Rigger: rigger, Serial: 1, Verdict: verdict}); err != nil {
			return false, err
		}
		if err := add(ctx, tx, i, event.Returned{From: rigger, Said: event.Nothing}); err != nil {
			return false, err
		}
		i = (i + 1) % n
		return true, nil
	})
}
