package web

import (
	"strings"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
	"cribgate/kiosk/web/webtest"
)

// TestWornTagBeforeTheCamera holds a tag before the camera that cannot be read any
// more: it resembles the one that hangs on a sling. That goes out only when the end of
// its plate was typed, which the page does not show; back in it comes without. The next
// tag is asked for from then on.
func TestWornTagBeforeTheCamera(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.hanging("NS-0290", nil)
	id, text := k.hanging("NS-0417", nil)
	if _, err := k.worn.Fill(t.Context()); err != nil {
		t.Fatal(err)
	}
	film := webtest.Film(t, webtest.Shown{Text: text, Worn: true, For: time.Second})
	p := k.atCounter(webtest.Filming(t, film), k.attendant, k.rigger)
	p.Changes(func() { p.Click("[data-camera] [data-on]") })
	if got := verdictOf(p); got != LookCloser {
		t.Fatalf("verdict %q: %s", got, p.Text("main"))
	}
	if strings.Contains(p.Text("main"), "0417") {
		t.Errorf("what is to be read off the plate stands on the page: %s", p.Text("main"))
	}
	p.Waits(`document.querySelector("[data-worn]")`)
	looks(t, p, "counter-worn-tag")
	p.Changes(func() { p.Click(`form:has(#f-typed) button.first`) }) // nothing was typed
	if k.sling(id).Details.Sling.State != gate.StateIn || verdictOf(p) != LookCloser {
		t.Fatalf("it went out without its plate: %s", p.Text("main"))
	}
	p.Type("#f-typed", "417")
	p.Changes(func() { p.Click(`form:has(#f-typed) button.first`) })
	if got := k.sling(id); got.Loan.Rigger != k.rigger.ID {
		t.Fatalf("after typing the plate's end: %s", p.Text("main"))
	}
	story, err := k.store.Story(t.Context(), event.Sling(id))
	if err != nil {
		t.Fatal(err)
	}
	if last := story[len(story)-1]; last.Envelope.Kind != event.KindIssued || last.Envelope.Way != string(counter.Resembles) {
		t.Errorf("the register says %s by %q", last.Envelope.Kind, last.Envelope.Way)
	}
	if got := k.sling(id).Wants(); got != state.WantsWorn {
		t.Errorf("after its tag could not be read it wants %d", got)
	}
	p.Go(k.http.URL + "/counter") // the camera looks anew
	p.Waits(`document.querySelector('form[action="/counter/return"]')`)
	if !strings.Contains(p.Text("[data-worn]"), "Its tag is too worn") {
		t.Errorf("the card of the worn tag says %q", p.Text("main"))
	}
	p.Changes(func() { p.AllWell("main") })
	if got := k.sling(id).Details.Sling.State; got != gate.StateIn {
		t.Errorf("after the return it is %s: %s", got, p.Text("main"))
	}
	if got := k.recorded(id, event.KindTagRead); got != 1 {
		t.Errorf("%d events say that the tag is worn", got)
	}
	k.happens(id, k.attendant, event.TagRead{Serial: 1, Blocks: []event.ReadBlock{{Wrong: 3, Correction: 22}, {Wrong: 8, Correction: 22}, {Correction: 22}, {Wrong: 1, Correction: 22}}})
	p.Go(k.http.URL + "/rack/NS-0417")
	if got := p.Text("[data-health]"); !strings.Contains(got, "27 % of its error correction was left") || !strings.Contains(got, "print the next one") {
		t.Errorf("the sling's page says of its tag: %q", got)
	}
	if got := webtest.Eval[int](p, `document.querySelectorAll("[data-health] rect:not(.well)").length`); got != 4+2 {
		t.Errorf("%d bars are drawn, want one for each block and reading", got)
	}
	looks(t, p, "sling-worn-tag")
}
