package web

import (
	"net/http"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/kiosk/desk"
)

func TestSignIn(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	pin, err := k.desk.SetOneTime(t.Context(), k.attendant.ID.String())
	if err != nil {
		t.Fatal(err)
	}
	c := k.client()
	if a := c.get("/"); a.status != http.StatusSeeOther || a.to != "/sign-in" {
		t.Errorf("stranger at /: %d to %q", a.status, a.to)
	}
	if a := c.get("/sign-in"); a.status != http.StatusOK || a.has("Someone else") {
		t.Errorf("sign-in page: %d", a.status)
	}

	a := c.post("/sign-in", url.Values{"name": {"  i.   MARO "}, "pin": {pin}})
	if a.status != http.StatusSeeOther || a.to != "/" {
		t.Fatalf("sign-in: %d to %q: %s", a.status, a.to, a.body)
	}
	for _, path := range []string{"/", "/people"} {
		if a := c.get(path); a.to != "/pin" {
			t.Errorf("with a one-time PIN, %s leads to %q", path, a.to)
		}
	}
	if a := c.get("/pin"); a.status != http.StatusOK || a.has(">People<") {
		t.Errorf("PIN page: %d; or it shows places that are closed yet", a.status)
	}
	for _, bad := range []struct{ first, again, says string }{
		{"902758", "902759", "The two are not the same."},
		{"9027", "9027", "6 to 12 digits and nothing else"},
		{"345678", "345678", "a run or a repeated pattern"},
		{pin, pin, "This is the one-time PIN."},
	} {
		if a := c.post("/pin", url.Values{"first": {bad.first}, "again": {bad.again}}); a.status != http.StatusUnprocessableEntity || !a.has(bad.says) {
			t.Errorf("PIN %s, %s: %d, wanted %q", bad.first, bad.again, a.status, bad.says)
		} else if strings.Contains(a.body, bad.first) && bad.first != "345678" {
			t.Errorf("the page gives the PIN back")
		}
	}
	if a := c.post("/pin", url.Values{"first": {testPIN}, "again": {testPIN}}); a.status != http.StatusSeeOther || a.to != "/" {
		t.Fatalf("choose a PIN: %d to %q", a.status, a.to)
	}
	if got := k.pinsSet(k.attendant); len(got) != 1 || got[0] {
		t.Errorf("the register heard of PINs %v", got)
	}
	if a := c.get("/people"); a.status != http.StatusOK || !a.has("Your PIN is set.") || !a.has("I. Maro, attendant") {
		t.Errorf("after the choice: %d %s", a.status, a.body)
	}
	if a := c.get("/people"); a.has("Your PIN is set.") {
		t.Error("the notice is shown twice")
	}
	if a := c.get("/pin"); a.to != "/" {
		t.Errorf("PIN page with a PIN of one's own leads to %q", a.to)
	}

	if a := c.post("/sign-out", nil); a.to != "/sign-in" {
		t.Errorf("sign-out leads to %q", a.to)
	}
	if a := c.get("/people"); a.to != "/sign-in" {
		t.Errorf("after signing out /people leads to %q", a.to)
	}
	if a := c.get("/sign-in"); !a.has("Someone else") || !a.has(`value="I. Maro" checked`) {
		t.Errorf("the browser forgot who signed in: %s", a.body)
	}
	if a := c.post("/sign-in", url.Values{"known": {"I. Maro"}, "name": {""}, "pin": {testPIN}}); a.to != "/" {
		t.Errorf("sign-in by a known name: %d %s", a.status, a.body)
	}
	if strings.Contains(k.log.String(), testPIN) || strings.Contains(k.log.String(), pin) {
		t.Error("a PIN is in the log")
	}
}

