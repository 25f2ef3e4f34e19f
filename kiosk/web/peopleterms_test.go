package web

import (
	"net/http"
	"net/url"
	"reflect"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/quantity"
)

// terms gives a person other terms.
func (k *kiosk) terms(id event.PersonID, terms event.Terms) {
	k.t.Helper()
	p := k.person(id)
	to := event.PersonChanged{Name: p.Name, Roles: p.Roles, Here: true, Terms: terms}
	if err := k.server.Counter.ChangePerson(k.t.Context(), k.byKeeper(), p.ID, p.Heads, to); err != nil {
		k.t.Fatal(err)
	}
}

// Whoever changes one thing changes nothing else: roles leave the terms alone, and
// so do taking off and taking on.
func TestRolesKeepTerms(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	want := event.Terms{ShiftGear: true, Learner: true, Until: quantity.DateOf(testNow()).AddDays(3)}
	k.terms(k.attendant.ID, want)
	c := k.signedIn(k.keeper)
	at := "/people/" + k.attendant.ID.String()
	for _, x := range []struct {
		path string
		form url.Values
	}{
		{at + "/roles", url.Values{"role": {"attendant", "inspector"}}},
		{at + "/off", url.Values{}},
		{at + "/on", url.Values{}},
	} {
		x.form.Set("key", newKey())
		if a := c.post(x.path, x.form); a.status != http.StatusSeeOther {
			t.Fatalf("%s: %d %s", x.path, a.status, a.words())
		}
		if got := k.person(k.attendant.ID).Terms; got != want {
			t.Errorf("after %s the terms are %+v, want %+v", x.path, got, want)
		}
	}
}

// setupForm is a whole set-up form.
func setupForm(pairs ...string) url.Values {
	return with(url.Values{"margin": {"15"}, "max-months": {"6"}, "max-tilt": {"3.5"}, "strict-choke": {"yes"}, "old-tag": {"yes"},
		"ask-every": {"20"}, "one-person": {"no"}, "words": {"uk"}}, pairs...)
}

// Whoever sets the policy sees words and cranes, keeps those that are left alone, and
// thicknesses of hooks go to the safe side. A form from before they were asked sets
// nothing.
func TestSetupCranes(t *testing.T) {
	t.Parallel()
	k := newKiosk(t) // in inches
	c := k.signedIn(k.keeper)
	if a := c.send(c.get("/setup"), "/setup", setupForm("crane-1", " Bay  3 ", "hook-1", "3 33/64", "crane-3", "Yard")); !a.has("The policy is set.") {
		t.Fatalf("set: %d %s", a.status, a.words())
	}
	want := []event.Crane{{Name: "Bay 3", Hook: quantity.SixtyFourthsUp(3*64 + 33)}, {Name: "Yard"}}
	if got := k.policy(); got.Words != event.WordsUK || !reflect.DeepEqual(got.Cranes, want) {
		t.Errorf("the policy is %+v", got)
	}
	page := c.get("/setup")
	sent := setupForm("margin", "20")
	for name, value := range map[string]string{"crane-1": "Bay 3", "hook-1": "3 33/64 in", "crane-2": "Yard", "hook-2": ""} {
		if !page.has(`name="` + name + `" type="text" autocomplete="off" value="` + value + `"`) {
			t.Errorf("%s is not filled with %q: %s", name, value, page.body)
		}
		sent.Set(name, value)
	}
	if a := c.send(page, "/setup", sent); !a.has("The policy is set.") {
		t.Fatalf("set again: %d %s", a.status, a.words())
	}
	if got := k.policy(); got.MarginPct != 20 || got.Words != event.WordsUK || !reflect.DeepEqual(got.Cranes, want) {
		t.Errorf("the policy is now %+v", got)
	}
	sent = setupForm("margin", "30")
	sent.Del("words")
	if a := c.send(c.get("/setup"), "/setup", sent); a.status != http.StatusUnprocessableEntity || k.policy().MarginPct != 20 {
		t.Errorf("a form without words: %d", a.status)
	}
}

// passes lets time go by, for the machine too.
func (k *kiosk) passes(d time.Duration) { k.passed.Add(int64(d)) }

// today is the day in the test's crib.
func (k *kiosk) today() quantity.Date {
	k.t.Helper()
	d, err := k.store.Today(k.t.Context())
	if err != nil {
		k.t.Fatal(err)
	}
	return d
}

