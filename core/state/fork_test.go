package state

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"reflect"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
)

// everyKind has some bodies of each kind of fact, of whatever subject.
func everyKind() map[event.Kind][]event.Body {
	policy := event.Policy{MaxMonths: 6}
	floor := time.UnixMilli(1_770_000_000_000).UTC()
	both := event.Signed{Keeper: who, Inspector: event.PersonID{2}}
	list := []event.Body{
		event.Founded{Name: "C", Units: quantity.Metric, Rules: due.EN, Zone: "UTC", Policy: policy}, event.Founded{Name: "D", Zone: "UTC"},
		event.PolicySet{Policy: policy}, event.PolicySet{Policy: event.Policy{MaxMonths: 3, StrictChoke: true}},
		event.KeyMade{Fingerprint: key}, event.KeyMade{Fingerprint: tagcode.Fingerprint{2}},
		event.Restored{From: event.LogID{1}, At: 3, Head: event.Hash{7}, Why: "w"}, event.Restored{From: event.LogID{9}, At: 4, Head: event.Hash{8}},
		event.TagAhead{Key: key, Number: 7, Serial: 3}, event.TagAhead{Key: key, Number: 7, Serial: 4},
		event.DateConfirmed{Floor: floor, Signed: both}, event.ClockCorrected{Floor: floor, Signed: both},
		event.PersonAdded{Name: "A", Roles: event.Rigger}, event.PersonAdded{Name: "B", Roles: event.Keeper},
		event.PersonChanged{Name: "A", Roles: event.Keeper, Here: true}, event.PersonChanged{Name: "C"}, event.PINSet{},
		event.BadgePrinted{Serial: 1}, event.BadgePrinted{Serial: 2, Stock: "badge"},
		event.Erased{What: "name", Bodies: []event.ErasedBody{{At: 1, Kind: event.KindPINSet, Schema: 1, Left: "{}"}}},
		event.Registered{Details: details()}, event.Registered{Details: held()}, event.Corrected{Details: reads(tagcode.Out), Reason: "r"}, event.Corrected{Details: details()},
		printed(1), printed(2), event.TagConfirmed{Serial: 1}, event.TagConfirmed{Serial: 2, Graded: &event.Graded{Letter: "B"}},
		event.TagSpoiled{Serial: 1, Why: event.SpoiltLost}, event.TagSpoiled{Serial: 2, Why: event.SpoiltBlank},
		event.TagRead{Serial: 1, Blocks: []event.ReadBlock{{Wrong: 3, Correction: 22}}}, event.TagRead{Serial: 1, Blocks: []event.ReadBlock{{Wrong: 9, Correction: 22}}, Resembled: true},
		event.Compared{Serial: 1}, event.Compared{Typed: "CS-1"},
		event.Issued{Rigger: who, Serial: 1, Use: event.Use{Stated: true, Share: 92}}, event.Issued{Rigger: event.PersonID{2}, Serial: 1, Marked: "m"}, event.Refused{Reasons: []string{"overdue"}},
		event.Returned{From: who, Said: event.Nothing}, event.Returned{From: who, Said: event.Something, Note: "a jerk"},
		event.Held{Reason: "a"}, event.Held{Reason: "b"}, event.Released{Reason: "c"}, inspected(tagcode.Fit), inspected(tagcode.Hold),
		event.Retired{Reason: "worn"}, event.Lost{Note: "l"}, event.Found{Note: "f"},
		event.Taken{Rigger: who}, event.Taken{Note: "n"}, event.HandedOn{From: who, To: event.PersonID{2}}, event.HandedOn{From: event.PersonID{2}, To: who},
		event.Placed{Area: "mill"}, event.Placed{}, event.Recalled{Reason: "due"}, event.Recalled{Reason: "doubt"},
		event.TakenIn{From: who}, event.TakenIn{}, event.Checked{Said: event.Nothing}, event.Checked{Said: event.NotKnown},
		event.Told{From: who, Said: event.Nothing}, event.Told{From: who, Said: event.Something, Note: "a jerk"},
		event.PadPrinted{First: 1, Last: 2}, event.PadPrinted{First: 3, Last: 3},
		event.CountBegun{Count: event.CountID{1}}, event.CountBegun{Count: event.CountID{2}, Places: []string{"B"}},
		event.CountEnded{Count: event.CountID{1}}, event.CountEnded{Count: event.CountID{2}}, event.Seen{Count: event.CountID{1}, Place: "B-1"}, event.Seen{},
		event.Moved{Place: "B-1"}, event.Moved{Place: "B-2"}, event.Stray{No: 1, Lies: "cage"}, event.Stray{No: 2}, event.StraySettled{No: 1, How: "h"}, event.StraySettled{No: 2},
		event.Impounded{Reason: "fell", Holder: "office"}, event.Impounded{Reason: "burnt", Second: who}, event.Custody{Holder: "laboratory"}, event.Custody{}, event.Freed{Reason: "closed"}, event.Freed{Second: who},
		event.FiguresSet{Figures: []event.Figure{throat(1, 28), throat(2, 28)}}, event.FiguresSet{Figures: []event.Figure{throat(1, 30)}},
		event.SentOff{To: "maker", Why: "hook"}, event.SentOff{To: "another"}, event.CameBack{From: "maker", Changed: []event.Piece{{Hook: true, Leg: 1}}}, event.CameBack{},
		measured("2026-01-10", 300), measured("2026-02-10", 600), event.Remedied{No: 1}, event.Remedied{No: 2, How: "new latch"},
		event.VisitBegun{Visit: event.VisitID{1}, Examiner: "X"}, event.VisitBegun{Visit: event.VisitID{2}, Places: []string{"B"}}, event.VisitEnded{Visit: event.VisitID{1}}, event.VisitEnded{Visit: event.VisitID{2}},
		event.LiftPlanned{Lift: event.LiftID{1}, Day: on("2026-03-05"), What: "pump"}, event.LiftGivenUp{Lift: event.LiftID{1}, Day: on("2026-03-05")}, event.LiftDrawn{Lift: event.LiftID{1}, Day: on("2026-03-05"), Loan: event.LoanID{1}},
		event.SetAside{Lift: event.LiftID{1}, Rigger: who, Day: on("2026-03-05")}, event.SetAside{Lift: event.LiftID{2}, Rigger: event.PersonID{2}, Day: on("2026-03-06")}, event.PutBack{Lift: event.LiftID{1}}, event.PutBack{Lift: event.LiftID{2}, Why: "w"},
		examined(), examined(event.Defect{What: "latch", By: on("2026-03-20")}), examined(event.Defect{What: "crack"}),
	}
	all := map[event.Kind][]event.Body{}
	for _, b := range list {
		all[b.Kind()] = append(all[b.Kind()], b)
	}
	return all
}

