package web

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/kiosk/web/webtest"
)

// fiveASecond is the time between two keys at which the scans of tags, framed, come
// at five a second by the clock of the page.
func fiveASecond(text string) time.Duration {
	return 200 * time.Millisecond / time.Duration(len(webtest.Scanned(text)))
}

// aHeap is a heap of slings that are out, and the text of each tag.
func (k *kiosk) aHeap(n int) (ids []event.SlingID, texts []string) {
	k.t.Helper()
	for i := range n {
		id, text := k.goneOut(fmt.Sprintf("NS-%04d", 101+i))
		ids, texts = append(ids, id), append(texts, text)
	}
	return ids, texts
}

func scannedAll(texts []string) (keys []webtest.Key) {
	for _, text := range texts {
		keys = append(keys, webtest.Scanned(text)...)
	}
	return keys
}

// TestHeapOfForty: forty scans at five a second, and the line is cut in the middle of
// them, before and behind the kiosk. None is lost and none counts twice.
func TestHeapOfForty(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	ids, texts := k.aHeap(40)
	l := k.wire()
	p := k.openedBy(webtest.Start(t), l.home, k.attendant)
	p.Go(l.home + heapPath)
	taken := func(n int) {
		t.Helper()
		p.Waits(fmt.Sprintf(`document.querySelector("[data-taken]").textContent === "%d" && document.querySelector("[data-waiting]").hidden`, n))
	}
	apart := fiveASecond(texts[0])
	p.Press(apart, scannedAll(texts[:14])...)
	pressed := time.Now()
	taken(14)
	t.Logf("14 scans at five a second: the last answer was drawn %v after the last key", time.Since(pressed).Round(time.Millisecond))
	l.breaks.Store(afterward)
	p.Press(apart, scannedAll(texts[14:18])...)
	p.Waits(`document.querySelector("[data-waiting]").textContent.startsWith("4 scans wait: the line is down. Go on scanning")`)
	l.breaks.Store(before)
	p.Press(apart, scannedAll(texts[18:26])...)
	p.Waits(`document.querySelector("[data-waiting]").textContent.startsWith("12 scans wait")`)
	looks(t, p, "heap-line-down")
	if got := k.recorded(ids[14], event.KindTakenIn); got != 1 {
		t.Errorf("the first whose answer was lost was recorded %d times", got)
	}
	l.breaks.Store(whole)
	p.Press(apart, scannedAll(texts[26:])...)
	taken(40)
	p.Press(apart, scannedAll(slices.Repeat(texts[39:], 5))...)
	p.Waits(`document.querySelector(".plate .sentence").textContent.includes("One scan is enough")`)
	taken(40)
	if got := webtest.Eval[string](p, `[...document.querySelectorAll("ol.taken .title")].map((e) => e.textContent).join(" ")`); !strings.HasPrefix(got, "NS-0140 NS-0139 NS-0138") || strings.Count(got, "NS-") != 40 {
		t.Errorf("listed: %s", got)
	}
	for i, id := range ids {
		if s := k.sling(id); s.Details.Sling.State != gate.StateUnchecked || k.recorded(id, event.KindTakenIn) != 1 || s.OwedBy(k.rigger.ID) == nil {
			t.Errorf("scan %d: %v, recorded %d times", i+1, s.Details.Sling.State, k.recorded(id, event.KindTakenIn))
		}
	}
	looks(t, p, "heap")
}

