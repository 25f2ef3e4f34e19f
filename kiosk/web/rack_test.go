package web

import (
	"fmt"
	"html"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/rating"
	"cribgate/core/state"
)

func TestRack(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.filled()
	c := k.signedIn(k.attendant)
	all := c.get("/rack")
	for _, text := range []string{
		"11 slings", "NS-0290", "1/2 in, grade 80, 2 legs, 7 ft 10 1/2 in", "In, due 3 Sep 2026", "In, without a confirmed tag",
		"Out with T. Brandt, needed back 6 Mar 2026", "Out with T. Brandt, late since 27 Feb 2026", "Due 4 Mar 2026, in 2 days",
		"Held: came back after something happened", "Stays here: overdue since 3 Feb 2026, 27 days", "Lost since 2 Mar 2026",
		"Stays here: a rated load on record is higher", "10 mm, grade 80, 4 legs",
	} {
		if !all.has(text) {
			t.Errorf("the rack lacks %q", text)
		}
	}
	if all.has("NS-0077") {
		t.Error("the rack shows a retired sling among those in use")
	}
	for _, x := range []struct {
		path string
		has  []string
		not  []string
	}{
		{"/rack?show=held", []string{"NS-0417", "NS-0420", "2 slings"}, []string{"NS-0290", "NS-0342"}},
		{"/rack?show=out", []string{"NS-0342", "NS-0388", "NS-0390"}, []string{"NS-0417"}},
		{"/rack?show=in", []string{"NS-0290", "NS-0311", "NS-0455"}, []string{"NS-0417", "NS-0342"}},
		{"/rack?show=overdue", []string{"NS-0455", "1 sling"}, []string{"NS-0390"}},
		{"/rack?show=soon", []string{"NS-0390", "1 sling"}, []string{"NS-0455", "NS-0290"}},
		{"/rack?show=lost", []string{"NS-0502"}, []string{"NS-0455"}},
		{"/rack?show=retired", []string{"NS-0077", "Retired 2 Mar 2026"}, []string{"NS-0290"}},
		{"/rack?find=C7", []string{"NS-0388", "NS-0390", "2 slings for C7"}, []string{"NS-0290"}},
		{"/rack?find=ns-03", []string{"NS-0311", "NS-0342", "NS-0388", "NS-0390"}, []string{"NS-0290"}},
		{"/rack?find=1/2", []string{"NS-0290"}, []string{"NS-0311"}},
		{"/rack?find=ZZ", []string{"Nothing here has this at the beginning"}, []string{"NS-"}},
	} {
		a := c.get(x.path)
		page := a.main()
		for _, text := range x.has {
			if !strings.Contains(page, text) {
				t.Errorf("%s lacks %q", x.path, text)
			}
		}
		for _, text := range x.not {
			if strings.Contains(page, text) {
				t.Errorf("%s has %q", x.path, text)
			}
		}
	}
	for _, path := range []string{"/rack?show=none", "/rack?after=x", "/rack/NS-9999", "/rack/NS-0290?story=99", "/rack/NS-0290?story=x"} {
		if a := c.get(path); a.status != http.StatusNotFound {
			t.Errorf("%s: %d, want 404", path, a.status)
		}
	}
	if all.has("Register a sling") {
		t.Error("an attendant is offered to register a sling")
	}
	if a := k.signedIn(k.keeper).get("/rack"); !a.has("Register a sling") {
		t.Error("a keeper is not offered to register a sling")
	}
}

// The rack is walked place by place, and what has no place comes last.
func TestRackGoesByPlace(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	for _, x := range [][2]string{{"W-1", "B-10"}, {"W-2", "b-2"}, {"W-3", ""}, {"W-4", "A-11"}, {"W-5", "B-2"}} {
		k.shelved(x[0], func(d *event.Details) { d.Place = x[1] })
	}
	page := k.signedIn(k.attendant).get("/rack").main()
	at := 0
	for _, ident := range []string{"W-4", "W-2", "W-5", "W-1", "W-3"} {
		next := strings.Index(page, ">"+ident+"<")
		if next < at {
			t.Errorf("%s does not hang where one comes to it", ident)
		}
		at = next
	}
}

