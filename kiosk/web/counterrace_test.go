package web

import (
	"maps"
	"net/http"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
)

// TestTwoRaceForOneSling: both pages show that it may go; one hands it over, the
// other is told who has it since when.
func TestTwoRaceForOneSling(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	second := k.add("P. Lund", event.Attendant)
	other := k.add("R. Cole", event.Rigger)
	id, text := k.hanging("NS-0417", nil)
	one, two := k.signedIn(k.attendant), k.signedIn(second)
	one.takes(k.rigger)
	one.lifts(aLift())
	two.takes(other)
	two.lifts(aLift())
	first, late := one.scan(text), two.scan(text)
	if first.verdict() != MayGo || late.verdict() != MayGo {
		t.Fatalf("%q and %q", first.verdict(), late.verdict())
	}
	one.send(first, "/counter/issue", nil)
	page := two.send(late, "/counter/issue", nil)
	if page.verdict() != StaysHere || !page.has("T. Brandt has it since 2 Mar 2026, 20:30.") {
		t.Errorf("the later one: %q %s", page.verdict(), page.plateText())
	}
	if got := k.recorded(id, event.KindIssued); got != 1 || k.sling(id).Loan.Rigger != k.rigger.ID {
		t.Errorf("issued %d times, to %s", got, k.sling(id).Loan.Rigger)
	}
}

// TestSentTwice: a form that is sent again, because the line was cut, does once
// what it does and gives the first answer.
func TestSentTwice(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(aLift())
	form := c.scan(text).form(t, "/counter/issue")
	for range 2 {
		if page := c.follow(c.post("/counter/issue", form)); !page.has("Handed over") {
			t.Errorf("handing over: %s", page.plateText())
		}
	}
	page := c.scan(text)
	form = page.form(t, "/counter/return")
	maps.Copy(form, page.allWell(t, "/counter/return"))
	for range 2 {
		if page := c.follow(c.post("/counter/return", form)); !page.has("Back in") {
			t.Errorf("taking back: %s", page.plateText())
		}
	}
	if k.recorded(id, event.KindIssued) != 1 || k.recorded(id, event.KindReturned) != 1 {
		t.Errorf("recorded %v", k.kinds(id))
	}
}

// TestOldPage: a button on a page from before rigger or lift were changed hands
// nothing over.
func TestOldPage(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	other := k.add("R. Cole", event.Rigger)
	id, text := k.hanging("NS-0417", nil)
	c := k.signedIn(k.attendant)
	for name, change := range map[string]func(*client){
		"lift":   func(c *client) { c.lifts(with(aLift(), "load", "100")) },
		"rigger": func(c *client) { c.takes(other); c.lifts(aLift()) },
		"day":    func(c *client) { c.lifts(with(aLift(), "day", "2026-03-05")) },
		"next":   (*client).cleared,
	} {
		c.cleared()
		c.takes(k.rigger)
		c.lifts(aLift())
		page := c.scan(text)
		change(c)
		page = c.send(page, "/counter/issue", nil)
		if k.sling(id).Details.Sling.State != gate.StateIn || !page.has("nothing was") {
			t.Errorf("%s changed: %v %d %s", name, k.sling(id).Details.Sling.State, page.status, page.main())
		}
	}
}

// TestNothingIsWrittenByLooking: no GET of the counter writes to the register.
func TestNothingIsWrittenByLooking(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	_, text := k.hanging("NS-0417", nil)
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(with(aLift(), "load", "99,000"))
	c.scan(text)
	before, err := k.store.Head(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{"/counter", "/counter/1", "/counter/lift", "/counter/rigger", "/scanner", "/counter/99", "/counter/x"} {
		if a := c.follow(c.get(path)); a.status != http.StatusOK {
			t.Errorf("%s: %d", path, a.status)
		}
	}
	if after, err := k.store.Head(t.Context()); err != nil || after.At != before.At {
		t.Errorf("looking wrote: %d, then %d (%v)", before.At, after.At, err)
	}
}
