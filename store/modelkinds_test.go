package store_test

import (
	"errors"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
	"cribgate/store"
	"cribgate/store/storetest"
)

// A kindRow makes bodies of one kind, such as can happen now and such as cannot.
type kindRow struct {
	kind event.Kind
	of   event.SubjectKind
	make func(r *rapid.T, m *machine, n int) event.Body // n: of the sling, where it is one
}

// kindRows has a row for every kind of fact but those that are told apart: see
// otherwise.
var kindRows = []kindRow{ // those of slings last
	{event.KindFounded, event.OfCrib, func(*rapid.T, *machine, int) event.Body {
		f := storetest.Founding()
		return event.Founded{Name: f.Name, Units: f.Units, Rules: f.Rules, Zone: f.Zone, Policy: f.Policy}
	}},
	{event.KindPolicySet, event.OfCrib, func(r *rapid.T, _ *machine, _ int) event.Body {
		policy := storetest.Founding().Policy
		policy.MaxMonths = rapid.IntRange(1, 12).Draw(r, "months")
		return event.PolicySet{Policy: policy}
	}},
	{event.KindKeyMade, event.OfCrib, func(r *rapid.T, _ *machine, _ int) event.Body {
		return event.KeyMade{Fingerprint: tagcode.Fingerprint{0xC0, 0xFF, 0xEE, rapid.Byte().Draw(r, "key")}}
	}},
	{event.KindTagAhead, event.OfCrib, func(r *rapid.T, m *machine, _ int) event.Body {
		m.keys++ // no two are of one tag
		return event.TagAhead{Key: storetest.Key, Number: tagcode.Number(m.keys), Serial: 1}
	}},
	{event.KindDateConfirmed, event.OfCrib, func(_ *rapid.T, m *machine, _ int) event.Body {
		return event.DateConfirmed{Floor: m.moment(), Signed: event.Signed{Keeper: m.keeper, Inspector: m.keeper}}
	}},
	{event.KindClockCorrected, event.OfCrib, func(_ *rapid.T, m *machine, _ int) event.Body {
		return event.ClockCorrected{Floor: m.moment(), Signed: event.Signed{Keeper: m.keeper, Inspector: m.keeper}}
	}},
	{event.KindPadPrinted, event.OfCrib, func(r *rapid.T, m *machine, _ int) event.Body {
		first := m.m.now.crib.pad + rapid.IntRange(1, 2).Draw(r, "first")
		return event.PadPrinted{First: first, Last: first + rapid.IntRange(0, 3).Draw(r, "more")}
	}},
	{event.KindCountBegun, event.OfCrib, func(r *rapid.T, m *machine, _ int) event.Body {
		return event.CountBegun{Count: counted(r), Places: rapid.SampledFrom([][]string{nil, {"B", "C-9"}}).Draw(r, "places")}
	}},
	{event.KindCountEnded, event.OfCrib, func(r *rapid.T, m *machine, _ int) event.Body {
		return event.CountEnded{Count: counted(r), Tally: event.Tally{Seen: 1}}
	}},
	{event.KindStray, event.OfCrib, func(r *rapid.T, m *machine, _ int) event.Body {
		return event.Stray{No: m.m.now.crib.last + rapid.IntRange(0, 2).Draw(r, "no") + map[bool]int{true: 1}[m.m.now.crib.last == 0], Lies: "cage"}
	}},
	{event.KindStraySettled, event.OfCrib, func(r *rapid.T, m *machine, _ int) event.Body {
		return event.StraySettled{No: rapid.SampledFrom(append(slices.Clone(m.m.now.crib.strays), 1)).Draw(r, "no"), How: "given back"}
	}},

	{event.KindVisitBegun, event.OfCrib, func(r *rapid.T, _ *machine, _ int) event.Body {
		return event.VisitBegun{Visit: visited(r), Examiner: "X. Aminer", Places: rapid.SampledFrom([][]string{nil, {"B"}}).Draw(r, "places")}
	}},
	{event.KindVisitEnded, event.OfCrib, func(r *rapid.T, _ *machine, _ int) event.Body {
		return event.VisitEnded{Visit: visited(r), Report: "R 9", Passed: 1}
	}},

	{event.KindPersonAdded, event.OfPerson, func(r *rapid.T, _ *machine, _ int) event.Body {
		return event.PersonAdded{Name: rapid.SampledFrom([]string{"A. One", "B. Two", "Ç. Three"}).Draw(r, "name"), Roles: event.Roles(rapid.IntRange(0, 15).Draw(r, "roles")), Terms: event.Terms{Learner: rapid.Bool().Draw(r, "learner")}}
	}},
	{event.KindPersonChanged, event.OfPerson, func(r *rapid.T, _ *machine, _ int) event.Body {
		return event.PersonChanged{Name: rapid.SampledFrom([]string{"A. One", "D. Four"}).Draw(r, "name"), Roles: event.Roles(rapid.IntRange(0, 15).Draw(r, "roles")), Here: rapid.Bool().Draw(r, "here"), Terms: event.Terms{ShiftGear: rapid.Bool().Draw(r, "shift gear")}}
	}},
	{event.KindPINSet, event.OfPerson, func(r *rapid.T, _ *machine, _ int) event.Body {
		return event.PINSet{OneTime: rapid.Bool().Draw(r, "once")}
	}},
	{event.KindBadgePrinted, event.OfPerson, func(r *rapid.T, m *machine, _ int) event.Body {
		return event.BadgePrinted{Serial: tagcode.Serial(rapid.IntRange(1, 3).Draw(r, "serial")), Key: storetest.Key, Stock: "badge"}
	}},

	{event.KindLiftPlanned, event.OfPerson, func(r *rapid.T, _ *machine, _ int) event.Body {
		return event.LiftPlanned{Lift: aLift(r), Day: february(r), What: "pump", Stated: storetest.Stated()}
	}},
	{event.KindLiftGivenUp, event.OfPerson, func(r *rapid.T, _ *machine, _ int) event.Body {
		return event.LiftGivenUp{Lift: aLift(r), Day: february(r), Why: "rain"}
	}},
	{event.KindLiftDrawn, event.OfPerson, func(r *rapid.T, _ *machine, _ int) event.Body {
		return event.LiftDrawn{Lift: aLift(r), Day: february(r), Loan: event.LoanID{1}}
	}},

	{event.KindRegistered, event.OfSling, func(r *rapid.T, _ *machine, n int) event.Body {
		return event.Registered{Details: details(r, n)}
	}},
	{event.KindCorrected, event.OfSling, func(r *rapid.T, _ *machine, n int) event.Body {
		return event.Corrected{Details: details(r, n), Reason: "typed wrong"}
	}},
	{event.KindTagPrinted, event.OfSling, func(r *rapid.T, m *machine, n int) event.Body {
		serial := m.serial(r, n)
		return event.TagPrinted{
			Serial: serial, Key: storetest.Key, Digest: tagcode.Digest(storetest.TagText(n, serial)), Version: 5,
			Level: "Q", Mask: int(serial % 8), Stock: rapid.SampledFrom([]string{"disc", "plate"}).Draw(r, "stock"),
		}
	}},
	{event.KindTagConfirmed, event.OfSling, func(r *rapid.T, m *machine, n int) event.Body {
		b := event.TagConfirmed{Serial: m.serial(r, n), Typed: "001"}
		if rapid.Bool().Draw(r, "graded") {
			b.Graded = &event.Graded{Letter: rapid.SampledFrom([]string{"A", "F"}).Draw(r, "letter"), Parts: []event.GradedPart{{What: "contrast", Letter: "B", Measured: "61 %"}}}
		}
		return b
	}},
	{event.KindTagSpoiled, event.OfSling, func(r *rapid.T, m *machine, n int) event.Body {
		return event.TagSpoiled{Serial: m.serial(r, n), Why: event.SpoiltPrinter, Note: "half of it"}
	}},
	{event.KindTagRead, event.OfSling, func(r *rapid.T, m *machine, n int) event.Body {
		wrong := rapid.IntRange(0, 12).Draw(r, "wrong")
		return event.TagRead{Serial: m.serial(r, n), Blocks: []event.ReadBlock{{Wrong: wrong, Correction: 22}, {Correction: 22}}, Resembled: wrong == 12}
	}},
	{event.KindCompared, event.OfSling, func(r *rapid.T, m *machine, n int) event.Body {
		b := event.Compared{Typed: "001"}
		if rapid.Bool().Draw(r, "by its tag") {
			b.Serial = m.serial(r, n)
		}
		return b
	}},
	{event.KindIssued, event.OfSling, func(r *rapid.T, m *machine, _ int) event.Body {
		b := event.Issued{Rigger: m.who(r), Serial: 1, Verdict: event.Verdict{Question: "{}", Answer: "{}", Edition: "1"}}
		if loan := rapid.Byte().Draw(r, "loan") % 4; loan > 0 {
			b.Line = event.Line{Loan: event.LoanID{loan}, Lift: rapid.IntRange(0, 2).Draw(r, "lift")}
		}
		return b
	}},
	{event.KindTaken, event.OfSling, func(r *rapid.T, m *machine, _ int) event.Body {
		return event.Taken{Rigger: rapid.SampledFrom([]event.PersonID{{}, m.keeper}).Draw(r, "who"), Note: "n"}
	}},
	{event.KindHandedOn, event.OfSling, func(r *rapid.T, m *machine, n int) event.Body {
		return event.HandedOn{From: rapid.SampledFrom([]event.PersonID{m.m.now.slings[slingOf(n)].holder, {3}}).Draw(r, "from"), To: m.who(r), Note: "n"}
	}},
	{event.KindPlaced, event.OfSling, func(*rapid.T, *machine, int) event.Body { return event.Placed{Area: "mill 2"} }},
	{event.KindRecalled, event.OfSling, func(*rapid.T, *machine, int) event.Body { return event.Recalled{Reason: "due"} }},
	{event.KindTakenIn, event.OfSling, func(r *rapid.T, m *machine, n int) event.Body {
		return event.TakenIn{From: m.m.now.slings[slingOf(n)].holder}
	}},
	{event.KindChecked, event.OfSling, func(r *rapid.T, _ *machine, _ int) event.Body {
		b := event.Checked{Said: said(r), Note: "n"}
		b.Answers = answered(r, b.Said)
		return b
	}},
	{event.KindTold, event.OfSling, func(r *rapid.T, m *machine, n int) event.Body {
		b := event.Told{From: rapid.SampledFrom(append([]event.PersonID{{3}}, m.m.now.slings[slingOf(n)].owes...)).Draw(r, "from"), Said: said(r), Note: "n"}
		b.Answers = answered(r, b.Said)
		return b
	}},
	{event.KindSeen, event.OfSling, func(r *rapid.T, _ *machine, _ int) event.Body { return event.Seen{Count: counted(r), Place: place(r)} }},
	{event.KindMoved, event.OfSling, func(r *rapid.T, _ *machine, _ int) event.Body { return event.Moved{Place: place(r)} }},
	{event.KindRefused, event.OfSling, func(r *rapid.T, m *machine, _ int) event.Body {
		return event.Refused{Rigger: m.keeper, Reasons: rapid.SampledFrom([][]string{nil, {"overdue"}, {"overdue", "held"}}).Draw(r, "reasons")}
	}},
	{event.KindReturned, event.OfSling, func(r *rapid.T, m *machine, _ int) event.Body {
		b := event.Returned{From: m.keeper, Said: said(r), Note: "n", Doubled: rapid.IntRange(0, 3).Draw(r, "doubled") == 0, Owes: rapid.Bool().Draw(r, "owes")}
		b.Answers = answered(r, b.Said)
		return b
	}},
	{event.KindHeld, event.OfSling, func(*rapid.T, *machine, int) event.Body { return event.Held{Reason: "a nick"} }},
	{event.KindReleased, event.OfSling, func(*rapid.T, *machine, int) event.Body { return event.Released{Reason: "looked at"} }},
	{event.KindInspected, event.OfSling, func(r *rapid.T, _ *machine, _ int) event.Body {
		on := february(r)
		b := event.Inspected{
			Date: on, Outcome: tagcode.Outcome(rapid.IntRange(1, 3).Draw(r, "outcome")), Service: due.Severe, Due: on.AddMonths(6), RatingTag: gate.TagLegible,
		}
		if rapid.Bool().Draw(r, "measured") {
			b.Sheet = &event.Sheet{Regime: event.Periodic, Decision: event.DecidedFit, Used: rapid.SampledFrom([]int{0, 300, 900, 1100}).Draw(r, "used")}
		}
		return b
	}},
	{event.KindRetired, event.OfSling, func(r *rapid.T, _ *machine, _ int) event.Body {
		return event.Retired{Reason: "worn", How: "cut", Witness: rapid.SampledFrom([]string{"", "a colleague"}).Draw(r, "witness")}
	}},
	{event.KindImpounded, event.OfSling, func(r *rapid.T, m *machine, _ int) event.Body {
		return event.Impounded{Reason: "it fell", Second: m.who(r), Holder: "office"}
	}},
	{event.KindCustody, event.OfSling, func(*rapid.T, *machine, int) event.Body { return event.Custody{Holder: "laboratory"} }},
	{event.KindFreed, event.OfSling, func(*rapid.T, *machine, int) event.Body { return event.Freed{Reason: "closed"} }},
	{event.KindFiguresSet, event.OfSling, func(r *rapid.T, _ *machine, _ int) event.Body {
		of := event.FigureOf{Dimension: event.Throat, Leg: rapid.IntRange(1, 2).Draw(r, "leg")}
		return event.FiguresSet{Figures: []event.Figure{{Of: of, Value: quantity.Length(rapid.IntRange(28, 30).Draw(r, "mm")) * quantity.Millimetre, Basis: event.FromMaker}}}
	}},
	{event.KindSentOff, event.OfSling, func(*rapid.T, *machine, int) event.Body { return event.SentOff{To: "the maker", Why: "hook"} }},
	{event.KindCameBack, event.OfSling, func(r *rapid.T, _ *machine, _ int) event.Body {
		return event.CameBack{From: "the maker", Changed: rapid.SampledFrom([][]event.Piece{nil, {{Hook: true, Leg: 1}}}).Draw(r, "changed")}
	}},
	{event.KindExamined, event.OfSling, func(r *rapid.T, _ *machine, _ int) event.Body {
		on := february(r)
		b := event.Examined{Visit: visited(r), Date: on, Due: on.AddMonths(6), RatingTag: gate.TagLegible}
		for range rapid.IntRange(0, 2).Draw(r, "defects") {
			b.Defects = append(b.Defects, event.Defect{What: "latch", By: rapid.SampledFrom([]quantity.Date{{}, on.AddDays(30)}).Draw(r, "by")})
		}
		return b
	}},
	{event.KindRemedied, event.OfSling, func(r *rapid.T, m *machine, n int) event.Body {
		return event.Remedied{No: rapid.SampledFrom(append([]int{1}, m.m.now.slings[slingOf(n)].defects...)).Draw(r, "no"), How: "new latch"}
	}},
	{event.KindSetAside, event.OfSling, func(r *rapid.T, m *machine, _ int) event.Body {
		return event.SetAside{Lift: aLift(r), Rigger: m.who(r), Day: february(r)}
	}},
	{event.KindPutBack, event.OfSling, func(r *rapid.T, _ *machine, _ int) event.Body { return event.PutBack{Lift: aLift(r)} }},
	{event.KindLost, event.OfSling, func(*rapid.T, *machine, int) event.Body { return event.Lost{Note: "not on the truck"} }},
	{event.KindFound, event.OfSling, func(*rapid.T, *machine, int) event.Body { return event.Found{Note: "under a bench"} }},
}

