package web

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
)

// TestReturns: anything but "nothing happened" holds the sling, with the words
// for the inspector.
func TestReturns(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(aLift())
	for i, said := range []struct {
		name   string
		answer url.Values
		held   bool
		reason string
	}{
		{"nothing", url.Values{"said": {"nothing"}}, false, ""},
		{"nobody can say", url.Values{"said": {"not-known"}}, true, "nobody could say"},
		{"shock", url.Values{"said": {"something"}, "what": {"shock", "heat"}, "note": {"dropped  at bay 4"}}, true, "shock, heat, dropped at bay 4"},
		{"in words only", url.Values{"said": {"something"}, "note": {"a hiss"}}, true, "a hiss"},
	} {
		id, text := k.hanging("NS-041"+strconv.Itoa(i), nil)
		c.send(c.scan(text), "/counter/issue", nil)
		page := c.scan(text)
		if got := c.send(page, "/counter/return", url.Values{"said": {"maybe"}}); k.sling(id).Details.Sling.State != gate.StateOut || !got.has("Say first what happened") {
			t.Errorf("%s: an unknown answer was taken: %s", said.name, got.main())
		}
		if said.answer.Get("said") == "something" {
			asked := c.send(page, "/counter/return", url.Values{"said": {"something"}})
			if k.sling(id).Details.Sling.State != gate.StateOut || !asked.has("it jerked, dropped or slipped") {
				t.Fatalf("%s: %s", said.name, asked.main())
			}
			again := c.send(asked, "/counter/return", url.Values{"said": {"something"}})
			if k.sling(id).Details.Sling.State != gate.StateOut || !again.has("Choose at least one, or write it down.") {
				t.Errorf("%s: nothing chosen: %s", said.name, again.main())
			}
			page = asked
		}
		page = c.send(page, "/counter/return", said.answer)
		s := k.sling(id)
		if (s.Details.Sling.State == gate.StateHeld) != said.held || !strings.Contains(s.Hold.Reason, said.reason) {
			t.Errorf("%s: %v, %q", said.name, s.Details.Sling.State, s.Hold.Reason)
		}
		if said.held && (page.verdict() != StaysHere || !page.has("Who may release it: O. Vance") || !page.has("Lay it apart from the rack")) {
			t.Errorf("%s: %q %s", said.name, page.verdict(), page.main())
		}
	}
}

// TestHoldAtTheCounter: whoever works here holds a sling with a reason, on the
// facts that the page showed.
func TestHoldAtTheCounter(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	c := k.signedIn(k.attendant)
	page := c.scan(text)
	if got := c.send(page, "/counter/hold", url.Values{"reason": {"  "}}); got.status != http.StatusUnprocessableEntity || !got.has("Choose what is wrong, or write it") {
		t.Errorf("without a reason: %d %s", got.status, got.main())
	}
	old := page
	page = c.send(page, "/counter/hold", url.Values{"what": {"hook or latch", "no such fault"}, "reason": {"leg 2"}})
	if s := k.sling(id); s.Details.Sling.State != gate.StateHeld || s.Hold.Reason != "hook or latch, leg 2" || page.verdict() != StaysHere || !page.has("Hook or latch, leg 2.") {
		t.Errorf("held: %v %q %s", s.Details.Sling.State, s.Hold.Reason, page.plateText())
	}
	if got := c.send(old, "/counter/hold", url.Values{"reason": {"again"}}); k.recorded(id, event.KindHeld) != 1 || got.status >= 500 {
		t.Errorf("from an old page: %d, %v", got.status, k.kinds(id))
	}
}

// TestReturnWithAnOldTag: what came back must come in, whatever tag it wears.
func TestReturnWithAnOldTag(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(aLift())
	c.send(c.scan(text), "/counter/issue", nil)
	newer := k.printed(id)
	k.confirmed(id, newer)
	page := c.scan(text)
	if page.verdict() != LookCloser || !page.has("Back from T. Brandt") {
		t.Fatalf("with the dead tag: %q %s", page.verdict(), page.plateText())
	}
	c.send(page, "/counter/return", url.Values{"said": {"nothing"}})
	if k.sling(id).Details.Sling.State != gate.StateIn {
		t.Error("it did not come in")
	}
	if page := c.scan(text); page.verdict() != StaysHere || !page.has("this one is dead") {
		t.Errorf("out again with the dead tag: %q %s", page.verdict(), page.plateText())
	}
}
