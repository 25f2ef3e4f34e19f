package web

import (
	"context"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/kiosk/live"
	"cribgate/kiosk/web/webtest"
)

// follow keeps the open pages told, as a running kiosk does, until the test ends.
func (k *kiosk) follow() {
	k.t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() {
		defer close(done)
		k.server.Follow(ctx)
	}()
	k.t.Cleanup(func() {
		stop()
		<-done
	})
}

// tells the open pages once how the house stands.
func (k *kiosk) tells() {
	k.t.Helper()
	if err := k.server.Tell(k.t.Context()); err != nil {
		k.t.Fatal(err)
	}
}

// line lies between a browser and the kiosk.
func (k *kiosk) line() *webtest.Line {
	k.t.Helper()
	return webtest.NewLine(k.t, k.http.Listener.Addr().String())
}

// saysNothing is where a page has nothing to say about itself, and says where it has
// this to say.
const saysNothing = `document.querySelector(".stale").hidden`

func says(sentence string) string {
	return `!document.querySelector(".stale").hidden && document.querySelector(".stale").textContent.includes("` + sentence + `")`
}

// A page that only shows follows by itself, and keeps what its reader has opened and
// where they are; one that somebody fills in is left alone, and says what is the
// matter; it follows once nothing is filled in any more.
func TestAPageFollows(t *testing.T) {
	k := newKiosk(t)
	id, _ := k.hanging("NS-0417", nil)
	other, _ := k.hanging("NS-0418", nil)
	k.follow()
	b := webtest.Start(t)
	rack, sling := k.opened(b, k.attendant), k.opened(b, k.inspector)
	rack.Go(k.http.URL + "/rack")
	sling.Go(k.http.URL + slingPath(k.sling(id)))
	webtest.Eval[bool](rack, `(document.querySelector('a[href="/rack/NS-0418"]').focus(), true)`)
	k.holds(id, "gouged")
	rack.Waits(`document.querySelector('a[href="/rack/NS-0417"]').textContent.includes("Held")`)
	sling.Waits(`document.querySelector(".stand h1").textContent === "Held"`)
	for name, p := range map[string]*webtest.Page{"rack": rack, "sling": sling} {
		if p.Waits(saysNothing); p.Text(".stale") != "" {
			t.Errorf("%s: %q", name, p.Text(".stale"))
		}
	}
	if got := webtest.Eval[string](rack, `document.activeElement.getAttribute("href")`); got != "/rack/NS-0418" {
		t.Errorf("the focus is at %q", got)
	}

	// Another sling is nothing to a page that somebody fills in; this one is.
	webtest.Eval[bool](sling, `(document.querySelector("#release").open = true)`)
	sling.Answer("release-reason", "every link gau")
	at := webtest.Eval[string](sling, `document.body.dataset.at`)
	k.holds(other, "gouged")
	sling.Waits(`Number(document.body.dataset.at) > ` + at)
	if got := sling.Text(".stale"); got != "" {
		t.Errorf("of another sling: %q", got)
	}
	k.happens(id, k.keeper, event.Lost{Note: "not on its peg"})
	sling.Waits(says("Something has changed in the register since this page was made. What is filled in here stays"))
	looks(t, sling, "sling-moved-on")
	if got := webtest.Eval[string](sling, `document.querySelector("[name=release-reason]").value`); got != "every link gau" {
		t.Errorf("what was typed reads %q", got)
	}
	sling.Answer("release-reason", "")
	webtest.Eval[bool](sling, `(document.querySelector("#release").open = false)`)
	sling.Waits(`document.querySelector(".stand h1").textContent === "Lost" && ` + saysNothing)
}

