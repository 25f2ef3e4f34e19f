package event

import (
	"bytes"
	"errors"
	"reflect"
	"strings"
	"testing"
	"time"

	"cribgate/core/bounded"
	"cribgate/core/due"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/tagcode"
)

func day(t testing.TB, text string) quantity.Date {
	t.Helper()
	d, err := quantity.ParseDate(text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func details(t testing.TB) Details {
	t.Helper()
	size, err := rating.ParseSize(rating.EN, "13")
	if err != nil {
		t.Fatal(err)
	}
	hottest := quantity.Celsius(180)
	return Details{
		Ident: "CS 12/4", Maker: "stamped K", Place: "B-04", Outcome: tagcode.Fit, Service: due.Severe, Months: 6, Note: "new", ChartSource: "",
		Sling: gate.Sling{
			Plate: rating.Plate{
				System: rating.EN, Grade: rating.Grade80, Size: size, Legs: 2, Reach: 3 * quantity.Metre, Adjustable: true,
				Stamped: []rating.Stamp{{Legs: 2, Basis: rating.B45, Load: 7500 * quantity.Kilogram}},
			},
			Hottest: &hottest, RatingTag: gate.TagLegible, State: gate.StateIn,
			Inspected: day(t, "2026-01-02"), Due: day(t, "2026-07-02"),
		},
	}
}

// sample is a body of every kind and its one spelling. The spellings are in
// registers: they do not change under a schema number.
type sample struct {
	body Body
	text string
}

const (
	personText  = `0102030405060708090a0b0c0d0e0f10`
	policyText  = `"policy":{"strict_choke":true,"max_months":12,"max_tilt_mdeg":5000,"margin_pct":10,"old_tag_goes":true,"ask_every":20,"one_person":true,"prefix":"HTTPS://X.EXAMPLE/"}`
	detailText  = `"ident":"CS 12/4","maker":"stamped K","place":"B-04","sling":{"system":"en","grade":80,"size":"13","legs":2,"reach_mm":3000,"adjustable":true,"stamped":[{"legs":2,"basis":"b45","load_g":7500000}],"hottest_c":180,"rating_tag":"legible","state":"in","inspected":"2026-01-02","due":"2026-07-02"},"outcome":"fit","service":"severe","months":6,"note":"new","chart_source":""`
	otherText   = `00000000000000000000000000000001`
	wordsText   = `"policy":{"strict_choke":false,"max_months":6,"max_tilt_mdeg":0,"margin_pct":0,"old_tag_goes":false,"ask_every":0,"one_person":false,"prefix":"","words":"uk","cranes":[{"name":"north","hook_um":60000},{"name":"yard","hook_um":0}]}`
	fittedText  = `,"fittings":{"inside_um":90000,"lower":"latch-hook"}`
	answersText = `"answers":[{"question":"rating-tag","is":"ok"},{"question":"legs","is":"doubt"}`
	lateText    = `"late":{"at":"2026-03-02T07:15","pad":12,"row":4}`
	verdict     = `"question":"{\"id\":\"q\"}","answer":"{}","edition":"1"`
)

func samples(t testing.TB) []sample {
	who := PersonID{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16}
	policy := Policy{
		StrictChoke: true, MaxMonths: 12, MaxTilt: 5 * quantity.Degree, MarginPct: 10, OldTagGoes: true, AskEvery: 20, OnePerson: true,
		Prefix: "HTTPS://X.EXAMPLE/",
	}
	v := Verdict{Question: `{"id":"q"}`, Answer: "{}", Edition: "1"}
	key := tagcode.Fingerprint{0xC0, 0xFF, 0xEE, 1}
	other := PersonID{15: 1}
	words := Policy{MaxMonths: 6, Words: WordsUK, Cranes: []Crane{{"north", 60 * quantity.Millimetre}, {"yard", 0}}}
	fitted := details(t)
	fitted.Fittings = Fittings{Inside: 90 * quantity.Millimetre, Lower: LatchHook}
	late := Late{At: LocalTime{Day: day(t, "2026-03-02"), Minute: 435}, Pad: 12, Row: 4}
	answers := []Answered{{"rating-tag", IsWell}, {"legs", IsDoubt}, {"couplers", IsWrong}}
	moment := time.Date(2026, 3, 2, 7, 15, 0, 125_000_000, time.UTC)
	return append(append(planSamples(t), benchSamples(t)...), []sample{
		{Founded{Name: "Crib", Units: quantity.Metric, Rules: due.EN, Zone: "Europe/Berlin", Policy: policy}, `{"name":"Crib","units":"kg-mm","rules":"en","zone":"Europe/Berlin",` + policyText + `}`},
		{PolicySet{policy}, `{` + policyText + `}`},
		{KeyMade{key}, `{"fingerprint":"c0ffee01"}`},
		{Restored{From: LogID(who), At: 17, Head: Hash{0xAB}, Why: "the disk failed"}, `{"from":"` + personText + `","at":17,"head":"ab` + strings.Repeat("0", 62) + `","why":"the disk failed"}`},
		{TagAhead{Key: key, Number: 0x0102, Serial: 4, Inspected: day(t, "2026-01-02")}, `{"key":"c0ffee01","number":"0000000000000102","serial":4,"inspected":"2026-01-02"}`},
		{DateConfirmed{Floor: moment, Signed: Signed{Keeper: who, Inspector: PersonID{15: 1}}}, `{"floor":"2026-03-02T07:15:00.125Z","keeper":"` + personText + `","inspector":"` + strings.Repeat("0", 31) + `1"}`},
		{ClockCorrected{Floor: moment, Signed: Signed{Keeper: who, Inspector: who}}, `{"floor":"2026-03-02T07:15:00.125Z","keeper":"` + personText + `","inspector":"` + personText + `"}`},
		{Erased{What: "name", Why: "asked for", Bodies: []ErasedBody{{At: 3, Kind: KindPersonAdded, Schema: 1, Left: `{"name":"x"}`}, {At: 5, Kind: KindHeld, Schema: 2, Left: "{}"}}},
			`{"what":"name","why":"asked for","bodies":[{"at":3,"kind":"person-added","schema":1,"left":"{\"name\":\"x\"}"},{"at":5,"kind":"held","schema":2,"left":"{}"}]}`},
		{PersonAdded{Name: "Zoë \"Z\" Ä", Roles: Attendant | Keeper}, `{"name":"Zoë \"Z\" Ä","roles":["attendant","keeper"]}`},
		{PersonChanged{Name: "Z", Roles: 0, Here: true}, `{"name":"Z","roles":[],"here":true}`},
		{PINSet{OneTime: true}, `{"one_time":true}`},
		{BadgePrinted{Serial: 2, Key: key, Digest: [32]byte{0xAB}, Until: day(t, "2026-03-04"), Stock: "badge"}, `{"serial":2,"key":"c0ffee01","digest":"ab` + strings.Repeat("0", 62) + `","until":"2026-03-04","stock":"badge"}`},
		{Registered{details(t)}, `{` + detailText + `}`},
		{Corrected{Details: details(t), Reason: "typed wrong"}, `{"details":{` + detailText + `},"reason":"typed wrong"}`},
		{TagPrinted{Serial: 3, Key: key, Digest: [32]byte{0xAB}, Version: 5, Level: "H", Mask: 7, Stock: "round-30"}, `{"serial":3,"key":"c0ffee01","digest":"ab` + strings.Repeat("0", 62) + `","version":5,"level":"H","mask":7,"stock":"round-30"}`},
		{TagConfirmed{Serial: 3, Typed: "12/4"}, `{"serial":3,"typed":"12/4"}`},
		{TagConfirmed{Serial: 3, Typed: "12/4", Graded: &Graded{Letter: "B", Parts: []GradedPart{{"contrast", "A", "71 %"}, {"modulation", "B", "0.44"}}}},
			`{"serial":3,"typed":"12/4","graded":{"letter":"B","parts":[{"what":"contrast","letter":"A","measured":"71 %"},{"what":"modulation","letter":"B","measured":"0.44"}]}}`},
		{TagSpoiled{Serial: 3, Why: SpoiltBlank, Note: "a scratch"}, `{"serial":3,"why":"blank","note":"a scratch"}`},
		{TagRead{Serial: 3, Blocks: []ReadBlock{{2, 22}, {0, 18}}, Resembled: true}, `{"serial":3,"blocks":[{"wrong":2,"correction":22},{"wrong":0,"correction":18}],"resembled":true}`},
		{Compared{Serial: 3, Typed: "12/4"}, `{"serial":3,"typed":"12/4"}`},
		{Issued{Rigger: who, ReturnBy: day(t, "2026-03-04"), Serial: 3, Typed: "4", Marked: "x", Verdict: v}, `{"rigger":"` + personText + `","return_by":"2026-03-04","serial":3,"typed":"4","marked":"x",` + verdict + `}`},
		{Refused{Reasons: []string{"overdue", "under-rated"}, Verdict: v}, `{"rigger":"` + strings.Repeat("0", 32) + `","reasons":["overdue","under-rated"],` + verdict + `}`},
		{Returned{From: who, Said: Something, Note: "a jerk\nand a tab\t"}, `{"from":"` + personText + `","said":"something","note":"a jerk\nand a tab\t"}`},
		{Held{Reason: "x"}, `{"reason":"x"}`},
		{Released{Reason: "x"}, `{"reason":"x"}`},
		{Inspected{Date: day(t, "2026-01-02"), Outcome: tagcode.Hold, Service: due.Normal, Due: day(t, "2027-01-02"), RatingTag: gate.TagPartial, Note: "n"}, `{"date":"2026-01-02","outcome":"hold","service":"normal","months":0,"due":"2027-01-02","rating_tag":"partial","note":"n"}`},
		{Retired{Reason: "worn", How: "cut"}, `{"reason":"worn","how":"cut"}`},
		{Lost{Note: "n"}, `{"note":"n"}`},
		{Found{Note: "n"}, `{"note":"n"}`},
		{Taken{Rigger: who, ReturnBy: day(t, "2026-03-04"), Late: late, Note: "n", Verdict: v}, `{"rigger":"` + personText + `","return_by":"2026-03-04",` + lateText + `,"note":"n",` + verdict + `}`},
		{HandedOn{From: who, To: other, Note: "n"}, `{"from":"` + personText + `","to":"` + otherText + `","note":"n"}`},
		{Placed{Area: "mill 2", Note: "n"}, `{"area":"mill 2","note":"n"}`},
		{Recalled{Reason: "x", By: day(t, "2026-03-04")}, `{"reason":"x","by":"2026-03-04"}`},
		{TakenIn{From: who}, `{"from":"` + personText + `"}`},
		{Checked{Said: NotKnown, Note: "n"}, `{"said":"not-known","note":"n"}`},
		{Told{From: who, Said: Something, Note: "n"}, `{"from":"` + personText + `","said":"something","note":"n"}`},
		{PadPrinted{First: 3, Last: 4}, `{"first":3,"last":4}`},
		{CountBegun{Count: CountID(who), Places: []string{"B", "C-1"}}, `{"count":"` + personText + `","places":["B","C-1"]}`},
		{Seen{Count: CountID(who), Place: "B-04"}, `{"count":"` + personText + `","place":"B-04"}`},
		{CountEnded{Count: CountID(who), Tally: Tally{Seen: 4, WrongPlace: 3, OutButHere: 2, NotSeen: 1}, Note: "n"}, `{"count":"` + personText + `","seen":4,"wrong_place":3,"out_but_here":2,"not_seen":1,"note":"n"}`},
		{Moved{Place: "B-04"}, `{"place":"B-04"}`},
		{Stray{No: 7, Photo: Photo{0xAB}, Lies: "cage", Note: "n"}, `{"no":7,"photo":"ab` + strings.Repeat("0", 62) + `","lies":"cage","note":"n"}`},
		{StraySettled{No: 7, How: "given back"}, `{"no":7,"how":"given back"}`},
		{Founded{Name: "Crib", Units: quantity.Metric, Rules: due.EN, Zone: "Europe/Berlin", Policy: words}, `{"name":"Crib","units":"kg-mm","rules":"en","zone":"Europe/Berlin",` + wordsText + `}`},
		{PolicySet{words}, `{` + wordsText + `}`},
		{PersonAdded{Name: "Z", Roles: Rigger, Terms: Terms{ShiftGear: true, Until: day(t, "2026-03-04")}}, `{"name":"Z","roles":["rigger"],"shift_gear":true,"learner":false,"until":"2026-03-04"}`},
		{PersonChanged{Name: "Z", Roles: Attendant, Here: true, Terms: Terms{Learner: true}}, `{"name":"Z","roles":["attendant"],"here":true,"shift_gear":false,"learner":true,"until":""}`},
		{Registered{fitted}, `{` + detailText + fittedText + `}`},
		{Corrected{Details: fitted, Reason: "measured"}, `{"details":{` + detailText + fittedText + `},"reason":"measured"}`},
		{Issued{Rigger: who, Serial: 3, Verdict: v, Line: Line{Loan: LoanID(who), Lift: 2, Share: Beam, Countersign: other, Crane: "north", Seats: true}},
			`{"rigger":"` + personText + `","return_by":"","serial":3,"typed":"","marked":"",` + verdict + `,"line":{"lift":2,"share":"beam","loan":"` + personText + `","countersign":"` + otherText + `","crane":"north","seats":true}}`},
		{Issued{Rigger: who, Serial: 3, Verdict: v, Line: Line{Loan: LoanID(who), Lift: 2, Span: 2 * quantity.Metre, Headroom: 3 * quantity.Metre}},
			`{"rigger":"` + personText + `","return_by":"","serial":3,"typed":"","marked":"",` + verdict + `,"line":{"lift":2,"share":"","loan":"` + personText + `","countersign":"` + strings.Repeat("0", 32) + `","crane":"","seats":false,"span_mm":2000,"headroom_mm":3000}}`},
		{Returned{From: who, Said: NotKnown, Note: "n", Answers: answers[:2], Owes: true, Photo: Photo{0xAB}}, `{"from":"` + personText + `","said":"not-known","note":"n",` + answersText + `],"owes":true,"photo":"ab` + strings.Repeat("0", 62) + `"}`},
		{Checked{Said: Something, Answers: answers, Photo: Photo{0xAB}}, `{"said":"something","note":"",` + answersText + `,{"question":"couplers","is":"wrong"}],"photo":"ab` + strings.Repeat("0", 62) + `"}`},
		{Told{From: who, Said: Something, Note: "n", Answers: answers[:2]}, `{"from":"` + personText + `","said":"something","note":"n",` + answersText + `]}`},
		{Returned{From: who, Said: Nothing, Late: late, Doubled: true}, `{"from":"` + personText + `","said":"nothing","note":"",` + lateText + `,"doubled":true}`},
	}...)
}

func TestEveryKind(t *testing.T) {
	told := map[Kind]int{} // the newest schema of each
	for _, s := range samples(t) {
		kind := s.body.Kind()
		told[kind] = max(told[kind], SchemaOf(s.body))
		text, err := Encode(s.body)
		if err != nil || string(text) != s.text {
			t.Errorf("%s: written\n%s\nwant\n%s\n%v", kind, text, s.text, err)
		}
		back, err := Decode(kind, SchemaOf(s.body), []byte(s.text))
		if err != nil || !reflect.DeepEqual(back, s.body) {
			t.Errorf("%s: read %+v, want %+v, %v", kind, back, s.body, err)
		}
	}
	for kind, readers := range kinds {
		if told[kind] != len(readers) {
			t.Errorf("no sample of %s, schema %d", kind, len(readers))
		}
	}
	if len(told) != len(kinds) {
		t.Errorf("samples of %d kinds, there are %d", len(told), len(kinds))
	}
}

func TestUnknown(t *testing.T) {
	for _, c := range []struct {
		kind   Kind
		schema int
	}{{"melted", 1}, {KindHeld, 2}, {KindHeld, 0}, {KindHeld, -1}, {KindTagConfirmed, 3}, {"", 1}} {
		if b, err := Decode(c.kind, c.schema, []byte(`{"reason":"x"}`)); !errors.Is(err, ErrUnknown) || b != nil {
			t.Errorf("%s %d: %v, %v", c.kind, c.schema, b, err)
		}
	}
}

// One line for each way in which a body is not the one spelling of its kind.
func TestBadBodies(t *testing.T) {
	verdictless := `"question":"","answer":""`
	for _, c := range []struct {
		why  string
		kind Kind
		text string
	}{
		{"nothing", KindHeld, ``},
		{"no object", KindHeld, `[]`},
		{"null", KindHeld, `null`},
		{"not closed", KindHeld, `{"reason":"x"`},
		{"text after it", KindHeld, `{"reason":"x"}x`},
		{"a line feed after it", KindHeld, "{\"reason\":\"x\"}\n"},
		{"a space", KindHeld, `{"reason": "x"}`},
		{"an escape that is not needed", KindHeld, `{"reason":"\u0078"}`},
		{"a slash escaped", KindHeld, `{"reason":"\/"}`},
		{"not UTF-8", KindHeld, "{\"reason\":\"\xff\"}"},
		{"a lone surrogate", KindHeld, `{"reason":"\ud800"}`},
		{"no reason", KindHeld, `{}`},
		{"a reason that is null", KindHeld, `{"reason":null}`},
		{"a reason that is a number", KindHeld, `{"reason":1}`},
		{"another case", KindHeld, `{"Reason":"x"}`},
		{"twice", KindHeld, `{"reason":"x","reason":"x"}`},
		{"a name more", KindHeld, `{"reason":"x","by":"y"}`},
		{"a null more", KindHeld, `{"reason":"x","by":null}`},
		{"another order", KindReturned, `{"said":"nothing","from":"` + personText + `","note":""}`},
		{"capital hex", KindReturned, `{"from":"` + strings.ToUpper(personText) + `","said":"nothing","note":""}`},
		{"half an id", KindReturned, `{"from":"0102","said":"nothing","note":""}`},
		{"something else said", KindReturned, `{"from":"` + personText + `","said":"perhaps","note":""}`},
		{"a summary that makes light of a doubt", KindChecked, `{"said":"nothing","note":"",` + answersText + `]}`},
		{"a summary that makes light of what is wrong", KindChecked, `{"said":"not-known","note":"","answers":[{"question":"legs","is":"wrong"}]}`},
		{"a rigger's doubt that is made light of", KindTold, `{"from":"` + personText + `","said":"nothing","note":"",` + answersText + `]}`},
		{"a return's doubt that is made light of", KindReturned, `{"from":"` + personText + `","said":"nothing","note":"",` + answersText + `]}`},
		{"no answers", KindChecked, `{"said":"nothing","note":"","answers":[]}`},
		{"an answer of another word", KindChecked, `{"said":"something","note":"","answers":[{"question":"legs","is":"fine"}]}`},
		{"no answer", KindChecked, `{"said":"something","note":"","answers":[{"question":"legs","is":""}]}`},
		{"a question that is none", KindChecked, `{"said":"nothing","note":"","answers":[{"question":"Legs?","is":"ok"}]}`},
		{"a question without a word", KindChecked, `{"said":"nothing","note":"","answers":[{"question":"","is":"ok"}]}`},
		{"a question twice", KindChecked, `{"said":"something","note":"","answers":[{"question":"legs","is":"ok"},{"question":"legs","is":"wrong"}]}`},
		{"a question and a name more", KindChecked, `{"said":"nothing","note":"","answers":[{"question":"legs","is":"ok","by":"x"}]}`},
		{"too many answers", KindChecked, `{"said":"nothing","note":"","answers":[` + strings.Repeat(`{"question":"legs","is":"ok"},`, 32) + `{"question":"legs","is":"ok"}]}`},
		{"owed by nobody", KindReturned, `{"from":"` + strings.Repeat("0", 32) + `","said":"nothing","note":"","owes":true}`},
		{"owed by nobody who is left out", KindReturned, `{"from":"` + personText + `","said":"nothing","note":"","owes":false}`},
		{"no picture", KindChecked, `{"said":"nothing","note":"","photo":""}`},
		{"an empty name", KindPersonAdded, `{"name":"","roles":[]}`},
		{"a role that is none", KindPersonAdded, `{"name":"x","roles":["boss"]}`},
		{"a role twice", KindPersonAdded, `{"name":"x","roles":["keeper","keeper"]}`},
		{"roles in another order", KindPersonAdded, `{"name":"x","roles":["keeper","rigger"]}`},
		{"true as text", KindPINSet, `{"one_time":"true"}`},
		{"true as 1", KindPINSet, `{"one_time":1}`},
		{"a fingerprint too long", KindKeyMade, `{"fingerprint":"c0ffee0100"}`},
		{"serial 0", KindTagConfirmed, `{"serial":0,"typed":""}`},
		{"serial 1024", KindTagConfirmed, `{"serial":1024,"typed":""}`},
		{"serial 1.0", KindTagConfirmed, `{"serial":1.0,"typed":""}`},
		{"serial 1e0", KindTagConfirmed, `{"serial":1e0,"typed":""}`},
		{"serial 01", KindTagConfirmed, `{"serial":01,"typed":""}`},
		{"serial -0", KindTagConfirmed, `{"serial":-0,"typed":""}`},
		{"serial as text", KindTagConfirmed, `{"serial":"1","typed":""}`},
		{"a serial of 2^64", KindTagConfirmed, `{"serial":18446744073709551617,"typed":""}`},
		{"a reason that no tag is thrown away for", KindTagSpoiled, `{"serial":1,"why":"boredom","note":""}`},
		{"a reading of no block", KindTagRead, `{"serial":1,"blocks":[],"resembled":false}`},
		{"a block without correction", KindTagRead, `{"serial":1,"blocks":[{"wrong":0,"correction":0}],"resembled":false}`},
		{"no reason to throw it away", KindTagSpoiled, `{"serial":1,"why":"","note":""}`},
		{"level X", KindTagPrinted, `{"serial":1,"key":"c0ffee01","digest":"` + strings.Repeat("0", 64) + `","version":5,"level":"X","mask":0,"stock":""}`},
		{"no level", KindTagPrinted, `{"serial":1,"key":"c0ffee01","digest":"` + strings.Repeat("0", 64) + `","version":5,"level":"","mask":0,"stock":""}`},
		{"mask 8", KindTagPrinted, `{"serial":1,"key":"c0ffee01","digest":"` + strings.Repeat("0", 64) + `","version":5,"level":"L","mask":8,"stock":""}`},
		{"version 41", KindTagPrinted, `{"serial":1,"key":"c0ffee01","digest":"` + strings.Repeat("0", 64) + `","version":41,"level":"L","mask":0,"stock":""}`},
		{"restored from nothing", KindRestored, `{"from":"` + personText + `","at":0,"head":"` + strings.Repeat("0", 64) + `","why":""}`},
		{"restored from half a log", KindRestored, `{"from":"0102","at":1,"head":"` + strings.Repeat("0", 64) + `","why":""}`},
		{"restored from half a hash", KindRestored, `{"from":"` + personText + `","at":1,"head":"00","why":""}`},
		{"compared by serial 1024", KindCompared, `{"serial":1024,"typed":""}`},
		{"compared by serial -1", KindCompared, `{"serial":-1,"typed":""}`},
		{"a tag ahead without a serial", KindTagAhead, `{"key":"c0ffee01","number":"0000000000000102","serial":0,"inspected":""}`},
		{"a tag ahead of half a number", KindTagAhead, `{"key":"c0ffee01","number":"0102","serial":1,"inspected":""}`},
		{"a date confirmed in another spelling of the time", KindDateConfirmed, `{"floor":"2026-03-02T07:15:00Z","keeper":"` + personText + `","inspector":"` + personText + `"}`},
		{"a date confirmed at no time", KindDateConfirmed, `{"floor":"","keeper":"` + personText + `","inspector":"` + personText + `"}`},
		{"a date confirmed by no keeper", KindDateConfirmed, `{"floor":"2026-03-02T07:15:00.125Z","keeper":"` + strings.Repeat("0", 32) + `","inspector":"` + personText + `"}`},
		{"a clock corrected by no inspector", KindClockCorrected, `{"floor":"2026-03-02T07:15:00.125Z","keeper":"` + personText + `","inspector":"` + strings.Repeat("0", 32) + `"}`},
		{"a clock corrected on a day that does not exist", KindClockCorrected, `{"floor":"2026-02-30T07:15:00.125Z","keeper":"` + personText + `","inspector":"` + personText + `"}`},
		{"nothing erased", KindErased, `{"what":"name","why":"x","bodies":[]}`},
		{"erased at position 0", KindErased, `{"what":"name","why":"x","bodies":[{"at":0,"kind":"held","schema":1,"left":""}]}`},
		{"erased twice", KindErased, `{"what":"name","why":"x","bodies":[{"at":3,"kind":"held","schema":1,"left":""},{"at":3,"kind":"held","schema":1,"left":""}]}`},
		{"a short digest", KindTagPrinted, `{"serial":1,"key":"c0ffee01","digest":"00","version":5,"level":"L","mask":0,"stock":""}`},
		{"a day that does not exist", KindIssued, `{"rigger":"` + personText + `","return_by":"2026-02-30","serial":1,"typed":"","marked":"",` + verdictless + `,"edition":""}`},
		{"a day in another spelling", KindIssued, `{"rigger":"` + personText + `","return_by":"2026-2-3","serial":1,"typed":"","marked":"",` + verdictless + `,"edition":""}`},
		{"no edition", KindIssued, `{"rigger":"` + personText + `","return_by":"","serial":1,"typed":"","marked":"",` + verdictless + `}`},
		{"reasons as text", KindRefused, `{"rigger":"` + personText + `","reasons":"overdue",` + verdictless + `,"edition":""}`},
		{"a reason that is no text", KindRefused, `{"rigger":"` + personText + `","reasons":[1],` + verdictless + `,"edition":""}`},
		{"months 13", KindInspected, `{"date":"2026-01-02","outcome":"fit","service":"normal","months":13,"due":"2027-01-02","rating_tag":"legible","note":""}`},
		{"no service", KindInspected, `{"date":"2026-01-02","outcome":"fit","service":"","months":0,"due":"2027-01-02","rating_tag":"legible","note":""}`},
		{"an outcome that is none", KindInspected, `{"date":"2026-01-02","outcome":"good","service":"normal","months":0,"due":"2027-01-02","rating_tag":"legible","note":""}`},
		{"a rating tag that is nothing", KindInspected, `{"date":"2026-01-02","outcome":"fit","service":"normal","months":0,"due":"2027-01-02","rating_tag":"","note":""}`},
		{"an empty crib name", KindFounded, `{"name":"","units":"kg-mm","rules":"en","zone":"UTC",` + policyText + `}`},
		{"units of another name", KindFounded, `{"name":"x","units":"stone","rules":"en","zone":"UTC",` + policyText + `}`},
		{"rules of another name", KindFounded, `{"name":"x","units":"kg-mm","rules":"mars","zone":"UTC",` + policyText + `}`},
		{"13 months", KindPolicySet, `{` + strings.Replace(policyText, `"max_months":12`, `"max_months":13`, 1) + `}`},
		{"no month", KindPolicySet, `{` + strings.Replace(policyText, `"max_months":12`, `"max_months":0`, 1) + `}`},
		{"a tilt over 45°", KindPolicySet, `{` + strings.Replace(policyText, `"max_tilt_mdeg":5000`, `"max_tilt_mdeg":45001`, 1) + `}`},
		{"a lower-case identification", KindRegistered, `{` + strings.Replace(detailText, `CS 12/4`, `cs 12/4`, 1) + `}`},
		{"an identification of 17", KindRegistered, `{` + strings.Replace(detailText, `CS 12/4`, `CS12345678901234X`, 1) + `}`},
		{"registered as out", KindRegistered, `{` + strings.Replace(detailText, `"state":"in"`, `"state":"out"`, 1) + `}`},
		{"registered as retired", KindRegistered, `{` + strings.Replace(detailText, `"state":"in"`, `"state":"retired"`, 1) + `}`},
		{"five legs", KindRegistered, `{` + strings.Replace(detailText, `"legs":2,"reach`, `"legs":5,"reach`, 1) + `}`},
		{"grade 81", KindRegistered, `{` + strings.Replace(detailText, `"grade":80`, `"grade":81`, 1) + `}`},
		{"a size of the other system", KindRegistered, `{` + strings.Replace(detailText, `"size":"13"`, `"size":"1/2"`, 1) + `}`},
		{"both units", KindRegistered, `{` + strings.Replace(detailText, `"load_g":7500000`, `"load_g":7500000,"load_lb":1`, 1) + `}`},
		{"pounds for whole grams", KindRegistered, `{` + strings.Replace(detailText, `"load_g":7500000`, `"load_lb":100000`, 1) + `}`},
		{"a name more inside", KindRegistered, `{` + strings.Replace(detailText, `"adjustable":true`, `"adjustable":true,"weight_g":1`, 1) + `}`},
		{"over the most bytes", KindHeld, `{"reason":"` + strings.Repeat("x", MaxBody) + `"}`},
	} {
		if b, err := Decode(c.kind, 1, []byte(c.text)); !errors.Is(err, ErrBody) || b != nil {
			t.Errorf("%s: %v, %v", c.why, b, err)
		}
	}
}

// A body is read under its own schema number only.
func TestSchemaIsItsOwn(t *testing.T) {
	plain, graded := `{"serial":3,"typed":"x"}`, `{"serial":3,"typed":"x","graded":{"letter":"C","parts":[]}}`
	for _, c := range []struct {
		schema int
		text   string
		ok     bool
	}{{1, plain, true}, {2, graded, true}, {1, graded, false}, {2, plain, false}, {2, strings.Replace(graded, `"C"`, `"E"`, 1), false},
		{2, strings.Replace(graded, `[]`, `[{"what":"x","letter":"","measured":""}]`, 1), true},
		{2, strings.Replace(graded, `[]`, `[{"what":"x","letter":"E","measured":""}]`, 1), false}} {
		b, err := Decode(KindTagConfirmed, c.schema, []byte(c.text))
		if c.ok != (err == nil) || err != nil && !errors.Is(err, ErrBody) || err == nil && SchemaOf(b) != c.schema {
			t.Errorf("schema %d, %s: %+v, %v", c.schema, c.text, b, err)
		}
	}
}

// C is good enough where C is asked, D is not, and no letter is no grade.
func TestUnder(t *testing.T) {
	for letter, under := range map[string]bool{"A": false, "B": false, "C": false, "D": true, "F": true, "": true, "E": true, "c": true} {
		if got := (Graded{Letter: letter}).Under("C"); got != under {
			t.Errorf("%q under C: %v", letter, got)
		}
	}
}

func TestEncodeRefuses(t *testing.T) {
	for why, b := range map[string]Body{
		"not UTF-8":           Held{Reason: "\xff"},
		"over the most bytes": Held{Reason: strings.Repeat("x", MaxBody)},
		"no whole millimetre": Registered{Details{Ident: "X", Sling: gate.Sling{Plate: rating.Plate{Reach: 1}}}},
	} {
		if text, err := Encode(b); err == nil {
			t.Errorf("%s: %s", why, text)
		}
	}
}

// FuzzDecode: what reads is written back as the same bytes, and an error gives
// no body.
func FuzzDecode(f *testing.F) {
	seeds := 0
	for _, s := range append(samples(f), lineSamples()...) {
		f.Add(string(s.body.Kind()), SchemaOf(s.body), []byte(s.text))
		f.Add(string(s.body.Kind()), SchemaOf(s.body), bytes.Replace([]byte(s.text), []byte(`:`), []byte(` : `), 1))
		seeds += 2
	}
	want := 2 * (1 + 2*len(statedMembers))
	for _, readers := range kinds {
		want += 2 * len(readers)
	}
	if seeds != want {
		f.Fatalf("%d seeds, want %d", seeds, want)
	}
	f.Fuzz(func(t *testing.T, kind string, schema int, text []byte) {
		bounded.Run(t, time.Now, 8<<20, func() {
			b, err := Decode(Kind(kind), schema, text)
			if err != nil {
				if b != nil || !errors.Is(err, ErrBody) && !errors.Is(err, ErrUnknown) {
					t.Fatalf("%v, %v", b, err)
				}
				return
			}
			if again, err := Encode(b); err != nil || !bytes.Equal(again, text) || b.Kind() != Kind(kind) || SchemaOf(b) != schema {
				t.Fatalf("%s: read %q, written %q, %v", kind, text, again, err)
			}
		})
	})
}
