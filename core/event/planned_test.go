package event

import (
	"errors"
	"strings"
	"testing"

	"cribgate/core/gate"
	"cribgate/core/quantity"
)

// planSamples are bodies of what is planned and set aside, and their one spelling.
func planSamples(t testing.TB) []sample {
	who := PersonID{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16}
	stated := StatedLift{Lift: gate.Lift{Use: gate.UseOrdinary, Load: 3 * quantity.Tonne, Hitch: gate.Straight, Legs: 2, ReturnBy: day(t, "2026-03-05")}, Span: 2 * quantity.Metre, Weighed: true}
	statedText, err := stated.MarshalJSON()
	if err != nil {
		t.Fatal(err)
	}
	return []sample{
		{LiftPlanned{Lift: LiftID(who), Day: day(t, "2026-03-04"), What: "pump, bay 3", Stated: stated}, `{"lift":"` + personText + `","day":"2026-03-04","what":"pump, bay 3","stated":` + string(statedText) + `}`},
		{LiftGivenUp{Lift: LiftID(who), Day: day(t, "2026-03-04"), Why: "rain"}, `{"lift":"` + personText + `","day":"2026-03-04","why":"rain"}`},
		{LiftDrawn{Lift: LiftID(who), Day: day(t, "2026-03-04"), Loan: LoanID{15: 1}}, `{"lift":"` + personText + `","day":"2026-03-04","loan":"` + otherText + `"}`},
		{SetAside{Lift: LiftID(who), Rigger: PersonID{15: 1}, Day: day(t, "2026-03-04")}, `{"lift":"` + personText + `","rigger":"` + otherText + `","day":"2026-03-04"}`},
		{PutBack{Lift: LiftID(who), Why: "not wanted"}, `{"lift":"` + personText + `","why":"not wanted"}`},
	}
}

// Each member that has to say something says it: a lift, a day, a loan, a person, and a
// lift that can be stated.
func TestBadPlanBodies(t *testing.T) {
	none := strings.Repeat("0", 32)
	for _, s := range planSamples(t) {
		for _, swap := range [][2]string{
			{`"lift":"` + personText, `"lift":"` + none}, {`"lift":"` + personText, `"lift":"x`}, {`"day":"2026-03-04"`, `"day":""`}, {`"day":"2026-03-04"`, `"day":"2026-02-30"`},
			{`"rigger":"` + otherText, `"rigger":"` + none}, {`"loan":"` + otherText, `"loan":"` + none}, {`"span_mm":2000`, `"span_mm":-1`}, {`"legs":2`, `"legs":9`},
		} {
			text := strings.Replace(s.text, swap[0], swap[1], 1)
			if text == s.text {
				continue
			}
			if b, err := Decode(s.body.Kind(), 1, []byte(text)); !errors.Is(err, ErrBody) || b != nil {
				t.Errorf("%s with %s: %+v, %v", s.body.Kind(), swap[1], b, err)
			}
		}
	}
}
