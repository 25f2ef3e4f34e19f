package counter

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
)

func (b *bench) sling(id event.SlingID) state.Sling {
	b.t.Helper()
	s, err := b.st.Sling(context.Background(), id)
	if err != nil {
		b.t.Fatal(err)
	}
	if s.Doubt != 0 {
		b.t.Fatalf("doubt %v", s.Doubt)
	}
	return s
}

func (b *bench) out(id event.SlingID, text string) {
	b.t.Helper()
	b.must(b.Issue(context.Background(), b.as(b.attendant, ""), b.ask(text, 4_000)))
}

func (b *bench) recorded(id event.SlingID, kind event.Kind) (n int) {
	b.t.Helper()
	story, err := b.st.Story(context.Background(), event.Sling(id))
	if err != nil {
		b.t.Fatal(err)
	}
	for _, r := range story {
		if r.Envelope.Kind == kind {
			n++
		}
	}
	return n
}

// Whatever lies in a heap ends where nobody can hand it out, and is told apart; the
// same scan five times writes once.
func TestTakeInWhateverLiesThere(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	hold := func(id event.SlingID) { b.must(b.Hold(ctx, b.as(b.inspector, ""), b.seen(id), "a gouge")) }
	for i, row := range []struct {
		name  string
		do    func(id event.SlingID, text string)
		may   bool
		codes []gate.Reason
		state gate.State
		kind  event.Kind // that is written, once
		owes  bool       // its rigger is asked
	}{
		{"out", b.out, true, nil, gate.StateUnchecked, event.KindTakenIn, true},
		{"out and to be held", func(id event.SlingID, text string) { b.out(id, text); hold(id) }, true, []gate.Reason{gate.Held}, gate.StateHeld, event.KindTakenIn, true},
		{"not out", func(event.SlingID, string) {}, true, []gate.Reason{gate.NotOut}, gate.StateUnchecked, event.KindTakenIn, false},
		{"lost", func(id event.SlingID, text string) {
			b.out(id, text)
			b.must(b.Lose(ctx, b.as(b.keeper, ""), b.seen(id), ""))
		}, true, []gate.Reason{gate.Lost}, gate.StateHeld, event.KindTakenIn, true},
		{"held", func(id event.SlingID, _ string) { hold(id) }, false, []gate.Reason{gate.Held}, gate.StateHeld, event.KindHeld, false},
		{"retired", func(id event.SlingID, _ string) {
			b.must(b.Retire(ctx, b.as(b.inspector, ""), b.seen(id), event.Retired{Reason: "worn", How: "cut"}))
		}, false, []gate.Reason{gate.Retired}, gate.StateRetired, event.KindRefused, false},
	} {
		id, text := b.tagged(fmt.Sprintf("NS-0%d", 100+i))
		row.do(id, text)
		before := b.recorded(id, row.kind)
		for n := range 5 {
			o, err := b.TakeIn(ctx, b.as(b.attendant, ""), Reading{Text: text, Way: Scanner})
			if err != nil {
				t.Fatal(err)
			}
			if n == 0 && (o.May != row.may || !slices.Equal(o.Codes, row.codes) || o.At == 0) {
				t.Errorf("%s: %t %v at %d", row.name, o.May, o.Codes, o.At)
			}
			if n > 0 && (o.At != 0 || o.May != row.may) {
				t.Errorf("%s, scanned again: %t %v at %d", row.name, o.May, o.Codes, o.At)
			}
		}
		s := b.sling(id)
		if s.Details.Sling.State != row.state || b.recorded(id, row.kind) != before+1 || (s.OwedBy(b.rigger) != nil) != row.owes || !s.Loan.Rigger.IsZero() {
			t.Errorf("%s: %v, %d recorded, owes %v, with %v", row.name, s.Details.Sling.State, b.recorded(id, row.kind)-before, s.Owes, s.Loan.Rigger)
		}
		b.refuses(b.Look(ctx, b.as(b.attendant, ""), b.ask(text, 1)))
	}
	for text, want := range map[string]gate.Reason{"": gate.TagUnreadable, "https://example.test/x": gate.TagWebAddress, "ABC": gate.TagNotOurs} {
		b.refused2(b.TakeIn(ctx, b.as(b.attendant, ""), Reading{Text: text, Way: Scanner}))(want)
	}
}

// refuses fails the test where something may go.
func (b *bench) refuses(o Outcome, err error) {
	b.t.Helper()
	if err != nil || o.May || len(o.Codes) == 0 {
		b.t.Errorf("it may go: %v, %v", o.Codes, err)
	}
}

