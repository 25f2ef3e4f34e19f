package web

import (
	"maps"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
)

// inHeap scans something on the page of a heap.
func (c *client) inHeap(text string) answer {
	c.k.t.Helper()
	return c.send(c.get(heapPath), heapPath+"/scan", url.Values{"text": {text}, "way": {"scanner"}})
}

// goneOut is a sling that is out with a rigger, and its tag's text.
func (k *kiosk) goneOut(ident string) (event.SlingID, string) {
	k.t.Helper()
	id, text := k.hanging(ident, nil)
	k.goesOut(id, k.rigger, day(k.t, "2026-03-04"))
	return id, text
}

// TestHeap: whatever lies in a heap is listed once, with its shape and a sentence,
// and what is to be looked at stays listed until somebody has dealt with it.
func TestHeap(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.attendant)
	if a := c.get(heapPath); !a.has("Scan the heap") && !a.has("<span>the heap</span>") {
		t.Errorf("before the first: %s", a.main())
	}
	id, text := k.goneOut("NS-0101")
	a := c.inHeap(text)
	if a.verdict() != TakenIn || !a.has(`<strong data-taken>1</strong>`) || !a.has("Off the name of T. Brandt") {
		t.Errorf("taken in: %q %s", a.verdict(), a.main())
	}
	form := c.get(heapPath).form(t, heapPath+"/scan")
	form.Set("way", "scanner")
	_, second := k.goneOut("NS-0100")
	form.Set("text", second)
	for range 2 { // under one key: the answer to the first was lost
		if a := c.follow(c.post(heapPath+"/scan", form)); !a.has(`<strong data-taken>2</strong>`) || a.has("One scan is enough") {
			t.Errorf("sent again: %s", a.main())
		}
	}
	for range 4 {
		a = c.inHeap(text)
	}
	if a.verdict() != TakenIn || !a.has(`<strong data-taken>2</strong>`) || !a.has("One scan is enough") || k.recorded(id, event.KindTakenIn) != 1 {
		t.Errorf("five times the same: %q %s", a.verdict(), a.main())
	}
	_, in := k.hanging("NS-0102", nil)
	held, heldText := k.hanging("NS-0103", nil)
	k.holds(held, "a gouge")
	retired, retiredText := k.hanging("NS-0104", nil)
	k.happens(retired, k.inspector, event.Retired{Reason: "worn", How: "not cut yet"})
	lost, lostText := k.goneOut("NS-0105")
	k.happens(lost, k.keeper, event.Lost{})
	for _, row := range []struct {
		name, text string
		verdict    Verdict
		says       string
		taken      string
	}{
		{"not out", in, LookCloser, "the record does not have it out", "3"},
		{"held", heldText, StaysHere, "Lay it with the held ones", "3"},
		{"retired", retiredText, StaysHere, "do not give it back", "3"},
		{"lost", lostText, StaysHere, "It was lost, and here it is.", "4"},
		{"foreign", "ABCDEFG", StaysHere, "not one of this crib", "4"},
		{"unreadable", "", LookCloser, "cannot be read", "4"},
		{"a web address", "https://example.test/x", LookCloser, "web address", "4"},
	} {
		a := c.inHeap(row.text)
		if a.verdict() != row.verdict || !a.has(row.says) || !a.has("<strong data-taken>"+row.taken+"</strong>") {
			t.Errorf("%s: %q %s", row.name, a.verdict(), a.main())
		}
		c.inHeap(row.text)
	}
	a = c.get(heapPath)
	if !a.has("<strong>7</strong> <span>to look at now</span>") {
		t.Errorf("to look at: %s", a.main())
	}
	for _, secret := range []string{"Brandt", in} {
		if files := k.filesWith(secret); slices.ContainsFunc(files, func(name string) bool { return strings.HasPrefix(filepath.Base(name), "desk") }) {
			t.Errorf("the session knows %q: %v", secret, files)
		}
	}
	a = c.send(a, heapPath+"/next", nil)
	if !a.has(`<strong data-taken>0</strong>`) || a.has("NS-0101") || !a.has("<strong>7</strong>") {
		t.Errorf("the next heap: %s", a.main())
	}
	a = c.send(a, heapPath+"/dealt", nil)
	if !a.has("<strong>6</strong> <span>to look at now</span>") {
		t.Errorf("dealt with: %s", a.main())
	}
	other := k.signedIn(k.keeper)
	if a := other.get(heapPath); a.has("NS-0102") {
		t.Errorf("another one sees it: %s", a.main())
	}
}

