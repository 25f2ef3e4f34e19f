package web

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/state"
	"cribgate/kiosk/web/webtest"
	"cribgate/labeler/print"
)

// opened is a page of a browser in which p has signed in.
func (k *kiosk) opened(b *webtest.Browser, p state.Person) *webtest.Page {
	k.t.Helper()
	return k.openedBy(b, k.http.URL, p)
}

// looks measures a page, holds it against axe-core, and takes its pictures.
func looks(t *testing.T, p *webtest.Page, name string) {
	t.Helper()
	for _, fault := range append(webtest.Faults(p), webtest.Axe(p)...) {
		t.Errorf("%s: %s", name, fault)
	}
	// A picture of a page whose focused field is being scrolled to comes out with holes.
	webtest.Eval[bool](p, `(document.activeElement?.blur(), scrollTo(0, 0), true)`)
	p.Shots(name)
	if slices.Contains(kept, name) {
		p.Kept("testdata/pictures", name)
	}
}

// kept are the states of pages whose pictures are kept, in testdata/pictures,
// and shown in the README.
var kept = []string{
	"sign-in", "people", "counter-empty", "counter-rigger", "lift-fresh", "lift-answered", "counter-may-go", "counter-stays-here",
	"counter-look-closer", "counter-return", "counter-held", "scanner", "rack", "sling-good", "sling-held", "sling-inspect",
	"register", "tag-waiting", "tag-poor", "tags", "outside", "setup", "clock", "counter-compare", "compare",
}

// TestRackInBrowser looks at every page of the rack in a browser, in every state
// that a sling can be in.
func TestRackInBrowser(t *testing.T) {
	k := newKiosk(t)
	c := k.filled()
	b := webtest.Start(t)
	p := k.opened(b, k.inspector)
	see := func(path, name string) {
		t.Helper()
		p.Go(k.http.URL + path)
		looks(t, p, name)
	}
	see("/rack", "rack")
	see("/rack?find=ZZ", "rack-nothing")
	see("/outside", "outside")
	for name, id := range map[string]string{
		"good": "NS-0290", "untagged": "NS-0311", "out": "NS-0342", "late": "NS-0388", "held": "NS-0417", "failed": "NS-0420",
		"overdue": "NS-0455", "lost": "NS-0502", "retired": "NS-0077", "bad": "NS-0610", "metric": "EN-0031",
	} {
		see("/rack/"+id, "sling-"+name)
	}
	see("/rack/NS-0417?do=inspect", "sling-inspect")
	if got := p.Text(".stand h1"); got != "Held" {
		t.Errorf("the plate says %q", got)
	}
	see("/rack/NS-0290/correct", "correct")
	p.Go(k.http.URL + "/rack/NS-0342")
	p.Click(".asked summary")
	looks(t, p, "sling-asked")

	// A page that is older than the facts.
	p.Go(k.http.URL + "/rack/NS-0290?do=hold")
	p.Type("#f-hold-reason", "a link looks bent")
	k.happens(c.good, k.attendant, event.Held{Reason: "dropped from the truck"})
	p.Follow("#hold form button")
	if got := p.Text(".meanwhile"); !strings.Contains(got, "Held: dropped from the truck.") {
		t.Errorf("a stale page says %q", got)
	}
	looks(t, p, "sling-stale")
	see("/rack/NS-0342", "sling-out-attendant")
	p = k.opened(b, k.keeper)
	see("/setup", "setup")
}

// TestRegisterInBrowser types a plate and watches the tables answer.
func TestRegisterInBrowser(t *testing.T) {
	k := newKiosk(t)
	p := k.opened(webtest.Start(t), k.keeper)
	p.Go(k.http.URL + "/register")
	looks(t, p, "register")
	says := func(selector, want string) {
		t.Helper()
		p.Waits(`document.querySelector(` + strconv.Quote(selector) + `)?.innerText.includes(` + strconv.Quote(want) + `)`)
	}
	p.Type("#f-ident", "NS-0417")
	for _, answer := range []string{"grade=80", "size-us=3/8", "legs=2", "adjustable=no", "rating-tag=legible", "heat=no", "when=day", "outcome=fit", "service=normal", "hang=in", "lower=locking-hook"} {
		name, value, _ := strings.Cut(answer, "=")
		p.Click(`input[name="` + name + `"][value="` + value + `"]`)
	}
	says("#plate-found", "No rated load from the plate is on record.")
	p.Type("#f-stamp-2-h60", "13300")
	says("#s-stamp-2-h60", "Too high.")
	says("#plate-found", "It would stay here.")
	looks(t, p, "register-too-high")
	p.Type("#f-stamp-2-h60", "12300")
	says("#s-stamp-2-h60", "Agrees.")
	says("#plate-found", "7,100 lb")
	webtest.Eval[bool](p, `(() => { const d = document.querySelector("#f-date"); d.value = "2025-11-10"; d.dispatchEvent(new Event("input", {bubbles: true})); return true })()`)
	says("#due-says", "Next due 10 Nov 2026")
	p.Type("#f-inside", "3 1/2")
	p.Type("#f-reach", "six")
	p.Follow(".details-form > .actions button.first")
	if got := p.Text(".wrong.big"); !strings.Contains(got, "one answer is missing or cannot be") {
		t.Errorf("a wrong answer: %q", got)
	}
	looks(t, p, "register-wrong")
	p.Type("#f-reach", "6")
	p.Follow(".details-form > .actions button.first")
	if got := p.Text(".notice"); !strings.Contains(got, "NS-0417 is registered.") {
		t.Fatalf("registered: %q", got)
	}
	if got := p.Text("main"); !strings.Contains(got, "Self-locking hook") || !strings.Contains(got, "3 1/2 in") {
		t.Errorf("what hangs at its ends is not shown: %q", got)
	}
	looks(t, p, "sling-registered")
}

