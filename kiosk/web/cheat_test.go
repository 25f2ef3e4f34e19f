package web

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"cribgate/core/event"
	"cribgate/core/gate"
)

// TestNobodySignsWithAOneTimePIN: the keeper who gave it knows it as well.
func TestNobodySignsWithAOneTimePIN(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	learner := k.onTerms(k.add("L. Voss", event.Attendant), event.Terms{Learner: true})
	pin, err := k.desk.SetOneTime(t.Context(), k.attendant.ID.String())
	if err != nil {
		t.Fatal(err)
	}
	id, text := k.hanging("NS-0001", nil)
	at := k.signedIn(learner)
	at.takes(k.rigger)
	at.lifts(aLift())
	page := at.send(at.scan(text), "/counter/issue", nil)
	page = at.send(page, "/counter/issue", url.Values{"sign-who": {k.attendant.ID.String()}, "sign-pin": {pin}})
	if k.out(k.rigger, id) != 0 || !page.has("I. Maro has a one-time PIN: sign in once and choose another first.") {
		t.Errorf("signed with a one-time PIN: %s", page.main())
	}
}

// TestWhatIsNoPIN: neither a badge nor a name signs for a learner, and another tab of
// the learner's browser is the learner.
func TestWhatIsNoPIN(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	learner := k.onTerms(k.add("L. Voss", event.Attendant), event.Terms{Learner: true})
	k.signedIn(k.attendant)
	badge := k.badgeFor(k.attendant)
	id, text := k.hanging("NS-0001", nil)
	at := k.signedIn(learner)
	at.takes(k.rigger)
	at.lifts(aLift())
	page := at.send(at.scan(text), "/counter/issue", nil)
	used := newKey()
	at.follow(at.post("/counter/scan", url.Values{"key": {used}, "text": {text}, "way": {"scanner"}})) // a key that was answered, or not
	for _, form := range []url.Values{
		{"sign-who": {badge}, "sign-pin": {testPIN}},
		{"sign-who": {k.attendant.ID.String()}, "sign-pin": {badge}},
		{"sign-who": {k.attendant.ID.String()}},
		{"sign-who": {k.attendant.ID.String()}, "sign-pin": {""}, "key": {used}},
		{"sign-who": {k.rigger.ID.String()}, "sign-pin": {testPIN}},
		{"sign-who": {k.attendant.ID.String(), learner.ID.String()}, "sign-pin": {"", testPIN}},
	} {
		again := at.send(page, "/counter/issue", form)
		if k.out(k.rigger, id) != 0 {
			t.Fatalf("%v signed: %s", form, again.main())
		}
	}
}

// TestABeamIsNotAnsweredAway: what is asked of one sling does not change a lift of
// which somebody has said how slings share it.
func TestABeamIsNotAnsweredAway(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	a, aText := k.hanging("NS-0001", leg(t))
	b, bText := k.hanging("NS-0002", leg(t))
	at := k.signedIn(k.attendant)
	at.takes(k.rigger)
	// (12,000 + 8,000) / 2 is more than 7,100 lb; 12,000 on two legs of one hook is not.
	at.lifts(with(aLift(), "legs", "2", "load", "12,000", "together", "beam", "slings", "2", "beam", "8,000", "parts", "equal"))
	if page := at.scan(aText); page.verdict() != StaysHere {
		t.Fatalf("under the beam: %s", page.main())
	}
	at.scan(bText)
	for _, answer := range []string{"yes", "no"} {
		at.follow(at.post("/counter/answer", url.Values{"key": {newKey()}, "card": {"1"}, "singles": {answer}}))
		if page := at.get("/counter"); !page.has("The beam weighs") || page.verdict() == MayGo || page.hasForm("/counter/issue") {
			t.Errorf("the beam was answered away by %s: %s", answer, page.main())
		}
	}
	if k.out(k.rigger, a, b) != 0 {
		t.Error("they went")
	}
}