// visiting is a visit on which nobody asks anything.
func (k *kiosk) visiting() *visit {
	k.t.Helper()
	clock, err := k.store.Clock(k.t.Context())
	if err != nil {
		k.t.Fatal(err)
	}
	return &visit{r: httptest.NewRequestWithContext(k.t.Context(), http.MethodGet, "/", nil), crib: k.cribNow(), clock: clock, today: clock.Today()}
}

// TestCheckOneByOne: what was taken in is looked at, by picking or by scanning it,
// and ends on its peg or held.
func TestCheckOneByOne(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.attendant)
	if a := c.get(checkPath); !a.has("No sling waits to be looked at.") {
		t.Errorf("none: %s", a.main())
	}
	var ids []event.SlingID
	var texts []string
	for _, ident := range []string{"NS-0101", "NS-0102", "NS-0103"} {
		id, text := k.goneOut(ident)
		c.inHeap(text)
		ids, texts = append(ids, id), append(texts, text)
	}
	list := c.get(checkPath)
	if !list.has("3 slings to look at") || !list.has("Begin with NS-0101") || !list.has("T. Brandt had it until 2 Mar 2026 and has not been asked yet.") {
		t.Errorf("the list: %s", list.main())
	}
	page := c.get(checkPath + "/NS-0101")
	if got := c.send(page, checkPath+"/NS-0101", url.Values{"is-legs": {"maybe"}, "said": {"nothing"}}); k.sling(ids[0]).Details.Sling.State != gate.StateUnchecked || got.status != http.StatusUnprocessableEntity || !got.has("Not answered yet.") {
		t.Errorf("an unknown answer: %s", got.main())
	}
	if page.has("is-mishap") {
		t.Errorf("its rigger is asked without being there: %s", page.main())
	}
	done := c.send(page, checkPath+"/NS-0101", page.allWell(t, checkPath+"/NS-0101"))
	if k.sling(ids[0]).Details.Sling.State != gate.StateIn || !done.has("<span>Hang it on</span> <span>C4</span>") || !done.has("2 more slings to look at") {
		t.Errorf("nothing wrong: %s", done.main())
	}
	page = c.send(list, checkPath, url.Values{"text": {texts[1]}, "way": {"scanner"}})
	answers := page.allWell(t, checkPath+"/NS-0102")
	answers["is-hook-latch"], answers["note"] = []string{"wrong"}, []string{"leg  2"}
	done = c.send(page, checkPath+"/NS-0102", answers)
	if s := k.sling(ids[1]); s.Details.Sling.State != gate.StateHeld || !strings.Contains(s.Hold.Reason, "hook latch (wrong): leg 2") || done.verdict() != StaysHere || !done.has("Who may release it: O. Vance") {
		t.Errorf("held: %v %q %s", s.Details.Sling.State, s.Hold.Reason, done.main())
	}
	// At the counter the check is offered, and the sling cannot go out before.
	c.takes(k.rigger)
	c.lifts(aLift())
	page = c.scan(texts[2])
	if page.verdict() != StaysHere || !page.has(`href="/heap/check/NS-0103"`) {
		t.Errorf("at the counter: %q %s", page.verdict(), page.main())
	}
	// A form that is older than the check of somebody else.
	first, second := c.get(checkPath+"/NS-0103"), k.signedIn(k.keeper)
	answers = first.allWell(t, checkPath+"/NS-0103")
	late := maps.Clone(answers)
	answers["is-legs"] = []string{"doubt"}
	second.send(second.get(checkPath+"/NS-0103"), checkPath+"/NS-0103", answers)
	after := c.send(first, checkPath+"/NS-0103", late)
	if s := k.sling(ids[2]); s.Details.Sling.State != gate.StateHeld || !after.has("Something else happened to this sling meanwhile") {
		t.Errorf("the later one: %v %s", s.Details.Sling.State, after.main())
	}
	// One that does not wait is what the counter is for.
	if a := c.send(c.get(checkPath), checkPath, url.Values{"text": {texts[0]}, "way": {"scanner"}}); a.verdict() != MayGo {
		t.Errorf("scanned a checked one: %q %s", a.verdict(), a.main())
	}
	if a := c.get(checkPath + "/NS-9999"); a.status != http.StatusNotFound {
		t.Errorf("unknown: %d", a.status)
	}
}

