package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/tagcode"
)

// aPlate is a whole answer to the register page: US OSHA, Guidance on Safe Sling
// Use, table 1 has 12,300 lb for two legs of 3/8 in at 60° from horizontal.
func aPlate(pairs ...string) url.Values {
	return with(url.Values{
		"ident": {"ns-0417"}, "system": {"us"}, "grade": {"80"}, "size-us": {"3/8"}, "legs": {"2"}, "adjustable": {"no"},
		"reach": {"6"}, "reach-unit": {"ft"}, "unit": {"lb"}, "stamp-2-h60": {"12,300"}, "rating-tag": {"legible"}, "heat": {"no"},
		"when": {"day"}, "date": {"2025-11-10"}, "outcome": {"fit"}, "service": {"normal"}, "hang": {"in"}, "place": {" peg  C4 "}, "lower": {"latch-hook"}, "inside": {"3 1/2"},
		"maker": {"as on the plate"}, "note": {"came with the crane"},
	}, pairs...)
}

func (c *client) registers(form url.Values) answer {
	c.k.t.Helper()
	return c.send(c.get("/register"), "/register", form)
}

func TestRegister(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.keeper)
	a := c.registers(aPlate())
	if !a.has("NS-0417 is registered.") || !a.has("Print its tag") {
		t.Fatalf("register: %s", a.words())
	}
	s, err := k.store.SlingByIdent(t.Context(), "NS-0417")
	if err != nil {
		t.Fatal(err)
	}
	d := s.Details
	if d.Place != "peg C4" || d.Maker != "as on the plate" || d.Note != "came with the crane" || d.Outcome != tagcode.Fit ||
		d.Sling.Due != day(t, "2026-11-10") || d.Sling.Hottest != nil || d.Sling.RatingTag != gate.TagLegible {
		t.Errorf("registered %+v", d)
	}
	// 6 ft are 1,828.8 mm; the nearest whole millimetre is recorded.
	if d.Sling.Reach != 1829*quantity.Millimetre {
		t.Errorf("reach %s", d.Sling.Reach)
	}
	if len(d.Sling.Stamped) != 1 || d.Sling.Stamped[0] != (rating.Stamp{Legs: 2, Basis: rating.H60, Load: 12_300 * quantity.Pound}) {
		t.Errorf("stamped %v", d.Sling.Stamped)
	}
	if a := c.registers(aPlate()); a.status != http.StatusConflict || !a.has("registered already") {
		t.Errorf("the same identification again: %d", a.status)
	}
	form := c.get("/register").form(t, "/register")
	for name, value := range aPlate("ident", "NS-0500") {
		form[name] = value
	}
	for range 2 { // sent twice
		if a := c.post("/register", form); a.status != http.StatusSeeOther || a.to != "/rack/NS-0500" {
			t.Errorf("register: %d %s", a.status, a.words())
		}
	}
	inspector := k.signedIn(k.inspector)
	if a := inspector.registers(aPlate("ident", "NS-0418", "hang", "held")); !a.has("NS-0418 is registered.") || !a.has("Held when it was registered") {
		t.Errorf("registered as held: %s", a.words())
	}
	if a := k.signedIn(k.attendant).get("/register"); a.status != http.StatusForbidden {
		t.Errorf("an attendant registers: %d", a.status)
	}
}

