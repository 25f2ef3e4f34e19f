package web

import (
	"context"
	"encoding/binary"
	"fmt"
	"net/url"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/kiosk/counter"
	"cribgate/store"
)

// BenchmarkLiftPage answers a lift by places while it is typed, with 20,000 slings on the
// rack, each with a tag that lives: signed in, over a connection, as a browser asks. It
// is to be answered within 100 ms, which is asked of the 95th percentile. "distinct" are
// slings no two of which have the same reach, so that the gate is asked about each;
// "alike" have one of sixteen reaches, as slings have; "moved" is that with a sling that
// was handed over or came back before each answer.
func BenchmarkLiftPage(b *testing.B) {
	const slings = 20_000
	for _, kind := range []string{"distinct", "alike", "moved"} {
		k := newKiosk(b)
		ids := k.manyHanging(slings, func(n int) quantity.Length {
			if kind == "distinct" {
				return quantity.Length(1_000+n) * quantity.Millimetre
			}
			return quantity.Length(1_500+250*(n%16)) * quantity.Millimetre
		})
		c := k.signedIn(k.attendant)
		lifts := []url.Values{
			byPlacesOf(placed("14,000", "4", "0 0 3", "4 0 3", "4 3 3", "0 3 3", "2 1.6 1")),
			byPlacesOf(placed("14,500", "4", "0 0 3", "4.5 0 3", "4.5 3 3", "0 3 3", "2.2 1.5 1")),
			byPlacesOf(placed("15,000", "4", "0 0 3", "4.5 0 3", "4.5 3.5 3", "0 3.5 3", "2.3 1.7 1")),
		}
		before := processor(b)
		if got := c.asks(lifts[0]); got.first == "" {
			b.Fatal(got.text)
		}
		b.Logf("%s: the first answer, for which all slings are read: %v of processor time", kind, processor(b)-before)
		b.Run(kind, func(b *testing.B) {
			n := 0
			timesOf(b, func() {
				if kind == "moved" {
					b.StopTimer()
					k.happens(ids[n%slings], k.attendant, event.Held{Reason: "looked odd"})
					b.StartTimer()
				}
				if a := c.post("/lift/answer", lifts[n%len(lifts)]); a.status != 200 || !strings.Contains(a.body, `<ol class="offers">`) {
					b.Fatalf("%d: %s", a.status, a.body)
				}
				n++
			})
		})
	}
}

// manyHanging registers slings of four legs, 1/2 in, each with a tag that lives, whose
// reach is that of its number.
func (k *kiosk) manyHanging(slings int, reach func(n int) quantity.Length) (ids []event.SlingID) {
	k.t.Helper()
	like, _ := k.hanging("LIKE-THIS", nil)
	pattern := k.sling(like)
	pattern.Details.Sling.Plate = tabledPlate(k.t, rating.US, rating.Grade80, "1/2", 4, quantity.Metre)
	act := store.Act{By: k.keeper.ID, Station: station, Way: string(counter.Program)}
	tag := event.TagPrinted{Serial: 1, Key: like.Key, Version: 5, Level: "H", Mask: 1, Stock: "test"}
	_, err := k.store.Do(k.t.Context(), act, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		for n := range slings {
			d := pattern.Details
			d.Ident, d.Sling.Reach, d.Place = fmt.Sprintf("NS-%05d", n), reach(n), fmt.Sprintf("%c-%d", 'A'+n%20, n/20)
			id := event.SlingOf(like.Key, d.Ident)
			ids = append(ids, id)
			binary.BigEndian.PutUint64(tag.Digest[:], uint64(n+1))
			var seen []event.Hash
			for _, body := range []event.Body{event.Registered{Details: d}, tag, event.TagConfirmed{Serial: 1}} {
				rec, err := tx.Append(ctx, event.Sling(id), seen, body)
				if err != nil {
					return nil, err
				}
				seen = []event.Hash{rec.Hash}
			}
		}
		return nil, nil
	})
	if err != nil {
		k.t.Fatal(err)
	}
	return ids
}
