package web

import (
	"fmt"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/kiosk/web/webtest"
)

// counting opens the count page on a telephone, at a place.
func (k *kiosk) counting(b *webtest.Browser, home, place string) *webtest.Page {
	k.t.Helper()
	p := k.openedBy(b, home, k.attendant)
	p.Size(390, 844)
	p.Go(home + "/count?at=" + place)
	p.Waits(`document.querySelector("[data-count]") && document.body.hasAttribute("data-followed")`)
	return p
}

// numbers is where the page says that so many of so many were seen.
func numbers(seen, of int) string {
	return fmt.Sprintf(`document.querySelector("[data-count-now]").textContent.replace(/\s+/g, " ").includes("%d of %d seen")`, seen, of)
}

// newestCard is where the card of the newest scan says something.
func newestCard(says string) string {
	return `document.querySelector("[data-count-card]").textContent.includes(` + fmt.Sprintf("%q", says) + `)`
}

func (k *kiosk) beginsCount() event.CountID {
	k.t.Helper()
	id, err := k.server.Counter.BeginCount(k.t.Context(), k.byKeeper(), nil)
	if err != nil {
		k.t.Fatal(err)
	}
	return id
}

// rack hangs so many slings at a place and gives their tags.
func (k *kiosk) rackOf(n int, place string) (ids []event.SlingID, tags []string) {
	k.t.Helper()
	for i := range n {
		id, tag := k.hanging(fmt.Sprintf("%s-%04d", place, i+1), at(fmt.Sprintf("%s-%02d", place, i+1)))
		ids, tags = append(ids, id), append(tags, tag)
	}
	return ids, tags
}

// A count from its beginning to the sheet on a telephone, by a scanner: the first
// sling says where one stands, what hangs wrong is told, and a scan does nothing but
// count.
func TestCountInBrowser(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	ids, tags := k.rackOf(3, "A")
	_, strange := k.rackOf(2, "B")
	out, tagOut := k.hanging("NS-0417", at("A-04"))
	k.goesOut(out, k.rigger, k.today())
	k.follow()
	p := k.openedBy(webtest.Start(t), k.http.URL, k.attendant)
	p.Size(390, 844)
	p.Go(k.http.URL + "/count")
	looks(t, p, "count-begin")
	p.Follow(`button[name="all"]`)
	p.Waits(`document.querySelector(".places-to-count")`)
	looks(t, p, "count-places")

	p.Press(webtest.ByScanner, webtest.Scanned(tags[0])...)
	p.Waits(`document.querySelector("[data-count][data-chosen]")?.dataset.at === "A"`)
	p.Waits(numbers(1, 3))
	if at := webtest.Eval[string](p, `location.pathname + location.search`); at != "/count?at=A" {
		t.Errorf("it leads to %s", at)
	}
	for range 5 {
		p.Press(webtest.ByScanner, webtest.Scanned(tags[1])...)
	}
	p.Waits(newestCard("Counted already"))
	p.Waits(numbers(2, 3))
	looks(t, p, "count-again")
	p.Press(webtest.ByScanner, webtest.Scanned(strange[0])...)
	p.Waits(newestCard("Wrong place"))
	looks(t, p, "count-wrong-place")
	p.Press(webtest.ByScanner, webtest.Scanned(tagOut)...)
	p.Waits(newestCard("Booked out, and here"))
	looks(t, p, "count-booked-out")
	p.Press(webtest.ByScanner, webtest.Scanned("SOMETHING ELSE")...)
	p.Waits(newestCard("Not counted"))
	looks(t, p, "count-strange")
	if n := webtest.Eval[int](p, `document.querySelectorAll(".before li").length`); n != 5 { // the first, the second and its twin, the wrong one, the booked out one
		t.Errorf("%d cards below the newest", n)
	}
	if missing := p.Text("[data-count-lists]"); !strings.Contains(missing, "A-0003") || strings.Contains(missing, "A-0002") {
		t.Errorf("missing: %s", missing)
	}
	for i, n := range []int{1, 1, 0} {
		if got := k.recorded(ids[i], event.KindSeen); got != n {
			t.Errorf("sling %d was seen %d times", i, got)
		}
	}
	if k.recorded(out, event.KindReturned) != 0 {
		t.Error("a scan took something back")
	}
	p.Follow(`a[href="/count"].first`)
	p.Click(".rare > summary")
	p.Follow(`form[action="/count/end"] button`)
	p.Waits(`document.querySelector(".count-sheet")`)
	looks(t, p, "count-sheet")
}

