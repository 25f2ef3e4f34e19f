package web

import (
	"net/url"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
)

// TestLoan hands a sling over and takes it back, lift first.
func TestLoan(t *testing.T) {
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
	page = c.send(page, "/counter/return", url.Values{"said": {"nothing"}})
	if k.sling(id).Details.Sling.State != gate.StateIn || !page.has("Back in") || !page.has("hang it on C4") {
		t.Errorf("after return: %v %s", k.sling(id).Details.Sling.State, page.plateText())
	}
}