// What is overdue is so by the rules that the crib goes by.
func TestTheCribsOwnRuleIsCited(t *testing.T) {
	for rules, want := range map[due.Rules][2]string{
		due.US:   {"29 CFR 1910.184(e)(3)(i)", "29 CFR 1910.184, Slings (general industry), 1910.184(e)(3)(i)"},
		due.UK:   {"LOLER, regulation 9(3)", "UK Lifting Operations and Lifting Equipment Regulations, SI 1998/2307, regulation 9(3)"},
		due.Yard: {"29 CFR 1915.112", "29 CFR 1915.112"},
	} {
		got := words{rules: rules}.reason(gate.Overdue, gate.Answer{}, due.Normal)
		if !strings.HasPrefix(got.Rule, want[0]) || !strings.HasPrefix(got.InFull, want[1]) {
			t.Errorf("%s: %q, in full %q, want %q", rules, got.Rule, got.InFull, want)
		}
	}
}

// A crib's policy may have a sling inspected sooner than the rules do: what the
// counter then refuses as overdue is counted and listed as overdue.
func TestRackCountsByThePolicy(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.filled()
	policy := k.policy()
	policy.MaxMonths = 4
	k.setPolicy(policy)
	c := k.signedIn(k.keeper)
	// Today is 2 March 2026. NS-0290 was inspected on 3 September, NS-0388 on 1 October.
	overdue, soon := c.get("/rack?show=overdue"), c.get("/rack?show=soon")
	for _, text := range []string{"NS-0290", "overdue since 3 Jan 2026, 58 days", "NS-0388", "NS-0390", "NS-0455", "4 slings", `Overdue <span class="n">4</span>`} {
		if !overdue.has(text) {
			t.Errorf("what is overdue lacks %q", text)
		}
	}
	// On 20 and 10 November, and on 1 December: due on the 20th and 10th, and on 1 April.
	for _, text := range []string{"NS-0342", "NS-0417", "EN-0031", "3 slings", `Due in 30 days <span class="n">3</span>`} {
		if !soon.has(text) {
			t.Errorf("what is due soon lacks %q", text)
		}
	}
}

// A page of the rack holds 100 slings; the next begins where it ended.
func TestRackTurns(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	var idents []string
	for n := range 130 {
		idents = append(idents, fmt.Sprintf("T-%03d", n))
	}
	k.manyShelved(idents)
	c := k.signedIn(k.attendant)
	seen, path := map[string]bool{}, "/rack"
	for pages := 1; path != ""; pages++ {
		a := c.get(path)
		found := 0
		for n := range 130 {
			if ident := fmt.Sprintf("T-%03d", n); strings.Contains(a.main(), ">"+ident+"<") {
				if seen[ident] {
					t.Errorf("%s hangs on two pages", ident)
				}
				seen[ident] = true
				found++
			}
		}
		if want := []int{100, 30, 0}[min(pages-1, 2)]; found != want {
			t.Errorf("page %d shows %d slings, want %d", pages, found, want)
		}
		path = ""
		if _, rest, ok := strings.Cut(a.body, `<a class="button" href="/rack?after=`); ok {
			next, _, _ := strings.Cut(rest, `"`)
			path = "/rack?after=" + next
		}
		if pages > 3 {
			t.Fatal("the rack does not end")
		}
	}
	if len(seen) != 130 {
		t.Errorf("%d slings on all pages, want 130", len(seen))
	}
}

