package counter

import (
	"bytes"
	"context"
	"slices"
	"strings"
	"testing"
	"time"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
)

func TestWhatATextIs(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	id, live := b.tagged("NS-0417")
	sealed, err := tagcode.Parse(live)
	if err != nil {
		t.Fatal(err)
	}
	other, err := tagcode.NewKey(bytes.NewReader(bytes.Repeat([]byte{9}, 32)))
	if err != nil {
		t.Fatal(err)
	}
	seal := func(k tagcode.Key, change func(*tagcode.Tag)) string {
		tag := sealed.Tag
		tag.Key = k.Fingerprint()
		change(&tag)
		s, err := tag.Seal(k)
		if err != nil {
			t.Fatal(err)
		}
		return s.Text()
	}
	cut := live[:63] + map[bool]string{true: "A", false: "B"}[live[63] != 'A']
	newer := "E" + live[1:] // the first five bits hold the format: 00100 is format 2 and one bit of the key
	badge, err := tagcode.Badge{Key: b.key.Fingerprint(), Person: 5, Serial: 1}.Seal(b.key)
	if err != nil {
		t.Fatal(err)
	}
	slip, err := tagcode.Slip{Key: b.key.Fingerprint(), Sling: id.Number, No: 1, Until: date(t, "2026-03-02")}.Seal(b.key)
	if err != nil {
		t.Fatal(err)
	}
	head, err := tagcode.Head{At: 17, Hash: [32]byte{1}}.Text()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, text string
		want       gate.Reason
	}{
		{"the register's seal", head, gate.TagIsSeal},
		{"a rigger's badge", badge.Text(), gate.TagIsBadge},
		{"a lift slip that names the sling", slip.Text(), gate.TagIsSlip},
		{"empty", "", gate.TagUnreadable},
		{"blank", " \t ", gate.TagUnreadable},
		{"control characters", "\x00\x1b[2J", gate.TagNotOurs},
		{"a web address", "https://example.org/?q=1", gate.TagWebAddress},
		{"a web address in capitals", "HTTP://EXAMPLE.ORG", gate.TagWebAddress},
		{"2,953 bytes", strings.Repeat("x", 2953), gate.TagNotOurs},
		{"half a tag", live[:40], gate.TagNotOurs},
		{"lower case", strings.ToLower(live), gate.TagNotOurs},
		{"last character changed", cut, gate.TagForged},
		{"newer format", newer, gate.TagNewerFormat},
		{"another owner", seal(other, func(*tagcode.Tag) {}), gate.TagNotOurs},
		{"ours, of a sling nobody registered", seal(b.key, func(tag *tagcode.Tag) {
			tag.Number = tagcode.NumberOf(b.key.Fingerprint(), "NS-9999")
		}), gate.UnknownSling},
		{"ours, saying more than it should", seal(b.key, func(tag *tagcode.Tag) { tag.Load *= 2 }), gate.TagDisagrees},
	} {
		f, err := b.Find(ctx, Reading{Text: c.text, Way: Scanner})
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if f.Known || len(f.Codes) != 1 || f.Codes[0] != c.want {
			t.Errorf("%s: known %t, %v, want %v", c.name, f.Known, f.Codes, c.want)
		}
		b.refused2(b.Issue(ctx, b.as(b.attendant, ""), b.ask(c.text, 100)))(c.want)
	}
	if b.state(id) != gate.StateIn {
		t.Error("something changed the sling")
	}
}

func TestTheLifeOfATag(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	id, first := b.tagged("NS-0417")
	other, otherTag := b.tagged("NS-0418")
	second := b.printTag(id)
	b.refused2(b.Issue(ctx, b.as(b.attendant, ""), b.ask(second, 100)))(gate.TagUnconfirmed)
	b.must(b.Look(ctx, b.as(b.attendant, ""), b.ask(first, 100))) // the old one stays good until then

	confirm := func(text, typed string, sling event.SlingID, way Way, who event.PersonID) func(...gate.Reason) Outcome {
		return b.refused2(b.Confirm(ctx, b.as(who, ""), Reading{Text: text, Way: way, Typed: typed}, sling))
	}
	confirm(second, "", id, Scanner, b.inspector)(gate.PlateNeeded)
	confirm(second, "0418", id, Scanner, b.inspector)(gate.PlateMismatch)
	confirm(second, "0417", other, Scanner, b.inspector)(gate.TagOfAnother)
	confirm(otherTag, "0418", other, Scanner, b.inspector)(gate.TagIsLive)
	confirm(second, "0417", id, Scanner, b.rigger)(gate.RoleNotAllowed)
	short := tagcode.ShortOf(id.Number, 2).String()
	confirm(short, "0417", id, ShortCode, b.inspector)(gate.TagNotScanned)
	b.must(b.Confirm(ctx, b.as(b.inspector, ""), Reading{Text: second, Way: Scanner, Typed: "0417"}, id))
	b.refused2(b.Issue(ctx, b.as(b.attendant, ""), b.ask(first, 100)))(gate.TagReplaced)
	b.must(b.Look(ctx, b.as(b.attendant, ""), b.ask(second, 100)))

	third := b.printTag(id)
	b.pass(7 * 24 * time.Hour)
	b.refused2(b.Issue(ctx, b.as(b.attendant, ""), b.later(third)))(gate.TagUnconfirmed)
	b.pass(24 * time.Hour)
	b.refused2(b.Issue(ctx, b.as(b.attendant, ""), b.later(third)))(gate.TagLapsed)
	confirm(third, "0417", id, Scanner, b.inspector)(gate.TagLapsed)
	b.must(b.Look(ctx, b.as(b.attendant, ""), b.later(second)))
}

