package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/core/tagcode"
)

// act sends a form of a sling's page, as it stands, and gives the page at the end.
func (c *client) act(ident, act string, values url.Values) answer {
	c.k.t.Helper()
	return c.send(c.get("/rack/"+ident), "/rack/"+ident+"/"+act, values)
}

func (k *kiosk) stands(id event.SlingID, want gate.State) {
	k.t.Helper()
	if got := k.sling(id).Details.Sling.State; got != want {
		k.t.Errorf("the sling stands %s, want %s", got, want)
	}
}

func TestSlingPage(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.filled()
	c := k.signedIn(k.rigger)
	for ident, texts := range map[string][]string{
		"NS-0290": {"In", "It hangs at C4, due 3 Sep 2026.", "20,800 lb 9,434 kg", "Two legs, 45° from horizontal 16,970 lb", "as stamped: TESTMARK",
			"New hooks in 2024.", "fit, normal service; entered by S. Quill; see the paper for who made it", "can be shortened", "on the sling; printed 2 Mar 2026", "QR tag 1 confirmed on the sling; 0290 was typed",
			"Registered: 1/2 in, grade 80, 2 legs", "2 Mar 2026, 20:30", "At the counter it is handed over for a stated lift."},
		"NS-0311": {"In", "without a confirmed tag, so no counter can hand it over", "None has been printed."},
		"NS-0342": {"Out", "With T. Brandt since 2 Mar 2026, 20:30, needed back by 6 Mar 2026.", "Handed to T. Brandt", "What was asked, and what was answered",
			"Load, not weighed: the site adds 10 % 4,000 lb", "Needed 4,400 lb", "Rules edition " + gate.RulesEdition, `"verdict":"issue"`},
		"NS-0388": {"Out", "It was needed back by 27 Feb 2026 and is 3 days late."},
		"NS-0417": {"Held", "Came back after something happened: load caught on the hatch", "Held by I. Maro", "An inspector looks at it and decides."},
		"NS-0420": {"Held", "gouge in leg 2, link 14", "26 Feb 2026 to be held, normal service; by O. Vance"},
		"NS-0455": {"Stays here", "Its periodic inspection was due on 3 Feb 2026.", "overdue since 3 Feb 2026, 27 days"},
		"NS-0502": {"Lost", "not in the yard, not on the truck", "P. Lund had it last"},
		"NS-0077": {"Retired", "Link worn under its minimum, leg 1.", "Made unusable: every leg cut twice", "Nothing any more: it is out of service for good.", "dead: the sling is retired"},
		"NS-0610": {"Stays here", "A rated load on record is higher than the table allows", "Nothing, as long as what the plate says stands against it."},
		"EN-0031": {"10 mm", "6,700 kg 14,770 lb", "Four legs, up to 45° from vertical", "Four legs, 45° to 60° from vertical"},
	} {
		page := c.get("/rack/" + ident)
		for _, text := range texts {
			if !strings.Contains(page.words(), text) {
				t.Errorf("%s lacks %q: %s", ident, text, page.words())
			}
		}
		if strings.Contains(page.body, `<details class="act`) {
			t.Errorf("%s offers a rigger to act", ident)
		}
	}
}

// Who may do what with a sling, as the page offers it.
func TestSlingOffers(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.filled()
	all := []string{"hold", "release", "inspect", "retire", "lose", "find"}
	clients := map[string]*client{}
	for _, p := range []state.Person{k.attendant, k.inspector, k.keeper, k.rigger} {
		clients[p.Name] = k.signedIn(p)
	}
	for _, x := range []struct {
		who   state.Person
		ident string
		may   string
		first string // what comes next
	}{
		{k.attendant, "NS-0290", "hold lose", "Hand it over"},
		{k.attendant, "NS-0417", "hold lose", ""},
		{k.attendant, "NS-0342", "hold lose", "Take it back"},
		{k.attendant, "NS-0502", "find", "It turned up"},
		{k.inspector, "NS-0290", "hold inspect retire lose", ""},
		{k.inspector, "NS-0417", "hold release inspect retire lose", "Record a periodic inspection"},
		{k.inspector, "NS-0420", "hold release inspect retire lose", "Record a periodic inspection"},
		{k.inspector, "NS-0455", "hold inspect retire lose", "Record a periodic inspection"},
		{k.inspector, "NS-0311", "hold inspect retire lose", "Print its tag"},
		{k.inspector, "NS-0610", "hold inspect retire lose", "Correct its details"},
		{k.inspector, "NS-0342", "hold inspect retire lose", "Take it back"},
		{k.inspector, "NS-0502", "retire find", "It turned up"},
		{k.inspector, "NS-0077", "", ""},
		{k.keeper, "NS-0311", "hold lose", "Print its tag"},
		{k.rigger, "NS-0290", "", ""},
	} {
		a := clients[x.who.Name].get("/rack/" + x.ident)
		for _, act := range all {
			want := strings.Contains(" "+x.may+" ", " "+act+" ")
			if got := a.hasForm("/rack/" + x.ident + "/" + act); got != want {
				t.Errorf("%s, %s: %s offered %v, want %v", x.who.Name, x.ident, act, got, want)
			}
		}
		if first := a.first(); x.first != "" && first != x.first {
			t.Errorf("%s, %s: next is %q, want %q", x.who.Name, x.ident, first, x.first)
		}
	}
}

