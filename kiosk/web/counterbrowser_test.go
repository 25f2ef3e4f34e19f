package web

import (
	"strconv"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/rating"
	"cribgate/core/state"
	"cribgate/kiosk/web/webtest"
)

// TestCounterLooks goes through every state of the counter, measures the page and
// takes its picture.
func TestCounterLooks(t *testing.T) {
	k := newKiosk(t)
	policy := k.policy()
	policy.MarginPct, policy.AskEvery = 10, 0
	k.setPolicy(policy)
	k.add("R. Cole", event.Rigger)
	k.add("A. Feld", event.Rigger)
	k.add("M. Okafor-Lindqvist", event.Rigger)
	good, goodText := k.hanging("NS-0311", nil)
	_, weakText := k.hanging("NS-0417", func(d *event.Details) { d.Sling.Plate = plateOf(t, "3/8", 2, rating.H60, 12_300) })
	k.hanging("NS-0290", func(d *event.Details) { d.Sling.Plate, d.Place = plateOf(t, "1/2", 2, rating.H60, 20_800), "B2" })
	held, heldText := k.hanging("NS-0105", nil)
	k.holds(held, "link 4 of leg 2 is gouged")

	p := k.opened(webtest.Start(t), k.attendant)
	look := func(name string) { t.Helper(); looks(t, p, name) }
	press := func(selector string) { t.Helper(); p.Changes(func() { p.Click(selector) }) }
	scan := func(text string) {
		t.Helper()
		p.Changes(func() { p.Press(webtest.ByScanner, webtest.Scanned(text)...) })
	}
	look("counter-empty")
	p.Go(k.http.URL + "/counter/rigger")
	look("counter-rigger")
	press(`button[value="` + k.rigger.ID.String() + `"]`)
	p.Go(k.http.URL + "/counter")
	look("counter-for-rigger")
	p.Go(k.http.URL + "/counter/lift")
	look("lift-fresh")
	press(`main button.first`)
	look("lift-missing")
	for name, v := range with(aLift(), "known", "papers", "degrees", "52") {
		p.Answer(name, v[0])
	}
	look("lift-answered")
	press(`main button.first`)
	scan("")
	look("counter-empty-tag")
	scan(weakText)
	look("counter-stays-here")
	p.Go(k.http.URL + "/counter/lift")
	for name, v := range with(aLift(), "load", "9,000") {
		p.Answer(name, v[0])
	}
	press(`main button.first`)
	scan(goodText)
	look("counter-may-go")
	webtest.Eval[bool](p, `[...document.querySelectorAll(".working, .hold")].every((e) => (e.open = true))`)
	look("counter-may-go-open")
	p.Answer("text", k.short(good, 1))
	press(`form[data-scan] button:not([type])`)
	look("counter-look-closer")
	p.Answer("typed", "0311")
	press(`main button.first`) // it goes on the loan
	press(`main button.first`) // all of it is handed over
	look("counter-handed-over")
	scan(goodText)
	look("counter-return")
	for i, word := range p.Asked("main") {
		p.Looks("main", word, map[bool]string{true: "wrong", false: "ok"}[i == 1])
	}
	look("counter-return-wrong")
	press(`form[action="/counter/return"] button.first`)
	look("counter-return-held")
	scan(heldText)
	look("counter-held")
	p.Go(k.http.URL + "/scanner")
	look("scanner")
}

// atCounter opens the counter with rigger and lift stated.
func (k *kiosk) atCounter(b *webtest.Browser, who, rigger state.Person) *webtest.Page {
	k.t.Helper()
	return k.atCounterBy(b, k.http.URL, who, rigger)
}

// atCounterBy is that by way of another address.
func (k *kiosk) atCounterBy(b *webtest.Browser, home string, who, rigger state.Person) *webtest.Page {
	k.t.Helper()
	p := k.openedBy(b, home, who)
	p.Go(home + "/counter/rigger")
	p.Changes(func() { p.Click(`button[value="` + rigger.ID.String() + `"]`) })
	p.Go(home + "/counter/lift")
	for name, v := range aLift() {
		p.Answer(name, v[0])
	}
	p.Changes(func() { p.Click("main button.first") })
	return p
}

