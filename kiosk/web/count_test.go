package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
)

// at gives a sling's details another rack place.
func at(place string) func(*event.Details) {
	return func(d *event.Details) { d.Place = place }
}

// countsAll begins a count of the whole rack.
func (c *client) countsAll() answer {
	c.k.t.Helper()
	return c.follow(c.send(c.get("/count"), "/count", url.Values{"all": {"yes"}}))
}

// cardOf gives what the card of the last scan says.
func (a answer) cardOf() string {
	_, rest, _ := strings.Cut(a.main(), "data-count-card")
	card, _, _ := strings.Cut(rest, "</section>")
	if !strings.Contains(card, "scan-card") {
		return ""
	}
	return card
}

// A whole count without a script: the place by its button, every kind of scan, a
// sling that is given its new place, the end, and the sheet.
func TestCountWithoutScript(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	one, tag1 := k.hanging("NS-0001", at("A-01"))
	k.hanging("NS-0002", at("A-02"))
	three, tag3 := k.hanging("NS-0003", at("B-07"))
	out, tagOut := k.hanging("NS-0004", at("A-04"))
	k.goesOut(out, k.rigger, k.today())
	gone, tagGone := k.hanging("NS-0005", at("A-05"))
	k.happens(gone, k.inspector, event.Retired{Reason: "worn", How: "cut"})
	c := k.signedIn(k.attendant)

	page := c.get("/count")
	if !page.has("3 slings should hang there") || !page.has("The rack was not counted before.") {
		t.Error(page.words())
	}
	if none := c.send(page, "/count", nil); none.status != http.StatusUnprocessableEntity || !none.has("No place was chosen.") {
		t.Errorf("%d %s", none.status, none.words())
	}
	page = c.countsAll()
	if !page.has("Which place do you count?") || !page.has("0 of 2 seen") || !page.has("0 of 1 seen") {
		t.Error(page.words())
	}
	if again := c.follow(c.post("/count", url.Values{"all": {"yes"}, "key": {newKey()}})); !again.has("A count was going on already.") {
		t.Error(again.words())
	}
	page = c.get("/count?at=A")
	for _, row := range []struct {
		text string
		want []string
	}{
		{tag1, []string{"scan-card counted", ">Counted<", "NS-0001"}},
		{tag1, []string{"scan-card counted", "Counted already"}},
		{tag3, []string{"scan-card look-closer", "Wrong place", "It belongs at B-07 and was seen at A."}},
		{tagOut, []string{"scan-card look-closer", "Booked out, and here", k.rigger.Name}},
		{tagGone, []string{"scan-card stays-here", "Retired, and here"}},
		{"SOME OTHER SYMBOL", []string{"scan-card look-closer", "Not counted"}},
		{"", []string{"scan-card look-closer", "Not counted"}},
	} {
		got := c.send(page, "/count/scan", url.Values{"text": {row.text}, "way": {"scanner"}})
		for _, want := range row.want {
			if got.status != http.StatusOK || !strings.Contains(got.cardOf(), want) {
				t.Errorf("%q: %d, no %q in %s", row.text, got.status, want, got.cardOf())
			}
		}
		page = got
	}
	if !page.has("NS-0002") || page.verdict() == MayGo {
		t.Errorf("what is missing: %s", page.words())
	}
	if n := k.recorded(one, event.KindSeen); n != 1 {
		t.Errorf("%d events for two scans", n)
	}
	for _, id := range []event.SlingID{one, three, out, gone} {
		if last := k.kinds(id); last[len(last)-1] != event.KindSeen {
			t.Errorf("a scan in a count did more: %v", last)
		}
	}
	k.stands(out, gate.StateOut)

	wrong := c.send(page, "/count/scan", url.Values{"text": {tag3}, "way": {"scanner"}})
	if bad := c.send(wrong, "/count/move", url.Values{"moved-to": {" "}}); bad.status != http.StatusUnprocessableEntity || !bad.has("Write where it hangs now.") {
		t.Errorf("%d %s", bad.status, bad.words())
	}
	moved := c.follow(c.send(wrong, "/count/move", url.Values{"moved-to": {"A-09"}}))
	if k.sling(three).Details.Place != "A-09" || !moved.has("NS-0003 hangs at A-09 now.") || !moved.has(`value="A"`) {
		t.Error(moved.words())
	}
	if stale := c.send(wrong, "/count/move", url.Values{"moved-to": {"A-10"}}); stale.status != http.StatusConflict {
		t.Errorf("%d %s", stale.status, stale.words())
	}

	if story := c.get(slingPath(k.sling(three))); !story.has("Seen while the rack was counted, at A.") || !story.has("Hangs at A-09 from then on; it was B-07.") {
		t.Error(story.words())
	}
	sheet := c.follow(c.send(c.get("/count"), "/count/end", url.Values{"end-note": {"two of us"}}))
	for _, want := range []string{"Not seen", "NS-0002", "Booked out, lost or retired, and here", "NS-0004", "NS-0005", "The register stands at", "two of us", "says nothing of whether it is fit for use"} {
		if !sheet.has(want) {
			t.Errorf("the sheet does not say %q: %s", want, sheet.words())
		}
	}
	late := c.send(page, "/count/scan", url.Values{"text": {tag1}, "way": {"scanner"}, "key": {newKey()}})
	if !strings.Contains(late.cardOf(), "The count had ended before this scan came.") {
		t.Error(late.words())
	}
	if over := c.send(page, "/count/scan", url.Values{"count": {"x"}}); over.status != http.StatusUnprocessableEntity {
		t.Errorf("%d %s", over.status, over.words())
	}
	crib, err := k.store.Crib(t.Context())
	if err != nil || !crib.Count.ID.IsZero() {
		t.Errorf("%+v, %v", crib.Count, err)
	}
	if last := c.get("/count"); !last.has("Last counts") || !last.has("two of us") {
		t.Error(last.words())
	}
}

