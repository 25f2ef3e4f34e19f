package state

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/tagcode"
)

var (
	key = tagcode.Fingerprint{0xC0, 0xFF, 0xEE, 1}
	id  = event.SlingOf(key, "CS-1")
	who = event.PersonID{1}
)

func details() event.Details {
	size, err := rating.ParseSize(rating.EN, "13")
	if err != nil {
		panic(err)
	}
	inspected, _ := quantity.NewDate(2026, 1, 2)
	return event.Details{
		Ident: "CS-1", Place: "B-04", Outcome: tagcode.Fit, Service: due.Normal,
		Sling: gate.Sling{
			Plate: rating.Plate{
				System: rating.EN, Grade: rating.Grade80, Size: size, Legs: 2,
				Stamped: []rating.Stamp{{Legs: 2, Basis: rating.B45, Load: 7500 * quantity.Kilogram}},
			},
			RatingTag: gate.TagLegible, State: gate.StateIn, Inspected: inspected, Due: inspected.AddMonths(12),
		},
	}
}

func held() event.Details {
	d := details()
	d.Sling.State = gate.StateHeld
	return d
}

// reads gives details whose last inspection came to that outcome.
func reads(o tagcode.Outcome) event.Details {
	d := details()
	d.Outcome = o
	return d
}

func printed(serial tagcode.Serial) event.TagPrinted {
	return event.TagPrinted{Serial: serial, Key: key, Digest: [32]byte{byte(serial)}, Version: 5, Level: "H", Mask: 1, Stock: "x"}
}

func inspected(o tagcode.Outcome) event.Inspected {
	d, _ := quantity.NewDate(2026, 2, 3)
	return event.Inspected{Date: d, Outcome: o, Service: due.Normal, Due: d.AddMonths(12), RatingTag: gate.TagLegible, Note: "n"}
}

// story chains bodies one after the other, a day apart.
func story(bodies ...event.Body) []Event {
	var list []Event
	var last []event.Hash
	start, _ := quantity.NewDate(2026, 3, 1)
	for i, b := range bodies {
		e := Event{
			Hash: event.Hash{byte(i + 1), 1}, Parents: last, By: who, Body: b,
			UTC: time.Date(2026, 3, 1+i, 12, 0, 0, 0, time.UTC), Day: start.AddDays(i),
		}
		list, last = append(list, e), []event.Hash{e.Hash}
	}
	return list
}

func registered(bodies ...event.Body) []event.Body {
	return append([]event.Body{event.Registered{Details: details()}}, bodies...)
}