func TestRegisterKinds(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.keeper)
	for _, x := range []struct {
		name  string
		form  url.Values
		check func(event.Details) bool
	}{
		{"only the month is known", aPlate("ident", "M", "when", "month", "month", "2025-11", "date", ""), func(d event.Details) bool {
			return d.Sling.Inspected == day(t, "2025-11-01") && d.Sling.Due == day(t, "2026-11-01")
		}},
		{"never inspected", aPlate("ident", "N", "when", "never", "outcome", ""), func(d event.Details) bool {
			return d.Sling.Inspected.IsZero() && d.Sling.Due.IsZero() && d.Outcome == tagcode.NoOutcome
		}},
		{"an earlier day on paper counts", aPlate("ident", "E", "paper-due", "2026-05-01"), func(d event.Details) bool {
			return d.Sling.Due == day(t, "2026-05-01")
		}},
		{"a later day on paper does not", aPlate("ident", "L", "paper-due", "2027-05-01"), func(d event.Details) bool {
			return d.Sling.Due == day(t, "2026-11-10")
		}},
		{"did not pass", aPlate("ident", "H", "outcome", "hold"), func(d event.Details) bool { return d.Sling.State == gate.StateHeld }},
		{"has been hot", aPlate("ident", "T", "heat", "yes", "hottest", "500", "scale", "F"), func(d event.Details) bool {
			return d.Sling.Hottest != nil && *d.Sling.Hottest == quantity.Fahrenheit(500)
		}},
		{"metric, in tonnes", aPlate("ident", "EN-1", "system", "en", "size-us", "", "size-en", "10", "legs", "4", "unit", "t", "stamp-2-h60", "",
			"stamp-4-b45", "6.7", "stamp-4-b60", "4.75", "reach", "3", "reach-unit", "m", "master", "7 t"), func(d event.Details) bool {
			return d.Sling.System == rating.EN && d.Sling.Size.String() == "10" && d.Sling.Reach == 3*quantity.Metre && d.Sling.Master == 7*quantity.Tonne &&
				len(d.Sling.Stamped) == 2 && d.Sling.Stamped[0].Load == 6700*quantity.Kilogram && d.Sling.Stamped[1].Basis == rating.B60
		}},
		{"by the maker’s chart", aPlate("ident", "C", "grade", "120", "size-us", "7/8", "chart", "50000", "chart-source", "maker’s chart, edition 3", "stamp-2-h60", "86600"), func(d event.Details) bool {
			return d.Sling.Chart == 50_000*quantity.Pound && d.ChartSource == "maker’s chart, edition 3"
		}},
		{"both units on the plate", aPlate("ident", "B", "stamp-2-h60", "12,300; 5579 kg"), func(d event.Details) bool {
			return len(d.Sling.Stamped) == 2 && d.Sling.Stamped[1].Load == 5579*quantity.Kilogram
		}},
		{"nothing stamped", aPlate("ident", "Z", "stamp-2-h60", "", "reach", ""), func(d event.Details) bool {
			return len(d.Sling.Stamped) == 0 && d.Sling.Reach == 0
		}},
	} {
		a := c.registers(x.form)
		s, err := k.store.SlingByIdent(t.Context(), x.form.Get("ident"))
		if err != nil {
			t.Errorf("%s: %d %s", x.name, a.status, a.words())
			continue
		}
		if !x.check(s.Details) {
			t.Errorf("%s: registered %+v", x.name, s.Details)
		}
	}
	if a := c.get("/rack/Z"); !strings.Contains(a.words(), "Stays here Z, at peg C4 No rated load from the plate is on record.") {
		t.Errorf("a sling without a stamped load may go out: %s", a.words())
	}
}

