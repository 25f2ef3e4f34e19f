package web

import (
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
	for _, typed := range []string{"", "0418"} {
		if page = c.send(page, "/counter/here", url.Values{"typed": {typed}}); k.recorded(id, event.KindReturned) != 0 {
			t.Fatalf("taken back with %q typed: %s", typed, page.words())
		}
	}
	page = c.send(page, "/counter/here", url.Values{"typed": {"417"}})
	if s := k.sling(id); s.Details.Sling.State != gate.StateIn || s.Doubled.IsZero() || !page.has("marked for the keeper") {
		t.Fatalf("%s, doubled %q: %s", s.Details.Sling.State, s.Doubled, page.words())
	}
	if page.has("What happened out there?") {
		t.Errorf("it is asked about as if it were out: %s", page.words())
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