// What follows from a story, and what cannot follow.
func TestSlingStories(t *testing.T) {
	issued := event.Issued{Rigger: who, Serial: 1}
	back := event.Returned{From: who, Said: event.Nothing}
	heap := event.TakenIn{From: who}
	for _, c := range []struct {
		name   string
		bodies []event.Body
		state  gate.State
		hold   string
		doubt  Doubt
	}{
		{"nothing", nil, 0, "", 0},
		{"registered", registered(), gate.StateIn, "", 0},
		{"registered held", []event.Body{event.Registered{Details: held()}}, gate.StateHeld, "held when it was registered", 0},
		{"issued", registered(issued), gate.StateOut, "", 0},
		{"and returned", registered(issued, back), gate.StateIn, "", 0},
		{"something happened", registered(issued, event.Returned{From: who, Said: event.Something, Note: "a jerk"}), gate.StateHeld, "came back after something happened: a jerk", 0},
		{"nobody knows", registered(issued, event.Returned{From: who, Said: event.NotKnown}), gate.StateHeld, "came back, and nobody could say what happened", 0},
		{"refused", registered(event.Refused{}), gate.StateIn, "", 0},
		{"held", registered(event.Held{Reason: "a"}), gate.StateHeld, "a", 0},
		{"held twice", registered(event.Held{Reason: "a"}, event.Held{Reason: "b"}), gate.StateHeld, "a; b", 0},
		{"held while out", registered(issued, event.Held{Reason: "a"}), gate.StateOut, "a", 0},
		{"and back", registered(issued, event.Held{Reason: "a"}, back), gate.StateHeld, "a", 0},
		{"held while lost", registered(event.Lost{}, event.Held{Reason: "a"}), gate.StateHeld, "a", Contradicts},
		{"released", registered(event.Held{Reason: "a"}, event.Released{Reason: "c"}), gate.StateIn, "", 0},
		{"inspected fit", registered(inspected(tagcode.Fit)), gate.StateIn, "", 0},
		{"inspected fit while held stays held", registered(event.Held{Reason: "a"}, inspected(tagcode.Fit)), gate.StateHeld, "a", 0},
		{"inspected to hold", registered(inspected(tagcode.Hold)), gate.StateHeld, "the thorough inspection did not pass it: n", 0},
		{"inspected out", registered(inspected(tagcode.Out)), gate.StateHeld, "the thorough inspection did not pass it: n", 0},
		{"retired", registered(event.Retired{}), gate.StateRetired, "", 0},
		{"retired while out", registered(issued, event.Retired{}), gate.StateRetired, "", 0},
		{"lost", registered(issued, event.Lost{}), gate.StateLost, "", 0},
		{"found", registered(event.Lost{}, event.Found{}), gate.StateHeld, "was lost and turned up", 0},
		{"lost while held, and found", registered(event.Held{Reason: "a"}, event.Lost{}, event.Found{}), gate.StateHeld, "a; was lost and turned up", 0},
		{"lost while it was to be held", registered(issued, event.Held{Reason: "a"}, event.Lost{}), gate.StateLost, "a", 0},
		{"and returned held", registered(issued, event.Held{Reason: "a"}, event.Lost{}, back), gate.StateHeld, "a", 0},
		{"lost while held, and taken", registered(event.Held{Reason: "a"}, event.Lost{}, event.Taken{}), gate.StateOut, "a; was lost, and went out before anybody had looked at it", 0},
		{"lost, taken, and back", registered(event.Lost{}, event.Taken{}, back), gate.StateHeld, "was lost, and went out before anybody had looked at it", 0},
		{"lost while held, and in a heap", registered(event.Held{Reason: "a"}, event.Lost{}, heap), gate.StateHeld, "a; was lost and turned up", 0},
		{"lost and returned", registered(issued, event.Lost{}, back), gate.StateIn, "", 0},
		{"tag live", registered(printed(1), event.TagConfirmed{Serial: 1}), gate.StateIn, "", 0},
		{"tag thrown away", registered(printed(1), event.TagSpoiled{Serial: 1, Why: event.SpoiltBlank}), gate.StateIn, "", 0},
		{"tag thrown away, the next one live", registered(printed(1), event.TagSpoiled{Serial: 1, Why: event.SpoiltBlank}, printed(2), event.TagConfirmed{Serial: 2}), gate.StateIn, "", 0},
		{"corrected keeps the state", registered(issued, event.Corrected{Details: details()}), gate.StateOut, "", 0},
		{"registered as not passed", []event.Body{event.Registered{Details: reads(tagcode.Out)}}, gate.StateHeld, "the thorough inspection did not pass it", 0},
		{"corrected to not passed", registered(event.Corrected{Details: reads(tagcode.Hold)}), gate.StateHeld, "the thorough inspection did not pass it", 0},
		{"corrected to out of service while out", registered(issued, event.Corrected{Details: reads(tagcode.Out)}, back), gate.StateHeld, "the thorough inspection did not pass it", 0},
		{"corrected while held keeps the reason", registered(event.Held{Reason: "a"}, event.Corrected{Details: reads(tagcode.Out)}), gate.StateHeld, "a", 0},
		{"corrected while lost stays lost", registered(event.Lost{}, event.Corrected{Details: reads(tagcode.Out)}), gate.StateLost, "", 0},
		{"corrected after it was retired stays retired", registered(event.Retired{}, event.Corrected{Details: reads(tagcode.Out)}), gate.StateRetired, "", 0},
		{"corrected to fit stays in", registered(event.Corrected{Details: reads(tagcode.Fit)}), gate.StateIn, "", 0},
		{"a newer program's event", registered(nil), gate.StateIn, "", NotUnderstood},
		{"taken in", registered(issued, heap), gate.StateUnchecked, "", 0},
		{"taken in that was booked in", registered(heap), gate.StateUnchecked, "", 0},
		{"taken in that was lost", registered(issued, event.Lost{}, heap), gate.StateHeld, "was lost and turned up", 0},
		{"taken in that was held while out", registered(issued, event.Held{Reason: "a"}, heap), gate.StateHeld, "a", 0},
		{"taken in and checked", registered(issued, heap, event.Checked{Said: event.Nothing}), gate.StateIn, "", 0},
		{"taken in and doubtful", registered(issued, heap, event.Checked{Said: event.Something, Note: "bent"}), gate.StateHeld, "came back after something happened: bent", 0},
		{"taken in, its rigger says something", registered(issued, heap, event.Told{From: who, Said: event.NotKnown}), gate.StateHeld, "came back, and nobody could say what happened", 0},
		{"checked, then its rigger says something", registered(issued, heap, event.Checked{Said: event.Nothing}, event.Told{From: who, Said: event.Something}), gate.StateHeld, "came back after something happened", 0},
		{"out again when its rigger says something", registered(issued, heap, event.Checked{Said: event.Nothing}, issued, event.Told{From: who, Said: event.Something}), gate.StateOut, "came back after something happened", 0},
		{"retired when its rigger says something", registered(issued, heap, event.Retired{}, event.Told{From: who, Said: event.Something}), gate.StateRetired, "", 0},
		{"unchecked and inspected fit", registered(issued, heap, inspected(tagcode.Fit)), gate.StateIn, "", 0},
		{"unchecked and held", registered(issued, heap, event.Held{Reason: "a"}), gate.StateHeld, "a", 0},
		{"taken", registered(event.Taken{Rigger: who}), gate.StateOut, "", 0},
		{"taken while held", registered(event.Held{Reason: "a"}, event.Taken{}), gate.StateOut, "a", 0},
		{"taken while held, and back", registered(event.Held{Reason: "a"}, event.Taken{}, back), gate.StateHeld, "a", 0},
		{"taken unchecked", registered(heap, event.Taken{}), gate.StateOut, "went out before anybody had looked at it", 0},
		{"handed on", registered(issued, event.HandedOn{From: who, To: event.PersonID{2}}), gate.StateOut, "", 0},
		{"placed", registered(issued, event.Placed{Area: "mill"}), gate.StateOut, "", 0},
		{"recalled", registered(issued, event.Recalled{Reason: "r"}), gate.StateOut, "", 0},
		{"inspected fit while out", registered(issued, inspected(tagcode.Fit)), gate.StateOut, "", 0},
		{"inspected to hold while out", registered(issued, inspected(tagcode.Hold)), gate.StateOut, "the thorough inspection did not pass it: n", 0},
		{"seen and moved", registered(event.Seen{}, event.Moved{Place: "B"}), gate.StateIn, "", 0},
		{"taken in while held", registered(event.Held{Reason: "a"}, heap), gate.StateHeld, "a", Contradicts},
		{"taken in after it was retired", registered(event.Retired{}, heap), gate.StateUnchecked, "", Contradicts},
		{"checked while in", registered(event.Checked{Said: event.Nothing}), gate.StateIn, "", Contradicts},
		{"issued unchecked", registered(issued, heap, issued), gate.StateOut, "", Contradicts},
		{"taken while out", registered(issued, event.Taken{}), gate.StateOut, "", Contradicts},
		{"handed on while in", registered(event.HandedOn{}), gate.StateIn, "", Contradicts},
		{"handed on by somebody else", registered(issued, event.HandedOn{From: event.PersonID{2}, To: who}), gate.StateOut, "", Contradicts},
		{"placed while in", registered(event.Placed{}), gate.StateIn, "", Contradicts},
		{"recalled while in", registered(event.Recalled{}), gate.StateIn, "", Contradicts},

		{"issued before it was registered", []event.Body{issued, event.Registered{Details: details()}}, gate.StateIn, "", Contradicts},
		{"never registered", []event.Body{event.Held{Reason: "a"}}, 0, "", Contradicts},
		{"registered twice", registered(event.Held{Reason: "a"}, event.Registered{Details: details()}), gate.StateHeld, "a", Contradicts},
		{"issued twice", registered(issued, issued), gate.StateOut, "", Contradicts},
		{"issued while held", registered(event.Held{Reason: "a"}, issued), gate.StateOut, "", Contradicts},
		{"issued after it was retired", registered(event.Retired{}, issued), gate.StateOut, "", Contradicts},
		{"issued while lost", registered(event.Lost{}, issued), gate.StateOut, "", Contradicts},
		{"returned while in", registered(back), gate.StateIn, "", Contradicts},
		{"released while in", registered(event.Released{}), gate.StateIn, "", Contradicts},
		{"found while in", registered(event.Found{}), gate.StateHeld, "was lost and turned up", Contradicts},
		{"a tag that was never printed", registered(event.TagConfirmed{Serial: 1}), gate.StateIn, "", Contradicts},
		{"a serial twice", registered(printed(2), printed(2)), gate.StateIn, "", Contradicts},
		{"a serial that goes back", registered(printed(2), printed(1)), gate.StateIn, "", Contradicts},
		{"a replaced tag confirmed", registered(printed(1), printed(2), event.TagConfirmed{Serial: 2}, event.TagConfirmed{Serial: 1}), gate.StateIn, "", Contradicts},
		{"a tag thrown away and confirmed", registered(printed(1), event.TagSpoiled{Serial: 1}, event.TagConfirmed{Serial: 1}), gate.StateIn, "", Contradicts},
		{"a tag thrown away twice", registered(printed(1), event.TagSpoiled{Serial: 1}, event.TagSpoiled{Serial: 1}), gate.StateIn, "", Contradicts},
		{"a live tag thrown away", registered(printed(1), event.TagConfirmed{Serial: 1}, event.TagSpoiled{Serial: 1}), gate.StateIn, "", Contradicts},
		{"a replaced tag thrown away", registered(printed(1), printed(2), event.TagConfirmed{Serial: 2}, event.TagSpoiled{Serial: 1}), gate.StateIn, "", Contradicts},
		{"a tag thrown away that was never printed", registered(event.TagSpoiled{Serial: 1}), gate.StateIn, "", Contradicts},
		{"a serial thrown away and printed again", registered(printed(1), event.TagSpoiled{Serial: 1}, printed(1)), gate.StateIn, "", Contradicts},
		{"a person's event", registered(event.PINSet{}), gate.StateIn, "", Contradicts},
	} {
		s := FoldSling(id, story(c.bodies...))
		if s.Details.Sling.State != c.state || s.Hold.Reason != c.hold || s.Doubt != c.doubt || s.Events != len(c.bodies) {
			t.Errorf("%s: state %s, hold %q, doubt %b, %d events; want %s, %q, %b", c.name, s.Details.Sling.State, s.Hold.Reason, s.Doubt, s.Events, c.state, c.hold, c.doubt)
		}
	}
}