func TestRegisterRefusals(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.keeper)
	for _, x := range []struct {
		name string
		form url.Values
		says string
	}{
		{"nothing", url.Values{}, "answers are missing or cannot be"},
		{"identification", aPlate("ident", "NS_0417"), "Type it as it is stamped"},
		{"too long an identification", aPlate("ident", strings.Repeat("A", 17)), "there is room for 16"},
		{"no system", aPlate("system", ""), "Choose how it is stamped."},
		{"no grade", aPlate("grade", ""), "Choose the grade stamped on the chain."},
		{"grade that is none", aPlate("grade", "90"), "This is none of the answers."},
		{"no size", aPlate("size-us", ""), "Choose the chain size stamped on the plate."},
		{"size of the other system", aPlate("size-us", "10"), "This is none of the sizes."},
		{"no legs", aPlate("legs", ""), "Count the legs and choose."},
		{"five legs", aPlate("legs", "5"), "This is none of the answers."},
		{"shortening", aPlate("adjustable", ""), "Look whether the legs can be shortened"},
		{"reach in words", aPlate("reach", "six"), "Type it in digits, like 6, 2.4, 6 1/2 or 6 ft 6 in"},
		{"reach with a comma", aPlate("reach", "2,4"), "with a point for the fraction"},
		{"reach of a mile and more", aPlate("reach", "5280.5"), "This is no length that a sling can have"},
		{"no unit of the reach", aPlate("reach-unit", ""), "Choose the unit of the reach."},
		{"load of zero", aPlate("stamp-2-h60", "0"), "A rated load of 0 rates nothing"},
		{"negative load", aPlate("stamp-2-h60", "-12300"), "without a minus sign"},
		{"NaN", aPlate("stamp-2-h60", "NaN"), "Type it in digits"},
		{"10^30", aPlate("stamp-2-h60", "1"+strings.Repeat("0", 30)), "count the digits again"},
		{"a comma where a point belongs", aPlate("stamp-2-h60", "12,3"), "Type it in digits"},
		{"half a pound", aPlate("stamp-2-h60", "12300.5"), "Type whole pounds."},
		{"finer than a gram", aPlate("stamp-2-h60", "5.57934 kg", "unit", "kg"), "finer than a gram"},
		{"a stamp for more legs", aPlate("stamp-4-h60", "18400"), "for more legs than the sling has"},
		{"no unit", aPlate("unit", ""), "Choose the unit that is stamped."},
		{"no rating tag", aPlate("rating-tag", ""), "Look at the maker’s rating tag"},
		{"no heat", aPlate("heat", ""), "Ask and look, then choose."},
		{"hot without a figure", aPlate("heat", "yes"), "Type how hot it has been."},
		{"hotter than the sun", aPlate("heat", "yes", "hottest", "5500", "scale", "C"), "A temperature here is from -273 to 2000 °C"},
		{"chart without its source", aPlate("chart", "50000"), "Write which chart it is from"},
		{"source without a chart", aPlate("chart-source", "edition 3"), "Type the single-leg rating that the chart gives."},
		{"no service", aPlate("service", ""), "Choose how hard it is used."},
		{"months of a fixed rule", aPlate("months", "6"), "leave this empty"},
		{"when is not known", aPlate("when", ""), "Choose what is known of it."},
		{"no day", aPlate("date", ""), "Choose the day of the inspection."},
		{"30 February", aPlate("date", "2026-02-30"), "This is no day of the calendar."},
		{"tomorrow", aPlate("date", "2026-03-03"), "This day has not come yet"},
		{"next month", aPlate("when", "month", "month", "2026-04"), "This month has not come yet"},
		{"month 13", aPlate("when", "month", "month", "2025-13"), "This is no month."},
		{"no outcome", aPlate("outcome", ""), "Choose what the inspection came to."},
		{"paper before the inspection", aPlate("paper-due", "2025-11-09"), "This is before the inspection."},
		{"nowhere", aPlate("hang", ""), "Choose where it goes now."},
		{"control characters", aPlate("maker", "a\x00b"), "cannot be used here"},
	} {
		a := c.registers(x.form)
		if a.status != http.StatusUnprocessableEntity || !strings.Contains(a.words(), x.says) {
			t.Errorf("%s: %d, want %q: %s", x.name, a.status, x.says, a.words())
		}
		if maker := x.form.Get("maker"); maker == "as on the plate" && !a.has(`value="as on the plate"`) {
			t.Errorf("%s: what was typed is lost", x.name)
		}
	}
	counts, err := k.store.Count(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for state, n := range counts {
		if n != 0 {
			t.Errorf("%d slings %s after refusals", n, state)
		}
	}
}

