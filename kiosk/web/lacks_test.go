package web

import (
	"net/http"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/rating"
)

// TestLacks: what was refused and what went out with more than it needed gives the sling
// that would have served it; what was asked twice on a day counts once, and what was
// served after all is none that was refused.
func TestLacks(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	_, light := k.hanging("NS-0001", nil)
	_, heavy := k.hanging("NS-0002", func(d *event.Details) { d.Sling.Plate = plateOf(t, "3/4", 2, rating.H60, 49_000) })
	keeper := k.signedIn(k.keeper)
	if page := k.signedIn(k.keeper).get("/lacks"); page.status != http.StatusOK || !page.has("Nothing was lacking") {
		t.Fatalf("%d: %s", page.status, page.main())
	}
	at := k.signedIn(k.attendant)
	at.takes(k.rigger)
	at.lifts(with(aLift(), "load", "20,000")) // grade 80, two legs at 60°: 20,800 lb in 1/2 in (US OSHA, Guidance on Safe Sling Use, table 1)
	for range 2 {
		if page := at.scan(light); page.verdict() != StaysHere {
			t.Fatalf("%s: %s", page.verdict(), page.plateText())
		}
	}
	at.cleared()
	at.takes(k.rigger)
	at.lifts(with(aLift(), "load", "11,000")) // 12,300 lb in 3/8 in
	page := at.scan(heavy)
	if page.verdict() != MayGo {
		t.Fatalf("%s: %s", page.verdict(), page.plateText())
	}
	at.send(page, "/counter/issue", nil)
	k.server.lacking.last = lacked{} // it is counted once a day
	page = keeper.get("/lacks")
	for _, want := range []string{"1 lift for which nothing went out, and 1 that went out with more sling than they needed", "Grade 80, 1/2", "would have served 1 lift more", "Grade 80, 3/8", "more closely"} {
		if !page.has(want) && !strings.Contains(page.told(), want) {
			t.Errorf("without %q: %s", want, page.told())
		}
	}
	if !keeper.get("/day").has(`href="/lacks"`) || at.get("/day").has(`href="/lacks"`) {
		t.Error("only those who may see it are led there")
	}
	if a := at.get("/lacks"); a.status != http.StatusForbidden {
		t.Errorf("an attendant: %d", a.status)
	}
}