func scanned(p *webtest.Page, text string) {
	p.Changes(func() { p.Press(webtest.ByScanner, webtest.Scanned(text)...) })
}

func verdictOf(p *webtest.Page) Verdict {
	return Verdict(webtest.Eval[string](p, `document.querySelector("[data-verdict]")?.dataset.verdict ?? ""`))
}

// TestIssueByScanner issues and takes back with a scanner and a keyboard alone.
func TestIssueByScanner(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	p := k.atCounter(webtest.Start(t), k.attendant, k.rigger)
	scanned(p, text)
	if got := verdictOf(p); got != MayGo {
		t.Fatalf("verdict %q: %s", got, p.Text(".plate"))
	}
	if focus := webtest.Eval[string](p, `document.activeElement.id`); focus != "verdict" {
		t.Errorf("the focus is on %q, not on the verdict", focus)
	}
	if size := webtest.Eval[float64](p, `parseFloat(getComputedStyle(document.querySelector("#verdict")).fontSize)`); size < 72 {
		t.Errorf("the verdict is set in %g px", size)
	}
	if strings.Contains(webtest.Eval[string](p, `location.href`), text) {
		t.Error("the code is in the address")
	}
	p.Press(webtest.ByHand, webtest.Key{Key: "Tab", Code: "Tab"})
	if got := p.Text(":focus .label"); got != "Hand it over to T. Brandt" {
		t.Fatalf("the next key reaches %q", got)
	}
	p.Changes(func() { p.Press(webtest.ByHand, webtest.US("\n")...) })
	if got := p.Text("#verdict"); got != "Handed over" || k.sling(id).Loan.Rigger != k.rigger.ID {
		t.Fatalf("after Enter: %q", got)
	}
	scanned(p, text)
	if got := p.Text(".plate .sentence"); !strings.HasPrefix(got, "Back from T. Brandt, out since") {
		t.Fatalf("scanned again: %q", got)
	}
	p.Changes(func() { p.AllWell("main") })
	if got := p.Text("#verdict"); got != "Back in" || k.sling(id).Details.Sling.State != gate.StateIn {
		t.Errorf("taken back: %q", got)
	}
}

// TestRefusalInBrowser: the plate with its corner cut off, in words, with the rule,
// and said by sound.
func TestRefusalInBrowser(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", func(d *event.Details) { d.Sling.RatingTag = gate.TagPartial })
	p := k.atCounter(webtest.Start(t), k.attendant, k.rigger)
	webtest.Eval[bool](p, `(globalThis.tones = 0, AudioContext.prototype.createOscillator = new Proxy(AudioContext.prototype.createOscillator, {
		apply(make, on, given) { tones++; return Reflect.apply(make, on, given); } }), true)`)
	scanned(p, text)
	if got := verdictOf(p); got != StaysHere || p.Text("#verdict") != "Stays here" {
		t.Fatalf("verdict %q", got)
	}
	if shape := webtest.Eval[string](p, `getComputedStyle(document.querySelector(".plate")).clipPath`); !strings.HasPrefix(shape, "polygon") {
		t.Errorf("the corner is not cut off: %q", shape)
	}
	if got := p.Text(".plate"); !strings.Contains(got, "rating tag cannot be fully read") || p.Text(".plate .rule") == "" {
		t.Errorf("the plate says %q", got)
	}
	if tones := webtest.Eval[int](p, `tones`); tones != 1 {
		t.Errorf("the refusal sounded %d tones, not one long one", tones)
	}
	if webtest.Eval[bool](p, `!!document.querySelector('form[action="/counter/issue"]')`) {
		t.Error("there is a button to hand it over")
	}
	if got := k.recorded(id, event.KindRefused); got != 1 {
		t.Errorf("recorded %d times", got)
	}
}

