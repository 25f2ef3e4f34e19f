package web

import (
	"net/url"
	"strings"
	"testing"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/tagcode"
	"cribgate/kiosk/web/webtest"
)

// TestKeptInBrowser takes a sling through all that it can be kept for: held, with a
// place to lie and a slip; impounded by two and freed by two, with a chain of custody;
// sent off for repair and back with a new hook. Nobody gets it before each was ended,
// and every list says where it is.
func TestKeptInBrowser(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	k.signedIn(k.keeper) // has a PIN
	b := webtest.Start(t)
	at := k.atCounter(b, k.attendant, k.rigger)
	p := k.opened(b, k.inspector)
	const sling, kept = "/rack/NS-0417", "/rack/NS-0417/kept"
	says := func(selector string, want ...string) {
		t.Helper()
		got := p.Text(selector)
		for _, text := range want {
			if !strings.Contains(got, text) {
				t.Errorf("%q is not in %q", text, got)
			}
		}
	}
	send := func(path, act string, typed ...string) {
		t.Helper()
		p.Go(k.http.URL + path + "?do=" + act)
		for i := 0; i < len(typed); i += 2 {
			p.Type("#f-"+typed[i], typed[i+1])
		}
		p.Follow("#" + act + " form .actions button")
	}
	stays := func(want ...string) {
		t.Helper()
		at.Go(k.http.URL + "/counter")
		scanned(at, text)
		if got := at.Text("main"); verdictOf(at) != StaysHere {
			t.Errorf("at the counter: %q", got)
		} else {
			for _, text := range want {
				if !strings.Contains(got, text) {
					t.Errorf("%q is not in %q", text, got)
				}
			}
		}
	}
	passes := event.Inspected{Date: k.today(), Outcome: tagcode.Fit, Service: due.Normal, Due: k.today().AddMonths(12), RatingTag: gate.TagLegible}

	send(sling, "hold", "hold-reason", "leg 2 has a gouge", "hold-lies", "Quarantine 3")
	says(".stand", "Held", "Leg 2 has a gouge.", "its place is Quarantine 3")
	stays("Leg 2 has a gouge. It lies at Quarantine 3.")
	p.Go(k.http.URL + sling + "/slip")
	says("main", "Held: do not use", "NS-0417", "Leg 2 has a gouge.", "Quarantine 3", k.inspector.Name)
	looks(t, p, "held-slip")
	p.Go(k.http.URL + kept + "?do=impound")
	looks(t, p, "kept-impound")
	p.Type("#f-impound-reason", "the load fell from 2 m at bay 3")
	impound := func(second, pin string) {
		t.Helper()
		p.Type("#f-holder", "safety office")
		p.Type("#f-lies", "locker 1")
		p.Answer("second", second)
		p.Type("#f-second-pin", pin)
		p.Follow("#impound form .actions button")
	}
	impound(k.keeper.ID.String(), "999999")
	says("#e-second-pin", "do not belong together")
	looks(t, p, "kept-impound-wrong")
	if k.sling(id).Impound.Holder != "" {
		t.Fatal("impounded by one")
	}
	impound(k.keeper.ID.String(), testPIN)
	says(".stand", "Impounded", "with safety office, at locker 1")
	send(sling, "release", "release-reason", "looks fine")
	says("#release", "It is impounded after an accident", "free it together")
	stays("It is impounded after an accident", "Impounded, with safety office, at locker 1.")
	looks(t, at, "counter-impounded")
	send(kept, "custody", "to", "North laboratory", "now-lies", "test bench 2", "why", "to be pulled")
	says(".halves", "North laboratory", "test bench 2", "To be pulled.", "safety office", k.inspector.Name+" and "+k.keeper.Name)
	looks(t, p, "kept-custody")
	p.Go(k.http.URL + "/rack?show=held")
	says("main", "Impounded, with North laboratory, at test bench 2")
	p.Go(k.http.URL + kept + "?do=free")
	p.Type("#f-free-reason", "enquiry closed, it was the hitch")
	p.Answer("second", k.keeper.ID.String())
	p.Type("#f-second-pin", testPIN)
	p.Follow("#free form .actions button")
	says(".stand", "Held")
	k.happens(id, k.inspector, passes)
	p.Go(k.http.URL + sling + "?do=release")
	if home := webtest.Eval[string](p, `document.querySelector("#f-release-place").value`); home != "C4" {
		t.Errorf("its place before it was held: %q", home)
	}
	send(sling, "release", "release-reason", "measured link by link, no growth")
	if s := k.sling(id); s.Details.Sling.State != gate.StateIn || s.Details.Place != "C4" || s.Impound.Holder != "" {
		t.Fatalf("released: %v at %q", s.Details.Sling.State, s.Details.Place)
	}

	send(sling, "hold", "hold-reason", "hook of leg 2 is open")
	send(kept, "send-off", "to", "Ridge chain works", "why", "a new hook on leg 2")
	says(".stand", "At repair", "Ridge chain works")
	stays("The record has it at a repairer's.", "Ridge chain works")
	count := k.beginsCount()
	at.Go(k.http.URL + countPath + "?at=C")
	if got := at.Text("[data-count-lists]"); !strings.Contains(got, "Nothing is missing here.") || !strings.Contains(got, "Kept elsewhere") || !strings.Contains(got, "Ridge chain works") {
		t.Errorf("count %v: %q", count, got)
	}
	looks(t, at, "count-elsewhere")
	p.Go(k.http.URL + kept + "?do=came-back")
	looks(t, p, "kept-came-back")
	p.Type("#f-certificate", "R-17 of 1 March 2026, proof test 24,600 lb")
	p.Click(`input[value="2-hook"]`)
	p.Follow("#came-back form .actions button")
	says(".stand", "Held")
	says(".halves", "Changed: hook of leg 2.", "R-17 of 1 March 2026")
	looks(t, p, "kept-repaired")
	stays("It is held in quarantine.")
	send(sling, "release", "release-reason", "new hook")
	says("#release", "inspection has passed it since")
	k.happens(id, k.inspector, passes)
	send(sling, "release", "release-reason", "new hook, all measured")
	k.stands(id, gate.StateIn)

	k.happens(id, k.inspector, event.Examined{Date: k.today(), Due: k.today().AddMonths(6), RatingTag: gate.TagLegible,
		Defects: []event.Defect{{What: "nick in leg 1, link 9", By: k.today().AddDays(-1)}, {What: "latch of leg 2 is weak", By: k.today().AddDays(40)}}})
	stays("An examiner found a defect that could be dangerous by now")
	p.Go(k.http.URL + kept)
	looks(t, p, "kept-defects")
	send(kept, "remedy-1", "how-1", "ground out along the chain")
	if s := k.sling(id); len(s.Defects) != 1 || s.Defects[0].No != 2 || s.Doubt != 0 {
		t.Errorf("%+v, doubt %v", s.Defects, s.Doubt)
	}
	c := k.signedIn(k.attendant) // what the page does not offer is refused when it is sent
	for _, act := range []string{"custody", "free", "send-off", "came-back", "remedy"} {
		if a := c.post(sling+"/"+act, url.Values{"key": {newKey()}, "no": {"2"}, "heads": {headsText(k.sling(id).Heads)}}); a.status != 403 {
			t.Errorf("%s by an attendant: %d", act, a.status)
		}
	}
}