// forked draws a story that goes on in two branches, which are joined: two or
// three events before, one to three in each branch, the one that joins them, and
// one more.
func forked(r *rapid.T, draw func(r *rapid.T) event.Body, first event.Body) []Event {
	var list []Event
	start, _ := quantity.NewDate(2026, 3, 1)
	add := func(b event.Body, parents ...event.Hash) event.Hash {
		n := len(list)
		e := Event{Log: event.LogID{1}, By: who, Body: b, UTC: time.UnixMilli(1_770_000_000_000 + int64(n)*1000).UTC(), Day: start.AddDays(n)}
		binary.BigEndian.PutUint64(e.Hash[:], rapid.Uint64().Draw(r, "hash"))
		e.Hash[31] = byte(n)
		slices.SortFunc(parents, func(a, b event.Hash) int { return bytes.Compare(a[:], b[:]) })
		e.Parents = parents
		list = append(list, e)
		return e.Hash
	}
	at := add(first)
	for range rapid.IntRange(0, 2).Draw(r, "before") {
		at = add(draw(r), at)
	}
	one, two := at, at
	for range rapid.IntRange(1, 3).Draw(r, "one branch") {
		one = add(draw(r), one)
	}
	for range rapid.IntRange(1, 3).Draw(r, "the other") {
		two = add(draw(r), two)
	}
	add(draw(r), add(draw(r), one, two))
	return list
}

