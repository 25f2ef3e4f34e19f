package state

import (
	"reflect"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/tagcode"
)

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
	if len(s.OwedBy(who)) != 1 || s.OwedBy(who)[0].IsZero() || s.Details.Sling.State != gate.StateIn {
		t.Errorf("to be asked later: %+v, %v", s.Owes, s.Details.Sling.State)
	}
}
