package web

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"
	"time"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/tagcode"
)

// queued hangs slings in every way that they stand in the queue.
func (k *kiosk) queued() {
	k.t.Helper()
	k.hanging("NS-0100", nil)              // whose tag is as it should be
	lapsed := k.shelved("NS-0455", nil)    // whose tag nobody hung on in time
	waiting := k.shelved("NS-0417", nil)   // whose tag waits
	old, _ := k.hanging("NS-0290", nil)    // inspected since
	thrown := k.shelved("NS-0342", nil)    // whose tag was thrown away
	retired := k.shelved("NS-0077", nil)   // gone
	failed, _ := k.hanging("NS-0420", nil) // did not pass
	behind := k.shelved("NS-0388", nil)    // inspected while its tag waited
	k.shelved("NS-0311", nil)              // which never had one
	k.printed(lapsed)
	k.passed.Store(int64(9 * 24 * time.Hour)) // 11 March
	on := func(id event.SlingID, serial tagcode.Serial, stock string) {
		k.happens(id, k.keeper, event.TagPrinted{Serial: serial, Key: id.Key, Digest: tagcode.Digest(id.String()), Version: 5, Level: "H", Stock: stock})
	}
	inspected := func(id event.SlingID, outcome tagcode.Outcome) {
		d := day(k.t, "2026-03-11")
		k.happens(id, k.inspector, event.Inspected{Date: d, Outcome: outcome, Service: due.Normal, Due: d.AddMonths(12), RatingTag: gate.TagLegible, Note: "n"})
	}
	on(waiting, 1, "plate-50x80")
	on(behind, 1, "disc-70")
	on(thrown, 1, "disc-70")
	k.happens(thrown, k.attendant, event.TagSpoiled{Serial: 1, Why: event.SpoiltPrinter, Note: "ribbon ran out"})
	on(retired, 1, "disc-70")
	k.happens(retired, k.inspector, event.Retired{Reason: "worn", How: "cut"})
	inspected(old, tagcode.Fit)
	inspected(behind, tagcode.Fit)
	inspected(failed, tagcode.Hold)
}

// rowsOf lists the slings of the queue as a page shows them.
func rowsOf(a answer) []string {
	var out []string
	for _, part := range strings.Split(between(a.body, `<ul class="outs queue">`, "</ul>"), "<li>")[1:] {
		out = append(out, between(part, `<span class="title">`, "</span>"))
	}
	return out
}

func TestTagQueue(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.attendant)
	for show, empty := range map[string]string{
		"": "No tag waits to be confirmed.", "?show=wanted": "Every sling has a tag that says what the record says.",
		"?show=lapsed": "No tag has lapsed.", "?show=thrown": "No tag was thrown away in the last 30 days.",
	} {
		if a := c.get("/tags" + show); a.status != http.StatusOK || !a.has(empty) {
			t.Errorf("%s: %d %s", show, a.status, a.words())
		}
	}
	k.queued()
	for _, x := range []struct {
		path string
		rows string
		says []string
	}{
		{"/tags", "NS-0388 NS-0417", []string{"2 tags: to confirm", "Tag 1, ", "Printed 11 Mar 2026 on plate-50x80 by S. Quill", "7 days left: good until 18 Mar 2026",
			"The record has changed since it was printed: throw it away", "Need a tag 3", "Lapsed 1", "Thrown away 1"}},
		{"/tags?stock=plate-50x80", "NS-0417", []string{"1 tag: to confirm, on plate-50x80", "To confirm 1", "Need a tag 0", "Lapsed 0"}},
		{"/tags?stock=strip-100x25", "", []string{"None on strip-100x25. No tag waits"}},
		{"/tags?show=wanted", "NS-0290 NS-0311 NS-0342", []string{"3 slings: need a tag", "Inspected 11 Mar 2026, its tag says 10 Nov 2025", "No tag on it",
			"Without one no counter can hand it over", "The last one was printed 11 Mar 2026 on disc-70"}},
		{"/tags?show=wanted&stock=disc-70", "NS-0342", []string{"1 sling: need a tag, last on disc-70"}},
		{"/tags?show=lapsed", "NS-0455", []string{"Lapsed on 10 Mar 2026"}},
		{"/tags?show=thrown", "NS-0342", []string{"Thrown away 11 Mar 2026: the printer stopped (ribbon ran out), by I. Maro"}},
	} {
		a := c.get(x.path)
		if got := strings.Join(rowsOf(a), " "); a.status != http.StatusOK || got != x.rows {
			t.Errorf("%s: %d %s, want %s", x.path, a.status, got, x.rows)
		}
		for _, text := range x.says {
			if !strings.Contains(a.words(), text) {
				t.Errorf("%s lacks %q: %s", x.path, text, a.words())
			}
		}
	}
	if a := c.get("/tags"); !strings.Contains(a.body, `href="/rack/NS-0417/tag"`) || !strings.Contains(a.body, "data-at=") {
		t.Error("a row does not lead to its tag, or the page does not follow the register")
	}
	for _, path := range []string{"/tags?show=all", "/tags?stock=badge", "/tags?stock=nowhere", "/tags?after=x", "/tags?show=wanted&after=x"} {
		if a := c.get(path); a.status != http.StatusNotFound {
			t.Errorf("%s: %d", path, a.status)
		}
	}
	if a := k.signedIn(k.rigger).get("/tags"); a.status != http.StatusForbidden {
		t.Errorf("a rigger: %d", a.status)
	}
	// What is lost is on no list, and what turned up is again.
	id := event.SlingOf(k.sling(k.shelved("NS-0999", nil)).ID.Key, "NS-0417")
	k.happens(id, k.keeper, event.Lost{Note: "n"})
	if got := strings.Join(rowsOf(c.get("/tags")), " "); got != "NS-0388" {
		t.Errorf("with a lost sling: %s", got)
	}
	k.happens(id, k.keeper, event.Found{Note: "n"})
	if got := strings.Join(rowsOf(c.get("/tags")), " "); got != "NS-0388 NS-0417" {
		t.Errorf("with the found sling: %s", got)
	}
}

// A long queue is shown in pages, each row once.
func TestTagQueueTurns(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	var idents []string
	for n := range 150 {
		idents = append(idents, "NS-"+strconv.Itoa(1000+n))
	}
	k.manyShelved(idents)
	c := k.signedIn(k.keeper)
	var got []string
	path, pages := "/tags?show=wanted", 0
	for path != "" && pages < 9 {
		a := c.get(path)
		got = append(got, rowsOf(a)...)
		path, pages = "", pages+1
		if next := between(a.body, `More of them">`, "</nav>"); strings.Contains(next, "The next ones") {
			links := strings.Split(next, `href="`)
			path = strings.ReplaceAll(strings.SplitN(links[len(links)-1], `"`, 2)[0], "&amp;", "&")
		}
	}
	if pages != 3 || strings.Join(got, " ") != strings.Join(idents, " ") {
		t.Errorf("%d pages: %v", pages, got)
	}
	if a := c.get("/tags?" + url.Values{"show": {"wanted"}}.Encode()); !a.has("60 slings on this page: need a tag") {
		t.Errorf("the first page: %s", a.words())
	}
}