func TestWhoTakesIn(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	id, text := b.tagged("NS-0417")
	b.out(id, text)
	b.refused2(b.TakeIn(ctx, b.as(b.rigger, ""), Reading{Text: text, Way: Scanner}))(gate.RoleNotAllowed)
	if b.state(id) != gate.StateOut {
		t.Error("a rigger took it in")
	}
	first := b.must(b.TakeIn(ctx, b.as(b.keeper, "k1"), Reading{Text: text, Way: Scanner}))
	again := b.must(b.TakeIn(ctx, b.as(b.keeper, "k1"), Reading{Text: text, Way: Scanner}))
	if again.At != first.At || len(again.Codes) != 0 {
		t.Errorf("sent again: at %d, first %d, %v", again.At, first.At, again.Codes)
	}
	b.refused2(b.Check(ctx, b.as(b.rigger, ""), b.seen(id), Finding{Said: event.Nothing}))(gate.RoleNotAllowed)
	told, err := b.Tell(ctx, b.as(b.rigger, ""), b.rigger, []Answer{{id, Finding{Said: event.Nothing}}})
	if err != nil || told.Slings != 0 || !slices.Equal(told.Codes, []gate.Reason{gate.RoleNotAllowed}) {
		t.Errorf("a rigger told: %+v %v", told, err)
	}
}

func TestCheck(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	for i, row := range []struct {
		said  event.Said
		note  string
		state gate.State
		held  string
	}{
		{event.Nothing, "", gate.StateIn, ""},
		{event.NotKnown, "", gate.StateHeld, "nobody could say"},
		{event.Something, "bent hook", gate.StateHeld, "bent hook"},
	} {
		id, text := b.tagged(fmt.Sprintf("NS-0%d", 100+i))
		b.out(id, text)
		b.refused2(b.Check(ctx, b.as(b.attendant, ""), b.seen(id), Finding{Said: row.said, Note: row.note}))(gate.NotNow)
		b.must(b.TakeIn(ctx, b.as(b.attendant, ""), Reading{Text: text, Way: Scanner}))
		old := b.seen(id)
		b.must(b.Check(ctx, b.as(b.attendant, ""), old, Finding{Said: row.said, Note: row.note}))
		s := b.sling(id)
		if s.Details.Sling.State != row.state || !strings.Contains(s.Hold.Reason, row.held) || s.OwedBy(b.rigger) == nil {
			t.Errorf("%s: %v %q", row.said, s.Details.Sling.State, s.Hold.Reason)
		}
		b.refused2(b.Check(ctx, b.as(b.attendant, ""), old, Finding{Said: event.Nothing}))(gate.ChangedMeanwhile, gate.NotNow)
	}
	id, text := b.tagged("NS-0200")
	b.must(b.TakeIn(ctx, b.as(b.attendant, ""), Reading{Text: text, Way: Scanner}))
	if _, err := b.Check(ctx, b.as(b.attendant, ""), b.seen(id), Finding{Said: event.Something, Note: "  "}); !errors.Is(err, ErrNeeded) {
		t.Errorf("something, and nobody says what: %v", err)
	}
}

// What a rigger says afterwards holds a sling wherever it is by then, and is asked
// once.
func TestTell(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	heap := func(ident string) (event.SlingID, string) {
		id, text := b.tagged(ident)
		b.out(id, text)
		b.must(b.TakeIn(ctx, b.as(b.attendant, ""), Reading{Text: text, Way: Scanner}))
		return id, text
	}
	in, inText := heap("NS-0101")
	unchecked, _ := heap("NS-0102")
	out, outText := heap("NS-0103")
	fine, _ := heap("NS-0104")
	gone, _ := heap("NS-0105")
	for _, id := range []event.SlingID{in, out} {
		b.must(b.Check(ctx, b.as(b.attendant, ""), b.seen(id), Finding{Said: event.Nothing}))
	}
	b.out(out, outText)
	b.must(b.Retire(ctx, b.as(b.inspector, ""), b.seen(gone), event.Retired{Reason: "worn", How: "cut"}))
	answers := []Answer{
		{in, Finding{Said: event.Something, Note: "it jerked"}}, {unchecked, Finding{Said: event.NotKnown, Note: ""}}, {out, Finding{Said: event.Something, Note: "hot"}},
		{fine, Finding{Said: event.Nothing, Note: ""}}, {gone, Finding{Said: event.Something, Note: "hot"}},
	}
	if told, err := b.Tell(ctx, b.as(b.attendant, ""), b.inspector, answers); err != nil || told.Slings != 0 {
		t.Errorf("somebody else answered: %+v %v", told, err)
	}
	told, err := b.Tell(ctx, b.as(b.attendant, "k1"), b.rigger, answers)
	if err != nil || told.Slings != 5 || told.Held != 3 {
		t.Fatalf("%+v %v", told, err)
	}
	again, err := b.Tell(ctx, b.as(b.attendant, "k1"), b.rigger, answers)
	if err != nil || again.Slings != 5 || again.Held != 3 {
		t.Errorf("sent again: %+v %v", again, err)
	}
	if late, err := b.Tell(ctx, b.as(b.attendant, "k2"), b.rigger, answers); err != nil || late.Slings != 0 {
		t.Errorf("asked twice: %+v %v", late, err)
	}
	for id, want := range map[event.SlingID]gate.State{in: gate.StateHeld, unchecked: gate.StateHeld, out: gate.StateOut, fine: gate.StateUnchecked, gone: gate.StateRetired} {
		s := b.sling(id)
		if s.Details.Sling.State != want || s.Owes != nil || b.recorded(id, event.KindTold) != 1 {
			t.Errorf("%s: %v, owes %v", s.Details.Ident, s.Details.Sling.State, s.Owes)
		}
	}
	b.refuses(b.Look(ctx, b.as(b.attendant, ""), b.ask(inText, 1)))
	b.must(b.Return(ctx, b.as(b.attendant, ""), Reading{Text: outText, Way: Scanner}, Finding{Said: event.Nothing}))
	if s := b.sling(out); s.Details.Sling.State != gate.StateHeld || !strings.Contains(s.Hold.Reason, "hot") {
		t.Errorf("back: %v %q", s.Details.Sling.State, s.Hold.Reason)
	}
	if _, err := b.Tell(ctx, b.as(b.attendant, ""), b.rigger, []Answer{{fine, Finding{Said: event.Something}}}); !errors.Is(err, ErrNeeded) {
		t.Errorf("something, and nobody says what: %v", err)
	}
}