func TestTerms(t *testing.T) {
	t.Parallel()
	k := newKiosk(t) // on 2 March 2026
	c := k.signedIn(k.keeper)
	at := "/people/" + k.attendant.ID.String()
	set := func(form url.Values) answer {
		form.Set("key", newKey())
		return c.post(at+"/terms", form)
	}
	a := set(url.Values{"holds": {"learner", "shift-gear"}, "until": {"2026-03-04"}})
	last, err := quantity.ParseDate("2026-03-04")
	if err != nil {
		t.Fatal(err)
	}
	if want := (event.Terms{ShiftGear: true, Learner: true, Until: last}); a.to != at || k.person(k.attendant.ID).Terms != want {
		t.Fatalf("set: %d to %q, %+v", a.status, a.to, k.person(k.attendant.ID).Terms)
	}
	if a := c.get("/people"); !a.has("Draws gear for a shift; learner: hands over with a countersign; last day 4 Mar 2026") {
		t.Errorf("the people page: %s", a.words())
	}
	for _, x := range []struct {
		form url.Values
		says string
	}{
		{url.Values{"until": {"2026-03-01"}}, "This day is over; today is 2 Mar 2026."},
		{url.Values{"until": {"2026-02-30"}}, "This is no day of the calendar."},
		{url.Values{"holds": {"king"}}, "nothing that can hold"},
	} {
		if a := set(x.form); a.status != http.StatusUnprocessableEntity || !a.has(x.says) {
			t.Errorf("%v: %d %s", x.form, a.status, a.words())
		}
	}
	if set(url.Values{}); k.person(k.attendant.ID).Terms != (event.Terms{}) {
		t.Errorf("taken back: %+v", k.person(k.attendant.ID).Terms)
	}
	if a := c.post("/people/"+k.keeper.ID.String()+"/terms", url.Values{"key": {newKey()}, "until": {"2026-03-04"}}); a.status != http.StatusUnprocessableEntity || !a.has("at least one keeper") {
		t.Errorf("the only keeper gets a last day: %d %s", a.status, a.words())
	}
	if a := k.signedIn(k.inspector).get(at); a.status != http.StatusForbidden {
		t.Errorf("an inspector sees what holds for others: %d", a.status)
	}
}

// Whose last day is over is listed apart and may nothing: the session ends and says
// so, signing in says so to whoever knows the PIN, and the keeper takes them on again.
func TestLastDayIsOver(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.terms(k.attendant.ID, event.Terms{Until: k.today()})
	worker := k.signedIn(k.attendant)
	if a := worker.get("/counter"); a.status != http.StatusOK {
		t.Fatalf("on the last day: %d", a.status)
	}
	k.passes(24 * time.Hour)
	a := worker.get("/counter")
	if a.to != "/sign-in" || !worker.get("/sign-in").has("Your last day here was 2 Mar 2026.") {
		t.Errorf("the day after: %d to %q", a.status, a.to)
	}
	in := url.Values{"name": {"I. Maro"}, "pin": {testPIN}}
	if a := worker.post("/sign-in", in); a.status != http.StatusForbidden || !a.has("Your last day here was 2 Mar 2026. The keeper can take you on again.") {
		t.Errorf("signing in: %d %s", a.status, a.words())
	}
	if a := worker.post("/sign-in", url.Values{"name": {"I. Maro"}, "pin": {"111222"}}); a.status != http.StatusUnprocessableEntity || a.has("last day") {
		t.Errorf("with a wrong PIN: %d %s", a.status, a.words())
	}
	c := k.signedIn(k.keeper)
	page := c.get("/people")
	at := "/people/" + k.attendant.ID.String()
	if !page.has("Whose last day is over") || !page.has("last day was 2 Mar 2026") || !page.hasForm(at+"/on") || page.hasForm(at+"/pin") {
		t.Errorf("the people page: %s", page.words())
	}
	if a := c.post(at+"/on", url.Values{"key": {newKey()}}); a.status != http.StatusUnprocessableEntity || !a.has("The last day of I. Maro was 2 Mar 2026.") {
		t.Errorf("on again without a day: %d %s", a.status, a.words())
	}
	if a := c.post(at+"/on", url.Values{"key": {newKey()}, "until": {k.today().String()}}); a.to != at {
		t.Errorf("on again: %d %s", a.status, a.words())
	}
	if a := worker.post("/sign-in", in); a.status != http.StatusSeeOther {
		t.Errorf("signing in again: %d %s", a.status, a.words())
	}
}
