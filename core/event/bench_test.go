package event

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"cribgate/core/due"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/removal"
	"cribgate/core/tagcode"
)

// benchSamples are bodies of what an inspector, a repairer and an examiner do, and
// their one spelling.
func benchSamples(t testing.TB) []sample {
	who := PersonID{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16}
	photo, photoText := Photo{0xAB}, `ab`+strings.Repeat("0", 62)
	employer := Policy{MaxMonths: 6, Employer: Employer{Name: "Works", Address: "Quay 3", Premises: "shed 2"}}
	employerText := `"policy":{"strict_choke":false,"max_months":6,"max_tilt_mdeg":0,"margin_pct":0,"old_tag_goes":false,"ask_every":0,"one_person":false,"prefix":"","employer":{"name":"Works","address":"Quay 3","premises":"shed 2"}}`
	qualified := Terms{Qualified: Qualified{As: "lifting gear examiner", Employer: "Works", Address: "Quay 3"}}
	qualifiedText := `"shift_gear":false,"learner":false,"until":"","qualified":{"as":"lifting gear examiner","employer":"Works","address":"Quay 3"}`
	sheet := Sheet{
		Verdict: Verdict{Question: `{"id":"q"}`, Answer: "{}", Edition: "1"}, Legs: []LegFound{{Links: 71, Reach: 2_402_500 * quantity.Micrometre}, {}},
		Unseen: "under the sleeve", Method: "caliper, by eye", Instruments: []Instrument{{"caliper 7", day(t, "2026-01-01")}, {"tape", quantity.Date{}}},
		Regime: Circumstance, Decision: DecidedRepair, Why: "the hook", Repair: "hook of leg 2", Danger: day(t, "2026-04-01"), Tests: "none",
		Salvage: "the chain", Photos: []Photo{photo}, Used: 1040, Qualification: "examiner", Employer: "Works", Address: "Quay 3",
	}
	sheetText := `,"sheet":{` + verdict + `,"legs":[{"links":71,"reach_um":2402500},{"links":0,"reach_um":0}],"unseen":"under the sleeve","method":"caliper, by eye","instruments":[{"name":"caliper 7","calibrated":"2026-01-01"},{"name":"tape","calibrated":""}],"regime":"circumstances","decision":"repair","why":"the hook","repair":"hook of leg 2","danger":"2026-04-01","tests":"none","salvage":"the chain","photos":["` + photoText + `"],"used":1040,"qualification":"examiner","employer":"Works","address":"Quay 3"}`
	made := details(t)
	made.Made = "2019-04"
	failing := sheet
	failing.Failed = []Piece{{Hook: true, Leg: 2}, {What: removal.Master}, {}}
	failingText := strings.Replace(sheetText, `"used":1040,`, `"used":1040,"failed":[{"chain":false,"hook":true,"what":"","leg":2},{"chain":false,"hook":false,"what":"master","leg":0},{"chain":false,"hook":false,"what":"","leg":0}],`, 1)
	return []sample{
		{Corrected{Details: details(t), Reason: "read", Restamped: true}, `{"details":{` + detailText + `},"reason":"read","restamped":true}`},
		{Inspected{Date: day(t, "2026-01-02"), Outcome: tagcode.Out, Service: due.Normal, Due: day(t, "2027-01-02"), RatingTag: gate.TagLegible, Note: "n", Sheet: &failing},
			`{"date":"2026-01-02","outcome":"out","service":"normal","months":0,"due":"2027-01-02","rating_tag":"legible","note":"n"` + failingText + `}`},
		{Registered{made}, `{` + detailText + `,"made":"2019-04"}`},
		{Corrected{Details: made, Reason: "read"}, `{"details":{` + detailText + `,"made":"2019-04"},"reason":"read"}`},
		{Issued{Serial: 3, Verdict: Verdict{Question: `{"id":"q"}`, Answer: "{}", Edition: "1"}, Use: Use{Stated: true, Share: 92, Hot: true, Choked: true}},
			`{"rigger":"` + strings.Repeat("0", 32) + `","return_by":"","serial":3,"typed":"","marked":"",` + verdict + `,"use":{"stated":true,"share_pct":92,"hot":true,"edge":false,"choked":true,"shortened":false}}`},
		{Founded{Name: "Crib", Units: quantity.Metric, Rules: due.UK, Zone: "UTC", Policy: employer}, `{"name":"Crib","units":"kg-mm","rules":"uk","zone":"UTC",` + employerText + `}`},
		{PolicySet{employer}, `{` + employerText + `}`},
		{PersonAdded{Name: "Z", Roles: Inspector, Terms: qualified}, `{"name":"Z","roles":["inspector"],` + qualifiedText + `}`},
		{PersonChanged{Name: "Z", Roles: Inspector, Here: true, Terms: qualified}, `{"name":"Z","roles":["inspector"],"here":true,` + qualifiedText + `}`},
		{Inspected{Date: day(t, "2026-01-02"), Outcome: tagcode.Hold, Service: due.Normal, Due: day(t, "2027-01-02"), RatingTag: gate.TagLegible, Note: "n", Sheet: &sheet},
			`{"date":"2026-01-02","outcome":"hold","service":"normal","months":0,"due":"2027-01-02","rating_tag":"legible","note":"n"` + sheetText + `}`},
		{Retired{Reason: "worn", How: "cut", Witness: "a colleague", Salvage: "the master link", Photo: photo}, `{"reason":"worn","how":"cut","witness":"a colleague","salvage":"the master link","photo":"` + photoText + `"}`},
		{Impounded{Reason: "the load fell", Second: who, Holder: "safety office", Lies: "locker 4"}, `{"reason":"the load fell","second":"` + personText + `","holder":"safety office","lies":"locker 4"}`},
		{Custody{Holder: "laboratory", Lies: "their safe", Note: "for tests"}, `{"holder":"laboratory","lies":"their safe","note":"for tests"}`},
		{Freed{Reason: "closed", Second: who}, `{"reason":"closed","second":"` + personText + `"}`},
		{FiguresSet{Figures: []Figure{
			{Of: FigureOf{Dimension: RunLength, Leg: 1}, Value: 330 * quantity.Millimetre, Links: 11, Basis: FromRecord, Source: "when new"},
			{Of: FigureOf{Dimension: LinkCount, Leg: 2}, Links: 71, Basis: FromMaker},
			{Of: FigureOf{Dimension: Thickness, What: removal.Master}, Value: 16 * quantity.Millimetre, Basis: FromReference},
		}}, `{"figures":[{"of":"run","what":"","leg":1,"value_um":330000,"count":11,"basis":"record","source":"when new"},{"of":"links","what":"","leg":2,"value_um":0,"count":71,"basis":"maker","source":""},{"of":"thickness","what":"master","leg":0,"value_um":16000,"count":0,"basis":"reference","source":""}]}`},
		{SentOff{To: "the maker", Why: "hook of leg 2"}, `{"to":"the maker","why":"hook of leg 2"}`},
		{CameBack{From: "the maker", Certificate: "C 17", Photo: photo, Changed: []Piece{{Hook: true, Leg: 2}, {What: removal.Coupling}}, Stamp: "12,300 lb at 60°", Note: "n"},
			`{"from":"the maker","certificate":"C 17","photo":"` + photoText + `","stamp":"12,300 lb at 60°","note":"n","changed":[{"chain":false,"hook":true,"what":"","leg":2},{"chain":false,"hook":false,"what":"coupling","leg":0}]}`},
		{Examined{Visit: VisitID(who), Date: day(t, "2026-01-02"), Due: day(t, "2026-07-02"), RatingTag: gate.TagLegible, Defects: []Defect{{"latch", day(t, "2026-02-01")}, {"crack", quantity.Date{}}}, Note: "n"},
			`{"visit":"` + personText + `","date":"2026-01-02","due":"2026-07-02","rating_tag":"legible","defects":[{"what":"latch","by":"2026-02-01"},{"what":"crack","by":""}],"note":"n"}`},
		{Remedied{No: 3, How: "new latch"}, `{"no":3,"how":"new latch"}`},
		{VisitBegun{Visit: VisitID(who), Examiner: "X", Firm: "Y", Qualification: "Q", DueBefore: day(t, "2026-03-04"), Places: []string{"B"}},
			`{"visit":"` + personText + `","examiner":"X","firm":"Y","qualification":"Q","due_before":"2026-03-04","places":["B"]}`},
		{VisitEnded{Visit: VisitID(who), Report: "R 9", Pages: []Photo{photo}, Passed: 7, Defect: 2, NotPresented: 1, Note: "n"},
			`{"visit":"` + personText + `","report":"R 9","pages":["` + photoText + `"],"passed":7,"defect":2,"not_presented":1,"note":"n"}`},
	}
}

