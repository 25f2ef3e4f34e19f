package web

import (
	"slices"
	"strings"
	"testing"
	"time"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/removal"
	"cribgate/core/tagcode"
	"cribgate/store"
)

// notOfSlings are the kinds of which no sling's story has one.
var notOfSlings = []event.Kind{
	event.KindFounded, event.KindPolicySet, event.KindKeyMade, event.KindRestored, event.KindTagAhead, event.KindDateConfirmed,
	event.KindClockCorrected, event.KindPadPrinted, event.KindCountBegun, event.KindCountEnded, event.KindStray, event.KindStraySettled, event.KindVisitBegun, event.KindVisitEnded,
	event.KindPersonAdded, event.KindPersonChanged, event.KindPINSet, event.KindBadgePrinted, event.KindLiftPlanned, event.KindLiftGivenUp, event.KindLiftDrawn,
}

// TestEveryKindIsTold: whatever happens to a sling is told in its story, with who and
// what, in every case that an event has.
func TestEveryKindIsTold(t *testing.T) {
	by, from, to := event.PersonID{1}, event.PersonID{2}, event.PersonID{3}
	w := words{zone: time.UTC, names: map[event.PersonID]string{by: "I. Maro", from: "T. Brandt", to: "P. Lund"}, lead: quantity.Imperial}
	back := day(t, "2026-03-06")
	late := event.Late{At: event.LocalTime{Day: day(t, "2026-03-02"), Minute: 7*60 + 5}, Pad: 12, Row: 4}
	size, err := rating.ParseSize(rating.US, "1/2")
	if err != nil {
		t.Fatal(err)
	}
	d := event.Details{Ident: "NS-0001", Place: "C4", Outcome: tagcode.Fit, Sling: gate.Sling{
		Plate: rating.Plate{System: rating.US, Grade: rating.Grade80, Size: size, Legs: 2}, State: gate.StateIn}}
	told := map[event.Kind]bool{}
	for _, c := range []struct {
		body event.Body
		want []string
	}{
		{event.Registered{Details: d}, []string{"Registered: 1/2\u00a0in, grade\u00a080, 2\u00a0legs", "Hangs at C4."}},
		{event.Corrected{Details: d, Reason: "typed wrong"}, []string{"Details corrected: typed wrong."}},
		{event.TagPrinted{Serial: 3, Stock: "round-30"}, []string{"QR tag 3 printed on round-30."}},
		{event.TagConfirmed{Serial: 3, Typed: "0001"}, []string{"QR tag 3 confirmed", "0001 was typed"}},
		{event.TagSpoiled{Serial: 3, Why: event.SpoiltBlank, Note: "a scratch"}, []string{"QR tag 3 thrown away", "Note: a scratch."}},
		{event.TagRead{Serial: 3, Blocks: []event.ReadBlock{{Wrong: 2, Correction: 22}, {Wrong: 6, Correction: 22}}}, []string{"QR tag 3 is worn", "45 % of its error correction is left in the worst of its 2 blocks"}},
		{event.TagRead{Serial: 3, Blocks: []event.ReadBlock{{Wrong: 12, Correction: 22}}, Resembled: true}, []string{"it could not be read, and was told by what it resembles"}},
		{event.Compared{Serial: 3, Typed: "0001"}, []string{"Compared after the register was brought back", "0001 was typed", "tag 3"}},
		{event.Compared{Typed: "0001"}, []string{"it has no tag"}},
		{event.Issued{Rigger: from, ReturnBy: back}, []string{"Handed to T. Brandt, needed back by 6 Mar 2026."}},
		{event.Refused{Rigger: from, Reasons: []string{gate.Overdue.String()}}, []string{"Asked for by T. Brandt and kept here."}},
		{event.Returned{From: from, Said: event.Nothing}, []string{"Came back from T. Brandt: nothing happened."}},
		{event.Returned{From: from, Said: event.Something, Note: "a snag", Late: late}, []string{"Came back from T. Brandt: something happened, so it is held.",
			"Entered afterwards: it was on 2 Mar 2026, 07:05, by sheet 12 of the pad, row 4.", "Note: a snag."}},
		{event.Returned{From: from, Said: event.NotKnown, Late: event.Late{At: late.At}}, []string{"nobody could say what happened", "Entered afterwards: it was on 2 Mar 2026, 07:05."}},
		{event.Returned{From: from, Said: event.Nothing, Late: event.Late{Pad: 12, Row: 4}, Doubled: true}, []string{
			"Entered afterwards, and nobody wrote when it was, by sheet 12 of the pad, row 4.", "something else may be out under its name"}},
		{event.Held{Reason: "gouged"}, []string{"Held: gouged."}},
		{event.Released{Reason: "ground smooth"}, []string{"Released: ground smooth."}},
		{event.Inspected{Date: day(t, "2026-03-01"), Outcome: tagcode.Fit, Service: due.Normal, Due: day(t, "2027-03-01"), RatingTag: gate.TagLegible, Note: "n"},
			[]string{"1 Mar 2026", "fit, next due 1 Mar 2027", "Note: n."}},
		{event.Retired{Reason: "worn", How: "cut"}, []string{"Retired for good: worn.", "Made unusable: cut."}},
		{event.Lost{Note: "not in the yard"}, []string{"Reported lost.", "Note: not in the yard."}},
		{event.Found{Note: "in a truck"}, []string{"Turned up again; held", "Note: in a truck."}},
		{event.Taken{Rigger: from, ReturnBy: back, Late: late, Note: "night shift", Verdict: event.Verdict{Edition: "7"}}, []string{
			"Taken by T. Brandt, and not issued here, needed back by 6 Mar 2026.", "it was on 2 Mar 2026, 07:05, by sheet 12 of the pad, row 4.", "Note: night shift.", "Rules edition 7"}},
		{event.Taken{}, []string{"Taken, nobody knows by whom, and not issued here."}},
		{event.HandedOn{From: from, To: to, Note: "same lift"}, []string{"Handed on from T. Brandt to P. Lund", "Note: same lift."}},
		{event.Placed{Area: "press 4", Note: "n"}, []string{"Kept at press 4.", "Note: n."}},
		{event.Placed{}, []string{"Kept nowhere in particular any more."}},
		{event.Recalled{Reason: "needed at bay 2", By: back}, []string{"Recalled, to be back by 6 Mar 2026: needed at bay 2."}},
		{event.Recalled{Reason: "a bad lot"}, []string{"Recalled at once: a bad lot."}},
		{event.TakenIn{From: from}, []string{"Taken in with a heap", "Off the name of T. Brandt"}},
		{event.TakenIn{}, []string{"The record had it with nobody."}},
		{event.Checked{Said: event.Nothing, Note: "n"}, []string{"Looked at after it came back: nothing is wrong with it.", "Note: n."}},
		{event.Checked{Said: event.Something}, []string{"something is wrong, so it is held."}},
		{event.Checked{Said: event.NotKnown}, []string{"nobody could say, so it is held."}},
		{event.Told{From: from, Said: event.Something, Note: "a jerk"}, []string{"T. Brandt said afterwards: something happened, so it is held.", "Note: a jerk."}},
		{event.Seen{Place: "B-04"}, []string{"Seen while the rack was counted, at B-04."}},
		{event.Moved{Place: "B-04"}, []string{"Hangs at B-04"}},
		{event.Impounded{Reason: "the load fell", Second: from, Holder: "safety office", Lies: "locker 1"}, []string{"Impounded: the load fell.", "With safety office, at locker 1. T. Brandt signed as well."}},
		{event.Custody{Holder: "laboratory", Lies: "bench 2", Note: "to be pulled"}, []string{"From then on with laboratory, at bench 2.", "Note: to be pulled."}},
		{event.Freed{Reason: "closed", Second: to}, []string{"Freed, and held: closed.", "P. Lund signed as well."}},
		{event.SentOff{To: "the maker", Why: "hook"}, []string{"Sent off for repair to the maker: hook."}},
		{event.CameBack{From: "the maker", Certificate: "R-17", Stamp: "12,300 lb", Note: "n", Changed: []event.Piece{{Hook: true, Leg: 2}, {What: removal.Master}}},
			[]string{"Came back from repair, from the maker.", "Changed: hook of leg 2, master link.", "Certificate: R-17.", "Stamped anew: 12,300 lb.", "Note: n."}},
		{event.CameBack{From: "the maker", Certificate: "R-18"}, []string{"No part was changed."}},
		{event.Remedied{No: 2, How: "ground out"}, []string{"Defect 2 of an examiner is put right: ground out."}},
		{event.Examined{Date: day(t, "2026-03-01"), Due: day(t, "2026-09-01"), Note: "n"}, []string{"Examined by an examiner from outside on 1 Mar 2026: no defect.", "due 1 Sep 2026", "Note: n."}},
		{event.Examined{Date: day(t, "2026-03-01"), Defects: []event.Defect{{What: "a nick", By: day(t, "2026-04-01")}, {What: "a crack"}}},
			[]string{"1 Mar 2026: 2 defects.", "A nick: to be put right by 1 Apr 2026.", "A crack: dangerous now."}},
		{event.SetAside{Lift: event.LiftID{1}, Rigger: from, Day: back}, []string{"Set aside for a lift of T. Brandt on 6 Mar 2026."}},
		{event.PutBack{Lift: event.LiftID{1}, Why: "rain"}, []string{"Not set aside any more.", "Note: rain."}},
		{event.FiguresSet{Figures: make([]event.Figure, 2)}, []string{"2 dimensions of new parts written down."}},
		{event.Erased{What: "note", Why: "asked for"}, []string{"What it says above of a person was erased: asked for."}},
	} {
		kind := c.body.Kind()
		told[kind] = true
		r := store.Record{Body: c.body, Envelope: event.Envelope{Kind: kind, By: by, Station: "crib 1", Way: "scanner", UTC: time.Date(2026, 3, 3, 8, 0, 0, 0, time.UTC)}}
		list := tellings([]store.Record{r}, w)
		if len(list) != 1 || list[0].Who != "I. Maro" || list[0].When != "3 Mar 2026, 08:00" {
			t.Errorf("%s: told %+v", kind, list)
			continue
		}
		got := list[0].Sentence + " " + strings.Join(append(list[0].More, list[0].Asked.Lines...), " ")
		for _, want := range c.want {
			if !strings.Contains(got, want) {
				t.Errorf("%s: told %q, without %q", kind, got, want)
			}
		}
		if strings.Contains(got, "does not belong") || strings.Contains(got, "the program") {
			t.Errorf("%s: told %q", kind, got)
		}
	}
	for _, kind := range event.Kinds() {
		if told[kind] == slices.Contains(notOfSlings, kind) {
			t.Errorf("%s: told as a sling's: %t", kind, told[kind])
		}
	}
}
