package counter

import (
	"path/filepath"
	"slices"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/tagcode"
	"cribgate/store"
)

// restored puts a copy of the register in the place of it, as at some moment
// before; what happened since is not in it.
func (b *bench) restored(copied string) {
	b.t.Helper()
	path := filepath.Join(b.t.TempDir(), "register.sqlite")
	if _, err := store.Restore(b.t.Context(), copied, path, "the disk failed", b.options(), nil); err != nil {
		b.t.Fatal(err)
	}
	st, err := store.Open(b.t.Context(), path, b.options())
	if err != nil {
		b.t.Fatal(err)
	}
	b.t.Cleanup(func() {
		if err := st.Close(); err != nil {
			b.t.Errorf("close: %v", err)
		}
	})
	b.st, b.file = st, path
	b.Counter = New(st, b.Counter.keys)
}

// copied copies the register as it is.
func (b *bench) copied() string {
	b.t.Helper()
	c, err := b.st.Copy(b.t.Context(), b.t.TempDir(), store.Copying{})
	if err != nil {
		b.t.Fatal(err)
	}
	return c.Path
}

func (b *bench) ahead() []event.TagAhead {
	b.t.Helper()
	crib, err := b.st.Crib(b.t.Context())
	if err != nil {
		b.t.Fatal(err)
	}
	var list []event.TagAhead
	for _, a := range crib.Ahead {
		list = append(list, a.Tag)
	}
	return list
}

// After a restore a sling goes out once tag and plate were compared, by somebody
// who may, with the tag that is on it.
func TestARestoredRegisterIsComparedFirst(t *testing.T) {
	b := newBench(t, nil)
	ctx := t.Context()
	id, tag := b.tagged("NS-0417")
	other, otherTag := b.tagged("NS-0418")
	bare := b.must(b.Register(ctx, b.as(b.keeper, ""), b.details("NS-0419"))).Sling.ID
	compare := func(who event.PersonID, reading Reading, sling event.SlingID) func(...gate.Reason) Outcome {
		t.Helper()
		return b.refused2(b.Compare(ctx, b.as(who, ""), reading, sling))
	}
	scan := func(text, typed string) Reading { return Reading{Text: text, Way: Scanner, Typed: typed} }
	compare(b.attendant, scan(tag, "0417"), id)(gate.NotNow) // nothing was restored

	b.must(b.Issue(ctx, b.as(b.attendant, ""), b.ask(otherTag, 100)))
	b.restored(b.copied())
	b.refused2(b.Look(ctx, b.as(b.attendant, ""), b.ask(tag, 100)))(gate.NotCompared)
	b.refused2(b.Issue(ctx, b.as(b.attendant, ""), b.ask(tag, 100)))(gate.NotCompared)

	compare(b.rigger, scan(tag, "0417"), id)(gate.RoleNotAllowed)
	if o := compare(b.attendant, scan(tag, ""), id)(gate.PlateNeeded); !o.AskPlate {
		t.Error("the plate is not asked for")
	}
	compare(b.attendant, scan(tag, "0418"), id)(gate.PlateMismatch)
	compare(b.attendant, scan(otherTag, "0417"), id)(gate.TagOfAnother)
	compare(b.attendant, scan("no tag", "0417"), id)(gate.TagNotOurs)
	compare(b.attendant, Reading{Text: tagcode.ShortOf(id.Number, 1).String(), Way: ShortCode, Typed: "0417"}, id)(gate.TagNotScanned)
	compare(b.inspector, Reading{Way: Hand, Typed: "NS-0417"}, id)(gate.TagNotScanned) // it has a tag to be scanned
	waiting := b.printTag(id)
	compare(b.attendant, scan(waiting, "0417"), id)(gate.TagUnconfirmed)
	compare(b.attendant, scan(otherTag, "0418"), other)(gate.NotNow) // is out by the record

	b.must(b.Compare(ctx, b.as(b.attendant, ""), scan(tag, "0417"), id))
	compare(b.attendant, scan(tag, "0417"), id)(gate.NotNow) // once
	b.must(b.Issue(ctx, b.as(b.attendant, ""), b.ask(tag, 100)))

	b.must(b.Return(ctx, b.as(b.attendant, ""), scan(otherTag, ""), Finding{Said: event.Nothing})) // what came back comes in
	b.refused2(b.Issue(ctx, b.as(b.attendant, ""), b.ask(otherTag, 100)))(gate.NotCompared)
	b.must(b.Compare(ctx, b.as(b.keeper, ""), scan(otherTag, "418"), other))
	b.must(b.Look(ctx, b.as(b.attendant, ""), b.ask(otherTag, 100)))

	compare(b.attendant, Reading{Way: Hand, Typed: "NS-0419"}, bare)(gate.RoleNotAllowed)
	compare(b.inspector, Reading{Way: Hand, Typed: "0419"}, bare)(gate.PlateMismatch) // all of it, without a tag
	compare(b.inspector, Reading{Way: Hand}, bare)(gate.PlateNeeded)
	b.must(b.Compare(ctx, b.as(b.inspector, ""), Reading{Way: Hand, Typed: " ns-0419 "}, bare))

	head, err := b.st.Head(ctx)
	if err != nil {
		t.Fatal(err)
	}
	if n, err := b.st.ToCompare(ctx, head.Log); err != nil || n != 0 {
		t.Errorf("%d are left, %v", n, err)
	}
	third := b.must(b.Register(ctx, b.as(b.keeper, ""), b.details("NS-0420"))).Sling.ID
	if s, err := b.st.Sling(ctx, third); err != nil || s.ComparedIn != head.Log {
		t.Errorf("a sling that is entered now is to be compared, %v", err)
	}
}