func TestSignInRefusals(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.signedIn(k.attendant)
	gone := k.add("A. Gone", event.Attendant)
	k.signedIn(gone)
	k.leaves(gone)

	c := k.client()
	for _, bad := range []struct {
		name, pin, says string
		status          int
	}{
		{"", testPIN, "Type your name.", 422},
		{strings.Repeat("x", maxName+1), testPIN, "there is room for 60", 422},
		{"I. Maro\x00", testPIN, "cannot be used here", 422},
		{"Nobody", testPIN, "do not belong together", 422},
		{"A. Gone", testPIN, "do not belong together", 422},
		{"T. Brandt", testPIN, "No PIN has been set for this name yet.", 422},
		{"I. Maro", "902759", "do not belong together", 422},
		{"I. Maro", "", "do not belong together", 422},
	} {
		a := c.post("/sign-in", url.Values{"name": {bad.name}, "pin": {bad.pin}})
		if a.status != bad.status || !a.has(bad.says) {
			t.Errorf("%.20q: %d, want %d with %q", bad.name, a.status, bad.status, bad.says)
		}
	}
	// The third wrong PIN in a row: a wait, of which some is over when the next comes.
	typed := time.Now()
	if a := c.post("/sign-in", url.Values{"name": {"I. Maro"}, "pin": {strings.Repeat("9", 5000)}}); a.status != 422 || !a.has("do not belong together") {
		t.Errorf("a third wrong PIN: %d", a.status)
	}
	a := c.post("/sign-in", url.Values{"name": {"I. Maro"}, "pin": {testPIN}})
	left := 5*time.Second - time.Since(typed)
	if left <= 0 {
		t.Skip("SKIPPED, NOTHING PROVEN of the wait: two sign-ins took all of it")
	}
	told := regexp.MustCompile(`Wait (\d) seconds, then try again`).FindStringSubmatch(a.body)
	if a.status != 429 || told == nil {
		t.Fatalf("the right PIN, too early: %d %s", a.status, a.body)
	}
	if seconds, err := strconv.ParseFloat(told[1], 64); err != nil || seconds > 5 || seconds < left.Seconds() {
		t.Errorf("told to wait %s seconds, %v are left", told[1], left)
	}
	if a := c.get("/people"); a.to != "/sign-in" {
		t.Errorf("refused, /people leads to %q", a.to)
	}
}

// A locked name is told so, and a new one-time PIN opens it.
func TestSignInLocked(t *testing.T) {
	if got, status := signInProblem(desk.ErrLocked); status != http.StatusForbidden || !strings.Contains(got, "Ask the keeper") {
		t.Errorf("locked: %d %q", status, got)
	}
	for left, says := range map[time.Duration]string{5 * time.Second: "Wait 5 seconds", 4*time.Second + 1: "Wait 5 seconds", 4 * time.Second: "Wait 4 seconds"} {
		if got, status := signInProblem(&desk.WaitError{For: left}); status != http.StatusTooManyRequests || !strings.Contains(got, says) {
			t.Errorf("%v left: %d %q", left, status, got)
		}
	}
	if got, status := signInProblem(desk.ErrBusy); status != http.StatusServiceUnavailable || got == "" {
		t.Errorf("busy: %d %q", status, got)
	}
	if got, _ := signInProblem(http.ErrBodyNotAllowed); got != "" {
		t.Errorf("another error reached a person: %q", got)
	}
}

func TestPeople(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.keeper)
	page := c.get("/people")
	for _, text := range []string{"S. Quill", "T. Brandt", "no PIN: cannot sign in", "signs in with a PIN",
		"Add people, take them off, change roles and terms, give one-time PINs", "keeper", "everyone who signs in"} {
		if !page.has(text) {
			t.Errorf("people page lacks %q", text)
		}
	}
	key := page.key(t)
	for _, bad := range []struct {
		form url.Values
		says string
		code int
	}{
		{url.Values{"key": {key}, "name": {""}, "role": {"rigger"}}, "Type a name.", 422},
		{url.Values{"key": {key}, "name": {"P. Lund"}}, "Choose at least one.", 422},
		{url.Values{"key": {key}, "name": {"P. Lund"}, "role": {"king"}}, "This is not a role.", 422},
		{url.Values{"key": {key}, "name": {"t. brandt"}, "role": {"rigger"}}, "has this name already", 409},
		{url.Values{"key": {key}, "name": {"T. Brandt\u200b"}, "role": {"rigger"}}, "cannot be used in a name", 422},
		{url.Values{"name": {"P. Lund"}, "role": {"rigger"}}, "without its number", 422},
	} {
		if a := c.post("/people", bad.form); a.status != bad.code || !a.has(bad.says) {
			t.Errorf("%v: %d, want %d with %q", bad.form, a.status, bad.code, bad.says)
		}
	}
	if n := k.count(); n != 4 {
		t.Fatalf("%d people after refusals", n)
	}

	form := url.Values{"key": {key}, "name": {" P.  Lund "}, "role": {"rigger", "attendant"}}
	a := c.post("/people", form)
	if a.status != http.StatusOK || !a.has("One-time PIN for P. Lund") {
		t.Fatalf("add: %d %s", a.status, a.body)
	}
	first := pinOn(t, a)
	again := c.post("/people", form)
	if n := k.count(); n != 5 {
		t.Errorf("%d people after sending the form twice", n)
	}
	second := pinOn(t, again)
	added, err := k.store.PersonByName(t.Context(), "P. Lund")
	if err != nil {
		t.Fatal(err)
	}
	if added.Roles != event.Rigger|event.Attendant {
		t.Errorf("added %+v", added)
	}
	if first != second {
		t.Errorf("the form that was sent twice shows %s, then %s", first, second)
	}
	if err := k.desk.Verify(t.Context(), added.ID.String(), first); err != nil {
		t.Errorf("the PIN that was shown does not open: %v", err)
	}
	if got := k.pinsSet(added); len(got) != 1 || !got[0] {
		t.Errorf("the register heard of PINs %v", got)
	}
	if strings.Contains(k.log.String(), first) {
		t.Error("a one-time PIN is in the log")
	}
}

