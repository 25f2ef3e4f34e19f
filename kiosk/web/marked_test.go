package web

import (
	"net/http"
	"strings"
	"testing"

	"cribgate/core/event"
)

// The keeper sees what was marked, the newest first, and nothing that was not.
func TestMarked(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.draws("NS-1", k.rigger, event.Line{Lift: 1}, "")
	k.draws("NS-2", k.rigger, event.Line{Lift: 1}, "issued by the inspector who passed it: crib of one person")
	k.draws("NS-3", k.rigger, event.Line{Lift: 1, Countersign: k.inspector.ID}, "")
	k.draws("NS-4", k.rigger, event.Line{}, "")
	a := k.signedIn(k.keeper).get("/marked")
	at := -1
	for _, text := range []string{"NS-4", "Gear for a shift, without a stated lift", "NS-3", "Handed over by a learner; O. Vance signed for it",
		"NS-2", "Issued by the inspector who passed it: crib of one person", "to T. Brandt, by I. Maro"} {
		i := strings.Index(a.words()[max(at, 0):], text)
		if i < 0 {
			t.Fatalf("%q is not there, or not in its place: %s", text, a.words())
		}
		at = max(at, 0) + i
	}
	if a.has("NS-1<") || a.has("Entries before that") {
		t.Errorf("the page has more: %s", a.words())
	}
	c := k.signedIn(k.keeper)
	for path, status := range map[string]int{"/marked?to=3": 200, "/marked?to=0": 404, "/marked?to=999999": 404, "/marked?to=x": 404} {
		if a := c.get(path); a.status != status || a.has("NS-2") {
			t.Errorf("%s: %d", path, a.status)
		}
	}
	if a := k.signedIn(k.inspector).get("/marked"); a.status != http.StatusForbidden {
		t.Errorf("an inspector sees it: %d", a.status)
	}
}
