package counter

import (
	"context"
	"errors"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/core/tagcode"
)

// A tag that was thrown away is refused wherever it turns up, and its number is
// never printed again.
func TestThrownAway(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	id, first := b.tagged("NS-0417")
	second := b.printTag(id)
	spoil := func(serial tagcode.Serial, who event.PersonID) func(...gate.Reason) Outcome {
		return b.refused2(b.Spoil(ctx, b.as(who, ""), b.seen(id), serial, event.SpoiltPrint, "smeared"))
	}
	spoil(2, b.rigger)(gate.RoleNotAllowed)
	spoil(1, b.attendant)(gate.TagIsLive)
	spoil(3, b.attendant)(gate.NotNow)
	b.must(b.Spoil(ctx, b.as(b.attendant, ""), b.seen(id), 2, event.SpoiltPrint, " smeared "))
	spoil(2, b.attendant)(gate.TagSpoiled)

	s, err := b.st.Sling(ctx, id)
	if err != nil {
		t.Fatal(err)
	}
	if tag := s.Tags[1]; tag.Status != state.TagSpoiled || tag.Spoiled.Note != "smeared" || tag.Spoiled.By != b.attendant || s.NextSerial() != 3 {
		t.Errorf("%+v", tag)
	}
	b.refused2(b.Confirm(ctx, b.as(b.inspector, ""), Reading{Text: second, Way: Scanner, Typed: "0417"}, id))(gate.TagSpoiled)
	b.refused2(b.Issue(ctx, b.as(b.attendant, ""), b.ask(second, 100)))(gate.TagSpoiled)
	short := b.ask(tagcode.ShortOf(id.Number, 2).String(), 100)
	short.Reading.Way, short.Reading.Typed = ShortCode, "0417"
	b.refused2(b.Issue(ctx, b.as(b.attendant, ""), short))(gate.TagSpoiled)
	b.must(b.Look(ctx, b.as(b.attendant, ""), b.ask(first, 100))) // the live one is as good as before

	// What came back must come in, whatever hangs on it.
	b.must(b.Issue(ctx, b.as(b.attendant, ""), b.ask(first, 100)))
	if o := b.must(b.Return(ctx, b.as(b.attendant, ""), Reading{Text: second, Way: Scanner}, Finding{Said: event.Nothing})); len(o.Codes) != 1 || o.Codes[0] != gate.TagSpoiled {
		t.Errorf("back with the tag that was thrown away: %v", o.Codes)
	}
	third := b.printTag(id)
	b.must(b.Confirm(ctx, b.as(b.attendant, ""), Reading{Text: third, Way: Scanner, Typed: "0417"}, id))
	spoil(1, b.inspector)(gate.TagReplaced)
}

func TestThrowingAwayNeedsItsReason(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	id, _ := b.tagged("NS-0417")
	b.printTag(id)
	for _, c := range []struct {
		why  event.Spoilt
		note string
		want error
	}{{"", "x", ErrNeeded}, {"boredom", "x", ErrNeeded}, {event.SpoiltOther, " ", ErrNeeded}, {event.SpoiltOther, "the dog had it", nil}} {
		if _, err := b.Spoil(ctx, b.as(b.attendant, ""), b.seen(id), 2, c.why, c.note); !errors.Is(err, c.want) {
			t.Errorf("%q, %q: %v", c.why, c.note, err)
		}
	}
	// On the facts that the page showed, and once.
	b.printTag(id)
	old := b.seen(id)
	who := b.as(b.attendant, "a-key-of-this-form")
	b.must(b.Spoil(ctx, who, old, 3, event.SpoiltLost, ""))
	b.must(b.Spoil(ctx, who, old, 3, event.SpoiltLost, ""))
	b.refused2(b.Spoil(ctx, b.as(b.attendant, ""), old, 3, event.SpoiltLost, ""))(gate.ChangedMeanwhile)
}

// A print that was graded under C is not confirmed; C is.
func TestGradedPrints(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	for letter, goes := range map[string]bool{"A": true, "B": true, "C": true, "D": false, "F": false, "": false} {
		o := b.must(b.Register(ctx, b.as(b.keeper, ""), b.details("NS-1"+letter)))
		id := o.Sling.ID
		reading := Reading{Text: b.printTag(id), Way: Image, Typed: "NS-1" + letter,
			Graded: &event.Graded{Letter: letter, Parts: []event.GradedPart{{What: "contrast", Letter: "A", Measured: "71 %"}}}}
		if !goes {
			b.refused2(b.Confirm(ctx, b.as(b.attendant, ""), reading, id))(gate.PrintPoor)
			continue
		}
		b.must(b.Confirm(ctx, b.as(b.attendant, ""), reading, id))
		s, err := b.st.Sling(ctx, id)
		if err != nil {
			t.Fatal(err)
		}
		if live, ok := s.Live(); !ok || live.Graded != letter {
			t.Errorf("graded %s: %+v", letter, live)
		}
	}
	// A picture that nobody has graded confirms nothing.
	o := b.must(b.Register(ctx, b.as(b.keeper, ""), b.details("NS-1UNGRADED")))
	b.refused2(b.Confirm(ctx, b.as(b.attendant, ""), Reading{Text: b.printTag(o.Sling.ID), Way: Image, Typed: "NS-1UNGRADED"}, o.Sling.ID))(gate.TagNotScanned)
	id, _ := b.tagged("NS-0417")
	s, err := b.st.Sling(ctx, id)
	if err != nil {
		t.Fatal(err)
	}
	if live, ok := s.Live(); !ok || live.Graded != "" {
		t.Errorf("scanned by hand: %+v", live)
	}
}