func TestHoldAndRelease(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, _ := k.hanging("NS-0417", nil)
	c, inspector := k.signedIn(k.attendant), k.signedIn(k.inspector)

	a := c.act("NS-0417", "hold", url.Values{"hold-reason": {"  "}})
	if a.status != http.StatusUnprocessableEntity || !a.has("Write why") || !a.has(`id="hold" name="act" open`) {
		t.Errorf("hold without a reason: %d", a.status)
	}
	a = c.act("NS-0417", "hold", url.Values{"hold-reason": {strings.Repeat("x", maxText+1)}})
	if a.status != http.StatusUnprocessableEntity || !a.has("there is room for 400") {
		t.Errorf("hold with too long a reason: %d", a.status)
	}
	k.stands(id, gate.StateIn)

	form := c.get("/rack/NS-0417").form(t, "/rack/NS-0417/hold")
	form.Set("hold-reason", "dropped\r\n from the  truck")
	for range 2 { // sent twice, as an impatient glove does
		if a := c.post("/rack/NS-0417/hold", form); a.status != http.StatusSeeOther || a.to != "/rack/NS-0417" {
			t.Fatalf("hold: %d %s", a.status, a.words())
		}
	}
	k.stands(id, gate.StateHeld)
	if n := k.recorded(id, event.KindHeld); n != 1 {
		t.Errorf("held %d times by one form", n)
	}
	if got := k.sling(id).Hold.Reason; got != "dropped from the truck" {
		t.Errorf("the reason reads %q", got)
	}
	if a := c.get("/rack/NS-0417"); !a.has("NS-0417 is held.") || !a.has("Dropped from the truck.") {
		t.Error("the page does not say that it is held")
	}
	form.Set("hold-reason", "something else")
	if a := c.post("/rack/NS-0417/hold", form); a.status != http.StatusConflict || !a.has("sent before with something else in it") {
		t.Errorf("one key for two requests: %d", a.status)
	}

	// The attendant cannot release; the inspector must say why.
	if a := c.post("/rack/NS-0417/release", form); a.status != http.StatusForbidden {
		t.Errorf("release by an attendant: %d", a.status)
	}
	if a := inspector.act("NS-0417", "release", url.Values{}); a.status != http.StatusUnprocessableEntity || !a.has("Write what you looked at") {
		t.Errorf("release without a reason: %d", a.status)
	}
	if a := inspector.act("NS-0417", "release", url.Values{"release-reason": {"looked at every link, no mark"}}); !a.has("NS-0417 is released.") {
		t.Errorf("release: %s", a.words())
	}
	k.stands(id, gate.StateIn)
}

// What is heard of a sling that is out holds it when it comes back.
func TestHoldWhileOut(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, _ := k.hanging("NS-0417", nil)
	k.goesOut(id, k.rigger, day(t, "2026-03-06"))
	c := k.signedIn(k.attendant)
	a := c.act("NS-0417", "hold", url.Values{"hold-reason": {"the maker calls this batch back"}})
	for _, text := range []string{"NS-0417 is held. Hang the slip on it, and lay it where held slings lie, as soon as it is here.", "Out", "It will be held when it comes back: the maker calls this batch back. I. Maro said so"} {
		if !strings.Contains(a.words(), text) {
			t.Errorf("the page lacks %q: %s", text, a.words())
		}
	}
	k.stands(id, gate.StateOut)
	if a := c.get("/outside"); !a.has("It is held as soon as it is back: the maker calls this batch back") {
		t.Errorf("outside: %s", a.words())
	}
	k.happens(id, k.attendant, event.Returned{From: k.rigger.ID, Said: event.Nothing})
	k.stands(id, gate.StateHeld)
}

