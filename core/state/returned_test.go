package state

import (
	"fmt"
	"reflect"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/tagcode"
)

// asks is a verdict on a lift as the register keeps it.
func asks(t testing.TB, lift gate.Lift, answer string) event.Verdict {
	t.Helper()
	size, err := rating.ParseSize(rating.EN, "10")
	if err != nil {
		t.Fatal(err)
	}
	now, _ := quantity.NewDate(2026, 3, 2)
	q := gate.Question{ID: "q", Now: now, Policy: gate.DefaultPolicy(), Lift: &lift, Sling: gate.Sling{
		Plate:     rating.Plate{System: rating.EN, Grade: rating.Grade80, Size: size, Legs: 1, Stamped: []rating.Stamp{{Legs: 1, Basis: rating.Vertical, Load: 3150 * quantity.Kilogram}}},
		RatingTag: gate.TagLegible, State: gate.StateIn}}
	text, err := q.MarshalJSON()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := gate.ParseQuestion(text); err != nil {
		t.Fatal(err)
	}
	return event.Verdict{Question: string(text), Answer: answer, Edition: "1"}
}

func plainLift(change func(*gate.Lift)) gate.Lift {
	l := gate.Lift{Use: gate.UseOrdinary, Load: 1000 * quantity.Kilogram, Hitch: gate.Straight, Legs: 1, Centred: true}
	if change != nil {
		change(&l)
	}
	return l
}

// What the lift asked is read off the verdict that let the sling go: both sides of
// each limit.
func TestUse(t *testing.T) {
	at := func(temp quantity.Temperature) func(*gate.Lift) { return func(l *gate.Lift) { l.Heat = &temp } }
	over := func(radius quantity.Length) func(*gate.Lift) { return func(l *gate.Lift) { l.Edge = &radius } }
	answer := func(needs, may int) string { return fmt.Sprintf(`{"required_g":%d,"allowed_g":%d}`, needs, may) }
	for _, c := range []struct {
		name string
		v    event.Verdict
		want Use
	}{
		{"nothing asked", event.Verdict{}, Use{}},
		{"cannot be read", event.Verdict{Question: "{}", Answer: answer(1, 2)}, Use{}},
		{"figures missing", asks(t, plainLift(nil), `{}`), Use{Stated: true}},
		{"half", asks(t, plainLift(nil), answer(1_000_000, 2_000_000)), Use{Stated: true, Share: 50}},
		{"a gram over 79 %", asks(t, plainLift(nil), answer(790_001, 1_000_000)), Use{Stated: true, Share: 80}},
		{"just 79 %", asks(t, plainLift(nil), answer(790_000, 1_000_000)), Use{Stated: true, Share: 79}},
		{"a leg works harder", asks(t, plainLift(nil), `{"required_g":10,"allowed_g":100,"leg_g":90,"leg_allowed_g":100}`), Use{Stated: true, Share: 90}},
		{"may carry nothing", asks(t, plainLift(nil), answer(1, 0)), Use{Stated: true, Share: mostShare}},
		{"far too much", asks(t, plainLift(nil), answer(1_000_000, 1)), Use{Stated: true, Share: mostShare}},
		{"199 °F", asks(t, plainLift(at(quantity.Fahrenheit(199))), `{}`), Use{Stated: true}},
		{"200 °F", asks(t, plainLift(at(quantity.Fahrenheit(200))), `{}`), Use{Stated: true, Hot: true}},
		{"over 20 mm, twice the chain", asks(t, plainLift(over(20*quantity.Millimetre)), `{}`), Use{Stated: true, Edge: true}},
		{"over 21 mm", asks(t, plainLift(over(21*quantity.Millimetre)), `{}`), Use{Stated: true}},
		{"choked", asks(t, plainLift(func(l *gate.Lift) { l.Hitch = gate.Choked }), `{}`), Use{Stated: true, Choked: true}},
		{"shortened", asks(t, plainLift(func(l *gate.Lift) { l.Shortened = gate.Plain }), `{}`), Use{Stated: true, Shortened: true}},
	} {
		s := FoldSling(id, story(registered(event.Issued{Rigger: who, Serial: 1, Verdict: c.v}, event.TakenIn{From: who})...))
		if s.Use != c.want {
			t.Errorf("%s: %+v, want %+v", c.name, s.Use, c.want)
		}
		text, err := s.Encode()
		if err != nil {
			t.Fatal(err)
		}
		if back, err := DecodeSling(text); err != nil || !reflect.DeepEqual(back, s) {
			t.Errorf("%s: read back %+v, %v", c.name, back, err)
		}
	}
}

