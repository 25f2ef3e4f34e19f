package web

import (
	"net/http"
	"net/url"
	"reflect"
	"testing"

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
		"ask-every": {"20"}, "one-person": {"no"}}, pairs...)
}

// The policy keeps what the form does not ask.
func TestSetupKeeps(t *testing.T) {
	k := newKiosk(t)
	cranes := []event.Crane{{Name: "Bay 3", Hook: 90 * quantity.Millimetre}}
	p := k.policy()
	p.Words, p.Cranes = event.WordsUK, cranes
	k.setPolicy(p)
	c := k.signedIn(k.keeper)
	if a := c.send(c.get("/setup"), "/setup", setupForm()); !a.has("The policy is set.") {
		t.Fatalf("set: %d %s", a.status, a.words())
	}
	if got := k.policy(); got.MarginPct != 15 || got.Words != event.WordsUK || !reflect.DeepEqual(got.Cranes, cranes) {
		t.Errorf("the policy is %+v", got)
	}
}