// Whoever writes down that an inspection passed the sling has passed it, by an
// inspection or by a correction of one; what else is corrected changes nothing.
func TestWhoPassedIt(t *testing.T) {
	other := event.PersonID{2}
	later := reads(tagcode.Fit)
	later.Sling.Inspected = later.Sling.Inspected.AddDays(1)
	longer := reads(tagcode.Fit)
	longer.Sling.Due = longer.Sling.Due.AddDays(1)
	moved := reads(tagcode.Fit)
	moved.Place = "elsewhere"
	first := event.Registered{Details: reads(tagcode.Fit)}
	for _, c := range []struct {
		name   string
		bodies []event.Body
		want   event.PersonID
	}{
		{"registered", []event.Body{first}, event.PersonID{}},
		{"inspected", []event.Body{first, inspected(tagcode.Fit)}, other},
		{"another place", []event.Body{first, event.Corrected{Details: moved}}, event.PersonID{}},
		{"a later inspection", []event.Body{first, event.Corrected{Details: later}}, other},
		{"a later due date", []event.Body{first, event.Corrected{Details: longer}}, other},
		{"fit after all", []event.Body{event.Registered{Details: reads(tagcode.Hold)}, event.Corrected{Details: reads(tagcode.Fit)}}, other},
		{"not fit after all", []event.Body{first, inspected(tagcode.Fit), event.Corrected{Details: reads(tagcode.Out)}}, event.PersonID{}},
		{"issued since", []event.Body{first, event.Corrected{Details: later}, event.Issued{Rigger: who, Serial: 1}}, event.PersonID{}},
	} {
		list := story(c.bodies...)
		for i := range list[1:] {
			list[i+1].By = other
		}
		if got := FoldSling(id, list).PassedBy; got != c.want {
			t.Errorf("%s: passed by %v, want %v", c.name, got, c.want)
		}
	}
}