// What the tables say while a plate is typed: US OSHA, Guidance on Safe Sling Use,
// table 1 (3/8 in, grade 80: single 7,100 lb; two legs 12,300, 10,000, 7,100 lb).
func TestCheckWhileTyped(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.keeper)
	for _, x := range []struct {
		name string
		form url.Values
		has  []string
		not  []string
	}{
		{"too little is known", url.Values{"system": {"us"}, "unit": {"lb"}}, []string{"Choose how it is stamped, the grade, the size and the legs"}, []string{"may carry"}},
		{"no load yet", aPlate("stamp-2-h60", ""), []string{"No rated load from the plate is on record.", "7,100 lb", "3,220 kg"}, []string{"12,300 lb", "10,000 lb"}},
		{"agrees", aPlate(), []string{`id="s-stamp-2-h60"`, "says may-go", "Agrees.", "The table has 12,300 lb, as stamped.", "7,100 lb", "Next due 10 Nov 2026"}, []string{"It would stay here"}},
		{"stamped in kilograms", aPlate("stamp-2-h60", "5580", "unit", "kg"), []string{"The table has 5,579 kg; 5,580 kg stamped agrees with it"}, []string{"12,302 lb"}},
		{"rounded by the maker", aPlate("stamp-2-h60", "12,200"), []string{"Agrees.", "7,100 lb"}, []string{"It would stay here"}},
		{"lower", aPlate("stamp-2-h60", "10,000"), []string{"Lower.", "says look-closer", "5,773 lb"}, []string{"It would stay here"}},
		{"too high", aPlate("stamp-2-h60", "12,700"), []string{"Too high.", "says stays-here", "It would stay here.", "higher than the table allows"}, nil},
		{"disagree", aPlate("stamp-2-h60", "12,300", "stamp-2-h45", "8,000"), []string{"It would stay here.", "contradict each other"}, nil},
		{"a mistyped load", aPlate("stamp-2-h60", "12.3.0"), []string{"Type it in digits"}, []string{"Agrees"}},
		{"a stamp for more legs", aPlate("stamp-3-h60", "18400"), []string{"for more legs than the sling has"}, nil},
		{"no row", aPlate("grade", "120", "size-us", "7/8"), []string{"No table lists this size and grade"}, nil},
		{"never inspected", aPlate("when", "never"), []string{"7,100 lb"}, []string{"Next due"}},
	} {
		a := c.post("/register/check", x.form)
		if a.status != http.StatusOK || strings.Contains(a.body, "<html") {
			t.Errorf("%s: %d, or a whole page", x.name, a.status)
		}
		for _, text := range x.has {
			if !strings.Contains(strings.Join(strings.Fields(a.body), " "), text) {
				t.Errorf("%s lacks %q: %s", x.name, text, strings.Join(strings.Fields(a.body), " "))
			}
		}
		for _, text := range x.not {
			if strings.Contains(a.body, text) {
				t.Errorf("%s says %q", x.name, text)
			}
		}
	}
	// Without a script a button does the same, and nothing is saved.
	a := c.registers(aPlate("only", "check", "stamp-2-h60", "12,700"))
	if a.status != http.StatusOK || !a.has("Too high.") || !a.has(`value="12,700"`) || a.has("missing or cannot be") {
		t.Errorf("check by the button: %d %s", a.status, a.words())
	}
	if _, err := k.store.SlingByIdent(t.Context(), "NS-0417"); err == nil {
		t.Error("the check registered the sling")
	}
}

func TestReadReach(t *testing.T) {
	foot := func(n quantity.Length) quantity.Length { return n * quantity.Foot }
	for _, x := range []struct {
		text, unit string
		want       quantity.Length // before it is rounded to the millimetre; 0: refused
	}{
		{"6", "ft", foot(6)},
		{"6.5", "ft", foot(13) / 2},
		{"6 1/2", "ft", foot(13) / 2},
		{"78 1/2", "in", 157 * quantity.Inch / 2},
		{"2.4", "m", 2400 * quantity.Millimetre},
		{"2.4 m", "ft", 2400 * quantity.Millimetre},
		{"2400 MM", "ft", 2400 * quantity.Millimetre},
		{"6 ft", "m", foot(6)},
		{"6 ft 6 in", "m", foot(6) + 6*quantity.Inch},
		{"6ft6in", "ft", foot(6) + 6*quantity.Inch},
		{"6'6\"", "ft", foot(6) + 6*quantity.Inch},
		{"6’ 11 3/4”", "ft", foot(6) + 47*quantity.Inch/4},
		{"6 ft 1/2 in", "ft", foot(6) + quantity.Inch/2},
		{"3/4 in", "ft", 3 * quantity.Inch / 4},
		{"6 ft 12 in", "ft", 0},
		{"6-6", "ft", 0},
		{"6 6", "ft", 0},
		{"6 3/2", "ft", 0},
		{"6 1/0", "ft", 0},
		{"6 ft 6 m", "ft", 0},
		{"1/2 m", "ft", 0},
		{"2,4", "m", 0},
		{"-6", "ft", 0},
		{"0", "ft", 0},
		{"six", "ft", 0},
	} {
		c := complaints{}
		got := readReach(c, x.text, x.unit)
		want := (x.want + quantity.Millimetre/2) / quantity.Millimetre * quantity.Millimetre
		if got != want || (c["reach"] == "") != (want > 0) {
			t.Errorf("%q in %s: %s, want %s, %q", x.text, x.unit, got, want, c["reach"])
		}
	}
}