// Many counters scan the same heap: each sling is taken in once.
func TestTakeInRace(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	var ids []event.SlingID
	var texts []string
	for i := range 6 {
		id, text := b.tagged(fmt.Sprintf("NS-0%d", 100+i))
		b.out(id, text)
		ids, texts = append(ids, id), append(texts, text)
	}
	const counters = 8
	news := make([]int, counters)
	var all sync.WaitGroup
	for n := range counters {
		all.Go(func() {
			for i := range texts {
				o, err := b.TakeIn(ctx, b.as(b.attendant, ""), Reading{Text: texts[(i+n)%len(texts)], Way: Scanner})
				switch {
				case err != nil || !o.May:
					t.Errorf("%v %v", o.Codes, err)
				case o.At != 0:
					news[n]++
				}
			}
		})
	}
	all.Wait()
	sum := 0
	for _, n := range news {
		sum += n
	}
	if sum != len(texts) {
		t.Errorf("%d slings were taken in %d times", len(texts), sum)
	}
	for _, id := range ids {
		if b.state(id) != gate.StateUnchecked || b.recorded(id, event.KindTakenIn) != 1 {
			t.Errorf("%v, %d times", b.state(id), b.recorded(id, event.KindTakenIn))
		}
	}
}

// Whatever is done with a sling in whatever order, none that was taken in and not
// looked at since may go, nobody has it, and the record is never in doubt.
func TestHeapProperty(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	n := 0
	rapid.Check(t, func(r *rapid.T) {
		n++
		id, text := b.tagged(fmt.Sprintf("H-%04d", n))
		looked := true
		for range rapid.IntRange(1, 12).Draw(r, "steps") {
			var o Outcome
			var err error
			seen := b.seen(id)
			said := rapid.SampledFrom([]event.Said{event.Nothing, event.NotKnown}).Draw(r, "said")
			switch step := rapid.SampledFrom([]string{"issue", "take in", "check", "tell", "hold", "release", "lose", "recall", "return"}).Draw(r, "step"); step {
			case "issue":
				if o, err = b.Issue(ctx, b.as(b.attendant, ""), b.ask(text, 1)); o.May && !looked {
					r.Fatal("it went out, and nobody had looked at it")
				}
			case "take in":
				if o, err = b.TakeIn(ctx, b.as(b.attendant, ""), Reading{Text: text, Way: Scanner}); o.At != 0 && o.May {
					looked = false
				}
			case "check":
				if o, err = b.Check(ctx, b.as(b.attendant, ""), seen, Finding{Said: said}); o.May {
					looked = true
				}
			case "tell":
				_, err = b.Tell(ctx, b.as(b.attendant, ""), b.rigger, []Answer{{id, Finding{Said: said}}})
			case "hold":
				_, err = b.Hold(ctx, b.as(b.attendant, ""), seen, "a gouge")
			case "release":
				if o, err = b.Release(ctx, b.as(b.inspector, ""), seen, "looked at"); o.May {
					looked = true
				}
			case "lose":
				_, err = b.Lose(ctx, b.as(b.attendant, ""), seen, "")
			case "recall":
				_, err = b.Recall(ctx, b.as(b.attendant, ""), seen, "needed", b.sling(id).Loan.ReturnBy)
			case "return":
				if o, err = b.Return(ctx, b.as(b.attendant, ""), Reading{Text: text, Way: Scanner}, Finding{Said: said}); o.May {
					looked = true
				}
			}
			if err != nil {
				r.Fatal(err)
			}
			s := b.sling(id)
			if st := s.Details.Sling.State; st == gate.StateUnchecked && (looked || !s.Loan.Rigger.IsZero()) || st == gate.StateIn && !looked {
				r.Fatalf("%v, looked at %t, with %v", st, looked, s.Loan.Rigger)
			}
		}
	})
}