// A form that gives a PIN gives one, however often it is sent, and never takes from
// somebody the PIN that they have chosen since.
func TestGivePIN(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.keeper)
	at := "/people/" + k.rigger.ID.String() + "/pin"
	form := url.Values{"key": {c.get("/people").key(t)}}
	if a := c.post(at, nil); a.status != http.StatusUnprocessableEntity || !a.has("without its number") {
		t.Errorf("without a key: %d", a.status)
	}
	var answers [2]answer
	var both sync.WaitGroup
	for i := range answers { // a double tap
		both.Go(func() { answers[i] = c.post(at, form) })
	}
	both.Wait()
	shown := pinOn(t, answers[0])
	if again := pinOn(t, answers[1]); again != shown || !answers[1].has("One-time PIN for T. Brandt") {
		t.Errorf("shown %s and %s", shown, again)
	}
	if got := k.pinsSet(k.rigger); len(got) != 1 || !got[0] {
		t.Errorf("the register heard of PINs %v", got)
	}
	if err := k.desk.Choose(t.Context(), k.rigger.ID.String(), testPIN); err != nil {
		t.Fatal(err)
	}
	if a := c.post(at, form); a.status != http.StatusConflict || !a.has("is not shown again") || a.has("One-time PIN for") {
		t.Errorf("sent again later: %d %s", a.status, a.words())
	}
	if err := k.desk.Verify(t.Context(), k.rigger.ID.String(), testPIN); err != nil {
		t.Errorf("the PIN of their own: %v", err)
	}
	if a := c.post(at, url.Values{"key": {newKey()}}); a.status != http.StatusOK || pinOn(t, a) == shown {
		t.Errorf("a new form: %d", a.status)
	}
	for _, id := range []string{"x", strings.Repeat("0", 32), strings.Repeat("ab", 16)} {
		if a := c.post("/people/"+id+"/pin", url.Values{"key": {newKey()}}); a.status != http.StatusNotFound {
			t.Errorf("new PIN for %s: %d", id, a.status)
		}
	}
}