func TestSlingFacts(t *testing.T) {
	returnBy, _ := quantity.NewDate(2026, 3, 9)
	list := story(registered(printed(1), event.TagConfirmed{Serial: 1}, printed(2), inspected(tagcode.Fit),
		event.Issued{Rigger: who, ReturnBy: returnBy, Serial: 1, Marked: "m"})...)
	s := FoldSling(id, list)
	if s.Loan != (Loan{Rigger: who, Since: list[5].UTC, Day: list[5].Day, ReturnBy: returnBy, Marked: "m"}) || s.Issues != 1 || !s.PassedBy.IsZero() {
		t.Errorf("%+v", s)
	}
	if before := FoldSling(id, list[:5]); before.PassedBy != who || before.Details.Sling.Due != inspected(tagcode.Fit).Due {
		t.Errorf("%+v", before)
	}
	if live, ok := s.Live(); !ok || live.Serial != 1 || s.NextSerial() != 3 {
		t.Errorf("live %+v %v, next %d", live, ok, s.NextSerial())
	}
	// Printed on the 4th, tag 2 waits for seven days and no longer.
	for _, c := range []struct {
		day  int
		want bool
	}{{4, true}, {11, true}, {12, false}} {
		today, _ := quantity.NewDate(2026, 3, c.day)
		if _, ok := s.Waiting(today); ok != c.want {
			t.Errorf("on the %dth: waiting %v", c.day, ok)
		}
	}
	lost := FoldSling(id, append(list, story(registered(nil, nil, nil, nil, nil, event.Lost{Note: "n"})...)[6:]...))
	if lost.Loan.Rigger != who || lost.End.Reason != "n" || lost.Details.Sling.State != gate.StateLost {
		t.Errorf("%+v", lost)
	}
	last := story(registered(printed(tagcode.MaxSerial))...)
	if n := FoldSling(id, last).NextSerial(); n != 0 {
		t.Errorf("next serial %d after the last", n)
	}
}