// What is held is looked at before it is let go: the inspection comes first, and
// once it is recorded, the release.
func TestHeldIsLookedAtFirst(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, _ := k.hanging("NS-0417", nil)
	k.goesOut(id, k.rigger, day(t, "2026-03-06"))
	k.happens(id, k.attendant, event.Returned{From: k.rigger.ID, Said: event.Something, Note: "a jerk"})
	c := k.signedIn(k.inspector)
	if first := c.get("/rack/NS-0417").first(); first != "Record a periodic inspection" {
		t.Errorf("next is %q", first)
	}
	a := c.act("NS-0417", "inspect", url.Values{"date": {"2026-03-02"}, "outcome": {"fit"}, "rating-tag": {"legible"}, "service": {"normal"}})
	if first := a.first(); first != "Release it" || !a.has("is inspected") {
		t.Errorf("after the inspection next is %q: %s", first, a.words())
	}
	a = c.act("NS-0417", "release", url.Values{"release-reason": {"every link gauged"}})
	if first := a.first(); first != "Print its next tag" {
		t.Errorf("after the release next is %q", first)
	}
	k.happens(id, k.attendant, event.Held{Reason: "a new gouge"})
	if first := c.get("/rack/NS-0417").first(); first != "Record a periodic inspection" {
		t.Errorf("held again, next is %q", first)
	}
}

// A correction is told by what it changed itself: what an inspection changed
// before it is the inspection's.
func TestACorrectionTellsItsOwnChanges(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, _ := k.hanging("NS-0417", nil)
	k.happens(id, k.inspector, event.Inspected{Date: day(t, "2026-03-01"), Outcome: tagcode.Fit, Service: due.Severe, Months: 2,
		Due: day(t, "2026-05-01"), RatingTag: gate.TagLegible})
	d := k.sling(id).Details
	d.Maker = "as stamped: TESTMARK"
	k.happens(id, k.inspector, event.Corrected{Details: d, Reason: "maker misread"})
	k.happens(id, k.inspector, event.Held{Reason: "über die Kante gezogen"})
	page := k.signedIn(k.inspector).get("/rack/NS-0417")
	told := between(page.main(), "Details corrected: maker misread.", "Entry")
	if !strings.Contains(told, "Maker was none, is now as stamped: TESTMARK.") || strings.Count(told, "is now") != 1 {
		t.Errorf("the correction is told as %q", told)
	}
	for _, text := range []string{"Stamped: 12,300 lb for two legs, 60° from horizontal. Rating tag legible.", "Über die Kante gezogen."} {
		if !strings.Contains(page.words(), text) {
			t.Errorf("the page lacks %q: %s", text, page.words())
		}
	}
}

// A sling is not shown as ready while the counter would keep it for its tag.
func TestTagThatTheCounterKeeps(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.hanging("NS-0417", nil)
	other, _ := k.hanging("NS-0290", nil)
	policy := k.policy()
	policy.OldTagGoes = false
	k.setPolicy(policy)
	c := k.signedIn(k.inspector)
	if a := c.get("/rack/NS-0417"); !a.has(`class="plate stand may-go"`) {
		t.Fatalf("before: %s", a.words())
	}
	a := c.act("NS-0417", "inspect", url.Values{"date": {"2026-03-02"}, "outcome": {"fit"}, "rating-tag": {"legible"}, "service": {"normal"}})
	if !a.has(`class="plate stand look-closer"`) || !a.has("the counter keeps it: print the next one") || a.first() != "Print its next tag" {
		t.Errorf("after an inspection: %s", a.words())
	}
	policy.OldTagGoes = true
	k.setPolicy(policy)
	if a := c.get("/rack/NS-0417"); !a.has(`class="plate stand may-go"`) {
		t.Errorf("where a tag with old dates may go: %s", a.words())
	}
	d := k.sling(other).Details
	d.Sling.Reach = 2 * quantity.Metre
	k.happens(other, k.inspector, event.Corrected{Details: d, Reason: "measured again"})
	if a := c.get("/rack/NS-0290"); !a.has(`class="plate stand look-closer"`) || !a.has("Its tag says something else than the record") || a.first() != "Print its next tag" {
		t.Errorf("after a correction: %s", a.words())
	}
}

// first is the label of the black button: what comes next.
func (a answer) first() string {
	_, first, _ := strings.Cut(a.main(), " first\"")
	_, first, _ = strings.Cut(first, `<span class="label">`)
	first, _, _ = strings.Cut(first, "<")
	return first
}

