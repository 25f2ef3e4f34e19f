package web

import (
	"database/sql"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/kiosk/desk"
	"cribgate/store"
)

// anyName stands in an address for the name of a thing; what a page asks for that
// is not there does not matter here.
var anyName = regexp.MustCompile(`\{[a-z]+\}`)

// TestRolesOnEveryRoute asks for every route as nobody and as each role, and
// holds the answer against the table of acts.
func TestRolesOnEveryRoute(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	visitors := map[string]*client{"nobody": k.client()}
	roles := map[string]event.Roles{"nobody": 0}
	for _, r := range roleNames {
		p := k.add("One "+r.name, r.role)
		visitors[r.name], roles[r.name] = k.signedIn(p), r.role
	}
	for _, r := range routes() {
		if r.path == "/sign-out" {
			continue // would end the visitors' sessions; TestSignIn covers it
		}
		path := anyName.ReplaceAllString(strings.TrimSuffix(r.path, "{$}"), strings.Repeat("ab", 16))
		for who, c := range visitors {
			var a answer
			if r.method == http.MethodGet {
				a = c.get(path)
			} else {
				a = c.post(path, url.Values{})
			}
			sentAway := a.status == http.StatusSeeOther && a.to == "/sign-in"
			refused := a.status == http.StatusForbidden
			switch {
			case r.act == actNothing:
				if sentAway || refused {
					t.Errorf("%s %s as %s: %d to %q, but anyone may", r.method, r.path, who, a.status, a.to)
				}
			case roles[who] == 0:
				if !sentAway {
					t.Errorf("%s %s as %s: %d, want to be sent to sign in", r.method, r.path, who, a.status)
				}
			case acts[r.act].who.Any(roles[who]):
				if sentAway || refused {
					t.Errorf("%s %s as %s: %d to %q, but the role may", r.method, r.path, who, a.status, a.to)
				}
			default:
				if !refused {
					t.Errorf("%s %s as %s: %d, want a refusal", r.method, r.path, who, a.status)
				}
			}
		}
	}
}

// Every act is needed by some route, so that the people page promises nothing
// that is not there; and what changes something is never a GET.
func TestActsAndRoutesFit(t *testing.T) {
	used := map[act]bool{}
	for _, r := range routes() {
		used[r.act] = true
		if r.method != http.MethodGet && r.method != http.MethodPost {
			t.Errorf("%s %s: only GET and POST", r.method, r.path)
		}
		if r.nav != "" && (r.method != http.MethodGet || strings.Contains(r.path, "{")) {
			t.Errorf("%s %s cannot be a place in the top row", r.method, r.path)
		}
	}
	for a := range acts {
		if !used[act(a)] {
			t.Errorf("no route needs act %d, %q", a, acts[a].name)
		}
	}
}

func TestAnswersCarryProtection(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.keeper)
	for _, path := range []string{"/people", "/sign-in", "/no-such-page"} {
		a := c.get(path)
		for name, want := range map[string]string{
			"Content-Security-Policy": policy, "X-Content-Type-Options": "nosniff", "X-Frame-Options": "DENY",
			"Referrer-Policy": "same-origin", "Content-Type": "text/html; charset=utf-8",
		} {
			if got := a.header.Get(name); got != want {
				t.Errorf("%s: %s is %q, want %q", path, name, got, want)
			}
		}
		if got := a.header.Values("Cache-Control"); len(got) == 0 || got[0] != "no-store" {
			t.Errorf("%s: Cache-Control is %q", path, got)
		}
		for _, inline := range []string{" style=", "<style", " onclick=", " onload="} {
			if strings.Contains(a.body, inline) {
				t.Errorf("%s has%s, which the policy forbids", path, inline)
			}
		}
	}
}

func TestForeignPageIsRefused(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.keeper)
	form := url.Values{"key": {newKey()}, "name": {"P. Lund"}, "role": {"rigger"}}
	for name, value := range map[string]string{"Origin": "http://evil.test", "Sec-Fetch-Site": "cross-site"} {
		r := c.request(http.MethodPost, "/people", strings.NewReader(form.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set(name, value)
		if a := c.do(r); a.status != http.StatusForbidden || !a.has("not the kiosk’s") && !a.has("not the kiosk&#39;s") {
			t.Errorf("%s: %s: %d %s", name, value, a.status, a.body)
		}
	}
	if k.count() != 4 {
		t.Error("a foreign page added a person")
	}
}

func TestSignedOutMeanwhile(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.client()
	if a := c.post("/people", url.Values{"name": {"P. Lund"}, "role": {"rigger"}}); a.to != "/sign-in" {
		t.Fatalf("leads to %q", a.to)
	}
	if a := c.get("/sign-in"); !a.has("What you sent was not done") {
		t.Error("nobody is told that it was not done")
	}
}

func TestErrors(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.keeper)
	if a := c.get("/no-such-page"); a.status != http.StatusNotFound || !a.has("There is no page at this address.") {
		t.Errorf("unknown address: %d", a.status)
	}
	if a := c.post("/people", url.Values{"name": {strings.Repeat("x", maxForm)}}); a.status != http.StatusRequestEntityTooLarge {
		t.Errorf("too large a form: %d", a.status)
	}
	r := c.request(http.MethodPost, "/people", strings.NewReader("a=%zz"))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	if a := c.do(r); a.status != http.StatusUnprocessableEntity || !a.has("What was sent cannot be read.") {
		t.Errorf("broken form: %d", a.status)
	}
	if strings.Contains(k.log.String(), "no-such-page") {
		t.Error("the log holds an address")
	}

	if err := k.store.Close(); err != nil {
		t.Fatal(err)
	}
	a := c.get("/people")
	if a.status != http.StatusInternalServerError || !a.has(sorry) || strings.Contains(a.body, "database") {
		t.Errorf("fault: %d %s", a.status, a.body)
	}
	id := regexp.MustCompile(`[A-Z2-7]{4}-[A-Z2-7]{4}`).FindString(a.body)
	if line := "id=" + id + ` route="GET /people" error="store: `; id == "" || !strings.Contains(k.log.String(), line) {
		t.Errorf("reference %q is not in the log beside the cause:\n%s", id, k.log)
	}
}