// TestHeapOutlivesThePage: what waits is kept beside the page, and sent by the next one
// of whoever is signed in, once, and by nobody else's.
func TestHeapOutlivesThePage(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	ids, texts := k.aHeap(3)
	l := k.wire()
	p := k.openedBy(webtest.Start(t), l.home, k.attendant)
	p.Go(l.home + heapPath)
	l.breaks.Store(afterward)
	p.Press(webtest.ByScanner, scannedAll(texts[:2])...)
	p.Waits(`document.querySelector("[data-waiting]").textContent.startsWith("2 scans wait: the line is down")`)
	kept := webtest.Eval[string](p, `sessionStorage.getItem("heap")`)
	signedIn := func(name string) string {
		return webtest.Eval[string](p, `(document.querySelector(".who span").textContent = "`+name+`, attendant", document.dispatchEvent(new Event("shown")), sessionStorage.getItem("heap"))`)
	}
	if now := signedIn("P. Lund"); now != kept || !webtest.Eval[bool](p, `document.querySelector("[data-waiting]").hidden`) {
		t.Errorf("somebody else has what was scanned before: %s", now)
	}
	signedIn(k.attendant.Name)
	p.Waits(`document.querySelector("[data-waiting]").textContent.startsWith("2 scans wait: the line is down")`)
	l.breaks.Store(whole)
	p.Waits(`document.querySelector("[data-taken]").textContent === "2" && !sessionStorage.getItem("heap")`)
	restored := func(kept string) {
		t.Helper()
		webtest.Eval[bool](p, `(sessionStorage.setItem("heap", `+strconv.Quote(kept)+`), true)`)
		p.Go(l.home + heapPath)
	}
	restored(strings.Replace(kept, texts[1], texts[2], 1)) // the first of them was answered under that key
	p.Waits(`document.querySelector("[data-waiting]").textContent.startsWith("One scan was not taken; scan that sling again.") && !sessionStorage.getItem("heap")`)
	restored(strings.Replace(kept, k.attendant.Name, "P. Lund", 1))
	if !webtest.Eval[bool](p, `document.querySelector("[data-waiting]").hidden`) {
		t.Errorf("what somebody else scanned waits here: %s", p.Text("[data-waiting]"))
	}
	for _, id := range ids[:2] {
		if k.recorded(id, event.KindTakenIn) != 1 {
			t.Errorf("recorded %v", k.kinds(id))
		}
	}
	if k.recorded(ids[2], event.KindTakenIn) != 0 {
		t.Error("a key was used for another scan")
	}
}

// TestHeapLooks goes through the pages of a heap, measures them and takes pictures.
func TestHeapLooks(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	_, texts := k.aHeap(5)
	held, heldText := k.hanging("NS-0210", nil)
	k.holds(held, "link 4 of leg 2 is gouged")
	retired, retiredText := k.hanging("NS-0077", nil)
	k.happens(retired, k.inspector, event.Retired{Reason: "worn", How: "not cut yet"})
	_, inText := k.hanging("NS-0311", nil)
	p := k.opened(webtest.Start(t), k.attendant)
	p.Go(k.http.URL + heapPath)
	looks(t, p, "heap-empty")
	webtest.Eval[bool](p, `(globalThis.tones = 0, AudioContext.prototype.createOscillator = new Proxy(AudioContext.prototype.createOscillator, {
		apply(make, on, given) { tones++; return Reflect.apply(make, on, given); } }), true)`)
	scan := func(text string, verdict Verdict) {
		t.Helper()
		n := webtest.Eval[int](p, `tones`)
		scanned(p, text)
		p.Waits(`document.querySelector("[data-waiting]").hidden`)
		if got := verdictOf(p); got != verdict || webtest.Eval[int](p, `tones`) == n {
			t.Errorf("%q and %d tones, not %q", got, webtest.Eval[int](p, `tones`)-n, verdict)
		}
	}
	for _, text := range texts {
		scan(text, TakenIn)
	}
	scan(heldText, StaysHere)
	scan(retiredText, StaysHere)
	scan("", LookCloser)
	scan(inText, LookCloser)
	looks(t, p, "heap-look-at")
	p.Follow(`.tally a.first`)
	looks(t, p, "checks")
	scanned(p, texts[0])
	if got := p.Text(".plate .about"); !strings.HasPrefix(got, "NS-0101") {
		t.Fatalf("scanned for its check: %q", got)
	}
	looks(t, p, "check")
	p.Changes(func() { p.AllWell("main") })
	if got := p.Text("#verdict"); got != "Hang it on C4" {
		t.Errorf("nothing wrong: %q", got)
	}
	looks(t, p, "check-hang")
	p.Go(k.http.URL + checkPath + "/NS-0102")
	p.Looks("main", "hook-latch", "wrong")
	p.Follow(`main form button.first`)
	looks(t, p, "check-missing")
	for _, word := range p.Asked("main") {
		if word != "hook-latch" {
			p.Looks("main", word, "ok")
		}
	}
	p.Follow(`main form button.first`)
	looks(t, p, "check-held")
	p.Go(k.http.URL + toldPath + "/" + k.rigger.ID.String())
	looks(t, p, "told")
	p.Follow(`main form button.first`)
	looks(t, p, "told-missing")
}