// otherwise are the kinds that no writer appends as he likes: an act of its own
// does, and a step of the model of that name.
var otherwise = map[event.Kind]string{
	event.KindRestored: "restore",
	event.KindErased:   "erase",
}

// details are what may be recorded of the n-th sling.
func details(r *rapid.T, n int) event.Details {
	d := storetest.Sling(n)
	d.Place = rapid.SampledFrom([]string{d.Place, "C-9"}).Draw(r, "place")
	d.Outcome = rapid.SampledFrom([]tagcode.Outcome{tagcode.Fit, tagcode.Fit, tagcode.Fit, tagcode.Fit, tagcode.Fit, tagcode.Fit, tagcode.Hold, tagcode.Out}).Draw(r, "outcome")
	d.Sling.Due = d.Sling.Due.AddDays(-rapid.IntRange(0, 1).Draw(r, "earlier"))
	if rapid.IntRange(0, 7).Draw(r, "held") == 7 {
		d.Sling.State = gate.StateHeld
	}
	return d
}

func said(r *rapid.T) event.Said {
	return rapid.SampledFrom([]event.Said{event.Nothing, event.Nothing, event.Something, event.NotKnown}).Draw(r, "said")
}

// answered are answers of which said makes light of none, often no answers at all.
func answered(r *rapid.T, said event.Said) []event.Answered {
	list := []event.Answered{{Question: "rating-tag", Is: event.IsWell}, {Question: "legs", Is: said.Is()}}
	return list[:rapid.IntRange(0, 2).Draw(r, "answers")]
}