// TestBurstWithFocusInAField: a scan while somebody types leaves the field as it
// was; a burst without its frame is thrown away, and the page says so; a person's
// typing arrives.
func TestBurstWithFocusInAField(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	_, text := k.hanging("NS-0417", nil)
	p := k.opened(webtest.Start(t), k.attendant)
	p.Go(k.http.URL + "/counter/lift")
	webtest.Eval[bool](p, `(document.querySelector("#f-load").focus(), true)`)
	load := func() string { return webtest.Eval[string](p, `document.querySelector("#f-load").value`) }
	heard := func(want string) {
		t.Helper()
		p.Waits(`document.querySelector("[data-heard]")?.textContent.includes(` + strconv.Quote(want) + `)`)
	}
	p.Press(webtest.ByHand, webtest.US("12,0")...)
	if got := load(); got != "12,0" {
		t.Fatalf("typed by hand: %q", got)
	}
	p.Press(webtest.ByScanner, webtest.Scanned(text)...)
	heard("NS-0417 lies on the counter.")
	if got := load(); got != "12,0" {
		t.Errorf("after a scan: %q", got)
	}
	p.Press(webtest.ByHand, webtest.US("00")...)
	p.Press(webtest.ByScanner, webtest.US("9988776655\n")...)
	heard("thrown away")
	if got := load(); got != "12,000" {
		t.Errorf("after a burst without its frame: %q", got)
	}
	if got := webtest.Eval[string](p, `location.pathname`); got != "/counter/lift" {
		t.Errorf("the burst's Enter sent the form: %s", got)
	}
	p.Press(webtest.ByScanner, webtest.US("ZX1234")...)
	heard("typed no Enter at the end")
	if got := load(); got != "12,000" {
		t.Errorf("after a scan without Enter: %q", got)
	}
	// A burst that begins with Enter while a button has the focus presses nothing.
	webtest.Eval[bool](p, `(document.querySelector("main button.first").focus(), true)`)
	p.Press(webtest.ByScanner, webtest.US("\nstranger")...)
	heard("thrown away")
	if got := load(); got != "12,000" || webtest.Eval[bool](p, `!!document.querySelector(".wrong.big")`) {
		t.Errorf("the burst pressed the button: %q", got)
	}
	p.Go(k.http.URL + "/counter")
	if got := p.Text(".card .title"); got != "NS-0417" {
		t.Errorf("on the counter lies %q", got)
	}
}

// TestLayouts: a scanner that types a US keyboard is read rightly whatever layout
// the computer has, and so is one that types the computer's own, with Caps Lock
// or without.
func TestLayouts(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	p := k.opened(webtest.Start(t), k.attendant)
	p.Go(k.http.URL + "/scanner")
	const says = "AZQWYM27"
	// What keys in the places of a US keyboard are read as (German QWERTZ and French
	// AZERTY layouts).
	german := map[string]string{"KeyZ": "Y", "KeyY": "Z"}
	french := map[string]string{"KeyZ": "W", "KeyW": "Z", "KeyA": "Q", "KeyQ": "A", "KeyM": "?", "Digit2": "é", "Digit7": "è"}
	read := func(layout map[string]string, keys []webtest.Key) []webtest.Key {
		for i, key := range keys {
			if as, other := layout[key.Code]; other {
				keys[i].Key = as
			}
		}
		return keys
	}
	place := func(layout map[string]string, keys []webtest.Key) []webtest.Key {
		for i, key := range keys {
			for code, as := range layout {
				if as == key.Key {
					keys[i].Code = code
				}
			}
		}
		return keys
	}
	lower := func(keys []webtest.Key) []webtest.Key {
		for i, key := range keys {
			if len(key.Key) == 1 {
				keys[i].Key = strings.ToLower(key.Key)
			}
		}
		return keys
	}
	for name, keys := range map[string][]webtest.Key{
		"US on US":         webtest.Scanned(says),
		"US on German":     read(german, webtest.Scanned(says)),
		"US on French":     read(french, webtest.Scanned(says)),
		"German on German": place(german, webtest.Scanned(says)),
		"French on French": place(map[string]string{"KeyZ": "W", "KeyW": "Z", "KeyA": "Q", "KeyQ": "A"}, webtest.Scanned(says)),
		"with Caps Lock":   lower(webtest.Scanned(says)),
	} {
		webtest.Eval[bool](p, `(document.querySelector("[data-arrived]").replaceChildren(), true)`)
		p.Press(webtest.ByScanner, keys...)
		p.Waits(`document.querySelector("[data-arrived]").children.length > 0`)
		if got := p.Text("[data-arrived]"); !strings.Contains(got, "It says: "+says) {
			t.Errorf("%s: %q", name, got)
		}
	}
	p.Press(webtest.ByScanner, webtest.US("https://example.test/\n")...)
	p.Waits(`document.querySelector("[data-arrived]").dataset.came === "burst"`)
	looks(t, p, "scanner-frameless")
}

