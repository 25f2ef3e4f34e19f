package web

import (
	"net/url"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
)

// TestBackAndOutAgain: what came back just now goes out again only with the end of
// its plate: a picture of its tag reads as well, and would take a sling that is
// elsewhere off one rigger's name and onto another's.
func TestBackAndOutAgain(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	second := k.add("M. Other", event.Rigger)
	for name, to := range map[string]struct{ ident, plate string }{"to another": {"NS-0417", "417"}, "and to the same again": {"NS-0418", "418"}} {
		id, text := k.hanging(to.ident, nil)
		k.goesOut(id, second, day(t, "2026-03-03"))
		at := k.signedIn(k.attendant)
		if name == "to another" {
			at.takes(k.rigger)
		} else {
			at.takes(second)
		}
		at.lifts(aLift())
		at.returns(at.scan(text))
		if got := k.sling(id).Details.Sling.State; got != gate.StateIn {
			t.Fatalf("%s: it is %s", name, got)
		}
		page := at.scan(text)
		if page.verdict() != LookCloser || !page.has("Last characters of the identification on the metal plate") || page.has(to.ident) {
			t.Errorf("%s: %q %s", name, page.verdict(), page.main())
		}
		if page = at.scan(text); page.verdict() != LookCloser {
			t.Errorf("%s, scanned once more: %q", name, page.verdict())
		}
		if page.hasForm("/counter/issue") {
			page = at.send(page, "/counter/issue", url.Values{"typed": {to.plate}})
		}
		if k.sling(id).Details.Sling.State != gate.StateOut {
			t.Errorf("%s, with the plate: %s", name, page.main())
		}
	}
	// Another rigger's badge and a new turn are asked just so; an hour later it hung on
	// its peg meanwhile.
	id, text := k.hanging("NS-0419", nil)
	k.goesOut(id, second, day(t, "2026-03-03"))
	at := k.signedIn(k.attendant)
	at.returns(at.scan(text))
	at.takes(second)
	at.cleared()
	at.takes(k.rigger)
	at.lifts(aLift())
	if page := at.scan(text); page.verdict() != LookCloser {
		t.Errorf("for the next rigger: %s", page.main())
	}
	k.passes(backAgain)
	if page := at.scan(text); page.verdict() != MayGo {
		t.Errorf("an hour later: %s", page.main())
	}
}

// TestPlateAskedAndAnswerLost: a sling whose plate was asked for, and that went with the
// answer lost, is told as handed over; nobody is asked what happened to it out there.
func TestPlateAskedAndAnswerLost(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	k.goesOut(id, k.rigger, day(t, "2026-03-03"))
	at := k.signedIn(k.attendant)
	at.takes(k.rigger)
	at.lifts(aLift())
	at.returns(at.scan(text))
	if page := at.scan(text); page.verdict() != LookCloser {
		t.Fatal(page.main())
	}
	k.goesOut(id, k.rigger, day(t, "2026-03-04")) // as the page sent it, before the program ended
	if page := at.get("/counter"); !page.has("Handed over") || page.hasForm("/counter/return") {
		t.Errorf("after its answer was lost: %s", page.main())
	}
	if page := at.scan(text); page.verdict() != LookCloser || !page.has("Back from T. Brandt") {
		t.Errorf("scanned when it came back: %s", page.main())
	}
}