func counted(r *rapid.T) event.CountID { return event.CountID{rapid.ByteRange(1, 2).Draw(r, "count")} }

func visited(r *rapid.T) event.VisitID { return event.VisitID{rapid.ByteRange(1, 2).Draw(r, "visit")} }

func aLift(r *rapid.T) event.LiftID {
	return event.LiftID{rapid.ByteRange(1, 2).Draw(r, "planned lift")}
}

func february(r *rapid.T) quantity.Date {
	on, _ := quantity.NewDate(2026, 2, rapid.IntRange(1, 28).Draw(r, "on"))
	return on
}

func place(r *rapid.T) string {
	return rapid.SampledFrom([]string{"B-00 peg 1", "b", "C-9", "C", ""}).Draw(r, "place")
}

// who gives the keeper or somebody of whom nobody need have heard.
func (m *machine) who(r *rapid.T) event.PersonID {
	return rapid.SampledFrom([]event.PersonID{m.keeper, {1}, {2}}).Draw(r, "who")
}

// serial gives that of a tag of the n-th sling, often the next one.
func (m *machine) serial(r *rapid.T, n int) tagcode.Serial {
	last := int(m.m.now.slings[slingOf(n)].last)
	return tagcode.Serial(rapid.IntRange(1, last+1).Draw(r, "serial"))
}

