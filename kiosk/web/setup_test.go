package web

import (
	"net/http"
	"net/url"
	"reflect"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/quantity"
)

func TestSetup(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.keeper)
	page := c.get("/setup")
	head, err := k.store.Head(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	crib, err := k.store.Crib(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{"North Sluice crib", "pounds and inches", "29 CFR 1910.184", "America/Chicago", head.Hash.String(),
		crib.Key().String() + " seals tags now", "kiosk verify --register", "Cribgate v0.0.0-test"} {
		if !strings.Contains(page.words(), text) {
			t.Errorf("the page lacks %q: %s", text, page.words())
		}
	}
	whole := func(pairs ...string) url.Values {
		return with(url.Values{"margin": {"15"}, "max-months": {"6"}, "max-tilt": {"3.5"}, "strict-choke": {"yes"}, "old-tag": {"yes"},
			"ask-every": {"20"}, "one-person": {"no"}, "words": {"rules"}, "prefix": {"https://tags.test/"}}, pairs...)
	}
	for _, x := range []struct {
		name string
		form url.Values
		says string
	}{
		{"empty", url.Values{}, "Type a whole number from 0 to 1000."},
		{"months", whole("max-months", "13"), "Type a whole number from 1 to 12."},
		{"no months", whole("max-months", "0"), "Type a whole number from 1 to 12."},
		{"margin", whole("margin", "-1"), "Type a whole number from 0 to 1000."},
		{"tilt", whole("max-tilt", "45.001"), "Type degrees from 0 to 45."},
		{"tilt in words", whole("max-tilt", "flat"), "Type degrees"},
		{"ask", whole("ask-every", "1001"), "Type a whole number from 0 to 1000."},
		{"choke", whole("strict-choke", ""), "Choose."},
		{"words", whole("words", "fr"), "Choose."},
		{"a crane twice", whole("crane-1", "Bay 3", "crane-2", "bay 3"), "Two cranes have this name."},
		{"a hook of no crane", whole("hook-2", "4 in"), "Type what everyone here calls it"},
		{"a slip of the point", whole("crane-1", "Bay 3", "hook-1", "400"), "This is no width that a link or a hook can have"},
		{"prefix", whole("prefix", "HTTP://TAGS.TEST/"), "A prefix has the form HTTPS://HOST/"},
		{"long prefix", whole("prefix", "HTTPS://ONE-TOO-MANY.X/"[:22]+"YY/"), "at most 23 characters"},
	} {
		a := c.send(page, "/setup", x.form)
		if a.status != http.StatusUnprocessableEntity || !strings.Contains(a.words(), x.says) {
			t.Errorf("%s: %d, want %q: %s", x.name, a.status, x.says, a.words())
		}
	}
	stale := c.get("/setup")
	if a := c.send(page, "/setup", whole()); !a.has("The policy is set.") {
		t.Fatalf("set: %d %s", a.status, a.words())
	}
	want := event.Policy{StrictChoke: true, MaxMonths: 6, MaxTilt: 3500 * quantity.MilliDegree, MarginPct: 15, OldTagGoes: true, AskEvery: 20, Prefix: "HTTPS://TAGS.TEST/"}
	if got := k.policy(); !reflect.DeepEqual(got, want) {
		t.Errorf("policy %+v, want %+v", got, want)
	}
	a := c.send(stale, "/setup", whole("margin", "99"))
	if a.status != http.StatusConflict || !a.has("Changed meanwhile") || !a.has(`name="margin" type="text" autocomplete="off" value="15"`) {
		t.Errorf("a stale form: %d %s", a.status, a.words())
	}
	if got := k.policy(); !reflect.DeepEqual(got, want) {
		t.Errorf("a stale form was saved: %+v", got)
	}
	for who, p := range map[string]*client{"attendant": k.signedIn(k.attendant), "inspector": k.signedIn(k.inspector)} {
		if a := p.get("/setup"); a.status != http.StatusForbidden {
			t.Errorf("%s sees the set-up: %d", who, a.status)
		}
	}
}

// An interval that the site shortens counts at once, on the rack too.
func TestSetupShortensIntervals(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.hanging("NS-0417", nil) // inspected on 10 Nov 2025
	c := k.signedIn(k.keeper)
	if a := c.get("/rack"); !a.has("In, due 10 Nov 2026") {
		t.Errorf("before: %s", a.words())
	}
	c.send(c.get("/setup"), "/setup", url.Values{"margin": {"0"}, "max-months": {"3"}, "max-tilt": {"5"}, "strict-choke": {"no"}, "old-tag": {"no"},
		"ask-every": {"0"}, "one-person": {"no"}, "words": {"rules"}})
	if a := c.get("/rack"); !a.has("Stays here: overdue since 10 Feb 2026, 20 days") {
		t.Errorf("after: %s", a.words())
	}
}
