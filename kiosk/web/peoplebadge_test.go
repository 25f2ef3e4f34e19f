package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/labeler/print"
)

// badgeText is what the newest badge of a person says.
func (k *kiosk) badgeText(id event.PersonID) string {
	k.t.Helper()
	crib, err := k.store.Crib(k.t.Context())
	if err != nil {
		k.t.Fatal(err)
	}
	b, err := print.BadgeAgain(crib, k.person(id), k.server.Keys)
	if err != nil {
		k.t.Fatal(err)
	}
	return b.Sealed.Text()
}

// named is the person of that name.
func (k *kiosk) named(name string) state.Person {
	k.t.Helper()
	p, err := k.store.PersonByName(k.t.Context(), name)
	if err != nil {
		k.t.Fatal(err)
	}
	return p
}

// A day pass is one form: the rigger is entered up to the day, and the badge that
// comes with it is good for just as long.
func TestDayPass(t *testing.T) {
	t.Parallel()
	k := newKiosk(t) // on 2 March 2026
	c := k.signedIn(k.keeper)
	page := c.get("/people")
	if !page.has(`name="until" type="date" autocomplete="off" value="2026-03-02"`) {
		t.Errorf("the day is not today: %s", page.body)
	}
	form := url.Values{"key": {newKey()}, "visitor": {"V. Guest"}, "until": {"2026-03-02"}}
	a := c.post("/people/day", form)
	guest := k.named("V. Guest")
	at := "/people/" + guest.ID.String()
	if a.to != at || guest.Roles != event.Rigger || guest.Terms != (event.Terms{Until: k.today()}) || guest.Badge.Serial != 1 || guest.Badge.Until != k.today() {
		t.Fatalf("%d to %q: %+v", a.status, a.to, guest)
	}
	if a := c.post("/people/day", form); a.to != at || k.named("V. Guest").Badge.Serial != 1 {
		t.Errorf("sent twice: %d to %q, badge %d", a.status, a.to, k.named("V. Guest").Badge.Serial)
	}
	page = c.get(at)
	if !page.has("Badge 1.") || !page.has("Good until 2 Mar 2026.") || !page.has(`href="`+at+`/badge/1.pdf"`) {
		t.Errorf("the person's page: %s", page.words())
	}
	for file, begins := range map[string]string{"1.pdf": "%PDF-", "1.png": "\x89PNG", "1.svg": "<?xml"} {
		a := c.get(at + "/badge/" + file)
		if a.status != http.StatusOK || !strings.HasPrefix(a.body, begins) && !strings.HasPrefix(a.body, "<svg") {
			t.Errorf("%s: %d %.20q", file, a.status, a.body)
		}
	}
	for _, x := range []struct {
		form url.Values
		code int
		says string
	}{
		{url.Values{"visitor": {""}, "until": {"2026-03-02"}}, 422, "Type a name."},
		{url.Values{"visitor": {"W"}, "until": {""}}, 422, "A day pass has a last day."},
		{url.Values{"visitor": {"W"}, "until": {"2026-03-01"}}, 422, "This day is over"},
		{url.Values{"visitor": {"v. guest"}, "until": {"2026-03-02"}}, 409, "has this name already"},
		{url.Values{"visitor": {"W\u200b"}, "until": {"2026-03-02"}}, 422, "cannot be used"},
	} {
		x.form.Set("key", newKey())
		if a := c.post("/people/day", x.form); a.status != x.code || !a.has(x.says) {
			t.Errorf("%v: %d %s", x.form, a.status, a.words())
		}
	}
	text := k.badgeText(guest.ID)
	if p, reasons, err := k.server.Counter.Badge(t.Context(), text); err != nil || p.ID != guest.ID || len(reasons) > 0 {
		t.Errorf("at the counter the badge names %s, %v, %v", p.Name, reasons, err)
	}
	k.passes(24 * time.Hour)
	if _, reasons, err := k.server.Counter.Badge(t.Context(), text); err != nil || len(reasons) != 1 || reasons[0] != gate.BadgeEnded {
		t.Errorf("the day after: %v, %v", reasons, err)
	}
	if a := c.get(at + "/badge/1.pdf"); a.status != http.StatusNotFound {
		t.Errorf("the file of a badge that has ended: %d", a.status)
	}
	if a := c.post(at+"/badge", url.Values{"key": {newKey()}}); a.status < 400 || k.named("V. Guest").Badge.Serial != 1 {
		t.Errorf("a badge of somebody whose last day is over: %d", a.status)
	}
}