func TestReadMasses(t *testing.T) {
	for _, x := range []struct {
		text string
		unit quantity.Mass
		want quantity.Mass // 0: refused
	}{
		{"12300", quantity.Pound, 12_300 * quantity.Pound},
		{"12,300", quantity.Pound, 12_300 * quantity.Pound},
		{"12 300 lb", quantity.Kilogram, 12_300 * quantity.Pound},
		{"3.15", quantity.Tonne, 3150 * quantity.Kilogram},
		{"3.15 T", quantity.Pound, 3150 * quantity.Kilogram},
		{"12,300 lbs", quantity.Kilogram, 12_300 * quantity.Pound},
		{"5580 Kg.", quantity.Pound, 5580 * quantity.Kilogram},
		{"6 tons", quantity.Pound, 0},
		{"0.5", quantity.Tonne, 500 * quantity.Kilogram},
		{"0.001", quantity.Kilogram, quantity.Gram},
		{"0.000001", quantity.Tonne, quantity.Gram},
		{"0.0001", quantity.Kilogram, 0},
		{"5579186 g", quantity.Pound, 5_579_186 * quantity.Gram},
		{"1.5 g", quantity.Pound, 0},
		{"1000000000000 g", quantity.Pound, quantity.MaxMass},
		{"1000000000001 g", quantity.Pound, 0},
		{"1000000 t", quantity.Pound, quantity.MaxMass},
		{"1000000.000001 t", quantity.Pound, 0},
		{"99999999999999999999", quantity.Pound, 0},
		{"1,23", quantity.Pound, 0}, {"1.2.3", quantity.Tonne, 0}, {"1e3", quantity.Pound, 0}, {"+5", quantity.Pound, 0}, {".5", quantity.Tonne, 0},
		{"5.", quantity.Tonne, 0}, {"12300 oz", quantity.Pound, 0}, {"0", quantity.Pound, 0}, {"0.0", quantity.Tonne, 0}, {"12300", 0, 0},
	} {
		got, complaint := readMasses(x.text, x.unit)
		switch {
		case x.want == 0 && (complaint == "" || got != nil):
			t.Errorf("%q reads %v, want a complaint", x.text, got)
		case x.want != 0 && (complaint != "" || len(got) != 1 || got[0] != x.want):
			t.Errorf("%q reads %v (%s), want %v", x.text, got, complaint, x.want)
		}
	}
	if got, complaint := readMasses(" ", quantity.Pound); got != nil || complaint != "" {
		t.Errorf("nothing reads %v, %q", got, complaint)
	}
	if got, complaint := readMasses("1;", quantity.Pound); got != nil || complaint == "" {
		t.Errorf("half a list reads %v", got)
	}
}