// Two telephones count side by side: each shows what the other has counted, and both
// hear that the count has ended.
func TestTwoCountAtOnce(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	_, tags := k.rackOf(6, "A")
	count := k.beginsCount()
	k.follow()
	b := webtest.Start(t)
	one, two := k.counting(b, k.http.URL, "A"), k.counting(b, k.http.URL, "A")
	for i := range 3 {
		one.Press(webtest.ByScanner, webtest.Scanned(tags[i])...)
		two.Press(webtest.ByScanner, webtest.Scanned(tags[5-i])...)
	}
	for _, p := range []*webtest.Page{one, two} {
		p.Waits(numbers(6, 6))
		p.Waits(`document.querySelector("[data-count-lists]").textContent.includes("Nothing is missing here.")`)
		p.Waits(saysNothing)
	}
	if _, err := k.server.Counter.EndCount(t.Context(), k.byKeeper(), count, ""); err != nil {
		t.Fatal(err)
	}
	for _, p := range []*webtest.Page{one, two} {
		p.Waits(`document.querySelector(".counting") && !document.querySelector("[data-count]")`)
	}
}

// While the line is cut scans wait in their order, also over a loading of the page,
// and are counted once it is back, each once, those that had arrived as well.
func TestCountWithTheLineCut(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	ids, tags := k.rackOf(4, "A")
	k.beginsCount()
	k.follow()
	line := k.line()
	p := k.counting(webtest.Start(t), line.Address(), "A")
	p.Press(webtest.ByScanner, webtest.Scanned(tags[0])...)
	p.Waits(numbers(1, 4))

	// The answer to one that arrives is lost.
	webtest.Eval[bool](p, `(globalThis.real = fetch, globalThis.fetch = async (...given) => { await real(...given); globalThis.arrived = true; throw new TypeError("line down"); }, true)`)
	p.Press(webtest.ByScanner, webtest.Scanned(tags[1])...)
	p.Waits(`globalThis.arrived`)
	line.Cut()
	webtest.Eval[bool](p, `(globalThis.fetch = real, true)`)
	p.Press(webtest.ByScanner, webtest.Scanned(tags[2])...)
	p.Press(webtest.ByScanner, webtest.Scanned(tags[3])...)
	p.Press(webtest.ByScanner, webtest.Scanned(tags[3])...)
	p.Waits(`document.querySelector("[data-waiting]").textContent.includes("4 scans wait: the line is down.")`)
	p.Waits(says("The line to the register is down"))
	looks(t, p, "count-line-down")
	kept := webtest.Eval[string](p, `sessionStorage.getItem("count")`)
	if strings.Count(kept, `"key"`) != 4 {
		t.Errorf("it keeps %s", kept)
	}
	line.Mend()
	p.Go(line.Address() + "/count?at=A") // loaded again, as by somebody who does not trust it
	p.Waits(numbers(4, 4))
	p.Waits(`document.querySelector("[data-waiting]").hidden`)
	p.Waits(newestCard("Counted already"))
	if left := webtest.Eval[bool](p, `sessionStorage.getItem("count") === null`); !left {
		t.Error("scans are kept that were sent")
	}
	for i, id := range ids {
		if n := k.recorded(id, event.KindSeen); n != 1 {
			t.Errorf("sling %d was seen %d times", i, n)
		}
	}
	var order []event.SlingID
	all, err := k.store.Since(t.Context(), 0, 1000)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range all {
		if r.Envelope.Kind == event.KindSeen {
			order = append(order, r.Envelope.Subject.Sling())
		}
	}
	if fmt.Sprint(order) != fmt.Sprint(ids) {
		t.Errorf("seen in the order %v, scanned in %v", order, ids)
	}
}
