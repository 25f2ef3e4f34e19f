package web

import (
	"net/url"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/kiosk/web/webtest"
)

// notLoopback is a name that a browser does not trust as it trusts 127.0.0.1: it
// sends no Sec-Fetch-Site there, as in a crib without TLS.
const notLoopback = "crib.test"

// TestSignInInBrowser signs in by the on-screen keypad, chooses a PIN and adds a
// person, from an address that is not loopback.
func TestSignInInBrowser(t *testing.T) {
	k := newKiosk(t)
	pin, err := k.desk.SetOneTime(t.Context(), k.keeper.ID.String())
	if err != nil {
		t.Fatal(err)
	}
	address, err := url.Parse(k.http.URL)
	if err != nil {
		t.Fatal(err)
	}
	home := "http://" + notLoopback + ":" + address.Port()
	p := webtest.Start(t).Page(t)

	p.Go(home + "/")
	p.Type("#f-name", k.keeper.Name)
	press := func(digits string) {
		for _, d := range digits {
			p.Click(`.keypad button[aria-label="` + string(d) + `"]`)
		}
	}
	press("11")
	p.Click(`.keypad button[aria-label="Clear all digits"]`)
	press(pin + "9")
	p.Click(`.keypad button[aria-label="Take back the last digit"]`)
	check := func(name string) {
		t.Helper()
		looks(t, p, name)
	}
	check("sign-in")
	p.Follow(`main form button.first`)
	if got := p.Text("h1"); got != "Choose your PIN" {
		t.Fatalf("after signing in: %q", got)
	}
	check("pin")
	p.Type("#f-first", testPIN)
	p.Type("#f-again", testPIN)
	p.Follow(`main form button.first`)
	if got := p.Text(".notice"); !strings.Contains(got, "Your PIN is set") {
		t.Fatalf("after choosing: %q", got)
	}
	k.add("P. Lund", event.Rigger|event.Attendant)
	p.Go(home + "/people")
	p.Type("#f-name", "A. Feld")
	p.Click(`form:has(#f-name) input[value="inspector"]`)
	p.Follow(`main form:has(#f-name) button.first`)
	if got := p.Text(".given h2"); got != "One-time PIN for A. Feld" {
		t.Fatalf("after adding: %q", got)
	}
	check("people")
	p.Click(`.list li:first-child summary`)
	check("people-change")
	p.Follow(`.who button`)
	check("sign-in-again")
	p.Type("#f-pin", "111222")
	p.Follow(`main form button.first`)
	if got := p.Text(".wrong"); !strings.Contains(got, "do not belong together") {
		t.Errorf("wrong PIN: %q", got)
	}
	check("sign-in-wrong")
	p.Go(home + "/nowhere")
	check("no-page")
}