// A tag that is confirmed on the sling has been compared with it.
func TestATagThatIsConfirmedIsCompared(t *testing.T) {
	b := newBench(t, nil)
	id, _ := b.tagged("NS-0417")
	b.restored(b.copied())
	next := b.printTag(id)
	b.must(b.Confirm(t.Context(), b.as(b.attendant, ""), Reading{Text: next, Way: Scanner, Typed: "0417"}, id))
	b.must(b.Issue(t.Context(), b.as(b.attendant, ""), b.ask(next, 100)))
}

// What a tag of the crib's own key says that the register does not know stays, is
// told apart from a forgery, and is listed once.
func TestATagThatKnowsMoreThanTheRegister(t *testing.T) {
	b := newBench(t, nil)
	ctx := t.Context()
	id, _ := b.tagged("NS-0417")
	copied := b.copied()
	b.must(b.Inspect(ctx, b.as(b.inspector, ""), b.seen(id), Inspection{Date: date(t, "2026-03-01"), Outcome: tagcode.Hold, Service: 1, RatingTag: gate.TagLegible}))
	second := b.printTag(id)
	b.must(b.Confirm(ctx, b.as(b.attendant, ""), Reading{Text: second, Way: Scanner, Typed: "0417"}, id))
	_, lostTag := b.tagged("NS-0500") // registered after the copy
	if o, err := b.Look(ctx, b.as(b.attendant, ""), b.ask(second, 100)); err != nil || slices.Contains(o.Codes, gate.RegisterBehind) {
		t.Fatalf("%v, %v", o.Codes, err)
	}

	b.restored(copied)
	for range 2 {
		o := b.refused2(b.Issue(ctx, b.as(b.attendant, ""), b.ask(second, 100)))(gate.RegisterBehind, gate.NotCompared)
		if !o.Known || o.Sling.ID != id || o.At == 0 {
			t.Errorf("the refusal is not in the story of %s: %+v", id, o)
		}
		if o := b.refused2(b.Issue(ctx, b.as(b.attendant, ""), b.ask(lostTag, 100)))(gate.RegisterBehind); o.Known {
			t.Errorf("a sling that nobody registered is known: %+v", o)
		}
		if err := b.NoteAhead(ctx, b.as(b.attendant, ""), Reading{Text: lostTag, Way: Scanner}); err != nil {
			t.Fatal(err)
		}
	}
	b.refused2(b.Compare(ctx, b.as(b.attendant, ""), Reading{Text: second, Way: Scanner, Typed: "0417"}, id))(gate.RegisterBehind)
	want := []event.TagAhead{
		{Key: b.key.Fingerprint(), Number: id.Number, Serial: 2, Inspected: date(t, "2026-03-01")},
		{Key: b.key.Fingerprint(), Number: tagcode.NumberOf(b.key.Fingerprint(), "NS-0500"), Serial: 1, Inspected: b.details("NS-0500").Sling.Inspected},
	}
	if got := b.ahead(); !slices.Equal(got, want) {
		t.Errorf("listed are %+v, want %+v", got, want)
	}
	b.refused2(b.Issue(ctx, b.as(b.attendant, ""), b.ask(b.forged(id, 3), 100)))(gate.TagForged)
	if got := b.ahead(); len(got) != 2 {
		t.Errorf("a forgery is listed: %+v", got)
	}
}

// forged is a tag of the crib's key with another seal.
func (b *bench) forged(id event.SlingID, serial tagcode.Serial) string {
	b.t.Helper()
	s, err := b.st.Sling(b.t.Context(), id)
	if err != nil {
		b.t.Fatal(err)
	}
	tag, err := s.Tag(b.key.Fingerprint(), serial)
	if err != nil {
		b.t.Fatal(err)
	}
	sealed, err := tag.Seal(b.key)
	if err != nil {
		b.t.Fatal(err)
	}
	text := []byte(sealed.Text())
	text[50] ^= 'A' ^ 'B'
	if text[50] < 'A' {
		text[50] = 'A'
	}
	return string(text)
}

// Before any restore a tag with a serial that was never given here, sealed with
// the crib's key, is one that the register is behind of, and comes back in.
func TestATagOfASerialThatWasNeverGiven(t *testing.T) {
	b := newBench(t, nil)
	ctx := t.Context()
	id, tag := b.tagged("NS-0417")
	s, err := b.st.Sling(ctx, id)
	if err != nil {
		t.Fatal(err)
	}
	says, err := s.Tag(b.key.Fingerprint(), 7)
	if err != nil {
		t.Fatal(err)
	}
	sealed, err := says.Seal(b.key)
	if err != nil {
		t.Fatal(err)
	}
	b.refused2(b.Issue(ctx, b.as(b.attendant, ""), b.ask(sealed.Text(), 100)))(gate.RegisterBehind)
	b.must(b.Issue(ctx, b.as(b.attendant, ""), b.ask(tag, 100)))
	b.must(b.Return(ctx, b.as(b.attendant, ""), Reading{Text: sealed.Text(), Way: Scanner}, Finding{Said: event.Nothing}))
	if got := b.ahead(); len(got) != 1 || got[0].Serial != 7 {
		t.Errorf("%+v", got)
	}
	says.Serial, says.Inspected = 1, says.Inspected.AddDays(1)
	if sealed, err = says.Seal(b.key); err != nil {
		t.Fatal(err)
	}
	b.refused2(b.Issue(ctx, b.as(b.attendant, ""), b.ask(sealed.Text(), 100)))(gate.RegisterBehind)
}
