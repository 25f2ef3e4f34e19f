package web

import (
	"strconv"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/kiosk/web/webtest"
)

// TestVerdictRenewsItself: a page that shows a verdict follows the register; what
// somebody is typing is left alone, and the page says that it is old.
func TestVerdictRenewsItself(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	other, otherText := k.hanging("NS-0418", nil)
	p := k.atCounter(webtest.Start(t), k.attendant, k.rigger)
	scanned(p, text)
	if got := verdictOf(p); got != MayGo {
		t.Fatalf("verdict %q", got)
	}
	moves := func() {
		t.Helper()
		head, err := k.store.Head(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		k.hub.Announce(head.At)
	}
	k.holds(id, "gouged")
	moves()
	p.Waits(`document.querySelector("[data-verdict]").dataset.verdict === "stays-here"`)
	if got := p.Text(".plate"); !strings.Contains(got, "held in quarantine") || !webtest.Eval[bool](p, `document.querySelector(".stale").hidden`) {
		t.Errorf("renewed: %q", got)
	}
	scanned(p, otherText)
	p.Answer("text", "4K7")
	k.holds(other, "gouged")
	moves()
	p.Waits(`!document.querySelector(".stale").hidden`)
	if got := webtest.Eval[string](p, `document.querySelector("#f-text").value`); got != "4K7" || verdictOf(p) != MayGo {
		t.Errorf("while somebody typed: %q, %q", got, verdictOf(p))
	}
	p.Changes(func() { p.Click("main button.first") })
	if k.sling(other).Details.Sling.State != gate.StateHeld || verdictOf(p) != StaysHere {
		t.Errorf("from the old page: %v, %q", k.sling(other).Details.Sling.State, verdictOf(p))
	}
}

// TestSignedOutWithASlingOnTheCounter: who was signed out while a sling lay there is told that
// nothing was done, and signs in on the keypad.
func TestSignedOutWithASlingOnTheCounter(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	p := k.atCounter(webtest.Start(t), k.attendant, k.rigger)
	scanned(p, text)
	webtest.Eval[bool](p, `(fetch("/sign-out", { method: "POST" }).then(() => (globalThis.out = true)), true)`)
	p.Waits(`globalThis.out`)
	p.Changes(func() { p.Click("main button.first") })
	if got := p.Text("main"); !strings.Contains(got, "What you sent was not done") || k.sling(id).Details.Sling.State != gate.StateIn {
		t.Fatalf("signed out: %q", got)
	}
	looks(t, p, "counter-signed-out")
	for _, d := range testPIN {
		p.Click(`.keypad button[aria-label="` + string(d) + `"]`)
	}
	p.Changes(func() { p.Click("main button.first") })
	if got := p.Text("#verdict"); got != "Scan a sling" {
		t.Errorf("signed in again: %q", p.Text("main"))
	}
	scanned(p, text)
	if got := p.Text("#verdict"); got != "Going out?" {
		t.Errorf("a scan after that: %q", got)
	}
}

// TestGlovesAlone: a whole loan by short code on a screen without a keyboard.
func TestGlovesAlone(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, _ := k.hanging("NS-0417", nil)
	p := k.opened(webtest.Start(t), k.attendant)
	press := func(selector string) { t.Helper(); p.Changes(func() { p.Click(selector) }) }
	keys := func(pad, text string) {
		t.Helper()
		for _, c := range text {
			p.Click(pad + ` button[aria-label="` + string(c) + `"]`)
		}
	}
	p.Size(390, 844)
	p.Changes(func() { p.Click(`a[href="/counter/rigger"]`) })
	press(`button[value="` + k.rigger.ID.String() + `"]`)
	keys(".lift-form .keypad", "12000")
	if got := webtest.Eval[string](p, `document.querySelector("#f-load").value + document.querySelector("#f-load").inputMode`); got != "12000none" {
		t.Fatalf("the load reads %q", got)
	}
	press("main button.first")
	if got := webtest.Eval[bool](p, `document.activeElement.closest("fieldset")?.querySelector(".wrong") !== null`); !got {
		t.Errorf("the first missing answer is not led to: %s", webtest.Eval[string](p, `document.activeElement.outerHTML`))
	}
	for name, v := range with(aLift(), "load", "12000", "special", "no") {
		if name != "use" && name != "heat" {
			p.Answer(name, v[0])
		}
	}
	press("main button.first")
	p.Click("[data-codepad] summary")
	keys("[data-codepad]", strings.NewReplacer("-", "", "I", "1", "L", "1", "O", "0").Replace(k.short(id, 1)))
	press(".reading form[data-scan] .actions button")
	keys(`[data-codepad="plate"] > .codepad`, "0417")
	looks(t, p, "counter-plate-pad")
	p.Size(390, 844)
	press("main button.first")
	if got := p.Text("#verdict"); got != "Handed over" || k.sling(id).Loan.Rigger != k.rigger.ID {
		t.Errorf("handed over: %q", p.Text("main"))
	}
}

// TestPressedTwice: the second of two quick presses, which comes down on whatever
// stands there by then, does nothing.
func TestPressedTwice(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	p := k.atCounter(webtest.Start(t), k.attendant, k.rigger)
	scanned(p, text)
	p.Changes(func() { p.Click("main button.first") })
	press := func(times int) {
		t.Helper()
		webtest.Eval[bool](p, `(document.querySelector('form[action="/counter/next"] button').dispatchEvent(new MouseEvent("click", { bubbles: true, cancelable: true, detail: `+strconv.Itoa(times)+` })), true)`)
	}
	press(2)
	if webtest.Eval[bool](p, `document.body.hasAttribute("aria-busy")`) || p.Text("#verdict") != "Handed over" {
		t.Errorf("the second press did something: %q", p.Text("main"))
	}
	p.Changes(func() { press(1) })
	if got := p.Text("h1"); got != "Who takes slings?" || k.recorded(id, event.KindIssued) != 1 {
		t.Errorf("a press of its own: %q", got)
	}
}

// TestScanWhileARiggerIsChosen: the page with the names gives way to what is
// scanned.
func TestScanWhileARiggerIsChosen(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	_, text := k.hanging("NS-0417", nil)
	p := k.opened(webtest.Start(t), k.attendant)
	p.Go(k.http.URL + "/counter/rigger")
	scanned(p, text)
	if got := p.Text("#verdict"); got != "Going out?" {
		t.Errorf("after a scan: %q", p.Text("main"))
	}
}