// One line for each way in which such a body says what cannot be.
func TestBadBenchBodies(t *testing.T) {
	figure := func(inside string) string { return `{"figures":[{` + inside + `,"basis":"maker","source":""}]}` }
	changed := func(inside string) string {
		return `{"from":"","certificate":"","photo":"","stamp":"","note":"","changed":[{` + inside + `}]}`
	}
	for _, c := range []struct {
		why  string
		kind Kind
		text string
	}{
		{"a run without links", KindFiguresSet, figure(`"of":"run","what":"","leg":1,"value_um":330000,"count":0`)},
		{"a run of no leg", KindFiguresSet, figure(`"of":"run","what":"","leg":0,"value_um":330000,"count":11`)},
		{"a run of a part", KindFiguresSet, figure(`"of":"run","what":"pin","leg":1,"value_um":330000,"count":11`)},
		{"a run without a length", KindFiguresSet, figure(`"of":"run","what":"","leg":1,"value_um":0,"count":11`)},
		{"a count with a length", KindFiguresSet, figure(`"of":"links","what":"","leg":1,"value_um":1,"count":11`)},
		{"a throat with links", KindFiguresSet, figure(`"of":"throat","what":"","leg":1,"value_um":1,"count":1`)},
		{"a throat of leg 5", KindFiguresSet, figure(`"of":"throat","what":"","leg":5,"value_um":1,"count":0`)},
		{"a master of one leg", KindFiguresSet, figure(`"of":"thickness","what":"master","leg":1,"value_um":1,"count":0`)},
		{"the thickness of no part", KindFiguresSet, figure(`"of":"thickness","what":"","leg":1,"value_um":1,"count":0`)},
		{"a dimension that is none", KindFiguresSet, figure(`"of":"weight","what":"","leg":1,"value_um":1,"count":0`)},
		{"a length over a kilometre", KindFiguresSet, figure(`"of":"throat","what":"","leg":1,"value_um":1000000001,"count":0`)},
		{"a basis that is none", KindFiguresSet, `{"figures":[{"of":"throat","what":"","leg":1,"value_um":1,"count":0,"basis":"guess","source":""}]}`},
		{"made in a month that is none", KindRegistered, `{` + detailText + `,"made":"2019-13"}`},
		{"made on a day", KindRegistered, `{` + detailText + `,"made":"2019-04-01"}`},
		{"made in no year", KindRegistered, `{` + detailText + `,"made":""}`},
		{"made in a year of two digits", KindRegistered, `{` + detailText + `,"made":"19"}`},
		{"nothing changed", KindCameBack, changed(`"chain":false,"hook":false,"what":"","leg":1`)},
		{"a hook of no leg", KindCameBack, changed(`"chain":false,"hook":true,"what":"","leg":0`)},
		{"a chain of no leg", KindCameBack, changed(`"chain":true,"hook":false,"what":"","leg":0`)},
		{"a part that is none", KindCameBack, changed(`"chain":false,"hook":false,"what":"wheel","leg":0`)},
		{"restamped and not", KindCorrected, `{"details":{` + detailText + `},"reason":"read","restamped":false}`},
		{"defect 0", KindRemedied, `{"no":0,"how":"x"}`},
		{"a page that is no picture", KindVisitEnded, `{"visit":"` + personText + `","report":"","pages":[""],"passed":0,"defect":0,"not_presented":0,"note":""}`},
		{"an employer of whom nothing is said", KindPolicySet, `{"policy":{"strict_choke":false,"max_months":6,"max_tilt_mdeg":0,"margin_pct":0,"old_tag_goes":false,"ask_every":0,"one_person":false,"prefix":"","employer":{"name":"","address":"","premises":""}}}`},
	} {
		if b, err := Decode(c.kind, Newest(c.kind), []byte(c.text)); !errors.Is(err, ErrBody) || b != nil {
			t.Errorf("%s: %+v, %v", c.why, b, err)
		}
	}
	for _, s := range benchSamples(t) { // words of the closed lists
		if s.body.Kind() != KindInspected {
			continue
		}
		for _, swap := range [][2]string{{`"regime":"circumstances"`, `"regime":"whim"`}, {`"decision":"repair"`, `"decision":"perhaps"`}, {`"used":1040`, `"used":-1`}, {`"reach_um":0`, `"reach_um":-1`}} {
			if s.body.(Inspected).schema() != 2 {
				continue
			}
			text := strings.Replace(s.text, swap[0], swap[1], 1)
			if b, err := Decode(KindInspected, 2, []byte(text)); text == s.text || !errors.Is(err, ErrBody) || b != nil {
				t.Errorf("%s: %+v, %v", swap[1], b, err)
			}
		}
	}
}