// TestTagInBrowser prints a tag and confirms it with a hand scanner.
func TestTagInBrowser(t *testing.T) {
	k := newKiosk(t)
	id := k.shelved("NS-0311", nil)
	p := k.opened(webtest.Start(t), k.inspector)
	p.Go(k.http.URL + "/rack/NS-0311/tag")
	looks(t, p, "tag")
	p.Click(`input[value="plate-50x80"]`)
	p.Follow(`form[action$="/tag"] button`)
	looks(t, p, "tag-waiting")
	tag, err := print.Again(k.sling(id), k.sling(id).Tags[0], k.server.Keys, "")
	if err != nil {
		t.Fatal(err)
	}
	scan := func(text string) { p.Changes(func() { p.Press(webtest.ByScanner, webtest.Scanned(text)...) }) }
	scan("https://example.test/a-beer-mat")
	p.Waits(`document.querySelector("#refused") !== null`)
	looks(t, p, "tag-refused")
	scan(tag.Sealed.Text())
	p.Waits(`document.querySelector("#e-typed") !== null`)
	looks(t, p, "tag-plate")
	p.Type("#f-typed", "311")
	p.Follow(`form[data-scan] button`)
	if got := p.Text(".notice"); !strings.Contains(got, "the tag is confirmed") {
		t.Fatalf("confirmed: %q", got)
	}
	if _, live := k.sling(id).Live(); !live {
		t.Error("the tag is not live")
	}
	// Scanned on any page of the rack, a tag leads to its sling.
	p.Go(k.http.URL + "/rack")
	scan(tag.Sealed.Text())
	p.Waits(`location.pathname === "/rack/NS-0311"`)
}

// TestTagLoopInBrowser goes from print to confirmed tag by pictures: a bad print is
// refused with what to change, thrown away and printed again, a good one confirmed.
func TestTagLoopInBrowser(t *testing.T) {
	k := newKiosk(t)
	id := k.shelved("NS-0311", nil)
	files := k.signedIn(k.keeper)
	p := k.opened(webtest.Start(t), k.keeper)
	draw := func() []byte {
		t.Helper()
		p.Click(`input[value="plate-50x80"]`)
		p.Follow(`form[action$="/tag"] button`)
		return []byte(files.get("/rack/NS-0311/tag/" + strconv.Itoa(len(k.sling(id).Tags)) + ".png").body)
	}
	send := func(picture []byte) {
		t.Helper()
		p.Type("#f-typed", "311")
		p.Chooses("#f-picture", "tag.png", picture)
		p.Follow(`form[data-scan] button`)
	}
	p.Go(k.http.URL + "/rack/NS-0311/tag")
	picture := draw()
	send(blurred(t, picture))
	if got := p.Text("#e-picture"); !strings.Contains(got, "blurred") {
		t.Errorf("out of focus: %q", got)
	}
	looks(t, p, "tag-blurred")
	send(smudged(t, picture))
	if got := p.Text("#refused"); got != "Not confirmed" || !strings.Contains(p.Text(".advice"), "clear margin") {
		t.Fatalf("a bad print: %q, %q", got, p.Text(".grades"))
	}
	looks(t, p, "tag-poor")
	p.Follow(`#away form button`)
	if got := p.Text(".notice"); !strings.Contains(got, "Tag 1 is thrown away") {
		t.Fatalf("thrown away: %q", got)
	}
	looks(t, p, "tag-thrown")
	picture = draw()
	if got := p.Text(".sheet .lead"); !strings.Contains(got, "Tag 2 waits") {
		t.Fatalf("printed again: %q", got)
	}
	send(picture)
	if got := p.Text(".notice"); !strings.Contains(got, "the tag is confirmed") || !strings.Contains(got, "graded A") {
		t.Fatalf("a good print: %q", got)
	}
	if live, ok := k.sling(id).Live(); !ok || live.Serial != 2 {
		t.Error("the tag is not live")
	}
	looks(t, p, "sling-graded")
}

// TestTagsInBrowser looks at every list of the queue, full and empty, and sees
// that the page says when the register has moved on.
func TestTagsInBrowser(t *testing.T) {
	k := newKiosk(t)
	b := webtest.Start(t)
	p := k.opened(b, k.keeper)
	see := func(path, name string) {
		t.Helper()
		p.Go(k.http.URL + path)
		looks(t, p, name)
	}
	see("/tags", "tags-empty")
	p.Changes(func() { // days pass, and the page that is open loads itself
		k.queued()
		k.tells()
	})
	see("/tags", "tags")
	see("/tags?show=wanted", "tags-wanted")
	see("/tags?show=lapsed", "tags-lapsed")
	see("/tags?show=thrown", "tags-thrown")
	see("/rack/NS-0455/tag", "tag-lapsed")
	see("/rack/NS-0388/tag", "tag-behind")
	p.Go(k.http.URL + "/tags")
	k.hub.Announce(webtest.Eval[int64](p, `Number(document.body.dataset.at)`) + 1)
	p.Waits(`!document.querySelector(".stale").hidden`)
	p = k.opened(b, k.attendant)
	see("/rack/NS-0311/tag", "tag-attendant")
}
