package web

import (
	"net/http"
	"strings"
	"testing"

	"cribgate/core/quantity"
)

func TestOutside(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.attendant)
	if a := c.get("/outside"); !a.has("Nothing is out.") {
		t.Errorf("an empty list: %s", a.words())
	}
	k.filled()
	open, _ := k.hanging("NS-0700", nil)
	k.goesOut(open, k.rigger, quantity.Date{})
	late, _ := k.hanging("NS-0701", nil)
	k.goesOut(late, k.rigger, day(t, "2026-02-20"))

	a := c.get("/outside")
	page := a.words()
	for _, text := range []string{"5 slings out, 2 late", "10 days late", "3 days late", "No day stated", "Back by 27 Feb 2026",
		"Its inspection falls due 4 Mar 2026, before it is to come back", "since 2 Mar 2026, 20:30", "Everyone 5", "T. Brandt 4", "P. Lund 1"} {
		if !strings.Contains(page, text) {
			t.Errorf("outside lacks %q: %s", text, page)
		}
	}
	// Late first, the latest of them first; then what is due soon; then without a day;
	// then by day.
	last := -1
	for _, ident := range []string{"NS-0701", "NS-0388", "NS-0390", "NS-0700", "NS-0342"} {
		at := strings.Index(page, ident)
		if at <= last {
			t.Errorf("%s stands in the wrong place: %s", ident, page)
		}
		last = at
	}
	b := c.get("/outside?with=" + k.rigger.ID.String())
	if !b.has("4 slings out, 2 late, with T. Brandt") || b.has("NS-0390") {
		t.Errorf("one rigger’s: %s", b.words())
	}
	for _, path := range []string{"/outside?with=x", "/outside?from=-1", "/outside?from=x", "/outside?only=x", "/outside?by=x"} {
		if a := c.get(path); a.status != http.StatusNotFound {
			t.Errorf("%s: %d", path, a.status)
		}
	}
	if a := c.get("/outside?from=7000"); a.status != http.StatusOK {
		t.Errorf("beyond the end: %d", a.status)
	}
}