// orders calls f with every order of a story in which no event comes before its
// parents.
func orders(story []Event, f func([]Event)) {
	here := map[event.Hash]bool{}
	for _, e := range story {
		here[e.Hash] = true
	}
	told, done := []Event{}, map[event.Hash]bool{}
	var next func()
	next = func() {
		if len(told) == len(story) {
			f(told)
		}
		for _, e := range story {
			if done[e.Hash] || slices.ContainsFunc(e.Parents, func(p event.Hash) bool { return here[p] && !done[p] }) {
				continue
			}
			told, done[e.Hash] = append(told, e), true
			next()
			told, done[e.Hash] = told[:len(told)-1], false
		}
	}
	next()
}

// arrives tells a story as a register does, event by event: one that saw the whole
// story is added, any other has the story told again. It is the fold of what has
// come at every moment, and where all has come it is the same for every order.
func arrives[T interface {
	Follows(Event) bool
	Apply(Event) T
	Known() ([]event.Hash, Doubt)
}](r *rapid.T, story []Event, fold func([]Event) T) (many int) {
	want := fold(story)
	orders(story, func(order []Event) {
		many++
		now := fold(nil)
		forks := false
		for i, e := range order {
			if now.Follows(e) {
				now = now.Apply(e)
			} else {
				now = fold(order[:i+1])
			}
			if so := fold(order[:i+1]); !reflect.DeepEqual(now, so) {
				r.Fatalf("after %d of %v: %+v\nwant %+v", i+1, kindsOf(order), now, so)
			}
			heads, doubt := now.Known()
			if (len(heads) > 1) != (doubt&Forked != 0) {
				r.Fatalf("after %d of %v: %d heads, doubt %b", i+1, kindsOf(order), len(heads), doubt)
			}
			forks = forks || doubt&Forked != 0
		}
		if heads, doubt := now.Known(); !forks || len(heads) != 1 || doubt&Forked != 0 {
			r.Fatalf("%v: forked %v, in the end %d heads, doubt %b", kindsOf(order), forks, len(heads), doubt)
		}
		if !reflect.DeepEqual(now, want) {
			r.Fatalf("%v: %+v\nwant %+v", kindsOf(order), now, want)
		}
	})
	return many
}

func kindsOf(story []Event) (list []string) {
	for _, e := range story {
		list = append(list, fmt.Sprintf("%x %s", e.Hash[:2], e.Body.Kind()))
	}
	return list
}

// Two branches of a story give one present in whatever order they come in, about
// the crib, a person and a sling, whatever kinds of fact are in them.
func TestForksInEveryOrder(t *testing.T) {
	all := everyKind()
	for _, k := range event.Kinds() {
		if len(all[k]) == 0 {
			t.Errorf("no %s is told", k)
		}
	}
	drawn := map[event.Kind]bool{}
	draw := func(r *rapid.T) event.Body {
		k := rapid.SampledFrom(event.Kinds()).Draw(r, "kind")
		drawn[k] = true
		return rapid.SampledFrom(all[k]).Draw(r, "body")
	}
	most := 0
	rapid.Check(t, func(r *rapid.T) {
		sling := forked(r, draw, event.Registered{Details: details()})
		most = max(most, arrives(r, sling, func(l []Event) Sling { return FoldSling(id, l) }))
		person := forked(r, draw, event.PersonAdded{Name: "A", Roles: event.Rigger})
		arrives(r, person, func(l []Event) Person { return FoldPerson(who, l) })
		arrives(r, forked(r, draw, all[event.KindFounded][0]), FoldCrib)
	})
	if most < 10 { // two and three events interleave in ten ways
		t.Errorf("no story had more than %d orders", most)
	}
	for _, k := range event.Kinds() {
		if !drawn[k] {
			t.Errorf("no %s was drawn", k)
		}
	}
}