// later asks without a day of return, for tests in which time passes.
func (b *bench) later(text string) Ask {
	a := b.ask(text, 100)
	a.Lift.ReturnBy = quantity.Date{}
	return a
}

func TestAShortCodeFindsTheSlingAndAsksForThePlate(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	id, _ := b.tagged("NS-0417")
	ask := b.ask(tagcode.ShortOf(id.Number, 1).String(), 100)
	ask.Reading.Way = ShortCode
	b.refused2(b.Issue(ctx, b.as(b.attendant, ""), ask))(gate.PlateNeeded)
	ask.Reading.Typed = "0417"
	b.must(b.Issue(ctx, b.as(b.attendant, ""), ask))
	b.must(b.Return(ctx, b.as(b.attendant, ""), Reading{Text: ask.Reading.Text, Way: ShortCode}, Finding{Said: event.Nothing}))
	ask.Reading.Text = "000-000-000"
	b.refused2(b.Issue(ctx, b.as(b.attendant, ""), ask))(gate.ShortCodeMistyped)
	ask.Reading.Text = tagcode.ShortOf(id.Number+1<<40, 1).String()
	b.refused2(b.Issue(ctx, b.as(b.attendant, ""), ask))(gate.ShortCodeUnknown)
}

func TestACorrectedPlateMakesTheTagDisagree(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	id, text := b.tagged("NS-0417")
	d := b.details("NS-0417")
	d.Sling.Stamped[0].Load = 10_000 * quantity.Pound
	b.must(b.Correct(ctx, b.as(b.inspector, ""), b.seen(id), event.Corrected{Details: d, Reason: "misread the plate"}))
	b.refused2(b.Issue(ctx, b.as(b.attendant, ""), b.ask(text, 100)))(gate.TagDisagrees)
}

// The code under the symbol is of the same tag, so typing it gets nobody past what
// the tag says.
func TestAShortCodeIsHeldAgainstTheRecordLikeItsTag(t *testing.T) {
	ctx := context.Background()
	shorter := func(b *bench, id event.SlingID) {
		d := b.details("NS-0417")
		d.Sling.Reach = 2300 * quantity.Millimetre
		b.must(b.Correct(ctx, b.as(b.inspector, ""), b.seen(id), event.Corrected{Details: d, Reason: "measured again"}))
	}
	moved := func(b *bench, id event.SlingID) {
		d := b.details("NS-0417")
		d.Place = "C5"
		b.must(b.Correct(ctx, b.as(b.inspector, ""), b.seen(id), event.Corrected{Details: d, Reason: "hangs elsewhere"}))
	}
	for _, c := range []struct {
		name   string
		old    bool // tags with old dates may go
		before func(*bench, event.SlingID)
		want   []gate.Reason
	}{
		{"nothing", false, func(*bench, event.SlingID) {}, nil},
		{"another place", false, moved, nil},
		{"another reach", false, shorter, []gate.Reason{gate.TagDisagrees}},
		{"another reach where old dates may go", true, shorter, []gate.Reason{gate.TagDisagrees}},
		{"inspected since", false, func(b *bench, id event.SlingID) { b.inspect(id, "2026-03-01") }, []gate.Reason{gate.TagDatesBehind}},
		{"inspected since where old dates may go", true, func(b *bench, id event.SlingID) { b.inspect(id, "2026-03-01") }, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newBench(t, func(p *event.Policy) { p.OldTagGoes = c.old })
			id, text := b.tagged("NS-0417")
			c.before(b, id)
			typed := b.ask(tagcode.ShortOf(id.Number, 1).String(), 100)
			typed.Reading.Way, typed.Reading.Typed = ShortCode, "417"
			for name, ask := range map[string]Ask{"scanned": b.ask(text, 100), "typed": typed} {
				o, err := b.Look(ctx, b.as(b.attendant, ""), ask)
				if err != nil {
					t.Fatal(err)
				}
				if !slices.Equal(o.Codes, c.want) || o.May != (c.want == nil) {
					t.Errorf("%s: may %t, reasons %v, want %v", name, o.May, o.Codes, c.want)
				}
			}
		})
	}
}

// A tag that says that the sling is not for use does not go out, whatever its date.
func TestATagThatSaysHeldDoesNotGoOut(t *testing.T) {
	ctx := context.Background()
	for _, old := range []bool{false, true} {
		b := newBench(t, func(p *event.Policy) { p.OldTagGoes = old })
		id, _ := b.tagged("NS-0417")
		inspect := func(o tagcode.Outcome) {
			b.must(b.Inspect(ctx, b.as(b.inspector, ""), b.seen(id), Inspection{
				Date: date(t, "2026-03-02"), Outcome: o, Service: due.Normal, RatingTag: gate.TagLegible,
			}))
		}
		inspect(tagcode.Hold)
		text := b.printTag(id)
		b.must(b.Confirm(ctx, b.as(b.inspector, ""), Reading{Text: text, Way: Scanner, Typed: "0417"}, id))
		inspect(tagcode.Fit) // looked at again the same day
		b.must(b.Release(ctx, b.as(b.inspector, ""), b.seen(id), "the nick is ground out"))
		b.refused2(b.Issue(ctx, b.as(b.attendant, ""), b.ask(text, 100)))(gate.TagDatesBehind)
	}
}