// What was not answered well stands until it is answered again, or a thorough
// inspection found the sling fit; and it holds the sling whatever the summary says.
func TestChecked(t *testing.T) {
	out := event.Issued{Rigger: who, Serial: 1}
	legs := func(is event.Is) event.Answered { return event.Answered{Question: "legs", Is: is} }
	couplers := func(is event.Is) event.Answered { return event.Answered{Question: "couplers", Is: is} }
	back := func(said event.Said, answers ...event.Answered) event.Body {
		return event.Returned{From: who, Said: said, Answers: answers}
	}
	good := back(event.Nothing, legs(event.IsWell), couplers(event.IsWell))
	doubt := back(event.NotKnown, legs(event.IsDoubt), couplers(event.IsWell))
	for _, c := range []struct {
		name   string
		story  []event.Body
		worst  event.Is
		open   []event.Answered
		state  gate.State
		reason string
	}{
		{"all well", registered(out, good), event.IsWell, nil, gate.StateIn, ""},
		{"a doubt holds", registered(out, doubt), event.IsDoubt, []event.Answered{legs(event.IsDoubt)}, gate.StateHeld, "came back: legs (in doubt)"},
		{"a doubt and a fault", registered(out, event.Returned{From: who, Said: event.Something, Answers: []event.Answered{legs(event.IsDoubt), couplers(event.IsWrong)}, Note: "leg 2"}),
			event.IsWrong, []event.Answered{legs(event.IsDoubt), couplers(event.IsWrong)}, gate.StateHeld, "came back: legs (in doubt), couplers (wrong): leg 2"},
		{"released, it stands", registered(out, doubt, event.Released{}), event.IsDoubt, []event.Answered{legs(event.IsDoubt)}, gate.StateIn, ""},
		{"answered again", registered(out, doubt, event.Released{}, out, good), event.IsWell, nil, gate.StateIn, ""},
		{"in a heap, it stands", registered(out, doubt, event.Released{}, out, event.TakenIn{From: who}), event.IsDoubt, []event.Answered{legs(event.IsDoubt)}, gate.StateUnchecked, ""},
		{"found fit", registered(out, doubt, inspected(tagcode.Fit)), "", nil, gate.StateHeld, "came back: legs (in doubt)"},
		{"not found fit", registered(out, doubt, inspected(tagcode.Hold)), event.IsDoubt, []event.Answered{legs(event.IsDoubt)}, gate.StateHeld, "came back: legs (in doubt); the thorough inspection did not pass it: n"},
		{"its rigger says more", registered(out, event.TakenIn{From: who}, event.Checked{Said: event.Nothing, Answers: []event.Answered{legs(event.IsWell)}},
			event.Told{From: who, Said: event.Something, Answers: []event.Answered{{Question: "shock", Is: event.IsWrong}}}),
			event.IsWrong, []event.Answered{{Question: "shock", Is: event.IsWrong}}, gate.StateHeld, "came back: shock (wrong)"},
		{"its rigger knows nothing", registered(out, event.TakenIn{From: who}, event.Checked{Said: event.NotKnown, Answers: []event.Answered{legs(event.IsDoubt)}},
			event.Told{From: who, Said: event.Nothing}), event.IsDoubt, []event.Answered{legs(event.IsDoubt)}, gate.StateHeld, "came back: legs (in doubt)"},
		{"without questions", registered(out, back(event.NotKnown)), event.IsDoubt, nil, gate.StateHeld, "came back, and nobody could say what happened"},
	} {
		s := FoldSling(id, story(c.story...))
		if s.Check.Worst != c.worst || !reflect.DeepEqual(s.Check.Open, c.open) || s.Details.Sling.State != c.state || s.Hold.Reason != c.reason {
			t.Errorf("%s: %+v, %v, %q", c.name, s.Check, s.Details.Sling.State, s.Hold.Reason)
		}
		if (c.worst != "") != (!s.Check.Day.IsZero()) {
			t.Errorf("%s: of %v", c.name, s.Check.Day)
		}
	}
	s := FoldSling(id, story(registered(out, event.Returned{From: who, Said: event.Nothing, Owes: true})...))
	if s.Owes.Rigger != who || s.Owes.Day.IsZero() || s.Details.Sling.State != gate.StateIn {
		t.Errorf("to be asked later: %+v, %v", s.Owes, s.Details.Sling.State)
	}
}
