package web

import (
	"net/http"
	"net/url"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/rating"
)

// TestLoan hands a sling over and takes it back, lift first.
func TestLoan(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	c := k.signedIn(k.attendant)
	if page := c.follow(c.get("/")); !page.has("Scan</span> <span>a sling") {
		t.Fatalf("the first place is not the counter: %s", page.main())
	}
	c.takes(k.rigger)
	c.lifts(aLift())
	page := c.scan(text)
	if page.verdict() != MayGo {
		t.Fatalf("verdict %q: %s", page.verdict(), page.plateText())
	}
	if got := k.recorded(id, event.KindIssued) + k.recorded(id, event.KindRefused); got != 0 {
		t.Fatalf("asking wrote %d events", got)
	}
	page = c.send(page, "/counter/issue", nil)
	if s := k.sling(id); s.Details.Sling.State != gate.StateOut || s.Loan.Rigger != k.rigger.ID || s.Loan.ReturnBy.String() != "2026-03-04" {
		t.Fatalf("after handing over: %v %+v", s.Details.Sling.State, s.Loan)
	}
	if !page.has("Handed over") || !page.has("T. Brandt has it since") {
		t.Errorf("page after handing over: %s", page.plateText())
	}
	page = c.scan(text)
	if page.verdict() != LookCloser || !page.has("Back from T. Brandt, out since 2 Mar 2026, 20:30") {
		t.Fatalf("at return: %q %s", page.verdict(), page.plateText())
	}
	page = c.returns(page)
	if k.sling(id).Details.Sling.State != gate.StateIn || !page.has("Back in") || !page.has("hang it on C4") {
		t.Errorf("after return: %v %s", k.sling(id).Details.Sling.State, page.plateText())
	}
}

// TestAnyOrder: scan, rigger and lift may come in any order, and the verdict is
// the same.
func TestAnyOrder(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	_, text := k.hanging("NS-0417", nil)
	steps := map[string]func(*client) answer{
		"scan":   func(c *client) answer { return c.scan(text) },
		"rigger": func(c *client) answer { return c.takes(k.rigger) },
		"lift":   func(c *client) answer { return c.lifts(aLift()) },
	}
	c := k.signedIn(k.attendant)
	for _, order := range [][]string{
		{"scan", "rigger", "lift"}, {"scan", "lift", "rigger"}, {"rigger", "scan", "lift"},
		{"lift", "scan", "rigger"}, {"rigger", "lift", "scan"}, {"lift", "rigger", "scan"},
	} {
		c.cleared()
		var page answer
		for i, step := range order {
			page = steps[step](c)
			if i < 2 && page.verdict() != "" {
				t.Errorf("%v: a verdict after %s already: %s", order, step, page.plateText())
			}
		}
		if page.verdict() != MayGo || !page.has("Hand it over to T. Brandt") {
			t.Errorf("%v: %q %s", order, page.verdict(), page.plateText())
		}
	}
}

// TestRefusal: a refusal says what is wrong, by which rule and what to do, is
// recorded once however often the page is looked at, and names a sling that the
// gate lets go.
func TestRefusal(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	k.hanging("NS-0290", func(d *event.Details) { d.Sling.Plate, d.Place = plateOf(t, "1/2", 2, rating.H60, 20_800), "B2" })
	k.hanging("NS-0300", func(d *event.Details) { d.Sling.Plate, d.Place = plateOf(t, "5/8", 2, rating.H60, 31_300), "B3" }) // would do, and wastes more
	k.shelved("NS-0289", func(d *event.Details) { d.Sling.Plate = plateOf(t, "1/2", 2, rating.H60, 20_800) })                // has no tag, so cannot go
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(with(aLift(), "load", "12,301"))
	page := c.scan(text)

	if page.verdict() != StaysHere || !page.has("Too light for this lift: the lift needs 12,301 lb and this sling may carry 12,300 lb.") ||
		!page.has("table 1") || !page.has("Take a stronger sling") {
		t.Errorf("%q: %s", page.verdict(), page.main())
	}
	if !page.has("Take NS-0290 from B2 instead") || page.hasForm("/counter/issue") {
		t.Errorf("what would do instead: %s", page.main())
	}
	if !page.has("How this was worked out") || !page.has("leg over") {
		t.Errorf("working or drawing are missing: %s", page.main())
	}
	c.get("/counter")
	c.get("/counter/1")
	if got := k.recorded(id, event.KindRefused); got != 1 {
		t.Errorf("recorded %d times", got)
	}
	// The limit itself may be lifted.
	c.lifts(with(aLift(), "load", "12,300"))
	if page := c.get("/counter"); page.verdict() != MayGo {
		t.Errorf("at the rated load: %s", page.plateText())
	}
}

// TestMarginIsShown: a load that is not weighed is judged with the site's margin,
// and the page says so.
func TestMarginIsShown(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	p := k.policy()
	p.MarginPct = 10
	k.setPolicy(p)
	_, text := k.hanging("NS-0417", nil)
	c := k.signedIn(k.attendant)
	if page := c.get("/counter/lift"); !page.has("The site adds 10 % (site policy)") {
		t.Error("the lift page hides the margin")
	}
	c.takes(k.rigger)
	c.lifts(with(aLift(), "known", "papers"))
	page := c.scan(text)
	if page.verdict() != StaysHere || !page.has("the lift needs 13,200 lb") || !page.has("the site adds 10 %") {
		t.Errorf("12,000 lb from papers: %s", page.main())
	}
}