// TestForgedHandingOver: fields of the button that were changed hand nothing over that
// the page did not show.
func TestForgedHandingOver(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	good, goodText := k.hanging("NS-0001", nil)
	weak, weakText := k.hanging("NS-0002", func(d *event.Details) { d.Sling.RatingTag = gate.TagPartial })
	at := k.signedIn(k.attendant)
	at.takes(k.rigger)
	at.lifts(aLift())
	at.scan(weakText)
	page := at.scan(goodText)
	for _, form := range []url.Values{
		{"lines": {"1 2"}}, {"lines": {"2 2"}}, {"lines": {"-1"}}, {"lines": {"99999999999999999999"}}, {"lines": {"1"}}, {"lines": {"1"}, "seen": {""}},
		{"seen": {""}}, {"seen": {"x"}}, {"lines": {"NaN"}}, {"key": {""}}, {"key": {"00000" + strings.Repeat("A", 26)}}, {"card": {"2"}, "lines": {"0"}},
	} {
		answer := at.send(page, "/counter/issue", form)
		if k.out(k.rigger, good, weak) != 0 {
			t.Fatalf("%v: %s", form, answer.main())
		}
	}
	if at.send(page, "/counter/issue", nil); k.out(k.rigger, good) != 1 || k.out(k.rigger, weak) != 0 {
		t.Error("the true button")
	}
}

// TestTwoShifts: the day that was said last holds for all gear for a shift, on the page
// as in the register.
func TestTwoShifts(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.onTerms(k.rigger, event.Terms{ShiftGear: true})
	today, todayText := k.hanging("NS-0001", nil)
	night, nightText := k.hanging("NS-0002", nil)
	at := k.signedIn(k.attendant)
	at.takes(k.rigger)
	shift := func(back string) {
		at.follow(at.post("/counter/shift", url.Values{"key": {newKey()}, "back": {back}}))
	}
	shift("2026-03-02")
	at.scan(todayText)
	shift("2026-03-03")
	page := at.scan(nightText)
	if !page.has("needed back by 3 Mar 2026") || page.has("needed back from") {
		t.Errorf("two days on one loan: %s", page.main())
	}
	at.send(page, "/counter/issue", nil)
	if k.out(k.rigger, today, night) != 2 {
		t.Fatalf("both go: %s", page.main())
	}
	if a, b := k.sling(today).Loan.ReturnBy, k.sling(night).Loan.ReturnBy; a != day(t, "2026-03-03") || b != day(t, "2026-03-03") {
		t.Errorf("needed back by %s and %s", a, b)
	}
}

// TestOverIsOver: whose last day is over neither acts nor hears on, in a page that is
// still open.
func TestOverIsOver(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	guest := k.onTerms(k.add("G. Guest", event.Attendant), event.Terms{Until: day(t, "2026-03-02")})
	id, text := k.hanging("NS-0001", nil)
	at := k.signedIn(guest)
	at.takes(k.rigger)
	at.lifts(aLift())
	page := at.scan(text)
	k.passes(24 * time.Hour)
	form := page.form(t, "/counter/issue")
	if a := at.post("/counter/issue", form); a.to != "/sign-in" || k.out(k.rigger, id) != 0 {
		t.Errorf("handed over: %v", a)
	}
	for _, path := range []string{"/camera/line", "/camera/station"} {
		if got := at.dials(path); got != http.StatusForbidden {
			t.Errorf("%s: %d", path, got)
		}
	}
}

// TestForeignLines: pages of another origin get no line.
func TestForeignLines(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	at := k.signedIn(k.attendant)
	for _, path := range []string{"/camera/line", "/camera/station", "/phone/line", "/live"} {
		for _, origin := range []string{"https://elsewhere.example", "null", k.http.URL + ".elsewhere.example", "http://127.0.0.1:1"} {
			dialer := websocket.Dialer{Jar: at.http.Jar}
			conn, resp, err := dialer.Dial("ws"+strings.TrimPrefix(k.http.URL, "http")+path, http.Header{"Origin": {origin}})
			if err == nil {
				conn.Close()
			}
			if resp == nil || resp.StatusCode != http.StatusForbidden {
				t.Errorf("%s from %s: %v %v", path, origin, resp, err)
			}
		}
	}
}

