package web

import (
	"testing"

	"cribgate/core/event"
	"cribgate/kiosk/web/webtest"
)

// TestPaperInBrowser enters what went on without the program: a tag is scanned into
// the form, sheets are numbered, and a sling is kept apart.
func TestPaperInBrowser(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, tag := k.hanging("NS-0417", nil)
	p := k.opened(webtest.Start(t), k.keeper)
	p.Go(k.http.URL + "/paper")
	looks(t, p, "paper")
	p.Press(0, webtest.Scanned(tag)...)
	p.Waits(`document.querySelector("#f-sling").value === "NS-0417"`)
	if on := webtest.Eval[string](p, `document.querySelector("[name=what]:checked").value`); on != "out" {
		t.Errorf("what is in has gone %q", on)
	}
	p.Type("#f-clock", "7:99")
	p.Changes(func() { p.Click(".paper .first") })
	looks(t, p, "paper-wrong")
	p.Type("#f-clock", "")
	p.Changes(func() { p.Click(".paper .first") })
	if n := k.recorded(id, event.KindTaken); n != 1 {
		t.Errorf("taken %d times", n)
	}
	p.Go(k.http.URL + "/paper")
	p.Changes(func() { p.Click(`[action="/paper/pad"] .button`) })
	looks(t, p, "pad")

	p.Go(k.http.URL + "/strays")
	p.Type("#f-lies", "Cage by the door")
	p.Type("#f-note", "No tag. 1/2 in, two legs, brought by the welders.")
	p.Chooses("#f-picture", "sling.png", blankPNG(t))
	p.Changes(func() { p.Click(`[action="/strays"] .first`) })
	looks(t, p, "strays")
}
