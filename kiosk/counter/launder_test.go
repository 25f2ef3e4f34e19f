package counter

import (
	"context"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/tagcode"
)

// What keeps a sling in is not got rid of by what is told of it: that it was lost,
// that it went out by itself, that nothing happened to it out there, or that it came
// back in a heap.
func TestNoHoldIsToldAway(t *testing.T) {
	ctx := context.Background()
	for _, why := range []struct {
		name string
		make func(b *bench, id event.SlingID)
	}{
		{"held", func(b *bench, id event.SlingID) {
			b.must(b.Hold(ctx, b.as(b.attendant, ""), b.seen(id), "bent"))
		}},
		{"not passed", func(b *bench, id event.SlingID) { b.inspected(id, "2026-03-02", tagcode.Hold) }},
		{"lost", func(*bench, event.SlingID) {}},
	} {
		for _, way := range []struct {
			name string
			back func(b *bench, id event.SlingID, text string)
		}{
			{"returned", func(b *bench, _ event.SlingID, text string) {
				b.must(b.Return(ctx, b.as(b.attendant, ""), Reading{Text: text, Way: Scanner}, event.Nothing, ""))
			}},
			{"on paper", func(b *bench, id event.SlingID, _ string) {
				b.must(b.Came(ctx, b.as(b.attendant, ""), b.seen(id), event.Nothing, "", event.Late{}))
			}},
			{"here", func(b *bench, _ event.SlingID, text string) {
				b.must(b.Here(ctx, b.as(b.attendant, ""), Reading{Text: text, Way: Scanner, Typed: "417"}, event.Nothing, ""))
			}},
			{"heap", func(b *bench, id event.SlingID, text string) {
				if _, err := b.TakeIn(ctx, b.as(b.attendant, ""), Reading{Text: text, Way: Scanner}); err != nil {
					b.t.Fatal(err)
				}
			}},
		} {
			t.Run(why.name+", lost, taken, "+way.name, func(t *testing.T) {
				b := newBench(t, nil)
				id, text := b.tagged("NS-0417")
				why.make(b, id)
				b.must(b.Lose(ctx, b.as(b.attendant, ""), b.seen(id), ""))
				b.must(b.Take(ctx, b.as(b.attendant, ""), b.seen(id), Gone{Rigger: b.rigger}))
				b.pass(time.Minute)
				way.back(b, id, text)
				if got := b.state(id); got != gate.StateHeld {
					t.Errorf("it is %s: %+v", got, b.sling(id).Hold)
				}
				if b.sling(id).Doubt != 0 {
					t.Errorf("doubt %d", b.sling(id).Doubt)
				}
				if o, err := b.Issue(ctx, b.as(b.attendant, ""), b.ask(text, 9_000)); err != nil || o.May {
					t.Errorf("it goes out: %+v %v", o.Codes, err)
				}
			})
		}
	}
}