// A form that is older than the facts is told what happened, and does nothing.
func TestStaleForm(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, _ := k.hanging("NS-0417", nil)
	c, inspector := k.signedIn(k.attendant), k.signedIn(k.inspector)
	form := inspector.get("/rack/NS-0417").form(t, "/rack/NS-0417/retire")
	form.Set("retire-reason", "worn")
	form.Set("retire-how", "cut")
	c.act("NS-0417", "hold", url.Values{"hold-reason": {"a gouge in leg 1"}})

	a := inspector.post("/rack/NS-0417/retire", form)
	if a.status != http.StatusConflict {
		t.Errorf("a stale form: %d", a.status)
	}
	page := a.words()
	for _, text := range []string{"Changed meanwhile", "Held: a gouge in leg 1.", "I. Maro; picked on a page"} {
		if !strings.Contains(page, text) {
			t.Errorf("the page lacks %q: %s", text, page)
		}
	}
	if strings.Contains(page[:strings.Index(page, "Its story")], "Registered:") {
		t.Error("the page tells what the form had seen as if it were new")
	}
	if !a.has(">worn</textarea>") {
		t.Error("what was typed is lost")
	}
	k.stands(id, gate.StateHeld)

	// Looked at again and sent again, it is done: the new page has seen the hold.
	again := a.form(t, "/rack/NS-0417/retire")
	again.Set("retire-reason", "worn")
	again.Set("retire-how", "cut")
	if a := inspector.follow(inspector.post("/rack/NS-0417/retire", again)); !a.has("NS-0417 is retired for good.") {
		t.Errorf("sent again: %s", a.words())
	}
	k.stands(id, gate.StateRetired)

	for name, heads := range map[string]string{"no heads": "", "heads of nothing": strings.Repeat("ab", 32)} {
		form := url.Values{"key": {newKey()}, "heads": {heads}, "retire-reason": {"worn"}, "retire-how": {"cut"}}
		if a := inspector.post("/rack/NS-0417/retire", form); a.status != http.StatusConflict {
			t.Errorf("%s: %d", name, a.status)
		}
	}
	bad := url.Values{"key": {newKey()}, "heads": {"zz"}, "retire-reason": {"worn"}, "retire-how": {"cut"}}
	if a := inspector.post("/rack/NS-0417/retire", bad); a.status != http.StatusUnprocessableEntity {
		t.Errorf("heads that are none: %d", a.status)
	}
	if a := inspector.post("/rack/NS-0417/retire", url.Values{}); a.status != http.StatusUnprocessableEntity || !a.has("without its number") {
		t.Errorf("without a key: %d", a.status)
	}
}

func TestLoseFindRetire(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, _ := k.hanging("NS-0417", nil)
	c, inspector := k.signedIn(k.attendant), k.signedIn(k.inspector)
	if a := c.act("NS-0417", "lose", url.Values{"lose-note": {"not on the truck"}}); !a.has("NS-0417 is reported lost.") {
		t.Errorf("lose: %s", a.words())
	}
	k.stands(id, gate.StateLost)
	if a := c.act("NS-0417", "find", url.Values{}); !a.has("turned up and is held") {
		t.Errorf("find: %s", a.words())
	}
	k.stands(id, gate.StateHeld)
	for _, form := range []url.Values{{"retire-reason": {"worn"}}, {"retire-how": {"cut"}}, {}} {
		if a := inspector.act("NS-0417", "retire", form); a.status != http.StatusUnprocessableEntity {
			t.Errorf("retire with %v: %d", form, a.status)
		}
	}
	if a := inspector.act("NS-0417", "retire", url.Values{"retire-reason": {"worn"}, "retire-how": {"every leg cut"}}); !a.has("is retired for good") {
		t.Errorf("retire: %s", a.words())
	}
	k.stands(id, gate.StateRetired)
}