// Two stories that nobody has joined are a doubt; joined, the sling is held, at
// once or as soon as it comes back.
func TestForkAndJoin(t *testing.T) {
	list := story(registered()...)
	first := list[0].Hash
	add := func(n byte, b event.Body, parents ...event.Hash) event.Hash {
		slices.SortFunc(parents, func(a, b event.Hash) int { return bytes.Compare(a[:], b[:]) })
		list = append(list, Event{Hash: event.Hash{n}, Parents: parents, By: who, Body: b, UTC: list[0].UTC, Day: list[0].Day})
		return event.Hash{n}
	}
	a := add(20, event.Issued{Rigger: who, Serial: 1}, first)
	b := add(30, event.Refused{}, first)
	if s := FoldSling(id, list); s.Doubt != Forked || len(s.Heads) != 2 {
		t.Errorf("forked: doubt %b, heads %v", s.Doubt, s.Heads)
	}
	joined := add(40, event.Refused{}, a, b)
	s := FoldSling(id, list)
	if s.Doubt != 0 || len(s.Heads) != 1 || s.Details.Sling.State != gate.StateOut || s.Loan.Rigger != who {
		t.Errorf("joined: %+v", s)
	}
	add(50, event.Returned{From: who, Said: event.Nothing}, joined)
	if s := FoldSling(id, list); s.Details.Sling.State != gate.StateHeld || !strings.Contains(s.Hold.Reason, "joined") || s.Doubt != 0 {
		t.Errorf("joined and back: %s, %q, doubt %b", s.Details.Sling.State, s.Hold.Reason, s.Doubt)
	}
	list = list[:1]
	a, b = add(20, event.Refused{}, first), add(30, printed(1), first)
	add(40, event.Refused{}, a, b)
	if s := FoldSling(id, list); s.Details.Sling.State != gate.StateHeld || s.Doubt != 0 {
		t.Errorf("joined while in: %s, doubt %b", s.Details.Sling.State, s.Doubt)
	}
}

func TestPersonAndCrib(t *testing.T) {
	added := event.PersonAdded{Name: "A", Roles: event.Rigger | event.Keeper}
	for _, c := range []struct {
		name   string
		bodies []event.Body
		may    bool
		doubt  Doubt
	}{
		{"nobody", nil, false, 0},
		{"added", []event.Body{added, event.PINSet{}}, true, 0},
		{"gone", []event.Body{added, event.PersonChanged{Name: "A", Roles: event.Keeper}}, false, 0},
		{"here again", []event.Body{added, event.PersonChanged{Name: "A"}, event.PersonChanged{Name: "A", Roles: event.Keeper, Here: true}}, true, 0},
		{"another role", []event.Body{added, event.PersonChanged{Name: "A", Roles: event.Rigger, Here: true}}, false, 0},
		{"added twice", []event.Body{added, added}, false, Contradicts},
		{"changed before", []event.Body{event.PersonChanged{Name: "A", Roles: event.Keeper, Here: true}}, false, Contradicts},
		{"badges", []event.Body{added, event.BadgePrinted{Serial: 1}, event.BadgePrinted{Serial: 3}}, true, 0},
		{"the same badge again", []event.Body{added, event.BadgePrinted{Serial: 3}, event.BadgePrinted{Serial: 3}}, false, Contradicts},
		{"an older badge", []event.Body{added, event.BadgePrinted{Serial: 3}, event.BadgePrinted{Serial: 2}}, false, Contradicts},
		{"a badge of nobody", []event.Body{event.BadgePrinted{Serial: 1}}, false, Contradicts},
		{"a sling's event", []event.Body{added, event.Held{}}, false, Contradicts},
		{"a newer program's", []event.Body{added, nil}, false, NotUnderstood},
	} {
		p := FoldPerson(who, story(c.bodies...))
		if p.May(event.Keeper, quantity.Date{}) != c.may || p.Doubt != c.doubt {
			t.Errorf("%s: may %v, doubt %b", c.name, p.May(event.Keeper, quantity.Date{}), p.Doubt)
		}
	}
	founded := event.Founded{Name: "C", Units: quantity.Metric, Rules: due.EN, Zone: "UTC", Policy: event.Policy{MaxMonths: 12}}
	c := FoldCrib(story(founded, event.KeyMade{Fingerprint: key}, event.PolicySet{Policy: event.Policy{MaxMonths: 6}}, event.KeyMade{Fingerprint: tagcode.Fingerprint{2}}))
	if c.Key() != (tagcode.Fingerprint{2}) || len(c.Keys) != 2 || c.Founded.Policy.MaxMonths != 6 || c.Founded.Name != "C" || c.Doubt != 0 {
		t.Errorf("%+v", c)
	}
	if (Crib{}).Key() != (tagcode.Fingerprint{}) {
		t.Error("a crib without a key has one")
	}
	for name, bodies := range map[string][]event.Body{
		"founded twice": {founded, founded}, "never founded": {event.KeyMade{}}, "a sling's event": {founded, event.Lost{}},
	} {
		if c := FoldCrib(story(bodies...)); c.Doubt != Contradicts {
			t.Errorf("%s: doubt %b", name, c.Doubt)
		}
	}
}