// TestWhatOnlySomeAreAsked: a sling of one leg for a lift on several asks whether
// it is one of several; one that can be shortened asks whether it is.
func TestWhatOnlySomeAreAsked(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	_, one := k.hanging("NS-0101", leg(t))
	_, two := k.hanging("NS-0102", leg(t))
	_, short := k.hanging("NS-0202", func(d *event.Details) { d.Sling.Adjustable = true })
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(aLift())
	page := c.scan(one)
	if page.verdict() != LookCloser || !page.has("Is it one of several like slings on one hook?") || page.hasForm("/counter/issue") {
		t.Fatalf("one leg: %q %s", page.verdict(), page.main())
	}
	// Two single legs of 7,100 lb at 60°: 7,100 × 1.7320 = 12,297.2 lb (US OSHA,
	// Guidance on Safe Sling Use, table 1 and its multipliers).
	if page = c.send(page, "/counter/answer", url.Values{"singles": {"yes"}}); page.verdict() != LookCloser || !page.has("1 of 2 on the loan") || page.hasForm("/counter/issue") {
		t.Errorf("one of two singles: %q %s", page.verdict(), page.plateText())
	}
	if page = c.scan(two); page.verdict() != MayGo || !page.has("may carry 12,297 lb") {
		t.Errorf("two singles: %q %s", page.verdict(), page.plateText())
	}
	c.lifts(aLift()) // a lift that is stated anew asks anew
	page = c.send(c.get("/counter"), "/counter/answer", url.Values{"singles": {"no"}})
	if page.verdict() != StaysHere || !page.has("The lift needs more legs than this sling has.") {
		t.Errorf("alone: %q %s", page.verdict(), page.plateText())
	}
	page = c.scan(short)
	if page.verdict() != LookCloser || !page.has("Will its legs be shortened for this lift?") || page.hasForm("/counter/issue") {
		t.Fatalf("adjustable: %q %s", page.verdict(), page.main())
	}
	if page = c.send(page, "/counter/answer", url.Values{"shortened": {"no"}}); page.verdict() != MayGo {
		t.Errorf("at full length: %q %s", page.verdict(), page.plateText())
	}
	if page = c.scan(short); !page.has("is on the loan already, and counts once") {
		t.Errorf("scanned again: %s", page.main())
	}
	page = c.send(c.send(page, "/counter/answer", url.Values{"again": {"yes"}}), "/counter/answer", url.Values{"shortened": {"plain"}})
	if page.verdict() != StaysHere || !page.has("Too light for this lift") {
		t.Errorf("in a plain hook: %q %s", page.verdict(), page.plateText())
	}
}

// TestNextRigger: whoever comes next finds nothing of the one before.
func TestNextRigger(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	other := k.add("R. Cole", event.Rigger)
	_, text := k.hanging("NS-0417", nil)
	c := k.signedIn(k.attendant)
	for name, next := range map[string]func(*client){
		"next rigger":    (*client).cleared,
		"another chosen": func(c *client) { c.takes(other) },
	} {
		c.cleared()
		c.takes(k.rigger)
		c.lifts(aLift())
		c.send(c.scan(text), "/counter/issue", nil)
		c.returns(c.scan(text))
		next(c)
		k.passes(backAgain) // else it is asked whether the sling is here
		page := c.get("/counter")
		if page.has("NS-0417") || page.has("12,000") || page.has("T. Brandt") || !page.has("No lift is stated yet") {
			t.Errorf("%s: %s", name, page.main())
		}
		if page := c.follow(c.get("/counter/1")); page.has("NS-0417") {
			t.Errorf("%s: the old card can still be opened", name)
		}
	}
}

// TestWhoMayHandOver: who may not hand over sees how a sling stands, and is offered
// nothing that would be refused.
func TestWhoMayHandOver(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	c := k.signedIn(k.inspector)
	page := c.scan(text)
	if page.verdict() != "" || !page.has("In the crib") || page.hasForm("/counter/issue") || page.has("State the lift") || page.has("Who takes slings?") {
		t.Errorf("an inspector at the counter: %s", page.main())
	}
	if a := c.post("/counter/issue", url.Values{"card": {"1"}, "key": {newKey()}}); a.status != http.StatusForbidden {
		t.Errorf("an inspector hands over: %d", a.status)
	}
	if got := k.recorded(id, event.KindRefused); got != 0 {
		t.Errorf("looking recorded %d refusals", got)
	}
	gone := k.add("R. Cole", event.Rigger)
	a := k.signedIn(k.attendant)
	a.takes(gone)
	a.lifts(aLift())
	k.leaves(gone)
	if page := a.scan(text); page.verdict() == MayGo || page.hasForm("/counter/issue") || !page.has("Who takes slings?") {
		t.Errorf("for someone who left: %q %s", page.verdict(), page.main())
	}
}

// TestRiggers: riggers are picked by a button, or looked for by parts of a name.
func TestRiggers(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.add("R. Cole", event.Rigger)
	c := k.signedIn(k.attendant)
	page := c.get("/counter/rigger")
	if !page.has("T. Brandt") || !page.has("R. Cole") || page.has("O. Vance<") {
		t.Errorf("names: %s", page.main())
	}
	if page = c.send(page, "/counter/rigger", url.Values{"find": {"cOL r"}}); !page.has("R. Cole") || page.has("T. Brandt") {
		t.Errorf("looked for: %s", page.main())
	}
	if page = c.send(page, "/counter/rigger", url.Values{"find": {"nobody"}}); !page.has("No rigger here has this in their name.") {
		t.Errorf("looked for nobody: %s", page.main())
	}
	for _, id := range []string{k.attendant.ID.String(), k.inspector.ID.String()} {
		if page := c.send(c.get("/counter/rigger"), "/counter/rigger", url.Values{"rigger": {id}}); page.status != http.StatusForbidden || !page.has("may not draw gear") {
			t.Errorf("someone who is no rigger: %d %s", page.status, page.main())
		}
	}
}
