package counter

import (
	"context"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
	"cribgate/store"
)

func TestProbe(t *testing.T) {
	ctx := context.Background()
	t.Run("correct to out", func(t *testing.T) {
		b := newBench(t, nil)
		id, text := b.tagged("NS-0417")
		s, _ := b.st.Sling(ctx, id)
		d := s.Details
		d.Outcome = tagcode.Out
		b.must(b.Correct(ctx, b.as(b.inspector, ""), b.seen(id), d, "paper says out of service"))
		o, err := b.Issue(ctx, b.as(b.attendant, ""), b.ask(text, 100))
		t.Logf("ISSUE may=%v codes=%v err=%v state=%v", o.May, o.Codes, err, o.Sling.Details.Sling.State)
	})
	t.Run("short code after correct", func(t *testing.T) {
		b := newBench(t, nil)
		id, text := b.tagged("NS-0417")
		s, _ := b.st.Sling(ctx, id)
		d := s.Details
		d.Sling.Reach = 1000 * quantity.Millimetre
		b.must(b.Correct(ctx, b.as(b.inspector, ""), b.seen(id), d, "reach"))
		o, err := b.Issue(ctx, b.as(b.attendant, ""), b.ask(text, 100))
		t.Logf("scan may=%v codes=%v err=%v", o.May, o.Codes, err)
		a := b.ask(tagcode.ShortOf(id.Number, 1).String(), 100)
		a.Reading.Way, a.Reading.Typed = ShortCode, "0417"
		o, err = b.Issue(ctx, b.as(b.attendant, ""), a)
		t.Logf("short may=%v codes=%v err=%v", o.May, o.Codes, err)
	})
	t.Run("short code after inspection", func(t *testing.T) {
		b := newBench(t, nil)
		id, text := b.tagged("NS-0417")
		b.inspect(id, "2026-03-01")
		o, err := b.Issue(ctx, b.as(b.attendant, ""), b.ask(text, 100))
		t.Logf("scan may=%v codes=%v err=%v", o.May, o.Codes, err)
		a := b.ask(tagcode.ShortOf(id.Number, 1).String(), 100)
		a.Reading.Way, a.Reading.Typed = ShortCode, "0417"
		o, err = b.Issue(ctx, b.as(b.attendant, ""), a)
		t.Logf("short may=%v codes=%v err=%v", o.May, o.Codes, err)
	})
	t.Run("inspect out one", func(t *testing.T) {
		b := newBench(t, nil)
		id, text := b.tagged("NS-0417")
		b.must(b.Issue(ctx, b.as(b.attendant, ""), b.ask(text, 100)))
		o, err := b.Inspect(ctx, b.as(b.inspector, ""), b.seen(id), Inspection{Date: date(t, "2026-03-01"), Outcome: tagcode.Fit, RatingTag: gate.TagLegible})
		t.Logf("inspect may=%v codes=%v err=%v", o.May, o.Codes, err)
	})
	t.Run("correct dates then own issue", func(t *testing.T) {
		b := newBench(t, func(p *event.Policy) { p.OldTagGoes = true })
		id, text := b.tagged("NS-0417")
		b.inspectorAttends()
		s, _ := b.st.Sling(ctx, id)
		d := s.Details
		d.Sling.Inspected, d.Sling.Due = date(t, "2026-03-01"), quantity.Date{}
		b.must(b.Correct(ctx, b.as(b.inspector, ""), b.seen(id), d, "dates"))
		o, err := b.Issue(ctx, b.as(b.inspector, ""), b.ask(text, 100))
		t.Logf("own may=%v codes=%v err=%v", o.May, o.Codes, err)
	})
	t.Run("names", func(t *testing.T) {
		b := newBench(t, nil)
		for _, n := range []string{"R. Rigger\u200b", "R. \u202eRigger", "R.\u00adRigger", "\u2028", "\u3164", "\ufeffX", "R. Riɡɡer", "\x00", "a\tb", "R. RIGGER"} {
			_, err := b.AddPerson(ctx, b.as(b.keeper, ""), n, event.Rigger)
			t.Logf("%q: %v", n, err)
		}
	})
	t.Run("correct on held out keeps", func(t *testing.T) {
		b := newBench(t, nil)
		id, _ := b.tagged("NS-0417")
		b.must(b.Inspect(ctx, b.as(b.inspector, ""), b.seen(id), Inspection{Date: date(t, "2026-03-01"), Outcome: tagcode.Out, RatingTag: gate.TagLegible, Service: 1}))
		s, _ := b.st.Sling(ctx, id)
		t.Logf("held %v %q", s.Details.Sling.State, s.Hold.Reason)
		o, err := b.Release(ctx, b.as(b.inspector, ""), b.seen(id), "x")
		t.Logf("release %v %v %v", o.May, o.Codes, err)
		// lose and find then release
		b.must(b.Lose(ctx, b.as(b.keeper, ""), b.seen(id), ""))
		b.must(b.FindAgain(ctx, b.as(b.keeper, ""), b.seen(id), ""))
		o, err = b.Release(ctx, b.as(b.inspector, ""), b.seen(id), "x")
		t.Logf("release %v %v %v", o.May, o.Codes, err)
	})
	t.Run("lots of holds", func(t *testing.T) {
		b := newBench(t, nil)
		id, _ := b.tagged("NS-0417")
		_, err := b.Hold(ctx, b.as(b.attendant, ""), b.seen(id), string(make([]byte, 10)))
		t.Log(err)
		_ = store.ErrConflict
	})
}
