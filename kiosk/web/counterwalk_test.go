package web

import (
	"net/http"
	"net/url"
	"testing"

	"cribgate/core/event"
	"cribgate/core/rating"
)

// TestWalkToThePeg: a refusal leads to the peg of one that would do, pressing it
// marks it as being fetched, and scanning it ends that.
func TestWalkToThePeg(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	_, weak := k.hanging("NS-0417", nil)
	strong, strongText := k.hanging("NS-0290", func(d *event.Details) { d.Sling.Plate, d.Place = plateOf(t, "1/2", 2, rating.H60, 20_800), "B2" })
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(with(aLift(), "load", "15,000"))
	page := c.scan(weak)
	// US OSHA, Guidance on Safe Sling Use, table 1: two legs of 1/2 in, 60°: 20,800 lb.
	if page.verdict() != StaysHere || !page.has(`<span class="sub">Peg</span> B2`) || !page.has("Two legs, may carry 20,800 lb here") || !page.has("Take NS-0290 from B2 instead") {
		t.Fatalf("a refusal: %s", page.main())
	}
	if page.has("Fetch NS-0290") || page.has("being fetched") {
		t.Error("fetched before anybody said so")
	}
	page = c.send(page, "/counter/fetch", nil)
	if !page.has("It is being fetched.") || !page.has("Fetch NS-0290") || page.hasForm("/counter/fetch") {
		t.Errorf("after the press: %s", page.main())
	}
	if got := k.kinds(strong); got[len(got)-1] != event.KindTagConfirmed {
		t.Errorf("being fetched was recorded: %v", got)
	}
	if page = c.scan(strongText); page.verdict() != MayGo || page.has("Fetch NS-0290") {
		t.Errorf("scanned: %q %s", page.verdict(), page.main())
	}
	page = c.scan(weak)
	for name, sling := range map[string]string{"nothing": "", "nonsense": "x", "nobody's": event.SlingID{Key: strong.Key, Number: strong.Number ^ 1}.String()} {
		form := page.form(t, "/counter/fetch")
		form.Set("sling", sling)
		if a := c.post("/counter/fetch", form); a.status < 400 || a.status >= http.StatusInternalServerError {
			t.Errorf("%s: %d", name, a.status)
		}
	}
	if a := k.signedIn(k.inspector).post("/counter/fetch", url.Values{"key": {page.key(t)}, "sling": {strong.String()}}); a.status != http.StatusForbidden {
		t.Errorf("an inspector fetches: %d", a.status)
	}
}
