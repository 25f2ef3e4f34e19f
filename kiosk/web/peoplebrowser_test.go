package web

import (
	"strings"
	"testing"
	"time"

	"cribgate/kiosk/web/webtest"
)

// A day pass from the form to the badge, and the badge at the desk: three taps and a
// name, then the file; the visitor is found by initials; whose day is over is told so.
func TestDayPassInBrowser(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	b := webtest.Start(t)
	p := k.opened(b, k.keeper)
	p.Go(k.http.URL + "/people")
	p.Type("#f-visitor", "V. Guest")
	p.Follow(`form[action="/people/day"] button.first`)
	if got := p.Text(".notice.done"); !strings.Contains(got, "Badge 1 of V. Guest is drawn") {
		t.Fatalf("after the day pass: %q", got)
	}
	if got := p.Text("main"); !strings.Contains(got, "Good until 2 Mar 2026.") {
		t.Errorf("the badge: %q", got)
	}
	looks(t, p, "person-day-pass")
	if got := webtest.Eval[string](p, `document.querySelector(".actions a.first").pathname`); !strings.HasSuffix(got, "/badge/1.pdf") {
		t.Errorf("the first button leads to %q", got)
	}
	text := k.badgeText(k.named("V. Guest").ID)

	p.Go("about:blank") // an open page would be loaded again by itself
	k.passes(24 * time.Hour)
	p.Go(k.http.URL + "/people")
	if got := p.Text("main"); !strings.Contains(got, "Whose last day is over") || !strings.Contains(got, "last day was 2 Mar 2026") {
		t.Errorf("the day after: %q", got)
	}
	looks(t, p, "people-ended")
	p.Follow(`.who button`)
	p.Changes(func() { p.Press(webtest.ByScanner, webtest.Scanned(text)...) })
	if got := p.Text(".wrong.big"); !strings.Contains(got, "The last day of this badge is over.") {
		t.Errorf("the badge of yesterday at the sign-in page: %q", got)
	}
	looks(t, p, "sign-in-badge-ended")
}

// A badge scanned at the sign-in page fills in the name, and the PIN is asked.
func TestBadgeSignsInInBrowser(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.signedIn(k.attendant) // has a PIN
	p := k.opened(webtest.Start(t), k.keeper)
	p.Go(k.http.URL + "/people/" + k.attendant.ID.String())
	looks(t, p, "person")
	p.Follow(`form[action$="/badge"] button`)
	text := k.badgeText(k.attendant.ID)
	p.Follow(`.who button`)
	p.Changes(func() { p.Press(webtest.ByScanner, webtest.Scanned(text)...) })
	named := `[...document.querySelectorAll('[name="known"]:checked, [name="name"]')].map(e => e.value).join("|")`
	if got := webtest.Eval[string](p, named); !strings.Contains(got, "I. Maro") || strings.Contains(got, text) {
		t.Fatalf("the badge filled in %q", got)
	}
	p.Type("#f-pin", testPIN)
	p.Follow(`main form button.first`)
	if got := p.Text(".who span"); !strings.Contains(got, "I. Maro") {
		t.Errorf("signed in is %q", got)
	}
}

// Cranes are set up with their hooks.
func TestSetupCranesInBrowser(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	p := k.opened(webtest.Start(t), k.keeper)
	p.Go(k.http.URL + "/setup")
	p.Type("#f-crane-1", "Bay 3")
	p.Type("#f-hook-1", "3 1/2")
	p.Click(`input[name="words"][value="uk"]`)
	p.Follow(`form[action="/setup"] button.first`)
	if got := p.Text(".notice.done"); !strings.Contains(got, "The policy is set.") {
		t.Fatalf("set: %q", got)
	}
	if c := k.policy().Cranes; len(c) != 1 || c[0].Name != "Bay 3" || c[0].Hook != 88_900 {
		t.Errorf("cranes %+v", c)
	}
	looks(t, p, "setup-cranes")
}