func TestInspect(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, _ := k.hanging("NS-0417", nil) // inspected on 10 Nov 2025; today is 2 Mar 2026
	c := k.signedIn(k.inspector)
	whole := func(pairs ...string) url.Values {
		return with(url.Values{"date": {"2026-03-01"}, "outcome": {"fit"}, "rating-tag": {"legible"}, "service": {"normal"}, "months": {""}}, pairs...)
	}
	for _, x := range []struct {
		name string
		form url.Values
		says string
	}{
		{"empty", url.Values{}, "Choose the day of the inspection."},
		{"no outcome", whole("outcome", ""), "Choose what the inspection came to."},
		{"no rating tag", whole("rating-tag", ""), "Look at the maker’s rating tag and choose."},
		{"no service", whole("service", ""), "Choose how hard it is used."},
		{"no such day", whole("date", "2026-02-30"), "This is no day of the calendar."},
		{"tomorrow", whole("date", "2026-03-03"), "This day has not come yet; today is 2 Mar 2026."},
		{"before the last", whole("date", "2025-11-09"), "dated from the last one on record to today"},
		{"months of a fixed rule", whole("months", "6"), "the rule’s own interval holds; leave this empty"},
		{"no months for special service", whole("service", "special"), "a qualified person says the months, from 1 to 12"},
		{"too many months", whole("service", "severe", "months", "4"), "For severe service the months are from 1 to 3."},
		{"months in words", whole("service", "severe", "months", "two"), "Type whole months"},
		{"no such outcome", whole("outcome", "perfect"), "This is none of the answers."},
	} {
		a := c.act("NS-0417", "inspect", x.form)
		if a.status != http.StatusUnprocessableEntity || !strings.Contains(a.words(), x.says) {
			t.Errorf("%s: %d, want %q: %s", x.name, a.status, x.says, a.words())
		}
	}
	if n := k.recorded(id, event.KindInspected); n != 0 {
		t.Fatalf("%d inspections recorded by refused forms", n)
	}
	for form, says := range map[string]string{
		"date=2026-03-01&service=normal":           "Next due 1 Mar 2027; that day itself is still good.",
		"date=2026-01-31&service=severe":           "Next due 28 Feb 2026", // the last day of the month
		"date=2026-01-31&service=severe&months=2":  "Next due 31 Mar 2026",
		"date=2026-01-31&service=special&months=5": "Next due 30 Jun 2026",
		"date=2026-01-31&service=special":          "a qualified person says the months",
		"date=2026-01-31":                          "",
		"date=x&service=normal":                    "",
	} {
		v, err := url.ParseQuery(form)
		if err != nil {
			t.Fatal(err)
		}
		a := c.post("/rack/NS-0417/inspect/check", v)
		if a.status != http.StatusOK || !strings.Contains(a.body, says) || says == "" && strings.Contains(a.body, "Next due") {
			t.Errorf("%s: %d %s, want %q", form, a.status, a.body, says)
		}
	}
	if a := c.act("NS-0417", "inspect", whole("service", "severe", "months", "2", "inspect-note", "all links gauged")); !a.has("NS-0417 is inspected.") {
		t.Fatalf("inspect: %s", a.words())
	}
	d := k.sling(id).Details
	if d.Sling.Inspected != day(t, "2026-03-01") || d.Sling.Due != day(t, "2026-05-01") || d.Service != due.Severe || d.Months != 2 || d.Outcome != tagcode.Fit {
		t.Errorf("recorded %+v", d)
	}
	page := c.get("/rack/NS-0417").words()
	for _, text := range []string{"Inspected on 1 Mar 2026: fit, next due 1 May 2026.", "Severe service, every 2 months.", "all links gauged",
		"on the sling; the record has changed since it was printed"} {
		if !strings.Contains(page, text) {
			t.Errorf("the page lacks %q", text)
		}
	}
	// What did not pass is held, and is not released before it passes.
	if a := c.act("NS-0417", "inspect", whole("outcome", "hold")); !a.has("is inspected") {
		t.Fatalf("inspect: %s", a.words())
	}
	k.stands(id, gate.StateHeld)
	a := c.act("NS-0417", "release", url.Values{"release-reason": {"looks fine"}})
	if a.status != http.StatusConflict || !a.has("Its last periodic inspection did not pass it.") {
		t.Errorf("release of what did not pass: %d", a.status)
	}
	k.stands(id, gate.StateHeld)
}

// A story is told in parts, the newest first, and every part is whole.
func TestLongStory(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id := k.shelved("NS-0417", nil)
	for range 24 {
		k.happens(id, k.inspector, event.Held{Reason: "once more"}, event.Released{Reason: "nothing found"})
	}
	c := k.signedIn(k.rigger)
	told, path := 0, "/rack/NS-0417"
	for path != "" {
		a := c.get(path)
		told += strings.Count(a.main(), `<p class="when">`)
		path = ""
		if _, rest, ok := strings.Cut(a.main(), `<span class="label">Older</span>`); ok && rest != "" {
			before, _, _ := strings.Cut(a.main(), `"><span class="label">Older</span>`)
			path = before[strings.LastIndex(before, `href="`)+len(`href="`):]
			path, _, _ = strings.Cut(path, "#")
		}
	}
	if told != 49 {
		t.Errorf("%d events told, want 49", told)
	}
}
