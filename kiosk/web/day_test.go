package web

import (
	"errors"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/kiosk/morning"
)

// plans plans a lift for a rigger through the pages, today where days is 0, and gives it.
func (c *client) plans(lift url.Values, rigger state.Person, what string, days int) state.Planned {
	c.k.t.Helper()
	page := c.post("/day/plan", with(lift, "key", newKey(), "sure", strings.ReplaceAll(lift.Get("load"), ",", "")))
	if page.status != http.StatusOK || !page.hasForm("/day/planned") {
		c.k.t.Fatalf("%d: %s", page.status, page.main())
	}
	day := c.k.today().AddDays(days)
	done := c.send(page, "/day/planned", url.Values{"day": {"other"}, "other": {day.String()}, "back": {"same"}, "what": {what}, "rigger": {rigger.Name}})
	if !done.has("The lift is planned.") {
		c.k.t.Fatalf("not planned: %s", done.main())
	}
	list, err := c.k.store.PlannedOn(c.k.t.Context(), day, day)
	if err != nil || len(list) == 0 {
		c.k.t.Fatalf("%v, %v", list, err)
	}
	return list[len(list)-1]
}

// proposes has slings proposed for today and sets them all aside.
func (c *client) proposes() answer {
	c.k.t.Helper()
	at := dayAt(c.k.today())
	page := c.send(c.get(at), at+"/propose", nil)
	return c.send(page, at+"/aside", nil)
}

// TestADay: a lift is planned on the lift page, slings are proposed and set aside, the
// slip names the lift at the counter, its rigger is offered them and takes them.
func TestADay(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, tag := k.hanging("NS-0417", nil)
	other, _ := k.hanging("NS-0418", func(d *event.Details) { d.Sling.Due = quantity.Date{} })
	at := k.signedIn(k.attendant)
	lift := at.plans(aLift(), k.rigger, "pump, bay 3", 0)
	too := at.plans(with(aLift(), "load", "40,000"), k.rigger, "press", 0)
	page := at.get("/day")
	for _, want := range []string{"pump, bay 3", "T. Brandt", "Nothing is set aside yet", "Propose slings for 2 lifts"} {
		if !page.has(want) {
			t.Errorf("without %q: %s", want, page.main())
		}
	}
	day := dayAt(k.today())
	page = at.send(page, day+"/propose", nil)
	for _, want := range []string{"1 lift of 2 can be served", "Set 1 sling aside", "may carry 12,300", "It cannot be served.", "No sling that is here would do.", "NS-0417 nearly would: Too light", "What would serve it:", "Grade 80"} {
		if !page.has(want) && !strings.Contains(page.told(), want) {
			t.Errorf("proposed without %q: %s", want, page.told())
		}
	}
	if before := k.position(); !page.hasForm(day+"/aside") || k.recorded(id, event.KindSetAside)+k.recorded(other, event.KindSetAside) != 0 {
		t.Fatalf("a proposal was recorded, at %d", before)
	}
	page = at.send(page, day+"/aside", nil)
	if !page.has("1 sling set aside, up to the end of the day.") || !page.has("1 sling set aside") {
		t.Errorf("%s", page.main())
	}
	kept, err := k.store.SetAsideFor(t.Context(), lift.Day, lift.Lift)
	if err != nil || len(kept) != 1 {
		t.Fatalf("%d slings are kept, %v", len(kept), err)
	}
	for _, path := range []string{"/rack", "/rack/NS-0417"} {
		if page := at.get(path); !strings.Contains(strings.ToLower(page.told()), "set aside for t. brandt, 2 mar 2026") {
			t.Errorf("%s does not say that it is set aside: %s", path, page.told())
		}
	}
	slip := at.get("/day/lift/" + lift.Lift.String() + "/slip")
	if slip.status != http.StatusOK || !slip.has("Set aside") || !slip.has(kept[0].Details.Ident) || !slip.has("The symbol of the slip") {
		t.Errorf("%d: %s", slip.status, slip.main())
	}
	if a := at.get("/day/lift/" + too.Lift.String() + "/slip"); a.status != http.StatusNotFound {
		t.Errorf("a slip for nothing: %d", a.status)
	}
	text, err := k.server.slipText(lift, kept[0])
	if err != nil {
		t.Fatal(err)
	}
	page = at.scan(text)
	if !page.has("The slip is of a lift of T. Brandt") || !page.hasForm("/counter/planned") || !page.has("pump, bay 3") || !page.has(kept[0].Details.Ident) {
		t.Fatalf("the slip was scanned: %s", page.main())
	}
	if page = at.send(page, "/counter/planned", url.Values{"lift": {lift.Lift.String()}}); !page.has("The lift, as it will hang") {
		t.Errorf("%s", page.main())
	}
	if page := at.get("/counter/lift"); !page.has(`value="12000"`) || !page.has(`name="degrees" type="text" autocomplete="off" value="60"`) {
		t.Errorf("the lift page does not show the lift that was planned: %s", page.main())
	}
	if kept[0].ID != id {
		t.Fatalf("%s is kept", kept[0].Details.Ident)
	}
	if page = at.scan(tag); page.verdict() != MayGo {
		t.Fatalf("%s: %s", page.verdict(), page.plateText())
	}
	at.send(page, "/counter/issue", nil)
	if s := k.sling(id); s.Loan.Rigger != k.rigger.ID || s.Loan.Marked != "" || !s.Aside.Lift.IsZero() {
		t.Errorf("%+v", s.Loan)
	}
	if p, err := k.store.Planned(t.Context(), lift.Lift); err != nil || p.Open() || len(p.Loans) != 1 {
		t.Errorf("%+v, %v", p, err)
	}
	if page = at.get("/day"); !page.has("Slings went out for it") {
		t.Errorf("%s", page.main())
	}
	for ident, want := range map[string]string{"ns-0418": "NS-0418 was not: Its thorough inspection", "NS-0999": "Nothing was set aside", "": "Nothing was set aside"} {
		if page := at.send(at.get("/day"), "/day/lift/"+too.Lift.String()+"/keep", url.Values{"sling": {ident}}); !page.has(want) && !page.has("NS-0418 was not: ") {
			t.Errorf("%q is to be set aside: without %q: %s", ident, want, page.main())
		}
	}
	page = at.send(at.get("/day"), "/day/lift/"+too.Lift.String()+"/give-up", nil)
	if !page.has("Given up") || page.hasForm("/day/lift/"+too.Lift.String()+"/give-up") {
		t.Errorf("%s", page.main())
	}
	if a := at.get(day + "/sheet.pdf"); a.status != http.StatusOK || !strings.HasPrefix(a.body, "%PDF-") {
		t.Errorf("the sheet: %d", a.status)
	}
	if pdf, on, err := k.server.DaySheet(t.Context()); err != nil || on != k.today() || !strings.HasPrefix(string(pdf), "%PDF-") {
		t.Errorf("the sheet that is printed by itself: %d bytes of %s, %v", len(pdf), on, err)
	}
}