// What a form is filled with from the record reads back as the record.
func TestRecordedFormReadsBack(t *testing.T) {
	t.Parallel()
	for _, m := range []quantity.Mass{quantity.Gram, 999 * quantity.Gram, quantity.Kilogram, 5_579_186 * quantity.Gram, quantity.Pound, 12_300 * quantity.Pound, 3150 * quantity.Kilogram, quantity.MaxMass} {
		for _, unit := range []quantity.Mass{quantity.Pound, quantity.Kilogram} {
			text := massText(m, unit)
			if got, complaint := readMasses(text, unit); complaint != "" || len(got) != 1 || got[0] != m {
				t.Errorf("%v is filled in as %q and reads %v (%s)", m, text, got, complaint)
			}
		}
	}
	k := newKiosk(t)
	k.filled()
	c := k.signedIn(k.inspector)
	for _, ident := range []string{"NS-0290", "NS-0610", "EN-0031", "NS-0417"} {
		before, err := k.store.SlingByIdent(t.Context(), ident)
		if err != nil {
			t.Fatal(err)
		}
		f := recordedForm(before.Details)
		form := url.Values{"reason": {"nothing was wrong"}}
		for _, name := range detailNames() {
			form.Set(name, f(name))
		}
		if a := c.send(c.get("/rack/"+ident+"/correct"), "/rack/"+ident+"/correct", form); !a.has(ident + " is corrected.") {
			t.Errorf("%s: %d %s", ident, a.status, a.words())
			continue
		}
		after, err := k.store.SlingByIdent(t.Context(), ident)
		if err != nil {
			t.Fatal(err)
		}
		if was, is := detailWords(before.Details, words{lead: quantity.Metric}), detailWords(after.Details, words{lead: quantity.Metric}); !equalFacts(was, is) {
			t.Errorf("%s: corrected without a change: %v, was %v", ident, is, was)
		}
		if !c.get("/rack/" + ident).has("Nothing was changed.") {
			t.Errorf("%s: the story does not say that nothing was changed", ident)
		}
	}
}

func equalFacts(a, b []Fact) bool {
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return len(a) == len(b)
}

// detailNames are all fields of the form.
func detailNames() []string {
	return append(allStampFields(), "ident", "maker", "place", "note", "chart-source", "system", "grade", "size-us", "size-en", "legs", "adjustable",
		"unit", "rating-tag", "service", "when", "heat", "hang", "scale", "reach", "reach-unit", "chart", "weakest", "master", "months", "hottest",
		"date", "month", "outcome", "paper-due", "lower", "inside")
}

func TestCorrect(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	c := k.signedIn(k.inspector)
	page := c.get("/rack/NS-0417/correct")
	if !page.has(`value="12300"`) || !page.has(`name="size-us" value="3/8" checked`) {
		t.Errorf("the form is not filled from the record: %s", page.words())
	}
	form := func(pairs ...string) url.Values {
		return with(aPlate("ident", "", "hang", "", "reach", "2400", "reach-unit", "mm", "place", "D2", "reason", "read again with a lamp"), pairs...)
	}
	if a := c.send(page, "/rack/NS-0417/correct", form("reason", "")); a.status != http.StatusUnprocessableEntity || !a.has("Write what was wrong") {
		t.Errorf("without a reason: %d", a.status)
	}
	if a := k.signedIn(k.keeper).get("/rack/NS-0417/correct"); a.status != http.StatusForbidden {
		t.Errorf("a keeper corrects: %d", a.status)
	}
	stale := c.get("/rack/NS-0417/correct")
	a := c.send(page, "/rack/NS-0417/correct", form("size-us", "1/2", "stamp-2-h60", "20,800", "ident", "NS-9999"))
	if !a.has("NS-0417 is corrected.") {
		t.Fatalf("correct: %s", a.words())
	}
	for _, says := range []string{"Details corrected: read again with a lamp.", "Size was 3/8 in, is now 1/2 in.", "Place was C4, is now D2.",
		"Rated loads stamped was 12,300 lb for two legs, 60° from horizontal, is now 20,800 lb"} {
		if !strings.Contains(a.words(), says) {
			t.Errorf("the story lacks %q: %s", says, a.words())
		}
	}
	if got := k.sling(id).Details.Ident; got != "NS-0417" {
		t.Errorf("the identification became %s", got)
	}
	a = c.send(stale, "/rack/NS-0417/correct", form("place", "Z9"))
	if a.status != http.StatusConflict || !a.has("Changed meanwhile") || !a.has("Details corrected: read again with a lamp.") || !a.has(`value="Z9"`) {
		t.Errorf("a stale correction: %d %s", a.status, a.words())
	}
	if got := k.sling(id).Details.Place; got != "D2" {
		t.Errorf("a stale correction was saved: %s", got)
	}
	if text == "" {
		t.Fatal("no tag")
	}
}
