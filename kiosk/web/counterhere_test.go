package web

import (
	"maps"
	"net/http"
	"net/url"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
)

// A sling that lies here while the record has it out goes back and on the loan in
// one go, with the end of its plate, and is marked for the keeper.
func TestHereAfterAll(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	other := k.add("M. Other", event.Rigger)
	id, text := k.hanging("NS-0417", nil)
	k.goesOut(id, other, k.sling(id).Details.Sling.Due)
	c := k.signedIn(k.attendant)
	if page := c.scan(text); page.hasForm("/counter/here") {
		t.Errorf("nobody takes slings, and it is offered: %s", page.words())
	}
	c.takes(k.rigger)
	page := c.scan(text)
	here := func(page answer, typed string, other url.Values) answer {
		t.Helper()
		form := page.form(t, "/counter/return")
		maps.Copy(form, page.allWell(t, "/counter/return"))
		form.Set("typed", typed)
		maps.Copy(form, other)
		return c.follow(c.post("/counter/here", form))
	}
	if got := here(page, "417", url.Values{"is-legs": nil}); got.status != http.StatusUnprocessableEntity || k.recorded(id, event.KindReturned) != 0 || !got.has(`value="417"`) {
		t.Fatalf("taken back unseen: %d %s", got.status, got.words())
	}
	for _, typed := range []string{"", "0418"} {
		if page = here(page, typed, nil); k.recorded(id, event.KindReturned) != 0 {
			t.Fatalf("taken back with %q typed: %s", typed, page.words())
		}
	}
	page = here(page, "417", nil)
	if s := k.sling(id); s.Details.Sling.State != gate.StateIn || s.Doubled.IsZero() || !page.has("marked for the keeper") {
		t.Fatalf("%s, doubled %q: %s", s.Details.Sling.State, s.Doubled, page.words())
	}
	if page.hasForm("/counter/return") {
		t.Errorf("it is asked about as if it were out: %s", page.words())
	}
	doubted, text := k.hanging("NS-0418", nil)
	k.goesOut(doubted, other, k.sling(id).Details.Sling.Due)
	page = here(c.scan(text), "418", url.Values{"is-legs": {"doubt"}})
	if s := k.sling(doubted); s.Details.Sling.State != gate.StateHeld || s.Doubled.IsZero() || page.verdict() != StaysHere {
		t.Errorf("in doubt: %s, doubled %q: %s", s.Details.Sling.State, s.Doubled, page.words())
	}
}

// One that is recalled says why when it comes back, and has no way out again in one go.
func TestRecalledComesBack(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.goneOut("NS-0101")
	k.happens(id, k.attendant, event.Recalled{Reason: "its twin is cracked"})
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	page := c.scan(text)
	if !page.has("Recalled, wanted back at once: its twin is cracked.") || page.hasForm("/counter/here") || !page.hasForm("/counter/return") {
		t.Errorf("scanned: %s", page.main())
	}
}