// The next badge kills the one before: a lost one is made useless by it.
func TestNextBadge(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.keeper)
	at := "/people/" + k.rigger.ID.String()
	if a := c.get(at); !a.has("No badge was printed yet.") {
		t.Errorf("before: %s", a.words())
	}
	key := newKey()
	for range 2 {
		if a := c.post(at+"/badge", url.Values{"key": {key}}); a.to != at {
			t.Fatalf("%d %s", a.status, a.words())
		}
	}
	lost := k.badgeText(k.rigger.ID)
	if p := k.person(k.rigger.ID); p.Badge.Serial != 1 || p.Badge.Digest != tagcode.Digest(lost) || p.Badge.Stock != "badge" {
		t.Errorf("the register has %+v", p.Badge)
	}
	c.post(at+"/badge", url.Values{"key": {newKey()}})
	if _, reasons, err := k.server.Counter.Badge(t.Context(), lost); err != nil || len(reasons) != 1 || reasons[0] != gate.BadgeReplaced {
		t.Errorf("the lost badge: %v, %v", reasons, err)
	}
	if a := c.get(at + "/badge/1.pdf"); a.status != http.StatusNotFound || !a.has("no longer good") {
		t.Errorf("its file: %d", a.status)
	}
	if a := k.signedIn(k.attendant).post(at+"/badge", url.Values{"key": {newKey()}}); a.status != http.StatusForbidden {
		t.Errorf("an attendant prints a badge: %d", a.status)
	}
}

// A badge that is scanned where somebody signs in fills in the name, and nothing
// more: the PIN is asked all the same.
func TestSignInByBadge(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	keeper := k.signedIn(k.keeper)
	k.signedIn(k.attendant) // has a PIN
	keeper.post("/people/"+k.attendant.ID.String()+"/badge", url.Values{"key": {newKey()}})
	text := k.badgeText(k.attendant.ID)
	c := k.client()
	if a := c.post("/sign-in/badge", url.Values{"text": {text}}); a.status != http.StatusOK || !a.has(`value="I. Maro"`) || strings.Contains(a.body, text) {
		t.Errorf("scanned: %d %s", a.status, a.words())
	}
	if a := c.post("/sign-in", url.Values{"name": {text}, "pin": {""}}); a.status != http.StatusOK || !a.has(`value="I. Maro"`) || strings.Contains(a.body, text) {
		t.Errorf("typed by a scanner into the field: %d %s", a.status, a.words())
	}
	if a := c.get("/counter"); a.to != "/sign-in" {
		t.Errorf("a badge alone signs in: %q", a.to)
	}
	if a := c.post("/sign-in", url.Values{"name": {"I. Maro"}, "pin": {testPIN}}); a.status != http.StatusSeeOther {
		t.Errorf("with the PIN: %d", a.status)
	}
	keeper.post("/people/"+k.attendant.ID.String()+"/badge", url.Values{"key": {newKey()}})
	for text, says := range map[string]string{
		text:               "A newer badge was printed for this person",
		"https://x.test/1": "This is not a badge.",
		"":                 "This is not a badge.",
	} {
		if a := k.client().post("/sign-in/badge", url.Values{"text": {text}}); a.status != http.StatusUnprocessableEntity || !a.has(says) || a.has("I. Maro") {
			t.Errorf("%.12q: %d %s", text, a.status, a.words())
		}
	}
	if strings.Contains(k.log.String(), text) {
		t.Error("a badge's text is in the log")
	}
}