// TestTold: a rigger is asked once about what was taken in without asking, and what
// they say holds the slings that they name.
func TestTold(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.attendant)
	var ids []event.SlingID
	for _, ident := range []string{"NS-0101", "NS-0102", "NS-0103"} {
		id, text := k.goneOut(ident)
		c.inHeap(text)
		ids = append(ids, id)
	}
	who := k.rigger.ID.String()
	page := c.get(toldPath + "/" + who)
	for _, text := range []string{"Ask T. Brandt: what happened?", "NS-0101", "NS-0103", "They cannot say"} {
		if !page.has(text) {
			t.Errorf("the question lacks %q: %s", text, page.main())
		}
	}
	about := func(ids ...event.SlingID) (texts []string) {
		for _, id := range ids {
			texts = append(texts, id.String())
		}
		return texts
	}
	all := about(ids...)
	for name, form := range map[string]url.Values{
		"nothing picked":     {"sling": all, "said": {"something"}, "what": {"shock"}},
		"nothing said of it": {"sling": all, "said": {"something"}, "about": all[:1]},
	} {
		if a := c.send(page, toldPath, form); a.status != http.StatusUnprocessableEntity || !a.has("Choose at least one") || k.recorded(ids[0], event.KindTold) != 0 {
			t.Errorf("%s: %d %s", name, a.status, a.main())
		}
	}
	// The panel at the counter wants each answer, and leads on where one is not good.
	c.takes(k.rigger)
	panel := c.get("/counter")
	well := panel.allWell(t, toldPath)
	for _, short := range []url.Values{{}, {"is-mishap": {"ok"}}, {"said": {"nothing"}, "is-mishap": {"ok"}}} {
		if c.send(panel, toldPath, maps.Clone(short)); k.recorded(ids[0], event.KindTold) != 0 {
			t.Fatalf("%v was enough", short)
		}
	}
	well["is-mishap"] = []string{"doubt"}
	page = c.send(panel, toldPath, well)
	if !page.has("To which of them did something happen?") || k.recorded(ids[0], event.KindTold) != 0 {
		t.Fatalf("in doubt: %s", page.main())
	}
	a := c.send(page, toldPath, url.Values{"sling": all, "about": all[:1], "said": {"something"}, "what": {"shock", "unstated"}, "note": {"bay 4"}})
	if s := k.sling(ids[0]); s.Details.Sling.State != gate.StateHeld || !strings.Contains(s.Hold.Reason, "mishap (wrong), edge or choke not stated (wrong), shock (wrong): bay 4") || !a.has("3 answers of T. Brandt written down. 1 sling held") {
		t.Errorf("told: %v %q %s", s.Details.Sling.State, s.Hold.Reason, a.main())
	}
	for _, id := range ids[1:] {
		if s := k.sling(id); s.Details.Sling.State != gate.StateUnchecked || s.Owes != nil || k.recorded(id, event.KindTold) != 1 {
			t.Errorf("%s: %v, owes %v", s.Details.Ident, s.Details.Sling.State, s.Owes)
		}
	}
	if a := c.get(toldPath + "/" + who); !a.has("Nothing is to be asked any more.") {
		t.Errorf("asked again: %s", a.main())
	}
	for _, path := range []string{toldPath + "/x", toldPath + "/" + strings.Repeat("0", 31) + "1"} {
		if a := c.get(path); a.status != http.StatusNotFound && a.status != http.StatusConflict {
			t.Errorf("%s: %d", path, a.status)
		}
	}
}

// TestOwing: what is said to a rigger who is named.
func TestOwing(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.attendant)
	owes := func() Owing {
		t.Helper()
		o, err := k.server.owing(k.visiting(), k.rigger)
		if err != nil {
			t.Fatal(err)
		}
		return o
	}
	if o := owes(); o.Asks != "" || len(o.Back) > 0 {
		t.Errorf("nothing: %+v", o)
	}
	for _, ident := range []string{"NS-0101", "NS-0102"} {
		_, text := k.goneOut(ident)
		c.inHeap(text)
	}
	if o := owes(); o.Asks != "You brought back 2 slings today. What happened out there, with any of them?" || len(o.Looks) != 2 || o.About != "NS-0101, NS-0102" || len(o.Slings) != 2 {
		t.Errorf("owes: %+v", o)
	}
	out, _ := k.goneOut("NS-0200")
	k.happens(out, k.keeper, event.Recalled{Reason: "needed at bay 2", By: day(t, "2026-03-09")})
	k.goneOut("NS-0201")
	soon, _ := k.hanging("NS-0202", func(d *event.Details) { d.Sling.Inspected = day(t, "2025-03-05") })
	k.goesOut(soon, k.rigger, quantity.Date{})
	o := owes()
	if len(o.Back) != 2 || o.Back[0].Ident != "NS-0200" || o.Back[0].Sentence != "Recalled, wanted back by 9 Mar 2026: needed at bay 2." || o.Back[1].Ident != "NS-0202" || o.Back[1].Verdict != LookCloser {
		t.Errorf("wanted back: %+v", o.Back)
	}
}