// TestAnothersSlingAsks: a sling that is set aside for somebody else asks before it
// goes, and stays unless somebody says that it goes all the same.
func TestAnothersSlingAsks(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, tag := k.hanging("NS-0417", nil)
	at := k.signedIn(k.attendant)
	at.plans(aLift(), k.rigger, "pump", 0)
	at.proposes()
	second := k.add("O. Ther", event.Rigger)
	at.takes(second)
	at.lifts(aLift())
	page := at.scan(tag)
	if page.verdict() != LookCloser || !page.has("It is set aside for T. Brandt") || page.hasForm("/counter/issue") {
		t.Fatalf("%s: %s", page.verdict(), page.main())
	}
	if n := k.recorded(id, event.KindRefused); n != 0 {
		t.Errorf("%d refusals are recorded of what was only asked", n)
	}
	if page := at.send(page, "/counter/answer", url.Values{"aside": {"no"}}); !page.has("It stays for whom it is set aside.") || len(k.sling(id).Aside.Lift) == 0 {
		t.Errorf("%s", page.main())
	}
	page = at.send(at.scan(tag), "/counter/answer", url.Values{"aside": {strings.Repeat("1", 32)}})
	if page.verdict() != LookCloser {
		t.Errorf("answered about another lift: %s", page.plateText())
	}
	page = at.send(page, "/counter/answer", url.Values{"aside": {k.sling(id).Aside.Lift.String()}})
	if page.verdict() != MayGo {
		t.Fatalf("answered: %s", page.plateText())
	}
	at.send(page, "/counter/issue", nil)
	if s := k.sling(id); s.Loan.Rigger != second.ID || !strings.Contains(s.Loan.Marked, "set aside") {
		t.Errorf("%+v", s.Loan)
	}
	keeper := k.signedIn(k.keeper)
	if page := keeper.get("/marked"); !page.has("It was set aside for somebody else") {
		t.Errorf("the keeper sees %s", page.main())
	}
	k.passes(24 * time.Hour)
	if list, err := k.store.SetAsideFrom(t.Context(), k.today()); err != nil || len(list) != 0 {
		t.Errorf("%d are set aside a day later, %v", len(list), err)
	}
}

