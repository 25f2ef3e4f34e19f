package web

import (
	"maps"
	"net/http"
	"net/url"
	"strconv"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
)

// TestReturns: each question wants its own answer; whatever is wrong or in doubt holds
// the sling, with the words for the inspector, and nothing is recorded before all are
// answered.
func TestReturns(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(aLift())
	for i, row := range []struct {
		name    string
		answers url.Values // beside those that are well
		owes    bool
		reason  string // of the hold; empty: it is in
	}{
		{"all well", url.Values{}, false, ""},
		{"a look in doubt", url.Values{"is-legs": {"doubt"}}, false, "came back: legs (in doubt)"},
		{"a look wrong", url.Values{"is-hook-latch": {"wrong"}, "note": {"leg  2"}}, false, "came back: hook latch (wrong): leg 2"},
		{"its rigger cannot say", url.Values{"is-mishap": {"doubt"}}, false, "came back: mishap (in doubt)"},
		{"shock and heat", url.Values{"is-mishap": {"wrong"}, "what": {"shock", "heat"}, "note": {"dropped  at bay 4"}}, false, "came back: mishap (wrong), shock (wrong), heat (wrong): dropped at bay 4"},
		{"a ticked trouble counts", url.Values{"what": {"arc"}}, false, "came back: mishap (wrong), arc (wrong)"},
		{"in words only", url.Values{"is-mishap": {"wrong"}, "note": {"a hiss"}}, false, "came back: mishap (wrong): a hiss"},
		{"an edge that was not stated", url.Values{"is-edge-or-choke-not-stated": {"wrong"}}, false, "came back: edge or choke not stated (wrong)"},
		{"its rigger is not there", url.Values{"is-mishap": nil, "is-edge-or-choke-not-stated": nil, "later": {"yes"}}, true, ""},
	} {
		id, text := k.hanging("NS-041"+strconv.Itoa(i), nil)
		c.send(c.scan(text), "/counter/issue", nil)
		page := c.scan(text)
		well := page.allWell(t, "/counter/return")
		for name := range well {
			short := maps.Clone(well)
			short[name] = nil
			if got := c.send(page, "/counter/return", short); got.status != http.StatusUnprocessableEntity || k.sling(id).Details.Sling.State != gate.StateOut || !got.has("1 question not answered") {
				t.Fatalf("%s: %s left out: %d %s", row.name, name, got.status, got.main())
			}
		}
		for _, none := range []url.Values{{"said": {"nothing"}}, {"is-legs": {"fine"}}} { // there is no answer for all of them, and no other words
			if got := c.send(page, "/counter/return", none); got.status != http.StatusUnprocessableEntity || k.sling(id).Details.Sling.State != gate.StateOut {
				t.Fatalf("%s: %v: %d", row.name, none, got.status)
			}
		}
		unsaid := maps.Clone(well)
		unsaid["is-mishap"] = []string{"wrong"}
		unsaid["is-legs"] = []string{"doubt"}
		if got := c.send(page, "/counter/return", unsaid); !got.has("Choose at least one, or write it down.") || !got.has(`name="is-legs" value="doubt" checked`) || k.sling(id).Details.Sling.State != gate.StateOut {
			t.Fatalf("%s: something happened, nobody says what: %s", row.name, got.main())
		}
		maps.Copy(well, row.answers)
		page = c.send(page, "/counter/return", well)
		s := k.sling(id)
		if (s.Details.Sling.State == gate.StateHeld) != (row.reason != "") || s.Hold.Reason != row.reason || (s.Owes == nil) == row.owes {
			t.Errorf("%s: %v, %q, owes %v", row.name, s.Details.Sling.State, s.Hold.Reason, s.Owes)
		}
		if row.reason == "" {
			continue
		}
		if page.verdict() != StaysHere || !page.has("Who may release it: O. Vance") || !page.has("Lay it apart from the rack") {
			t.Errorf("%s: %q %s", row.name, page.verdict(), page.main())
		}
		if page := c.scan(text); page.verdict() != StaysHere || page.hasForm("/counter/issue") {
			t.Errorf("%s: asked for again: %q", row.name, page.verdict())
		}
	}
	story := c.get("/rack/NS-0414")
	for _, tells := range []string{"What happened: yes.", "Shock: yes.", "Well: rating tag, legs side by side, hook and latch"} {
		if !story.has(tells) {
			t.Errorf("the story does not tell %q: %s", tells, story.main())
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
	c.returns(page)
	if k.sling(id).Details.Sling.State != gate.StateIn {
		t.Error("it did not come in")
	}
	if page := c.scan(text); page.verdict() != StaysHere || !page.has("this one is dead") {
		t.Errorf("out again with the dead tag: %q %s", page.verdict(), page.plateText())
	}
}