// moment is a floor as it may be told; no two are the same.
func (m *machine) moment() time.Time {
	m.keys++
	return time.UnixMilli(1_770_000_000_000 + int64(m.keys)).UTC()
}

func slingOf(n int) event.SlingID { return event.SlingOf(storetest.Key, storetest.Sling(n).Ident) }

// The model knows how every kind of fact comes about: a new one has a row, or an
// act of its own that the model does.
func TestModelHasEveryKind(t *testing.T) {
	rows := map[event.Kind]int{}
	for _, row := range kindRows {
		rows[row.kind]++
	}
	for _, k := range event.Kinds() {
		_, apart := otherwise[k]
		if rows[k]+map[bool]int{true: 1}[apart] != 1 {
			t.Errorf("%s: %d rows, told apart %v", k, rows[k], apart)
		}
		delete(rows, k)
	}
	for k := range rows {
		t.Errorf("%s has a row and is no kind", k)
	}
}

// A log begins anew by a restoration and in no other way: an act that says so in
// the middle of a log is refused, since the chain would be broken by it.
func TestOnlyARestorationSaysSo(t *testing.T) {
	s, _, _ := storetest.New(t, store.Options{Program: "test"})
	at, err := s.Head(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	crib, err := s.Crib(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, from := range []event.LogID{at.Log, {9}} {
		body := event.Restored{From: from, At: at.At, Head: at.Hash, Why: "nothing was"}
		if _, err := s.Do(t.Context(), plain, appendAfter(event.Crib(), crib.Heads, body)); !errors.Is(err, store.ErrContradicts) {
			t.Errorf("from log %s: %v", from, err)
		}
	}
}
