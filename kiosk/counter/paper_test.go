package counter

import (
	"errors"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/store"
)

func at(t testing.TB, text string) event.LocalTime {
	t.Helper()
	l, err := event.ParseLocalTime(text)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// The bench's clock stands at 14:00 on 2 March 2026. What stands on paper lies
// between that minute and the fortnight before, on a sheet that was printed.
func TestLate(t *testing.T) {
	b := newBench(t, nil)
	ctx := t.Context()
	sheets, err := b.PrintPad(ctx, b.as(b.attendant, ""), 2)
	if err != nil || sheets != (event.PadPrinted{First: 1, Last: 2}) {
		t.Fatalf("%+v, %v", sheets, err)
	}
	for i, c := range []struct {
		late event.Late
		ok   bool
	}{
		{event.Late{}, true},
		{event.Late{At: at(t, "2026-03-02T14:00")}, true},
		{event.Late{At: at(t, "2026-03-02T14:01")}, false},
		{event.Late{At: at(t, "2026-03-03T00:00")}, false},
		{event.Late{At: at(t, "2026-02-16T00:00")}, true},
		{event.Late{At: at(t, "2026-02-15T23:59")}, false},
		{event.Late{At: at(t, "2026-03-02T07:10"), Pad: 1, Row: 1}, true},
		{event.Late{At: at(t, "2026-03-02T07:10"), Pad: 2, Row: 12}, true},
		{event.Late{At: at(t, "2026-03-02T07:10"), Pad: 3, Row: 1}, false},
		{event.Late{Pad: 1, Row: 2}, false},
	} {
		id, _ := b.tagged("CS-110" + string(rune('0'+i)))
		o, err := b.Take(ctx, b.as(b.attendant, ""), b.seen(id), Gone{Rigger: b.rigger, Late: c.late})
		if !c.ok {
			if !errors.Is(err, ErrLate) {
				t.Errorf("%+v: %+v, %v", c.late, o, err)
			}
			continue
		}
		b.must(o, err)
	}
}

// No row of the pad is entered twice as two things, and twice as the same is once.
func TestRowsOnce(t *testing.T) {
	b := newBench(t, nil)
	ctx := t.Context()
	if _, err := b.PrintPad(ctx, b.as(b.attendant, ""), 1); err != nil {
		t.Fatal(err)
	}
	one, _ := b.tagged("CS-1101")
	two, _ := b.tagged("CS-1102")
	row := Gone{Rigger: b.rigger, Late: event.Late{At: at(t, "2026-03-02T07:10"), Pad: 1, Row: 1}}
	first := b.must(b.Take(ctx, b.as(b.attendant, "a"), b.seen(one), row))
	if again := b.must(b.Take(ctx, b.as(b.attendant, "b"), b.seen(one), row)); again.At != first.At {
		t.Errorf("the same row is at %d and %d", first.At, again.At)
	}
	if _, err := b.Take(ctx, b.as(b.attendant, "c"), b.seen(two), row); !errors.Is(err, store.ErrKeyReused) {
		t.Errorf("another sling on the same row: %v", err)
	}
	if _, err := b.Came(ctx, b.as(b.attendant, "d"), b.seen(one), event.Nothing, "", row.Late); !errors.Is(err, store.ErrKeyReused) {
		t.Errorf("the way back on the same row: %v", err)
	}
	later := Gone{Rigger: b.rigger, Late: event.Late{At: at(t, "2026-03-02T07:20"), Pad: 1, Row: 3}}
	b.refused2(b.Take(ctx, b.as(b.attendant, ""), b.seen(one), later))(gate.NotNow) // it is out already
	b.must(b.Take(ctx, b.as(b.attendant, ""), b.seen(two), later))                  // and its row was not used up
	back := event.Late{At: at(t, "2026-03-02T09:00"), Pad: 1, Row: 2}
	if o := b.must(b.Came(ctx, b.as(b.attendant, ""), b.seen(one), event.Nothing, "", back)); o.At == first.At {
		t.Error("the way back was not recorded")
	}
}

// What went out by itself is out whatever the gate says of it, with what it says,
// and held ones come back held. One that is out or retired is another matter.
func TestTake(t *testing.T) {
	b := newBench(t, nil)
	ctx := t.Context()
	id, text := b.tagged("CS-1101")
	b.must(b.Hold(ctx, b.as(b.attendant, ""), b.seen(id), "bent"))
	b.refused2(b.Take(ctx, b.as(b.rigger, ""), b.seen(id), Gone{}))(gate.RoleNotAllowed)
	b.refused2(b.Take(ctx, b.as(b.attendant, ""), b.seen(id), Gone{Rigger: event.PersonID{9}}))(gate.RiggerUnknown)
	b.must(b.Take(ctx, b.as(b.attendant, ""), b.seen(id), Gone{Note: "from the peg"}))
	s, err := b.st.Sling(ctx, id)
	if err != nil || s.Details.Sling.State != gate.StateOut || s.Hold.Reason != "bent" || s.Loan.Marked == "" || s.Doubt != 0 {
		t.Fatalf("%+v, %v", s, err)
	}
	story, err := b.st.Story(ctx, event.Sling(id))
	if err != nil {
		t.Fatal(err)
	}
	taken, ok := story[len(story)-1].Body.(event.Taken)
	if !ok || taken.Verdict.Answer == "" || taken.Note != "from the peg" {
		t.Errorf("recorded %+v", story[len(story)-1].Body)
	}
	b.refused2(b.Take(ctx, b.as(b.attendant, ""), b.seen(id), Gone{}))(gate.NotNow)
	o, err := b.Return(ctx, b.as(b.attendant, ""), Reading{Text: text, Way: Scanner}, Finding{Said: event.Nothing})
	b.must(o, err)
	if s, err = b.st.Sling(ctx, id); err != nil || s.Details.Sling.State != gate.StateHeld {
		t.Errorf("back as %s, %v", s.Details.Sling.State, err)
	}
}

// A sling that lies here while the record has it out comes in only with the end of
// its plate, and is marked until a tag is confirmed on it again.
func TestHere(t *testing.T) {
	b := newBench(t, nil)
	ctx := t.Context()
	id, text := b.tagged("CS-1101")
	reading := Reading{Text: text, Way: Scanner, Typed: "101"}
	b.refused2(b.Here(ctx, b.as(b.attendant, ""), reading, Finding{Said: event.Nothing}))(gate.NotOut)
	b.must(b.Issue(ctx, b.as(b.attendant, ""), b.ask(text, 9000)))
	b.pass(time.Hour)
	bare := reading
	bare.Typed = ""
	if o := b.refused2(b.Here(ctx, b.as(b.attendant, ""), bare, Finding{Said: event.Nothing}))(gate.PlateNeeded); !o.AskPlate {
		t.Error("the plate is not asked for")
	}
	wrong := reading
	wrong.Typed = "102"
	b.refused2(b.Here(ctx, b.as(b.attendant, ""), wrong, Finding{Said: event.Nothing}))(gate.PlateMismatch)
	recalled, text2 := b.tagged("CS-1102")
	again := Reading{Text: text2, Way: Scanner, Typed: "102"}
	b.must(b.Issue(ctx, b.as(b.attendant, ""), b.ask(text2, 9000)))
	b.must(b.Recall(ctx, b.as(b.attendant, ""), b.seen(recalled), "its twin is cracked", quantity.Date{}))
	b.refused2(b.Here(ctx, b.as(b.attendant, ""), again, Finding{Said: event.Nothing}))(gate.Recalled)
	b.must(b.Here(ctx, b.as(b.attendant, ""), reading, Finding{Said: event.Nothing}))
	s, err := b.st.Sling(ctx, id)
	if err != nil || s.Details.Sling.State != gate.StateIn || s.Doubled.IsZero() {
		t.Fatalf("%s, doubled %q, %v", s.Details.Sling.State, s.Doubled, err)
	}
	b.must(b.Issue(ctx, b.as(b.attendant, ""), b.ask(text, 9000)))
}

// What the register does not know is kept apart under a number of its own until an
// inspector or a keeper says what became of it.
func TestKeepApart(t *testing.T) {
	b := newBench(t, nil)
	ctx := t.Context()
	if _, err := b.KeepApart(ctx, b.as(b.attendant, ""), event.Photo{}, " ", "no tag"); !errors.Is(err, ErrNeeded) {
		t.Errorf("nowhere: %v", err)
	}
	if _, err := b.KeepApart(ctx, b.as(b.rigger, ""), event.Photo{}, "cage", ""); !errors.Is(err, ErrRole) {
		t.Errorf("a rigger: %v", err)
	}
	for want := 1; want <= 2; want++ {
		if no, err := b.KeepApart(ctx, b.as(b.attendant, ""), event.Photo{7}, "cage", "no tag"); err != nil || no != want {
			t.Errorf("number %d, want %d, %v", no, want, err)
		}
	}
	if err := b.Settle(ctx, b.as(b.attendant, ""), 1, "given back"); !errors.Is(err, ErrRole) {
		t.Errorf("an attendant settles: %v", err)
	}
	if err := b.Settle(ctx, b.as(b.inspector, ""), 3, "given back"); !errors.Is(err, ErrNoStray) {
		t.Errorf("number 3: %v", err)
	}
	if err := b.Settle(ctx, b.as(b.inspector, ""), 1, "given back"); err != nil {
		t.Error(err)
	}
	crib, err := b.st.Crib(ctx)
	if err != nil || len(crib.Strays) != 1 || crib.Strays[0].No != 2 || crib.Strays[0].Photo != (event.Photo{7}) || crib.Doubt != 0 {
		t.Errorf("%+v, %v", crib.Strays, err)
	}
}