// TestTwoPagesRace: two windows show the same sling as free; one hands it over and
// the other is told.
func TestTwoPagesRace(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	second, other := k.add("P. Lund", event.Attendant), k.add("R. Cole", event.Rigger)
	id, text := k.hanging("NS-0417", nil)
	b := webtest.Start(t)
	one, two := k.atCounter(b, k.attendant, k.rigger), k.atCounter(b, second, other)
	scanned(one, text)
	scanned(two, text)
	if verdictOf(one) != MayGo || verdictOf(two) != MayGo {
		t.Fatalf("%q and %q", verdictOf(one), verdictOf(two))
	}
	two.Changes(func() { two.Click("main button.first") })
	// The later one presses, unless the page has already told them.
	webtest.Eval[bool](one, `(document.querySelector('form[action="/counter/issue"] button.first')?.click(), true)`)
	one.Waits(`document.querySelector("[data-verdict]")?.dataset.verdict === "stays-here"`)
	if got := two.Text("#verdict"); got != "Handed over" {
		t.Errorf("the faster one: %q", got)
	}
	if got := one.Text(".plate"); verdictOf(one) != StaysHere || !strings.Contains(got, "R. Cole has it since") {
		t.Errorf("the later one: %q", got)
	}
	looks(t, one, "counter-too-late")
	if got := k.recorded(id, event.KindIssued); got != 1 {
		t.Errorf("issued %d times", got)
	}
}

// TestLineDown: without an answer the page stays and says what to do; the same
// button then counts once, also where the first one had arrived.
func TestLineDown(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	p := k.atCounter(webtest.Start(t), k.attendant, k.rigger)
	scanned(p, text)
	// The form arrives, and its answer is lost.
	webtest.Eval[bool](p, `(globalThis.whole = fetch, globalThis.fetch = async (...given) => { await whole(...given); throw new TypeError("line down"); }, true)`)
	p.Click("main button.first")
	p.Waits(`document.querySelector(".lost")?.textContent.includes("It is not known whether this was recorded.")`)
	if k.recorded(id, event.KindIssued) != 1 || p.Text("main button.first .label") != "Hand it over to T. Brandt" {
		t.Fatalf("after the lost answer: %v, %q", k.kinds(id), p.Text("main"))
	}
	looks(t, p, "counter-line-down")
	webtest.Eval[bool](p, `(globalThis.fetch = whole, true)`)
	p.Changes(func() { p.Click("main button.first") })
	if got := p.Text("#verdict"); got != "Handed over" || k.recorded(id, event.KindIssued) != 1 {
		t.Errorf("the second time: %q, %v", got, k.kinds(id))
	}
}

// TestScansInARow: scans that come faster than their answers are all taken, in
// order.
func TestScansInARow(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	var texts []string
	for _, ident := range []string{"NS-0001", "NS-0002", "NS-0003", "NS-0004", "NS-0005"} {
		_, text := k.hanging(ident, nil)
		texts = append(texts, text)
	}
	p := k.opened(webtest.Start(t), k.attendant)
	for _, text := range texts {
		p.Press(webtest.ByScanner, webtest.Scanned(text)...)
	}
	p.Waits(`document.querySelectorAll(".side .card").length === 5 && !document.body.hasAttribute("aria-busy")`)
	got := webtest.Eval[string](p, `[...document.querySelectorAll(".side .card .title")].map((e) => e.textContent).join(" ")`)
	if got != "NS-0005 NS-0004 NS-0003 NS-0002 NS-0001" {
		t.Errorf("on the rail hang %s", got)
	}
}
