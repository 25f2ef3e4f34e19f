package web

import (
	"strconv"
	"strings"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/kiosk/counter"
	"cribgate/kiosk/web/webtest"
)

// byTurns is a browser whose camera is shown tags one after the other, with nothing
// between them, over and over.
func byTurns(t *testing.T, texts ...string) *webtest.Browser {
	t.Helper()
	var film []webtest.Shown
	for _, text := range texts {
		film = append(film, webtest.Shown{Text: text, For: time.Second}, webtest.Shown{For: 500 * time.Millisecond})
	}
	return webtest.Filming(t, webtest.Film(t, film...))
}

// readBy gives by which ways the facts of a kind about a sling were read.
func (k *kiosk) readBy(id event.SlingID, kind event.Kind) (ways []string) {
	k.t.Helper()
	story, err := k.store.Story(k.t.Context(), event.Sling(id))
	if err != nil {
		k.t.Fatal(err)
	}
	for _, r := range story {
		if r.Envelope.Kind == kind {
			ways = append(ways, r.Envelope.Way)
		}
	}
	return ways
}

// TestRefusalByCamera: what is held before the camera and must stay is refused once,
// however long it is held there, and the page leads to a peg.
func TestRefusalByCamera(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0099", func(d *event.Details) { d.Sling.Inspected = day(t, "2025-02-20") })
	k.hanging("NS-0290", nil)
	p := k.atCounter(held(t, text), k.attendant, k.rigger)
	p.Changes(func() { p.Click("[data-camera] [data-on]") })
	if got := verdictOf(p); got != StaysHere || !strings.Contains(p.Text(".walk"), "NS-0290") {
		t.Fatalf("verdict %q: %s", got, p.Text("main"))
	}
	p.Waits(`document.querySelector("[data-advice]")?.textContent === "Read"`)
	p.Changes(func() { p.Click(`form[action="/counter/fetch"] button`) })
	if got := p.Text(".rail"); !strings.Contains(got, "Fetch NS-0290") {
		t.Errorf("on the rail: %s", got)
	}
	if ways := k.readBy(id, event.KindRefused); len(ways) != 1 || ways[0] != string(counter.Camera) {
		t.Errorf("refused by %v", ways)
	}
}

// TestHeapByCamera takes in a heap by showing its tags to the camera, round and round.
func TestHeapByCamera(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	ids, texts := k.aHeap(3)
	p := k.opened(byTurns(t, texts...), k.attendant)
	p.Go(k.http.URL + heapPath)
	p.Click("[data-camera] [data-on]")
	p.Waits(`document.querySelector("[data-taken]").textContent === "3"`)
	p.Waits(`document.querySelector(".plate .sentence").textContent.includes("One scan is enough")`)
	if got := p.Text("[data-taken]"); got != "3" {
		t.Errorf("after the second round %s are taken in", got)
	}
	for _, id := range ids {
		if ways := k.readBy(id, event.KindTakenIn); len(ways) != 1 || ways[0] != string(counter.Camera) || k.sling(id).Details.Sling.State != gate.StateUnchecked {
			t.Errorf("taken in by %v", ways)
		}
	}
}

// TestCountByCamera counts a place of the rack with the camera of a phone.
func TestCountByCamera(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	ids, tags := k.rackOf(2, "A")
	k.beginsCount()
	p := k.counting(byTurns(t, tags...), k.http.URL, "A")
	p.Click("[data-camera] [data-on]")
	p.Waits(numbers(2, 2))
	p.Waits(newestCard("Counted already"))
	for _, id := range ids {
		if ways := k.readBy(id, event.KindSeen); len(ways) != 1 || ways[0] != string(counter.Camera) {
			t.Errorf("seen by %v", ways)
		}
	}
}

// TestHandoverByCamera: a badge before the paired phone says who takes over a sling
// that is out.
func TestHandoverByCamera(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	second := k.add("P. Lund", event.Rigger)
	id, _ := k.hanging("NS-0417", func(d *event.Details) { d.Sling.Inspected = day(t, "2026-01-20") })
	k.goesOut(id, k.rigger, quantity.Date{})
	p, phone := k.paired(byTurns(t, k.badgeFor(second)), k.http.URL)
	p.Go(k.http.URL + "/outside/NS-0417")
	p.Waits(`document.querySelector("button[name=use][value=same]")`)
	phone.Hides(true)
	p.Waits(`document.querySelector("button[name=use][value=same]") && document.body.hasAttribute("data-followed")`)
	p.Follow("button[name=use][value=same]")
	if s := k.sling(id); s.Loan.Rigger != second.ID || k.recorded(id, event.KindHandedOn) != 1 {
		t.Errorf("with %v, handed on %d times: %s", s.Loan.Rigger, k.recorded(id, event.KindHandedOn), p.Text("main"))
	}
}

// TestTwoStationsAndAPhone: a paired phone shows two tags to one station, while the
// other station has scanned one of the same slings for somebody else. Who presses
// first has it; the other page says so untouched, and a phone that looks at what is
// out lists both.
func TestTwoStationsAndAPhone(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.follow()
	other, second := k.add("E. Kiln", event.Attendant), k.add("P. Lund", event.Rigger)
	one, oneText := k.hanging("NS-0417", nil)
	two, twoText := k.hanging("NS-0290", nil)
	b := byTurns(t, oneText, twoText)
	there := k.atCounter(b, other, second)
	scanned(there, oneText)
	if got := verdictOf(there); got != MayGo {
		t.Fatalf("at the other station: %q", got)
	}
	list := k.opened(b, other)
	list.Size(390, 844)
	list.Go(k.http.URL + "/outside")
	here, phone := k.paired(b, k.http.URL)
	here.Waits(`document.querySelector("main button.first .label")?.textContent === "Hand over 2 slings to T. Brandt"`)
	phone.Hides(true)
	here.Waits(`document.querySelector("[data-station] [data-phone]")?.textContent.startsWith(` + strconv.Quote(phoneDown) + `) && !document.body.hasAttribute("aria-busy")`)
	here.Changes(func() { here.Click("main form[action='/counter/issue'] button.first") })
	if got := here.Text("#verdict"); got != "Handed over" || k.out(k.rigger, one, two) != 2 {
		t.Fatalf("here: %q, %d out", got, k.out(k.rigger, one, two))
	}
	there.Waits(`document.querySelector("[data-verdict]")?.dataset.verdict !== "may-go" && document.querySelector(".plate").textContent.includes("T. Brandt")`)
	if there.Text(`form[action="/counter/issue"]`) != "" {
		t.Errorf("the other station still offers to hand over: %s", there.Text("main"))
	}
	list.Waits(`["NS-0417", "NS-0290"].every((ident) => document.querySelector("main").textContent.includes(ident))`)
	for _, id := range []event.SlingID{one, two} {
		if ways := k.readBy(id, event.KindIssued); len(ways) != 1 || ways[0] != string(counter.Camera) {
			t.Errorf("issued by %v", ways)
		}
	}
}
