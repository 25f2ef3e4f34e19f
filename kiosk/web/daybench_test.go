package web

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/tagcode"
	"cribgate/store"
)

// manyPlanned fills a register with slings that have a live tag, and lifts for today.
func (k *kiosk) manyPlanned(slings, lifts int) {
	k.t.Helper()
	m := rand.New(rand.NewPCG(3, 4))
	crib := k.cribNow()
	sizes := rating.Sizes(rating.US)
	inspected, _ := quantity.NewDate(2025, 11, 10)
	heads := k.rigger.Heads
	err := k.store.Bulk(k.t.Context(), store.Act{By: k.keeper.ID, Station: "bench", Way: "program"}, func(ctx context.Context, tx *store.Tx) error {
		for n := range slings {
			ident := fmt.Sprintf("NS-%05d", n)
			size := sizes[m.IntN(len(sizes)-3)]
			legs := 1 + m.IntN(3)
			d := event.Details{Ident: ident, Place: fmt.Sprintf("%c-%d", 'A'+n%20, n/20), Outcome: tagcode.Fit, Service: 1, Sling: gate.Sling{
				Plate:     rating.Plate{System: rating.US, Grade: rating.Grade80, Size: size, Legs: legs, Reach: quantity.Length(1500+250*m.IntN(12)) * quantity.Millimetre},
				RatingTag: gate.TagLegible, State: gate.StateIn, Inspected: inspected, Due: inspected.AddMonths(12)}}
			for _, b := range rating.Bases(rating.US, legs) {
				if cell, ok := rating.TableCell(rating.Grade80, size, legs, b); ok {
					d.Sling.Stamped = append(d.Sling.Stamped, rating.Stamp{Legs: legs, Basis: b, Load: cell.Load})
				}
			}
			id := event.SlingOf(crib.Key(), ident)
			var last []event.Hash
			for _, b := range []event.Body{event.Registered{Details: d}, event.TagPrinted{Serial: 1, Key: crib.Key(), Digest: tagcode.Digest(ident), Version: 5, Level: "H", Stock: "bench"}, event.TagConfirmed{Serial: 1, Typed: "x"}} {
				rec, err := tx.Append(ctx, event.Sling(id), last, b)
				if err != nil {
					return err
				}
				last = []event.Hash{rec.Hash}
			}
		}
		for n := range lifts {
			l := event.StatedLift{Weighed: true, Lift: gate.Lift{Use: gate.UseOrdinary, Load: quantity.Mass(800+m.IntN(24_000)) * quantity.Pound, Hitch: gate.Straight, Legs: 1 + m.IntN(3), Centred: true, ReturnBy: k.today()}}
			if l.Lift.Legs > 1 {
				l.Lift.Angle = &gate.Angle{From: gate.FromHorizontal, Size: quantity.Angle(45+m.IntN(30)) * quantity.Degree}
			}
			rec, err := tx.Append(ctx, event.Person(k.rigger.ID), heads, event.LiftPlanned{Lift: event.LiftID{1, byte(n >> 8), byte(n)}, Day: k.today(), What: fmt.Sprint("lift ", n), Stated: l})
			if err != nil {
				return err
			}
			heads = []event.Hash{rec.Hash}
		}
		return nil
	})
	if err != nil {
		k.t.Fatal(err)
	}
}

// BenchmarkDay proposes slings for a day of 500 lifts out of the register: of 5,000
// slings, which is to take half a second, and of 300, where most lifts want what others
// want too, which is to take two. "first" reads all slings before. "page" is all of the
// page with it.
func BenchmarkDay(b *testing.B) {
	for _, c := range []struct {
		name   string
		slings int
	}{{"ordinary", 5000}, {"scarce", 300}} {
		k := newKiosk(b)
		k.manyPlanned(c.slings, 500)
		v := k.visiting()
		head, err := k.store.Head(b.Context())
		if err != nil {
			b.Fatal(err)
		}
		v.at, v.register = head.At, head.Log.String()
		propose := func() {
			p, err := k.server.propose(v, v.today)
			if err != nil || len(p.lifts) != 500 || !p.p.Proven {
				b.Fatal(len(p.lifts), err)
			}
			b.ReportMetric(float64(p.p.Served), "served")
		}
		b.Run(c.name, func(b *testing.B) { timesOf(b, propose) })
		b.Run(c.name+"/first", func(b *testing.B) {
			timesOf(b, func() {
				k.server.shelves.now = nil
				propose()
			})
		})
		b.Run(c.name+"/page", func(b *testing.B) {
			at := k.signedIn(k.attendant)
			timesOf(b, func() { at.proposed() })
		})
	}
}

// proposed asks for the page that proposes for today.
func (c *client) proposed() answer {
	c.k.t.Helper()
	day := dayAt(c.k.today())
	return c.post(day+"/propose", map[string][]string{"key": {newKey()}})
}