// What a changed part covers is no longer known, and nothing else.
func TestPieceCovers(t *testing.T) {
	run, reach, throat := FigureOf{Dimension: RunLength, Leg: 1}, FigureOf{Dimension: Reach, Leg: 1}, FigureOf{Dimension: Throat, Leg: 1}
	count, section := FigureOf{Dimension: LinkCount, Leg: 1}, FigureOf{Dimension: Section, Leg: 1}
	coupler, master := FigureOf{Dimension: Thickness, What: removal.Coupler, Leg: 1}, FigureOf{Dimension: Thickness, What: removal.Master}
	all := []FigureOf{run, count, reach, throat, section, coupler, master, {Dimension: RunLength, Leg: 2}, {Dimension: Throat, Leg: 2}, {Dimension: Reach, Leg: 2}}
	for _, c := range []struct {
		changed Piece
		covers  []FigureOf
	}{
		{Piece{Chain: true, Leg: 1}, []FigureOf{run, count, reach}},
		{Piece{Hook: true, Leg: 1}, []FigureOf{reach, throat, section}},
		{Piece{What: removal.Coupler, Leg: 1}, []FigureOf{reach, coupler}},
		{Piece{What: removal.Master}, []FigureOf{reach, {Dimension: Reach, Leg: 2}, master}},
		{Piece{Chain: true, Hook: true, Leg: 2}, []FigureOf{{Dimension: RunLength, Leg: 2}, {Dimension: Throat, Leg: 2}, {Dimension: Reach, Leg: 2}}},
	} {
		for _, f := range all {
			want := false
			for _, each := range c.covers {
				want = want || each == f
			}
			if got := c.changed.Covers(f); got != want {
				t.Errorf("%+v covers %+v: %t", c.changed, f, got)
			}
		}
	}
}

