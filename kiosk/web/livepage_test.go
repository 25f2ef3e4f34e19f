package web

import (
	"encoding/json"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"cribgate/kiosk/live"
)

var madeFromPattern = regexp.MustCompile(`<body data-at="(\d+)" data-register="([^"]+)" data-run="([^"]+)" data-program="([^"]+)" data-day="([^"]+)" data-house="([^"]+)" data-follows="([a-z]+)"( data-answer)? data-says="([0-9a-f]{16}|-{16})">`)

// asksItself is a page that asks for itself, knowing what it says.
func (c *client) asksItself(path, says string) answer {
	c.k.t.Helper()
	r := c.request(http.MethodGet, path, nil)
	r.Header.Set(pageSays, says)
	return c.do(r)
}

// says is the digest of a page, and what it follows.
func (a answer) says(t *testing.T) (says, follows string) {
	t.Helper()
	m := madeFromPattern.FindStringSubmatch(a.body)
	if m == nil {
		t.Fatalf("a page without what it was made from: %.2000s", a.body)
	}
	return m[9], m[7]
}

// Every page of the house says what it was made from; asked for again it says the same,
// and the answer is short; nothing that it was made from is ahead of what open pages are
// told.
func TestEveryPageKnowsWhatItWasMadeFrom(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.filled()
	all := k.add("W. Whole", everyone)
	c := k.signedIn(all)
	out := k.client()
	asked := 0
	for _, r := range routes() {
		path := strings.NewReplacer("{$}", "", "{sling}", "NS-0290", "{person}", k.rigger.ID.String(), "{card}", "1").Replace(r.path)
		if r.method != http.MethodGet || strings.Contains(path, "{") {
			continue
		}
		by := c
		if r.act == actNothing {
			by = out
		}
		first := by.get(path)
		if first.status != http.StatusOK && first.status != http.StatusNotFound {
			continue // it leads elsewhere
		}
		if !strings.Contains(first.header.Get("Content-Type"), "text/html") {
			continue // a file
		}
		asked++
		says, follows := first.says(t)
		if follows != followsNames[r.follows] {
			t.Errorf("%s follows %q", path, follows)
		}
		if strings.Contains(first.body, " data-answer ") || says == unread {
			t.Errorf("%s is taken for the answer to a form", path)
		}
		again := by.asksItself(path, says)
		var stand live.Stand
		if err := json.Unmarshal([]byte(again.header.Get(pageStands)), &stand); again.status != http.StatusNoContent || again.body != "" || err != nil {
			t.Errorf("%s asked for again: %d, %v", path, again.status, err)
		}
		if now := k.hub.Now(); stand != now {
			t.Errorf("%s was made from %+v, and pages are told of %+v", path, stand, now)
		}
		if other := by.asksItself(path, strings.Repeat("0", 16)); other.status != first.status {
			t.Errorf("%s, which said something else: %d", path, other.status)
		}
	}
	if asked < 15 {
		t.Errorf("%d pages were asked: this proves nothing", asked)
	}
}

// A page says something else once what it shows is another, and the same while only
// other slings are.
func TestAPageSaysTheSameUntilItDoesNot(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, _ := k.hanging("NS-0417", nil)
	other, _ := k.hanging("NS-0418", nil)
	c := k.signedIn(k.inspector)
	says, _ := c.get("/rack/NS-0417").says(t)
	k.holds(other, "gouged")
	a := c.asksItself("/rack/NS-0417", says)
	var stand live.Stand
	if err := json.Unmarshal([]byte(a.header.Get(pageStands)), &stand); a.status != http.StatusNoContent || err != nil || stand.At != k.position() {
		t.Errorf("of another sling: %d %+v %v", a.status, stand, err)
	}
	k.holds(id, "gouged")
	if a = c.asksItself("/rack/NS-0417", says); a.status != http.StatusOK || !a.has("gouged") {
		t.Errorf("of this one: %d", a.status)
	}
}

// The answer to a form is marked, since its address gives another page; and the
// sentence that is shown once is not taken by a page that asks for itself.
func TestAnswersAreNotAskedFor(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.shelved("NS-0311", nil)
	c := k.signedIn(k.inspector)
	page := c.get("/rack/NS-0311")
	says, _ := page.says(t)
	bad := c.post("/rack/NS-0311/hold", url.Values{"key": {page.key(t)}, "heads": {between(page.body, `name="heads" value="`, `"`)}})
	if got, _ := bad.says(t); !strings.Contains(bad.body, " data-answer ") || got != unread {
		t.Errorf("an answer: %d %q", bad.status, got)
	}
	good := c.post("/rack/NS-0311/hold", url.Values{"key": {page.key(t)}, "heads": {between(page.body, `name="heads" value="`, `"`)}, "hold-reason": {"gouged"}})
	if good.status != http.StatusSeeOther {
		t.Fatalf("held: %d %s", good.status, good.words())
	}
	itself := c.asksItself("/rack/NS-0311", says)
	seen := c.get("/rack/NS-0311")
	if itself.has("NS-0311 is held.") || !seen.has("NS-0311 is held.") {
		t.Error("the sentence was taken by a page that nobody looks at")
	}
	a, _ := itself.says(t)
	if b, _ := seen.says(t); a != b {
		t.Error("a page with the sentence says something else than one without")
	}
}

// What stands at the top of every page, the day and the program are told without an
// event.
func TestTheHouseIsTold(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.tells()
	before := k.hub.Now()
	k.passed.Add(int64(24 * time.Hour))
	k.tells()
	day := k.hub.Now()
	if day.Day != "2026-03-03" || before.Day != "2026-03-02" || day.Says != before.Says || day.At != before.At {
		t.Errorf("a day later: %+v, before %+v", day, before)
	}
	k.off.Add(int64(10 * 24 * time.Hour))
	k.tells()
	if leapt := k.hub.Now(); leapt.Says == day.Says || leapt.Register != day.Register || leapt.Program != day.Program || leapt.Run != day.Run {
		t.Errorf("the clock leapt: %+v, before %+v", leapt, day)
	}
}