// TestOutsideLooks goes through the pages of what is out for long.
func TestOutsideLooks(t *testing.T) {
	k := newKiosk(t)
	second := k.add("P. Lund", event.Rigger)
	k.add("M. Okafor-Lindqvist", event.Rigger)
	goes := func(ident string, days int, who state.Person) event.SlingID {
		id, _ := k.hanging(ident, func(d *event.Details) { d.Sling.Inspected = day(t, "2025-03-02").AddDays(days) })
		k.goesOut(id, who, quantity.Date{})
		return id
	}
	goes("NS-0099", -2, second)
	goes("NS-0103", 3, k.rigger)
	placed := goes("NS-0114", 12, second)
	goes("NS-0130", 27, second)
	goes("NS-0199", 99, k.rigger)
	recalled := goes("NS-0200", 200, second)
	k.happens(placed, k.attendant, event.Placed{Area: "press 4"})
	k.happens(recalled, k.keeper, event.Recalled{Reason: "needed at bay 2", By: day(t, "2026-03-09")})
	p := k.opened(webtest.Start(t), k.attendant)
	for name, path := range map[string]string{"outside-presses": "/outside", "outside-by-rigger": "/outside?by=rigger", "outside-today": todayPath,
		"away-recalled": "/outside/NS-0200", "away": "/outside/NS-0199", "away-recall": "/outside/NS-0199?do=recall"} {
		p.Go(k.http.URL + path)
		looks(t, p, name)
	}
	p.Go(k.http.URL + "/outside/NS-0114?do=place")
	looks(t, p, "away-place")
	p.Go(k.http.URL + "/outside/NS-0199")
	p.Type("#f-find", "lund")
	if got := webtest.Eval[int](p, `[...document.querySelectorAll("[data-name]")].filter((e) => !e.hidden).length`); got != 1 {
		t.Errorf("%d names are left", got)
	}
	p.Follow(`button[value="` + second.ID.String() + `"]`)
	looks(t, p, "away-for-what")
	p.Follow(`button[value="same"]`)
	looks(t, p, "away-handed-on")
	if s, err := k.store.SlingByIdent(t.Context(), "NS-0199"); err != nil || s.Loan.Rigger != second.ID {
		t.Errorf("handed on: %v %v", s.Loan, err)
	}
}

// TestToldAtTheCounter: a rigger who is named is asked what happened to what came back
// without them, each time until it is answered with one press; the loan goes on
// meanwhile.
func TestToldAtTheCounter(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	ids, texts := k.aHeap(3)
	_, good := k.hanging("NS-0311", nil)
	c := k.signedIn(k.attendant)
	for _, text := range texts {
		c.inHeap(text)
	}
	p := k.atCounter(webtest.Start(t), k.attendant, k.rigger)
	asks := func() string { return p.Text(".owing .lead") }
	if got := asks(); got != "“You brought back 3 slings today. What happened out there, with any of them?”" {
		t.Fatalf("asked %q", got)
	}
	looks(t, p, "counter-owing")
	scanned(p, good)
	if verdictOf(p) != MayGo || asks() == "" {
		t.Errorf("with a sling: %q, asked %q", verdictOf(p), asks())
	}
	looks(t, p, "counter-owing-may-go")
	p.Changes(func() { p.AllWell(".owing") })
	if got := asks(); got != "" {
		t.Errorf("answered, and asked again: %q", got)
	}
	for _, id := range ids {
		if s := k.sling(id); k.recorded(id, event.KindTold) != 1 || s.Owes != nil || s.Details.Sling.State != gate.StateUnchecked {
			t.Errorf("%v, owes %v", k.kinds(id), s.Owes)
		}
	}
	if got := p.Text(".notice"); !strings.Contains(got, "3 answers of T. Brandt written down: nothing happened.") {
		t.Errorf("said %q", got)
	}
}