// history draws a story of one sling as it could stand in registers: every
// event names heads that were there when it was written, now and then not all.
func history(r *rapid.T) []Event {
	all := everyKind()
	bodies := []func() event.Body{
		func() event.Body {
			return rapid.SampledFrom(all[rapid.SampledFrom(event.Kinds()).Draw(r, "kind")]).Draw(r, "body")
		},
		func() event.Body { return event.Registered{Details: details()} },
		func() event.Body { return event.Registered{Details: held()} },
		func() event.Body { return event.Corrected{Details: held(), Reason: "typed wrong"} },
		func() event.Body {
			return event.Corrected{Details: reads(tagcode.Outcome(rapid.IntRange(0, 3).Draw(r, "read"))), Reason: "report"}
		},
		func() event.Body { return printed(tagcode.Serial(rapid.IntRange(1, 9).Draw(r, "serial"))) },
		func() event.Body {
			return event.TagConfirmed{Serial: tagcode.Serial(rapid.IntRange(1, 9).Draw(r, "serial"))}
		},
		func() event.Body {
			return event.TagConfirmed{Serial: tagcode.Serial(rapid.IntRange(1, 9).Draw(r, "serial")), Graded: &event.Graded{Letter: "B"}}
		},
		func() event.Body {
			return event.TagSpoiled{Serial: tagcode.Serial(rapid.IntRange(1, 9).Draw(r, "serial")), Why: event.SpoiltLost, Note: "n"}
		},
		func() event.Body {
			wrong := rapid.IntRange(0, 12).Draw(r, "wrong")
			return event.TagRead{Serial: tagcode.Serial(rapid.IntRange(1, 9).Draw(r, "serial")), Blocks: []event.ReadBlock{{Wrong: wrong, Correction: 22}}, Resembled: wrong > 11}
		},
		func() event.Body {
			return event.Compared{Serial: tagcode.Serial(rapid.IntRange(0, 2).Draw(r, "serial")), Typed: "S-1"}
		},
		func() event.Body { return event.Issued{Rigger: who, Serial: 1, Marked: "m"} },
		func() event.Body { return event.Refused{Reasons: []string{"overdue"}} },
		func() event.Body {
			b := event.Returned{From: who, Said: rapid.SampledFrom([]event.Said{event.Nothing, event.Something, event.NotKnown}).Draw(r, "said"), Owes: rapid.Bool().Draw(r, "owes")}
			if b.Said != event.Nothing {
				b.Answers = []event.Answered{{Question: "legs", Is: event.IsDoubt}, {Question: "couplers", Is: event.IsWell}}[:rapid.IntRange(0, 2).Draw(r, "answers")]
			}
			return b
		},
		func() event.Body { return event.Held{Reason: "h"} },
		func() event.Body { return event.Released{Reason: "r"} },
		func() event.Body { return inspected(tagcode.Outcome(rapid.IntRange(1, 3).Draw(r, "outcome"))) },
		func() event.Body { return event.Retired{Reason: "r", How: "cut"} },
		func() event.Body { return event.Lost{Note: "l"} },
		func() event.Body { return event.Found{Note: "f"} },
		func() event.Body { return event.PINSet{} },
		func() event.Body { return nil },
	}
	n := rapid.IntRange(0, 14).Draw(r, "events")
	var list []Event
	var open []event.Hash
	start, _ := quantity.NewDate(2026, 3, 1)
	for i := range n {
		e := Event{By: who, Log: event.LogID{byte(i / 6)}, UTC: time.UnixMilli(1_770_000_000_000 + int64(i)*1000).UTC(), Day: start.AddDays(i / 3)}
		copy(e.Hash[:], rapid.SliceOfN(rapid.Byte(), 8, 8).Draw(r, "hash"))
		e.Hash[31] = byte(i)
		e.Body = event.Body(nil)
		pick := 0
		if i > 0 || rapid.IntRange(0, 9).Draw(r, "wild start") == 0 {
			pick = rapid.IntRange(0, len(bodies)-1).Draw(r, "body")
		}
		e.Body = bodies[pick]()
		e.Parents = slices.Clone(open)
		if len(e.Parents) > 2 {
			e.Parents = e.Parents[:2]
		}
		if len(e.Parents) > 0 && rapid.IntRange(0, 3).Draw(r, "forks") == 0 {
			e.Parents = e.Parents[:len(e.Parents)-1]
		}
		open = heads(open, e)
		list = append(list, e)
	}
	return list
}