// What an answer does not pass, by part; what is of no one part is the whole.
func TestFailed(t *testing.T) {
	find := func(code removal.Code, g removal.Grade, leg int, what removal.What) removal.Finding {
		return removal.Finding{Code: code, Grade: g, Leg: leg, What: what}
	}
	for _, c := range []struct {
		why  string
		of   []removal.Finding
		want []Piece
	}{
		{"nothing", nil, []Piece{{}}},
		{"a note", []removal.Finding{find(removal.Longer, removal.Note, 1, 0)}, []Piece{{}}},
		{"links and a run of a leg", []removal.Finding{find(removal.LinkWorn, removal.Out, 1, 0), find(removal.LinkThin, removal.Hold, 1, 0), find(removal.Longer, removal.Hold, 2, 0)},
			[]Piece{{Chain: true, Leg: 1}, {Chain: true, Leg: 2}}},
		{"hooks", []removal.Finding{find(removal.ThroatOpen, removal.Out, 2, 0), find(removal.HookTwisted, removal.Out, 2, 0), find(removal.HookWorn, removal.Out, 2, 0),
			find(removal.LatchFault, removal.Out, 2, 0), find(removal.ThroatUnknown, removal.Hold, 1, 0), find(removal.HookUnknown, removal.Hold, 1, 0)}, []Piece{{Hook: true, Leg: 2}, {Hook: true, Leg: 1}}},
		{"parts", []removal.Finding{find(removal.PartWorn, removal.Out, 1, removal.Coupler), find(removal.PartUnknown, removal.Hold, 0, removal.Master)}, []Piece{{What: removal.Coupler, Leg: 1}, {What: removal.Master}}},
		{"legs that differ", []removal.Finding{find(removal.LegsDiffer, removal.Hold, 1, 0)}, []Piece{{}}},
		{"not measured", []removal.Finding{find(removal.NotMeasured, removal.Hold, 1, 0)}, []Piece{{}}},
		{"seen, and a hook", []removal.Finding{find(removal.ThroatOpen, removal.Out, 1, 0), find(removal.Crack, removal.Out, 0, 0)}, []Piece{{Hook: true, Leg: 1}, {}}},
	} {
		if got := Failed(c.of); !slices.Equal(got, c.want) {
			t.Errorf("%s: %+v, want %+v", c.why, got, c.want)
		}
	}
	both, hook, chain := Piece{Chain: true, Hook: true, Leg: 1}, Piece{Hook: true, Leg: 1}, Piece{Chain: true, Leg: 1}
	for _, c := range []struct {
		a, b Piece
		want bool
	}{
		{hook, hook, true}, {both, hook, true}, {both, both, true}, {hook, both, false}, {hook, chain, false}, {hook, Piece{Hook: true, Leg: 2}, false},
		{Piece{What: removal.Pin, Leg: 1}, Piece{What: removal.Pin, Leg: 1}, true}, {Piece{What: removal.Pin, Leg: 1}, Piece{What: removal.Coupler, Leg: 1}, false},
		{hook, Piece{}, false}, {Piece{}, Piece{}, false}, {Piece{}, hook, false},
	} {
		if got := c.a.Has(c.b); got != c.want {
			t.Errorf("%+v has %+v: %t", c.a, c.b, got)
		}
	}
}