// TestPicturesAreOnlyPictures: nothing that came with a picture is kept, no address
// leads out of the album, and only the keeper takes one out.
func TestPicturesAreOnlyPictures(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.attendant)
	m := image.NewRGBA(image.Rect(0, 0, 40, 30))
	m.Set(3, 3, color.RGBA{200, 0, 0, 255})
	var plain bytes.Buffer
	if err := jpeg.Encode(&plain, m, nil); err != nil {
		t.Fatal(err)
	}
	secret := "Exif\x00\x00GPS 51.5N <script>alert(1)</script>"
	app := append([]byte{0xff, 0xe1, 0, byte(len(secret) + 2)}, secret...)
	polyglot := append(append(append([]byte{}, plain.Bytes()[:2]...), app...), plain.Bytes()[2:]...)
	polyglot = append(polyglot, "<html><script>alert(2)</script>"...)
	form := c.get("/strays").form(t, "/strays")
	form.Set("lies", "cage")
	page := c.follow(c.sends("/strays", form, polyglot))
	src := regexp.MustCompile(`src="(/photo/[0-9a-f]{64})"`).FindStringSubmatch(page.body)
	if src == nil {
		t.Fatalf("not kept: %s", page.main())
	}
	got := c.get(src[1])
	for _, part := range []string{"Exif", "GPS", "script", "html"} {
		if strings.Contains(got.body, part) {
			t.Errorf("%s is in the picture that was kept", part)
		}
	}
	for name, want := range map[string]string{"Content-Type": "image/jpeg", "X-Content-Type-Options": "nosniff", "Cache-Control": "no-store"} {
		if got.header.Get(name) != want {
			t.Errorf("%s: %q", name, got.header.Get(name))
		}
	}
	if !strings.Contains(got.header.Get("Content-Security-Policy"), "default-src 'none'") {
		t.Error("no policy on a picture")
	}
	for _, path := range []string{"/photo/..%2fdesk.sqlite", "/photo/%2e%2e", "/photo/" + strings.ToUpper(src[1][7:]), src[1] + ".jpg", "/photo/..%5c..%5cdesk.sqlite", src[1] + "%00"} {
		if a := c.get(path); a.status != http.StatusNotFound {
			t.Errorf("%s: %d", path, a.status)
		}
	}
	if a := k.client().get(src[1]); a.to != "/sign-in" {
		t.Errorf("a stranger: %v", a.status)
	}
	for _, who := range []*client{c, k.signedIn(k.inspector), k.signedIn(k.rigger)} {
		if a := who.post(src[1]+"/out", url.Values{"key": {newKey()}}); a.status != http.StatusForbidden {
			t.Errorf("taken out: %d", a.status)
		}
	}
	if a := k.signedIn(k.keeper).post("/photo/"+strings.Repeat("7", 64)+"/out", url.Values{"key": {newKey()}}); a.status != http.StatusNotFound {
		t.Errorf("a picture that never was, taken out: %d", a.status)
	}
}

// TestTextThatTurnsItselfRound: marks that turn the direction of writing could make a
// note read as something else.
func TestTextThatTurnsItselfRound(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.attendant)
	for _, bad := range []string{"cage \u202etfel", "cage \u2067x", "cage\x00", "ca\x1bge", "a\xffb"} {
		form := c.get("/strays").form(t, "/strays")
		form.Set("lies", bad)
		if a := c.sends("/strays", form, nil); a.status != http.StatusUnprocessableEntity || len(k.cribNow().Strays) != 0 {
			t.Errorf("%q: %d", bad, a.status)
		}
		form.Set("lies", "cage")
		form.Set("note", bad)
		if a := c.sends("/strays", form, nil); a.status != http.StatusUnprocessableEntity || len(k.cribNow().Strays) != 0 {
			t.Errorf("note %q: %d", bad, a.status)
		}
	}
}

// TestNothingScannedIsLogged: neither tags, badges, codes nor PINs, whatever becomes of
// the request.
func TestNothingScannedIsLogged(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	badge := k.badgeFor(k.rigger)
	_, text := k.hanging("NS-0001", nil)
	c := k.signedIn(k.attendant)
	for _, path := range []string{"/counter/scan", "/heap/scan", "/count/scan", "/outside", "/paper", "/sign-in/badge", "/sign-in", "/rack", "/check", "/counter/rigger", "/counter/lift", "/phone", "/counter/issue", "/told"} {
		for _, scanned := range []string{text, badge} {
			form := url.Values{"key": {newKey()}}
			for _, field := range []string{"text", "name", "code", "load", "rigger", "find", "typed", "lines", "card", "count", "sling", "pin", "sign-who", "sign-pin"} {
				form.Set(field, scanned)
			}
			form.Set("way", "scanner")
			a := c.post(path, form)
			if strings.Contains(a.to, scanned) {
				t.Errorf("%s leads to %s", path, a.to)
			}
			if a.status >= http.StatusInternalServerError {
				t.Errorf("%s: %d", path, a.status)
			}
		}
	}
	for _, secret := range []string{text, badge, testPIN} {
		if strings.Contains(k.log.String(), secret) {
			t.Errorf("%.12s is in the log", secret)
		}
	}
}