// One set of events has one fold, in whatever order they come in.
func TestOrderOfArrival(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		list := history(r)
		want := FoldSling(id, list)
		mixed := slices.Clone(list)
		rand.New(rand.NewPCG(rapid.Uint64().Draw(r, "order"), 1)).Shuffle(len(mixed), func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })
		if got := FoldSling(id, mixed); !reflect.DeepEqual(got, want) {
			r.Fatalf("got %+v\nwant %+v", got, want)
		}
		told := Order(mixed)
		if len(told) != len(list) {
			r.Fatalf("%d events told of %d", len(told), len(list))
		}
		seen := map[event.Hash]bool{}
		for _, e := range told {
			for _, p := range e.Parents {
				if !seen[p] {
					r.Fatalf("%s is told before its parent %s", e.Hash, p)
				}
			}
			seen[e.Hash] = true
		}
	})
}

// Adding an event that saw the whole story equals telling it again, and leaves
// the state before it alone.
func TestApplyEqualsFold(t *testing.T) {
	follows := 0
	rapid.Check(t, func(r *rapid.T) {
		list := history(r)
		for i, e := range list {
			before := FoldSling(id, list[:i])
			kept := fmt.Sprintf("%+v", before)
			after := before.Apply(e)
			if fmt.Sprintf("%+v", before) != kept {
				r.Fatalf("event %d changed the state before it", i)
			}
			if before.Follows(e) {
				follows++
				if want := FoldSling(id, list[:i+1]); !reflect.DeepEqual(after, want) {
					r.Fatalf("event %d: got %+v\nwant %+v", i, after, want)
				}
			}
		}
	})
	if follows == 0 {
		t.Error("no event followed; the histories prove nothing")
	}
}

// A sling that is forked, not understood or contradictory never comes out of
// doubt by an event that does not join it, and a retired sling never comes back
// without a contradiction.
func TestDoubtStays(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		list := history(r)
		var s Sling
		for i, e := range list {
			next := s.Apply(e)
			if lost := s.Doubt &^ next.Doubt &^ Forked; lost != 0 {
				r.Fatalf("event %d took a doubt away: %b to %b", i, s.Doubt, next.Doubt)
			}
			if s.Doubt&Forked != 0 && next.Doubt&Forked == 0 && len(e.Parents) < 2 {
				r.Fatalf("event %d joined two stories with parents %v", i, e.Parents)
			}
			if s.Details.Sling.State == gate.StateRetired && next.Details.Sling.State != gate.StateRetired && next.Doubt&Contradicts == 0 {
				r.Fatalf("event %d brought a retired sling back", i)
			}
			s = next
		}
	})
}