func TestChangePerson(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.keeper)
	at := "/people/" + k.attendant.ID.String()
	key := c.get("/people").key(t)

	a := c.post(at+"/roles", url.Values{"key": {key}, "role": {"attendant", "inspector"}})
	if a.to != "/people" || !c.get("/people").has("I. Maro has other roles now.") {
		t.Errorf("roles: %d %s", a.status, a.body)
	}
	if got := k.person(k.attendant.ID).Roles; got != event.Attendant|event.Inspector {
		t.Errorf("roles are %v", got)
	}
	if a := c.post(at+"/roles", url.Values{"key": {newKey()}}); a.status != http.StatusUnprocessableEntity {
		t.Errorf("no role: %d", a.status)
	}

	own := "/people/" + k.keeper.ID.String()
	for path, x := range map[string]struct {
		form url.Values
		says string
	}{
		own + "/off":   {url.Values{"key": {newKey()}}, "Another keeper does it."},
		own + "/roles": {url.Values{"key": {newKey()}, "role": {"rigger"}}, "at least one keeper"},
	} {
		if a := c.post(path, x.form); a.status != http.StatusUnprocessableEntity || !a.has(x.says) {
			t.Errorf("the last keeper, %s: %d %s", path, a.status, a.body)
		}
	}
	if a := c.get("/people"); a.hasForm(own+"/off") || !a.hasForm(at+"/off") {
		t.Error("the keeper is offered to take themselves off, or nobody else")
	}

	leaver := k.signedIn(k.attendant)
	if a := c.post(at+"/off", url.Values{"key": {newKey()}}); a.to != "/people" {
		t.Errorf("off: %d %s", a.status, a.body)
	}
	if k.person(k.attendant.ID).Here {
		t.Error("still here")
	}
	if a := leaver.get("/people"); a.to != "/sign-in" {
		t.Errorf("taken off, /people leads to %q", a.to)
	}
	if a := c.post(at+"/off", url.Values{"key": {newKey()}}); a.status != http.StatusNotFound {
		t.Errorf("off a second time: %d", a.status)
	}

	if a := c.get("/people"); !a.hasForm(at + "/on") {
		t.Error("who was taken off by mistake cannot be taken on again")
	}
	if a := c.post(at+"/on", url.Values{"key": {newKey()}}); a.to != "/people" || !c.get("/people").has("I. Maro is here again.") {
		t.Errorf("on again: %d %s", a.status, a.body)
	}
	if got := k.person(k.attendant.ID); !got.Here || got.Roles != event.Attendant|event.Inspector {
		t.Errorf("back as %+v", got)
	}
	if a := c.post(at+"/on", url.Values{"key": {newKey()}}); a.status != http.StatusNotFound {
		t.Errorf("on a second time: %d", a.status)
	}
	c.post(at+"/off", url.Values{"key": {newKey()}})
	k.add("i. maro", event.Rigger)
	if a := c.post(at+"/on", url.Values{"key": {newKey()}}); a.status != http.StatusUnprocessableEntity || !a.has("has this name by now") {
		t.Errorf("back under a name that is taken: %d %s", a.status, a.body)
	}
}

// Who has slings outside is seen before they are taken off.
func TestPeopleWithSlingsOutside(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.filled()
	if a := k.signedIn(k.keeper).get("/people"); !a.has("T. Brandt has 2 slings outside. Get that back first.") {
		t.Errorf("the people page: %s", a.words())
	}
	if a := k.signedIn(k.rigger).get("/people"); a.has("has 2 slings") {
		t.Error("a rigger reads what others have outside on the people page")
	}
}

func pinOn(t *testing.T, a answer) string {
	t.Helper()
	_, rest, ok := strings.Cut(a.body, `<p class="pin">`)
	pin, _, ok2 := strings.Cut(rest, "</p>")
	if !ok || !ok2 || desk.CheckPIN(pin) != nil {
		t.Fatalf("no PIN on the page: %s", a.body)
	}
	return pin
}

func TestTheme(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.client()
	if a := c.get("/sign-in"); a.has("data-theme") {
		t.Error("a theme without a choice")
	}
	for _, theme := range []string{"night", "day"} {
		if a := c.post("/theme", url.Values{"theme": {theme}, "back": {"/sign-in"}}); a.to != "/sign-in" {
			t.Errorf("%s leads to %q", theme, a.to)
		}
		if a := c.get("/sign-in"); !a.has(`data-theme="` + theme + `"`) {
			t.Errorf("%s is not kept", theme)
		}
	}
	c.post("/theme", url.Values{"theme": {"device"}})
	if a := c.get("/sign-in"); a.has("data-theme") {
		t.Error("the choice cannot be taken back")
	}
}

func TestOwnPath(t *testing.T) {
	for in, want := range map[string]string{
		"/people":         "/people",
		"/people?x=1":     "/people",
		"":                "/",
		"people":          "/",
		"//evil.test/x":   "/",
		"/\\evil.test":    "/",
		"https://e.test/": "/",
		"javascript:x":    "/",
		"/a%2fb":          "/a%2fb",
		"%zz":             "/",
	} {
		if got := ownPath(in); got != want {
			t.Errorf("ownPath(%q) = %q, want %q", in, got, want)
		}
	}
}