// The first scan of a place says where somebody stands; what has no place on record
// does not.
func TestCountGuessesThePlace(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	_, tag := k.hanging("NS-0001", at("Bay 2 peg 1"))
	k.hanging("NS-0002", at("Bay 3"))
	_, nowhere := k.hanging("NS-0003", at(""))
	c := k.signedIn(k.keeper)
	page := c.countsAll()
	got := c.send(page, "/count/scan", url.Values{"text": {tag}, "way": {"scanner"}})
	if !got.has(`data-at="Bay 2"`) || !strings.Contains(got.cardOf(), ">Counted<") {
		t.Error(got.words())
	}
	got = c.send(page, "/count/scan", url.Values{"text": {nowhere}, "way": {"scanner"}, "key": {newKey()}})
	if got.has("data-chosen") || !strings.Contains(got.cardOf(), "It has no place on record.") {
		t.Error(got.words())
	}
	here := c.get("/count?at=")
	got = c.send(here, "/count/scan", url.Values{"text": {nowhere}, "way": {"scanner"}})
	if !strings.Contains(got.cardOf(), ">Counted<") || !got.has("No place on record") {
		t.Error(got.words())
	}
	typed := c.send(page, "/count/scan", url.Values{"text": {"ns-0002"}, "chosen": {"yes"}, "place": {"Bay 3"}, "key": {newKey()}})
	if !strings.Contains(typed.cardOf(), ">Counted<") {
		t.Error(typed.words())
	}
}

func TestWhoMayCount(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	_, tag := k.hanging("NS-0001", at("A-1"))
	c := k.signedIn(k.attendant)
	page := c.countsAll()
	rigger := k.signedIn(k.rigger)
	for _, path := range []string{"/count", "/count/sheet"} {
		if a := rigger.get(path); a.status != http.StatusForbidden {
			t.Errorf("%s: %d", path, a.status)
		}
	}
	form := page.form(t, "/count/scan")
	form.Set("text", tag)
	if a := rigger.post("/count/scan", form); a.status != http.StatusForbidden {
		t.Errorf("a rigger counts: %d", a.status)
	}
	form.Set("place", strings.Repeat("x", maxPlace+1))
	if a := c.post("/count/scan", form); a.status != http.StatusUnprocessableEntity {
		t.Errorf("a place that is none: %d", a.status)
	}
}
