package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
)

// TestSlipPrintedAgain: a slip that is looked at later says first what is recalled,
// and what else has happened to each sling since.
func TestSlipPrintedAgain(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	other := k.add("R. Cole", event.Rigger)
	var texts []string
	for _, ident := range []string{"NS-0001", "NS-0002", "NS-0003", "NS-0004"} {
		_, text := k.hanging(ident, nil)
		texts = append(texts, text)
	}
	at := k.signedIn(k.attendant)
	at.takes(k.rigger)
	page := at.lifts(aLift())
	for _, text := range texts {
		page = at.scan(text)
	}
	at.send(page, "/counter/issue", nil)
	slings := map[string]state.Sling{}
	for _, s := range k.slings() {
		slings[s.Details.Ident] = s
	}
	path := "/loan/" + slings["NS-0001"].Loan.Line.Loan.String()
	for _, never := range []string{"Recalled", "Handed on", "not out on this slip"} {
		if page := at.get(path); page.has(never) {
			t.Errorf("at once: %q in %s", never, page.main())
		}
	}
	reason := strings.Repeat("its twin has a cracked link, ", maxText/30)
	at.send(at.get("/outside/NS-0001"), "/outside/NS-0001/recall", url.Values{"recall-reason": {reason}})
	at.send(at.get("/outside/NS-0002"), "/outside/NS-0002/recall", url.Values{"recall-reason": {"wanted"}, "by": {"2026-03-03"}})
	k.happens(slings["NS-0003"].ID, k.attendant, event.HandedOn{From: k.rigger.ID, To: other.ID})
	k.happens(slings["NS-0003"].ID, k.attendant, event.Placed{Area: "press 4"})
	at.inHeap(texts[3])
	page = at.get(path)
	for _, want := range []string{
		`<p class="notice">Recalled: bring it back at once.</p> <p>its twin has a cracked link,`, "Before the recall: needed back by 4 Mar 2026.",
		`<p class="notice">Recalled: bring it back by 3 Mar 2026.</p>`, "Needed back by 4 Mar 2026.",
		"Handed on: R. Cole has it since 2 Mar 2026", "Kept at press 4.", "It is not out on this slip any more.",
	} {
		if !page.has(want) {
			t.Errorf("no %q in %s", want, page.main())
		}
	}
	if got := strings.Count(page.body, `class="notice"`); got != 2 {
		t.Errorf("%d are recalled: %s", got, page.main())
	}
	if pdf := at.get(path + "/slip.pdf"); pdf.status != http.StatusOK || !strings.HasPrefix(pdf.body, "%PDF-") {
		t.Errorf("on paper: %d", pdf.status)
	}
	line := SlipLine{May: "May carry 1 lb."}
	line.since(event.Issued{}, state.Sling{Details: event.Details{Sling: gate.Sling{State: gate.StateOut}}, Loan: state.Loan{Recall: state.Recall{Reason: "x"}}}, words{})
	if got := line.onPaper(); got != "Recalled: bring it back at once. May carry 1 lb." {
		t.Errorf("first on paper: %q", got)
	}
}

// TestSlipOfSingles: what slings may carry together is not said as if each did.
func TestSlipOfSingles(t *testing.T) {
	k := newKioskUnder(t, due.UK)
	a, aText := k.hanging("NS-0001", leg(t))
	_, bText := k.hanging("NS-0002", leg(t))
	at := k.signedIn(k.attendant)
	at.takes(k.rigger)
	at.lifts(with(aLift(), "together", "one-hook"))
	at.scan(aText)
	at.send(at.scan(bText), "/counter/issue", nil)
	slip := at.get("/loan/" + k.sling(a).Loan.Line.Loan.String())
	// 2 × 7,100 × 0.8660 is 12,297.2 (US OSHA, Guidance on Safe Sling Use, table 1 and its multipliers).
	for _, want := range []string{"Two legs like this one may carry 12,297 lb together, rigged like this. The lift needs 12,000 lb.", "Thorough examination due 10 May 2026.", "The WLL tag on the sling governs."} {
		if !slip.has(want) {
			t.Errorf("no %q in %s", want, slip.main())
		}
	}
}