// What a sling is told about while it is out, or in a heap, is known until it ends.
func TestAwayFacts(t *testing.T) {
	day, _ := quantity.NewDate(2026, 3, 9)
	line := event.Line{Loan: event.LoanID{7}, Lift: 1}
	out := registered(event.Issued{Rigger: who, Serial: 1, Line: line}, event.Placed{Area: "mill"}, event.Recalled{Reason: "due", By: day})
	s := FoldSling(id, story(out...))
	if l := s.Loan; l.Line != line || l.Area != "mill" || l.Recall.Reason != "due" || l.Recall.By != day || l.Recall.Day.IsZero() {
		t.Errorf("loan %+v", l)
	}
	s = FoldSling(id, story(append(out, event.TakenIn{From: who})...))
	if s.Loan != (Loan{}) || len(s.OwedBy(who)) != 1 || s.OwedBy(who)[0].IsZero() {
		t.Errorf("in a heap: loan %+v, owes %+v", s.Loan, s.Owes)
	}
	if s = FoldSling(id, story(append(out, event.TakenIn{From: who}, event.Told{From: event.PersonID{2}, Said: event.Nothing})...)); len(s.OwedBy(who)) != 1 {
		t.Errorf("another one said something: owes %+v", s.Owes)
	}
	if s = FoldSling(id, story(append(out, event.TakenIn{From: who}, event.Told{From: who, Said: event.Nothing})...)); s.Owes != nil {
		t.Errorf("asked and answered: owes %+v", s.Owes)
	}
	other := event.PersonID{2}
	twice := append(out, event.TakenIn{From: who}, event.Checked{Said: event.Nothing}, event.Issued{Rigger: other, Serial: 1}, event.Returned{From: other, Said: event.Nothing, Owes: true})
	if s = FoldSling(id, story(twice...)); len(s.OwedBy(who)) != 1 || len(s.OwedBy(other)) != 1 || !s.OwedBy(who)[0].Before(s.OwedBy(other)[0]) {
		t.Errorf("two riggers, one after the other, and neither was asked: owes %+v", s.Owes)
	}
	if s = FoldSling(id, story(append(twice, event.Told{From: other, Said: event.Nothing})...)); len(s.OwedBy(who)) != 1 || len(s.OwedBy(other)) != 0 {
		t.Errorf("the second was asked: owes %+v", s.Owes)
	}
	doubled := registered(event.Issued{Rigger: who, Serial: 1}, event.Returned{From: who, Said: event.Nothing, Doubled: true}, printed(1))
	if s = FoldSling(id, story(doubled...)); s.Doubled.IsZero() {
		t.Error("not doubled")
	}
	if s = FoldSling(id, story(append(doubled, event.TagConfirmed{Serial: 1})...)); !s.Doubled.IsZero() {
		t.Errorf("still doubled on %s after a tag was confirmed", s.Doubled)
	}
	if s = FoldSling(id, story(registered(event.Seen{Count: event.CountID{3}, Place: "B"})...)); s.Seen.Count != (event.CountID{3}) || s.Seen.Place != "B" {
		t.Errorf("seen %+v", s.Seen)
	}
}

// One count at a time, and strays by ascending number until they are settled.
func TestCountsAndStrays(t *testing.T) {
	begun, ended := event.CountBegun{Count: event.CountID{1}}, event.CountEnded{Count: event.CountID{1}}
	one := event.Stray{No: 1, Lies: "cage"}
	for _, c := range []struct {
		name    string
		bodies  []event.Body
		counts  bool
		strays  int
		contras bool
	}{
		{"begun", []event.Body{begun}, true, 0, false},
		{"ended", []event.Body{begun, ended}, false, 0, false},
		{"begun twice", []event.Body{begun, event.CountBegun{Count: event.CountID{2}}}, true, 0, true},
		{"ended before", []event.Body{ended}, false, 0, true},
		{"a stray", []event.Body{one}, false, 1, false},
		{"two strays", []event.Body{one, event.Stray{No: 2}}, false, 2, false},
		{"a number twice", []event.Body{one, one}, false, 2, true},
		{"settled", []event.Body{one, event.StraySettled{No: 1}}, false, 0, false},
		{"sheets", []event.Body{event.PadPrinted{First: 1, Last: 3}, event.PadPrinted{First: 4, Last: 4}}, false, 0, false},
		{"a sheet twice", []event.Body{event.PadPrinted{First: 1, Last: 3}, event.PadPrinted{First: 3, Last: 4}}, false, 0, true},
		{"settled twice", []event.Body{one, event.StraySettled{No: 1}, event.StraySettled{No: 1}}, false, 0, true},
	} {
		crib := FoldCrib(story(append([]event.Body{founded()}, c.bodies...)...))
		if crib.Count.ID.IsZero() == c.counts || len(crib.Strays) != c.strays || (crib.Doubt != 0) != c.contras {
			t.Errorf("%s: count %v, %d strays, doubt %b", c.name, crib.Count, len(crib.Strays), crib.Doubt)
		}
	}
}

// A day pass is good on its last day, and nobody with a last day may do anything
// while no day is known.
func TestLastDay(t *testing.T) {
	until, _ := quantity.NewDate(2026, 3, 9)
	p := FoldPerson(who, story(event.PersonAdded{Name: "A", Roles: event.Rigger, Terms: event.Terms{Until: until}}))
	for _, c := range []struct {
		on  quantity.Date
		may bool
	}{{until.AddDays(-1), true}, {until, true}, {until.AddDays(1), false}, {quantity.Date{}, false}} {
		if got := p.May(event.Rigger, c.on); got != c.may {
			t.Errorf("on %q: %v", c.on, got)
		}
	}
}