// The line is cut, and the page says so at once and for how long; what was filled in
// stays; it heals by itself, and the page follows what it has missed.
func TestTheLineIsCutAndHealed(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	k.follow()
	l := k.line()
	p := k.atCounterBy(webtest.Start(t), l.Address(), k.attendant, k.rigger)
	scanned(p, text)
	if got := verdictOf(p); got != MayGo {
		t.Fatalf("verdict %q", got)
	}
	for name, cut := range map[string]func(){"cut": l.Cut, "silent": l.Still} {
		cut()
		p.Waits(says("The line to the register is down since"))
		p.Waits(`/For \d+ s\./.test(document.querySelector(".stale").textContent)`)
		looks(t, p, "counter-line-"+name)
		k.holds(id, "gouged")
		if got := verdictOf(p); got != MayGo {
			t.Fatalf("%s: by which way did it get there? %q", name, got)
		}
		l.Mend()
		p.Waits(`document.querySelector("[data-verdict]").dataset.verdict === "stays-here" && ` + saysNothing)
		k.happens(id, k.inspector, event.Released{Reason: "every link gauged"})
		p.Waits(`document.querySelector("[data-verdict]").dataset.verdict === "may-go" && ` + saysNothing)
	}

	// In the middle of a loan: whoever presses while the line is cut asks again when it
	// is whole, and the sling goes out once.
	l.Cut()
	p.Click("main button.first")
	p.Waits(`document.querySelector(".lost")?.textContent.includes("` + lostSentence + `")`)
	p.Waits(says("The line to the register is down"))
	l.Mend()
	p.Waits(saysNothing)
	if k.sling(id).Details.Sling.State != gate.StateIn {
		t.Error("something was sent by itself")
	}
	p.Changes(func() { p.Click(".lost button") })
	if got := p.Text("#verdict"); got != "Handed over" || k.recorded(id, event.KindIssued) != 1 {
		t.Errorf("asked again: %q, %v", got, k.kinds(id))
	}
}

// Two stations and a sling: what one does the other is told, on the verdict that it
// shows, and an act that comes too late is none.
func TestTwoStations(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	second := k.add("P. Lund", event.Rigger)
	k.follow()
	b := webtest.Start(t)
	here, there := k.atCounter(b, k.attendant, k.rigger), k.atCounter(b, k.add("J. Holm", event.Attendant), second)
	scanned(here, text)
	scanned(there, text)
	if a, b := verdictOf(here), verdictOf(there); a != MayGo || b != MayGo {
		t.Fatalf("verdicts %q and %q", a, b)
	}
	here.Changes(func() { here.Click("main button.first") })
	if got := here.Text("#verdict"); got != "Handed over" {
		t.Fatalf("handed over: %q", got)
	}
	there.Waits(`document.querySelector("[data-verdict]")?.dataset.verdict !== "may-go"`)
	if got := there.Text("main"); !strings.Contains(got, k.rigger.Name) {
		t.Errorf("the other station says %q", got)
	}
	if n := k.recorded(id, event.KindIssued); n != 1 {
		t.Errorf("issued %d times", n)
	}
}

// A page from yesterday loads itself and says so, unless somebody fills it in: then it
// says that it is from yesterday.
func TestAPageFromYesterday(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.hanging("NS-0417", nil)
	b := webtest.Start(t)
	rack, form := k.opened(b, k.attendant), k.opened(b, k.inspector)
	rack.Go(k.http.URL + "/rack")
	form.Go(k.http.URL + "/rack/NS-0417/correct")
	form.Answer("place", "Z9")
	k.passed.Add(int64(24 * time.Hour))
	rack.Changes(k.tells)
	rack.Waits(`document.body.dataset.day === "2026-03-03" && document.querySelector(".notice")?.textContent.includes("It is another day")`)
	if got := rack.Text(".foot"); !strings.Contains(got, "Today is 3 Mar 2026") {
		t.Errorf("the new page: %q", got)
	}
	form.Waits(says("It is another day since this page was made."))
	if got := webtest.Eval[string](form, `document.querySelector("[name=place]").value`); got != "Z9" {
		t.Errorf("what was typed reads %q", got)
	}
	looks(t, form, "correct-yesterday")
}

// What every page says without an event gets onto the pages that are open.
func TestTheClockLeaps(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	p := k.opened(webtest.Start(t), k.attendant)
	p.Go(k.http.URL + "/outside")
	k.off.Add(int64(10 * 24 * time.Hour))
	p.Changes(k.tells)
	p.Waits(`document.querySelector(".doubt")?.textContent.includes("Nothing goes out")`)
}

// another is a second program on the same register, as after it was started anew.
func (k *kiosk) another(version string) (hub *live.Hub, address string) {
	k.t.Helper()
	c := k.server.Config
	hub = live.NewHub(1)
	c.Live, c.Version = hub, version
	s, err := New(c)
	if err != nil {
		k.t.Fatal(err)
	}
	if err := s.Tell(k.t.Context()); err != nil {
		k.t.Fatal(err)
	}
	server := httptest.NewServer(s.Handler())
	k.t.Cleanup(func() {
		hub.Close()
		server.Close()
	})
	head, err := k.store.Head(k.t.Context())
	if err != nil {
		k.t.Fatal(err)
	}
	hub.Announce(head.At)
	return hub, server.Listener.Addr().String()
}

