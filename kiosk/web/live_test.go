package web

import (
	"strings"
	"testing"

	"cribgate/kiosk/web/webtest"
)

// TestAPageSaysThatTheRegisterHasMovedOnAndThatTheLineIsDown opens the rack in
// a real browser, lets the register go on, and takes the line away.
func TestAPageSaysThatTheRegisterHasMovedOnAndThatTheLineIsDown(t *testing.T) {
	k := newKiosk(t)
	p := k.opened(webtest.Start(t), k.inspector)
	p.Go(k.http.URL + "/rack")
	p.Waits(`document.querySelector(".stale").hidden`)
	k.hub.Announce(webtest.Eval[int64](p, `Number(document.body.dataset.at)`) + 1)
	p.Waits(`!document.querySelector(".stale").hidden`)
	if says := p.Text(".stale"); !strings.Contains(says, "has changed") {
		t.Errorf("the page says %q", says)
	}
	looks(t, p, "rack-moved-on")
	k.hub.Close()
	p.Waits(`document.querySelector(".stale").innerText.includes("line to the register is down")`)
}

// TestAPageThatFollowsNothingOpensNoLine: a form must not be disturbed.
func TestAPageThatFollowsNothingOpensNoLine(t *testing.T) {
	k := newKiosk(t)
	p := k.opened(webtest.Start(t), k.inspector)
	p.Go(k.http.URL + "/register")
	if webtest.Eval[bool](p, `"at" in document.body.dataset`) {
		t.Error("the page follows the register")
	}
}