func TestPanicIsAnswered(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.server.templates = templates{} // the next page is drawn with nothing
	a := k.client().get("/sign-in")
	if a.status != http.StatusInternalServerError || !strings.Contains(a.body, sorry) || strings.Contains(a.body, "nil") {
		t.Errorf("panic: %d %q", a.status, a.body)
	}
	if !strings.Contains(k.log.String(), "nil pointer") {
		t.Error("the panic is not in the log")
	}
}

// A person who is taken off loses the session's worth at once.
func TestGonePersonIsSignedOut(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.attendant)
	if a := c.get("/people"); a.status != http.StatusOK {
		t.Fatalf("before: %d", a.status)
	}
	k.leaves(k.attendant)
	if a := c.get("/people"); a.to != "/sign-in" {
		t.Errorf("gone: leads to %q", a.to)
	}
}

func TestAssets(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.client()
	page := c.get("/sign-in")
	found := regexp.MustCompile(`/static/[0-9a-f]{16}/[a-z./]+`).FindAllString(page.body, -1)
	if len(found) < 4 {
		t.Fatalf("page names assets %v", found)
	}
	for _, path := range found {
		a := c.get(path)
		if a.status != http.StatusOK || !strings.Contains(a.header.Get("Cache-Control"), "immutable") || len(a.body) == 0 {
			t.Errorf("%s: %d %v", path, a.status, a.header)
		}
	}
	css := string(k.server.assets.files["look.css"])
	for _, m := range regexp.MustCompile(`url\("([^"]+)"\)`).FindAllStringSubmatch(css, -1) {
		if k.server.assets.files[m[1]] == nil {
			t.Errorf("look.css names %s, which is not there", m[1])
		}
	}
	for _, path := range []string{"/static/0000000000000000/look.css", k.server.assets.prefix + "../server.go", k.server.assets.prefix} {
		if a := c.get(path); a.status == http.StatusOK {
			t.Errorf("%s is served", path)
		}
	}
}

func TestConfigMustBeWhole(t *testing.T) {
	if _, err := New(Config{}); err == nil {
		t.Error("New took an empty Config")
	}
}

// A session that cannot be kept after the act was recorded: the answer must not
// say that nothing was saved.
func TestWhatWasRecordedIsNotSaidToBeLost(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	c := k.signedIn(k.attendant)
	c.takes(k.rigger)
	c.lifts(aLift())
	page := c.scan(text)
	db, err := sql.Open("sqlite3", k.deskFile)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.Exec("CREATE TRIGGER stuck BEFORE UPDATE ON session BEGIN SELECT raise(ABORT, 'stuck'); END"); err != nil {
		t.Fatal(err)
	}
	a := c.post("/counter/issue", page.form(t, "/counter/issue"))
	if k.recorded(id, event.KindIssued) != 1 || a.status != http.StatusInternalServerError {
		t.Fatalf("%d issues recorded, answer %d", k.recorded(id, event.KindIssued), a.status)
	}
	if a.has("nothing was saved") || !a.has("look before you do it again") {
		t.Errorf("it says %q", a.body)
	}
}

// What is wrong with the desk's file is told like what is wrong with the register's.
func TestErrorsOfTheDesk(t *testing.T) {
	for _, c := range []struct {
		err  error
		code Code
		says string
	}{
		{desk.ErrDiskFull, Unusable, "The disk is full"},
		{desk.ErrReadOnly, Unusable, "The desk file cannot be written"},
		{desk.ErrHeld, Busy, "Another program"},
		{fmt.Errorf("%w (%w)", store.ErrDiskFull, desk.ErrDiskFull), Unusable, "The disk is full, so that what you asked for now was not done."},
		{store.ErrReadOnly, Unusable, "The register cannot be written, so that what you asked for now was not done."},
		{errors.Join(store.ErrNotRecorded, store.ErrDiskFull), Unusable, "The disk is full, and nothing was saved."},
		{errors.Join(store.ErrNotRecorded, store.ErrReadOnly), Unusable, "The register cannot be written, and nothing was saved."},
		{errors.Join(store.ErrNotRecorded, store.ErrLocked), Busy, "Another program is writing to the register, and nothing was saved."},
		{fmt.Errorf("%w: it was done, and then: %w", store.ErrUnknownOutcome, errors.Join(store.ErrNotRecorded, store.ErrLocked)), Unusable, "it is not known whether this was saved"},
		{fmt.Errorf("%w (%w)", store.ErrUnknownOutcome, desk.ErrDiskFull), Unusable, "it is not known whether this was saved"},
		{fmt.Errorf("%w: it was done, and then: %w", store.ErrUnknownOutcome, store.ErrLocked), Unusable, "it is not known whether this was saved"},
		{fmt.Errorf("%w: %w", desk.ErrUnknownOutcome, desk.ErrDisk), Unusable, "may not have been kept"},
		{desk.ErrUnknownOutcome, Unusable, "may not have been kept"},
		{store.ErrDisk, Unusable, "The disk reports an error."},
		{errors.New("anything else"), Unexpected, sorry},
	} {
		if v := visible(fmt.Errorf("an act: %w", c.err), "id"); v.Code != c.code || !strings.Contains(v.Sentence, c.says) {
			t.Errorf("%v: %s, %q", c.err, v.Code, v.Sentence)
		}
	}
}
