package web

import (
	"strings"
	"testing"

	"cribgate/core/state"
	"cribgate/kiosk/web/webtest"
)

// opened is a page of a browser in which p has signed in.
func (k *kiosk) opened(b *webtest.Browser, p state.Person) *webtest.Page {
	k.t.Helper()
	k.signedIn(p) // sets the PIN
	page := b.Page(k.t)
	page.Go(k.http.URL + "/sign-in")
	page.Type("#f-name", p.Name)
	page.Type("#f-pin", testPIN)
	page.Follow("main form button.first")
	return page
}

// looks measures a page and takes its pictures.
func looks(t *testing.T, p *webtest.Page, name string) {
	t.Helper()
	for _, fault := range webtest.Faults(p) {
		t.Errorf("%s: %s", name, fault)
	}
	p.Shots(name)
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
	see("/rack/NS-0311/tag", "tag")
	k.printed(c.untagged)
	see("/rack/NS-0290/correct", "correct")
	p = k.opened(b, k.keeper)
	see("/setup", "setup")
	see("/register", "register")
	if got := p.Text("h1"); !strings.Contains(got, "Register") {
		t.Errorf("heading %q", got)
	}
}
