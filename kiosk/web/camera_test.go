package web

import (
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"github.com/gorilla/websocket"

	"cribgate/core/event"
)

// dials asks for a line as a browser does, and gives the status of the answer.
func (c *client) dials(path string) int {
	c.k.t.Helper()
	address := c.k.http.URL + path
	home, err := url.Parse(address)
	if err != nil {
		c.k.t.Fatal(err)
	}
	dialer := websocket.Dialer{Jar: c.http.Jar}
	conn, resp, err := dialer.Dial("ws"+strings.TrimPrefix(address, "http"), http.Header{"Origin": {c.k.http.URL}})
	if resp == nil {
		c.k.t.Fatalf("%s: %v", home.Path, err)
	}
	if err == nil {
		conn.Close()
	}
	return resp.StatusCode
}

// TestWhoMayHaveACamera: whoever may read tags at the counter, while they are signed
// in; a phone's own line is open to all, since its token is asked there.
func TestWhoMayHaveACamera(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	left := k.add("P. Lund", event.Attendant)
	gone := k.signedIn(left)
	k.leaves(left)
	out := k.signedIn(k.attendant)
	if a := out.post("/sign-out", nil); a.status != http.StatusSeeOther {
		t.Fatal(a)
	}
	for name, row := range map[string]struct {
		who  *client
		want int
	}{
		"nobody":         {k.client(), http.StatusForbidden},
		"a rigger":       {k.signedIn(k.rigger), http.StatusForbidden},
		"an attendant":   {k.signedIn(k.attendant), http.StatusSwitchingProtocols},
		"an inspector":   {k.signedIn(k.inspector), http.StatusSwitchingProtocols},
		"who has left":   {gone, http.StatusForbidden},
		"who signed out": {out, http.StatusForbidden},
	} {
		for _, path := range []string{"/camera/line", "/camera/station"} {
			if got := row.who.dials(path); got != row.want {
				t.Errorf("%s asks for %s: %d, want %d", name, path, got, row.want)
			}
		}
	}
	if got := k.client().dials("/phone/line"); got != http.StatusSwitchingProtocols {
		t.Errorf("a phone: %d", got)
	}
}

var shownCode = regexp.MustCompile(`data-code>([A-Z2-7]{4}-[A-Z2-7]{4})<`)

// TestPairingByForms: the code stands in the page that the form gave and nowhere else;
// it is taken once; what the phone gets for it is of use for its camera alone.
func TestPairingByForms(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	desk := k.signedIn(k.attendant)
	if page := desk.get(pairPath); shownCode.MatchString(page.body) {
		t.Error("a code was made by looking at the page")
	}
	shown := desk.post(pairPath, nil)
	code := shownCode.FindStringSubmatch(shown.body)
	if shown.status != http.StatusOK || code == nil {
		t.Fatalf("no code: %v", shown)
	}
	phone := k.client()
	if a := phone.get(phonePath); !a.has(`<form method="post" action="/phone"`) || a.has("data-phone-page") {
		t.Errorf("a phone that is not paired sees %s", a.body)
	}
	if a := phone.post(phonePath, url.Values{"code": {"AAAA-AAAA"}}); a.status != http.StatusUnprocessableEntity || !a.has("This code is not good") {
		t.Errorf("a wrong code: %v", a)
	}
	a := phone.post(phonePath, url.Values{"code": {strings.ToLower(code[1])}})
	if a.status != http.StatusSeeOther || a.to != phonePath {
		t.Fatalf("the code: %v", a)
	}
	cookie := a.header.Get("Set-Cookie")
	for _, part := range []string{phoneCookie + "=", "Path=/phone", "HttpOnly", "SameSite=Strict", "Max-Age=43200"} {
		if !strings.Contains(cookie, part) {
			t.Errorf("the cookie %q has no %s", cookie, part)
		}
	}
	if a := phone.get(phonePath); !a.has("Camera for "+station) || a.has(k.attendant.Name) {
		t.Errorf("the phone sees %s", a.body)
	}
	if a := k.client().post(phonePath, url.Values{"code": {code[1]}}); a.status != http.StatusUnprocessableEntity {
		t.Errorf("the code, a second time: %v", a)
	}

	// The token as the session's cookie, and under every path, is worth nothing.
	token, _, _ := strings.Cut(strings.TrimPrefix(cookie, phoneCookie+"="), ";")
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	home, err := url.Parse(k.http.URL)
	if err != nil {
		t.Fatal(err)
	}
	jar.SetCookies(home, []*http.Cookie{{Name: phoneCookie, Value: token, Path: "/"}, {Name: "cribgate_desk", Value: token, Path: "/"}})
	phone.http.Jar = jar
	for _, path := range []string{"/counter", "/rack", "/people", pairPath} {
		if a := phone.get(path); a.status != http.StatusSeeOther || a.to != "/sign-in" {
			t.Errorf("the phone asks for %s: %v", path, a)
		}
	}
	if got := phone.dials("/camera/station"); got != http.StatusForbidden {
		t.Errorf("the phone listens to the station: %d", got)
	}

	if a := desk.get(pairPath); !a.has(`data-let-go>`) {
		t.Errorf("the counter cannot let the phone go: %s", a.body)
	}
	if a := desk.post("/sign-out", nil); a.status != http.StatusSeeOther {
		t.Fatal(a)
	}
	if a := phone.get(phonePath); a.has("data-phone-page") {
		t.Error("the phone is paired to a counter that was signed out")
	}
	for _, secret := range []string{code[1], strings.ReplaceAll(code[1], "-", ""), token} {
		if strings.Contains(strings.ToUpper(k.log.String()), strings.ToUpper(secret)) {
			t.Errorf("%s is in the log", secret)
		}
	}
}

// TestAnotherSignsIn: the phone of whoever was signed in at a counter before does not
// read for the next.
func TestAnotherSignsIn(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.signedIn(k.inspector) // has a PIN of their own from then on
	desk, phone := k.signedIn(k.attendant), k.client()
	code := shownCode.FindStringSubmatch(desk.post(pairPath, nil).body)
	if a := phone.post(phonePath, url.Values{"code": {code[1]}}); a.status != http.StatusSeeOther {
		t.Fatal(a)
	}
	if a := desk.post("/sign-in", url.Values{"name": {k.inspector.Name}, "pin": {testPIN}}); a.status != http.StatusSeeOther {
		t.Fatal(a)
	}
	if desk.get(pairPath).has("data-let-go>") || phone.get(phonePath).has("data-phone-page") {
		t.Error("the phone is still paired")
	}
}

// TestPhoneLetsGo ends the pairing and forgets the token.
func TestPhoneLetsGo(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	desk, phone := k.signedIn(k.attendant), k.client()
	code := shownCode.FindStringSubmatch(desk.post(pairPath, nil).body)
	if a := phone.post(phonePath, url.Values{"code": {code[1]}}); a.status != http.StatusSeeOther {
		t.Fatal(a)
	}
	if a := phone.post(phonePath+"/end", nil); a.status != http.StatusSeeOther || !strings.Contains(a.header.Get("Set-Cookie"), "Max-Age=0") {
		t.Errorf("let go: %v %s", a.status, a.header.Get("Set-Cookie"))
	}
	if a := phone.get(phonePath); a.has("data-phone-page") {
		t.Error("the phone is still paired")
	}
	if a := desk.get(pairPath); !a.has(`data-let-go hidden>`) {
		t.Error("the counter still has a phone")
	}
}
