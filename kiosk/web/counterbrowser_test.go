package web

import (
	"testing"

	"cribgate/core/event"
	"cribgate/core/rating"
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
	press(`main button.first`)
	look("counter-handed-over")
	scan(goodText)
	look("counter-return")
	press(`button[value="something"]`)
	look("counter-return-what")
	p.Answer("what", "shock")
	press(`button[value="something"]`)
	look("counter-return-held")
	scan(heldText)
	look("counter-held")
	p.Go(k.http.URL + "/scanner")
	look("scanner")
}
