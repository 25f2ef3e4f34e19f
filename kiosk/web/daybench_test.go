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

// BenchmarkLacks counts what a crib lacks that asked for 20,000 lifts in a year, of which
// every tenth was refused; half of them were asked for in a way of its own. It is counted
// once a day.
func BenchmarkLacks(b *testing.B) {
	k := newKiosk(b)
	k.manyPlanned(500, 0)
	k.manyAsked(20_000)
	v := k.visiting()
	head, err := k.store.Head(b.Context())
	if err != nil {
		b.Fatal(err)
	}
	v.at, v.register = head.At, head.Log.String()
	timesOf(b, func() {
		k.server.lacking.last = lacked{}
		l, err := k.server.lacking.list(k.server, v)
		if err != nil || l.list.Refused == 0 || l.list.Over == 0 || len(l.list.Slings) == 0 {
			b.Fatal(l, err)
		}
	})
}

// manyAsked has lifts asked for, and every tenth refused.
func (k *kiosk) manyAsked(lifts int) {
	k.t.Helper()
	m := rand.New(rand.NewPCG(5, 6))
	list, _, err := k.store.List(k.t.Context(), store.Query{Limit: 500})
	if err != nil {
		k.t.Fatal(err)
	}
	err = k.store.Bulk(k.t.Context(), store.Act{By: k.keeper.ID, Station: "bench", Way: "program"}, func(ctx context.Context, tx *store.Tx) error {
		for n := range lifts {
			s := &list[n%len(list)]
			l := gate.Lift{Use: gate.UseOrdinary, Load: quantity.Mass(1000+100*m.IntN(100)) * quantity.Pound, Hitch: gate.Straight, Legs: s.Details.Sling.Legs, Centred: true}
			if n%2 == 0 {
				l.Load = quantity.Mass(1000+m.IntN(20_000)) * quantity.Pound
			}
			if l.Legs > 1 {
				l.Angle = &gate.Angle{From: gate.FromHorizontal, Size: quantity.Angle(45+5*m.IntN(6)) * quantity.Degree}
			}
			q, err := gate.Question{ID: s.Details.Ident, Now: k.today(), Policy: gate.DefaultPolicy(), Sling: s.Details.Sling, Lift: &l}.MarshalJSON()
			if err != nil {
				return err
			}
			verdict := event.Verdict{Question: string(q), Answer: "{}", Edition: gate.RulesEdition}
			bodies := []event.Body{event.Issued{Rigger: k.rigger.ID, Serial: 1, Verdict: verdict}, event.Returned{From: k.rigger.ID, Said: event.Nothing}}
			if n%10 == 0 {
				bodies = []event.Body{event.Refused{Rigger: k.rigger.ID, Reasons: []string{"under-rated"}, Verdict: verdict}}
			}
			for _, body := range bodies {
				rec, err := tx.Append(ctx, event.Sling(s.ID), s.Heads, body)
				if err != nil {
					return err
				}
				s.Heads = []event.Hash{rec.Hash}
			}
		}
		return nil
	})
	if err != nil {
		k.t.Fatal(err)
	}
}