// TestPlanBadly: at each field what is missing or cannot be, and nothing is planned.
func TestPlanBadly(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	at := k.signedIn(k.attendant)
	if a := at.post("/day/plan", with(aLift(), "load", "", "key", newKey())); a.status != http.StatusUnprocessableEntity || !a.has("lift") {
		t.Errorf("a lift without a load: %d", a.status)
	}
	if a := at.post("/day/plan", with(aLift(), "load", "12", "key", newKey())); a.status != http.StatusUnprocessableEntity || !strings.Contains(a.body, `value="24000" formaction="/day/plan"`) {
		t.Errorf("tons for pounds: %d %s", a.status, a.main())
	}
	page := at.post("/day/plan", with(aLift(), "key", newKey()))
	for _, c := range []struct {
		pairs []string
		want  string
	}{
		{nil, "Say on which day the lift is."},
		{[]string{"day", "other", "other", "soon"}, "There is no such day"},
		{[]string{"day", "2026-03-01"}, "A lift is planned for today or up to"},
		{[]string{"day", "2026-03-03", "back", "other", "later", "2026-03-02"}, "A lift is planned for today or up to"},
		{[]string{"day", "2026-03-03", "back", ""}, "Say when the slings are needed back."},
		{[]string{"rigger", ""}, "Say for whom it is."},
		{[]string{"rigger", "N. Obody"}, "Nobody here has just this name."},
		{[]string{"rigger", k.keeper.Name, "day", "2026-03-03"}, "This person may not draw slings on that day"},
		{[]string{"what", strings.Repeat("x", maxWhat+1)}, "there is room for 80"},
	} {
		a := at.send(page, "/day/planned", with(url.Values{"day": {""}, "back": {"same"}, "what": {"pump"}, "rigger": {k.rigger.Name}}, c.pairs...))
		if a.status != http.StatusUnprocessableEntity || !a.has(c.want) {
			t.Errorf("%v: %d, without %q", c.pairs, a.status, c.want)
		}
	}
	if a := at.post("/day/planned", url.Values{"key": {newKey()}, "stated": {"{}"}}); a.status != http.StatusUnprocessableEntity {
		t.Errorf("no lift: %d", a.status)
	}
	for _, path := range []string{"/day/yesterday", "/day/2026-02-30", "/day/lift/x/slip"} {
		if a := at.get(path); a.status != http.StatusNotFound {
			t.Errorf("%s: %d", path, a.status)
		}
	}
	list, err := k.store.PlannedOn(t.Context(), k.today(), k.today().AddDays(90))
	if err != nil || len(list) != 0 {
		t.Errorf("%d lifts are planned, %v", len(list), err)
	}
	rigger := k.signedIn(k.rigger)
	mine := rigger.plans(aLift(), k.rigger, "mine", 1)
	if mine.Rigger != k.rigger.ID || mine.By != k.rigger.ID {
		t.Errorf("%+v", mine)
	}
	if page := rigger.get(dayAt(mine.Day)); page.hasForm(dayAt(mine.Day)+"/propose") || !page.hasForm("/day/lift/"+mine.Lift.String()+"/give-up") {
		t.Errorf("what a rigger sees: %s", page.main())
	}
	if a := rigger.post(dayAt(mine.Day)+"/propose", url.Values{"key": {newKey()}}); a.status != http.StatusForbidden {
		t.Errorf("a rigger proposes: %d", a.status)
	}
}

// TestDaySheetIsMissed: what could not be printed by itself is said on every page of those
// who work here, until it is.
func TestDaySheetIsMissed(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	at := k.signedIn(k.attendant)
	if page := at.get("/rack"); page.has("day sheet") {
		t.Error("a sheet that nobody prints is missed")
	}
	var state morning.State
	k.server.Printed = func() morning.State { return state }
	for _, c := range []struct {
		state      morning.State
		said       string
		everywhere bool
	}{
		{morning.State{}, "is printed by itself when its time has come", false},
		{morning.State{Printed: k.today().AddDays(-1)}, "is printed by itself when its time has come", false},
		{morning.State{Failed: errors.New("no media")}, "could not be printed yet", true},
		{morning.State{Printed: k.today(), Unsure: true}, "has not said whether it was printed", true},
		{morning.State{Printed: k.today()}, "was printed by itself", false},
	} {
		state = c.state
		if page := at.get("/day"); !page.has(c.said) {
			t.Errorf("%+v: without %q", c.state, c.said)
		}
		if page := at.get("/rack"); page.has(c.said) != c.everywhere {
			t.Errorf("%+v: said everywhere: %t", c.state, !c.everywhere)
		}
	}
}
