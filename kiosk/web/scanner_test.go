package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"cribgate/core/event"
)

// TestStation: each browser names its counter, and the register writes the name
// down; a name that cannot stand there is refused, and one that was tampered with
// does not count.
func TestStation(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	c := k.signedIn(k.attendant)
	at := func() string {
		t.Helper()
		story, err := k.store.Story(t.Context(), event.Sling(id))
		if err != nil {
			t.Fatal(err)
		}
		return story[len(story)-1].Envelope.Station
	}
	loan := func() {
		t.Helper()
		c.takes(k.rigger)
		c.lifts(aLift())
		c.send(c.scan(text), "/counter/issue", url.Values{"typed": {"0417"}})
		c.returns(c.scan(text))
	}
	if loan(); at() != "counter-1" {
		t.Errorf("without a name: %q", at())
	}
	for _, bad := range []string{"", "counter 2", "a_b", "-a", "a-", "a--b", "zähler", "a\x00", strings.Repeat("a", 25)} {
		if page := c.post("/scanner", url.Values{"station": {bad}}); page.status != http.StatusUnprocessableEntity {
			t.Errorf("%q: %d", bad, page.status)
		}
	}
	if page := c.follow(c.post("/scanner", url.Values{"station": {"Counter-2"}})); !page.has("done at counter-2.") || !page.has(`value="counter-2"`) {
		t.Errorf("named: %s", page.main())
	}
	if loan(); at() != "counter-2" {
		t.Errorf("with a name: %q", at())
	}
	r := c.request(http.MethodGet, "/scanner", nil)
	r.AddCookie(&http.Cookie{Name: stationCookie, Value: strings.Repeat("a", 25)})
	if got := stationOf(r); got != station {
		t.Errorf("too long a cookie: %q", got)
	}
}