func TestSeek(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	k.hanging("NS-0418", nil)
	c := k.signedIn(k.attendant)
	for _, x := range []struct {
		name, field, text string
		to                string
	}{
		{"identification", "find", " ns-0417 ", "/rack/NS-0417"},
		{"beginning", "find", "ns-04", "/rack?find=NS-04"},
		{"place", "find", "c4", "/rack?find=C4"},
		{"short code", "find", k.short(id, 1), "/rack/NS-0417"},
		{"short code without hyphens", "find", strings.ReplaceAll(strings.ToLower(k.short(id, 1)), "-", ""), "/rack/NS-0417"},
		{"scan", "text", text, "/rack/NS-0417"},
		{"nothing", "find", "  ", "/rack"},
	} {
		a := c.post("/rack", url.Values{x.field: {x.text}})
		if a.status != http.StatusSeeOther || a.to != x.to {
			t.Errorf("%s: %d to %q, want %q", x.name, a.status, a.to, x.to)
		}
	}
	for _, x := range []struct{ name, text, says string }{
		{"web address", "https://example.test/a/long/way", "web address"},
		{"foreign symbol", strings.Repeat("A9", 40), "not one of this crib's tags"},
		{"cut tag", text[:40], "not one of this crib's tags"},
		{"control characters", "NS-04\x0717", "cannot be used here"},
		{"2,953 bytes", strings.Repeat("x", 2953), "not one of this crib's tags"},
		{"more than a symbol holds", strings.Repeat("x", 5000), "there is room for"},
	} {
		a := c.post("/rack", url.Values{"find": {x.text}})
		if a.status != http.StatusUnprocessableEntity || !strings.Contains(a.words(), x.says) {
			t.Errorf("%s: %d, want %q: %s", x.name, a.status, x.says, a.words())
		}
		if strings.Contains(a.body, text[:40]) || a.to != "" {
			t.Errorf("%s: what was scanned is given back", x.name)
		}
	}
	// Not even where it is short enough to be looked for.
	if a := c.post("/rack", url.Values{"text": {"BADGE 839201"}}); a.to != "" || !strings.Contains(a.words(), "not one of this crib's tags") {
		t.Errorf("a foreign symbol that is short: %d to %q: %s", a.status, a.to, a.words())
	}
	if strings.Contains(k.log.String(), text) || strings.Contains(k.log.String(), k.short(id, 1)) {
		t.Error("a code is in the log")
	}
}

// An identification may have in it what an address cannot.
func TestSlingAddress(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.attendant)
	for _, ident := range []string{"A/B 1", "..", ".", "NS.0417", "1/2"} {
		id := k.shelved(ident, nil)
		path := slingPath(k.sling(id))
		a := c.get(path)
		if a.status != http.StatusOK || !a.has("<title>"+ident+" ") {
			t.Errorf("%q at %s: %d to %q", ident, path, a.status, a.to)
		}
		// The switch for light and dark leads back to the same sling.
		if b := c.post("/theme", url.Values{"theme": {"day"}, "back": {html.UnescapeString(between(a.body, `name="back" value="`, `"`))}}); b.to != path {
			t.Errorf("%q: the switch for light leads to %q", ident, b.to)
		}
		if b := c.get("/rack/" + id.String()); b.status != http.StatusOK {
			t.Errorf("%q by id: %d", ident, b.status)
		}
	}
}

// The zero plate cannot be judged; a card of it stays here and says why.
func TestUnjudgeable(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id := k.shelved("NS-0001", nil)
	s := k.sling(id)
	s.Details.Sling.Plate = rating.Plate{}
	st := standing(s, state.Crib{Founded: event.Founded{Policy: event.Policy{MaxMonths: 12}}}, day(t, "2026-03-02"), words{})
	if st.verdict != StaysHere || len(st.reasons) != 1 || !strings.Contains(st.reasons[0].Sentence, "cannot be judged") {
		t.Errorf("an unreadable record: %v %v", st.verdict, st.reasons)
	}
}

// TestNothingMayGoWhileTheCribsOwnRecordIsInDoubt: a policy may have become
// stricter in a way that this program does not understand.
func TestNothingMayGoWhileTheCribsOwnRecordIsInDoubt(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, _ := k.hanging("NS-0311", nil)
	sling, err := k.store.Sling(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	crib, today := state.Crib{Founded: event.Founded{Policy: k.policy()}}, day(t, "2026-03-02")
	if st := standing(sling, crib, today, words{}); st.verdict == StaysHere {
		t.Fatalf("it stays here without a doubt: %+v", st.reasons)
	}
	crib.Doubt = state.NotUnderstood
	if st := standing(sling, crib, today, words{}); st.verdict != StaysHere || len(st.reasons) == 0 {
		t.Errorf("verdict %v, reasons %+v", st.verdict, st.reasons)
	}
}