// A program that was started anew is nothing to a page that it would make just so; one
// of another version makes the page load itself, unless somebody fills it in.
func TestTheProgramIsAnother(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.hanging("NS-0417", nil)
	l := k.line()
	b := webtest.Start(t)
	rack, form := k.openedBy(b, l.Address(), k.attendant), k.openedBy(b, l.Address(), k.inspector)
	rack.Go(l.Address() + "/rack")
	form.Go(l.Address() + "/rack/NS-0417/correct")
	form.Answer("place", "Z9")
	webtest.Eval[bool](rack, `(globalThis.same = true)`)

	hub, address := k.another(k.server.Version)
	l.Leads(address)
	for _, p := range []*webtest.Page{rack, form} {
		p.Waits(`document.body.dataset.run === "` + hub.Now().Run + `" && ` + saysNothing)
	}
	if !webtest.Eval[bool](rack, `globalThis.same === true`) {
		t.Error("the page was loaded again for nothing")
	}

	_, address = k.another("v0.0.1-test")
	rack.Changes(func() { l.Leads(address) })
	rack.Waits(`document.querySelector(".notice")?.textContent.includes("another version of the program, and this page was loaded again") && ` + saysNothing)
	form.Waits(says("The kiosk runs another version of the program"))
	if got := webtest.Eval[string](form, `document.querySelector("[name=place]").value`); got != "Z9" {
		t.Errorf("what was typed reads %q", got)
	}
}

// A register that was brought back, or has lost what the page shows, is no news that a
// page takes in by itself: it says so until somebody loads it.
func TestTheRegisterIsAnother(t *testing.T) {
	t.Parallel()
	k, other := newKiosk(t), newKioskUnder(t, due.UK)
	k.hanging("NS-0417", nil)
	l := k.line()
	p := k.openedBy(webtest.Start(t), l.Address(), k.attendant)
	p.Go(l.Address() + "/rack")
	p.Waits(saysNothing)
	other.tells()
	l.Leads(other.http.Listener.Addr().String())
	p.Waits(says("it was brought back from a copy"))
	looks(t, p, "rack-restored")
	hub, address := k.another(k.server.Version)
	l.Leads(address)
	p.Waits(`document.body.dataset.run === "` + hub.Now().Run + `" && ` + saysNothing)
	// The same register, but its end is gone.
	behind := live.NewHub(1)
	behind.Stands(hub.Now().House)
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if err := behind.Serve(w, r); err != nil {
			t.Error(err)
		}
	}))
	t.Cleanup(server.Close)
	t.Cleanup(behind.Close)
	l.Leads(server.Listener.Addr().String())
	p.Waits(says("it was brought back from a copy"))
}

// A page that was out of sight is not trusted when it comes back, until it has been
// held against the register.
func TestAPageThatWasOutOfSight(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, _ := k.hanging("NS-0417", nil)
	k.follow()
	l := k.line()
	p := k.openedBy(webtest.Start(t), l.Address(), k.attendant)
	p.Go(l.Address() + "/rack")
	p.Waits(saysNothing)
	p.Hides(true)
	p.Waits(says("This page was out of sight."))
	k.holds(id, "gouged")
	l.Still() // it sleeps, and hears nothing
	p.Hides(false)
	if !webtest.Eval[bool](p, says("This page was out of sight.")) {
		t.Errorf("back in sight, and asking: %q", p.Text(".stale"))
	}
	p.Waits(says("The line to the register is down"))
	l.Mend()
	p.Waits(`document.querySelector('a[href="/rack/NS-0417"]').textContent.includes("Held") && ` + saysNothing)
}

// A page whose scripts do not run says that it follows nothing, and one whose scripts
// do run never says so.
func TestAPageWithoutScripts(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	p := k.opened(webtest.Start(t), k.attendant)
	p.Go(k.http.URL + "/rack")
	const shown = `getComputedStyle(document.querySelector(".unfollowed")).display + getComputedStyle(document.querySelector(".unfollowed")).visibility`
	if got := webtest.Eval[string](p, shown); got != "nonehidden" {
		t.Errorf("with scripts: %s", got)
	}
	p.Scripts(false)
	p.Go(k.http.URL + "/rack")
	for begun := time.Now(); webtest.Eval[string](p, shown) != "blockvisible"; { // nothing in the page can wait for it
		if time.Since(begun) > time.Minute {
			t.Fatal("without scripts the page says nothing")
		}
	}
	if got := p.Text(".unfollowed"); !strings.Contains(got, "how things stood at 20:30") {
		t.Errorf("without: %q", got)
	}
}
