package web

import (
	"bytes"
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/state"
	"cribgate/kiosk/desk"
)

// A kiosk is a running server with one person of each role, for tests.
type kiosk struct {
	t      *testing.T
	server *Server
	people *fakePeople
	desk   *desk.Desk
	http   *httptest.Server
	log    *logText

	attendant, rigger, inspector, keeper state.Person
}

// logText is a log that a test can read while the server writes.
type logText struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (l *logText) Write(b []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.Write(b)
}

func (l *logText) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.String()
}

// testNow is 2 March 2026 in the crib, and already the 3rd in UTC.
func testNow() time.Time { return time.Date(2026, 3, 3, 2, 30, 0, 0, time.UTC) }

func newKiosk(t *testing.T) *kiosk {
	t.Helper()
	path := filepath.Join(t.TempDir(), "desk.sqlite")
	if err := desk.Init(t.Context(), path); err != nil {
		t.Fatal(err)
	}
	d, err := desk.Open(t.Context(), path, desk.Options{})
	if err != nil {
		t.Fatal(err)
	}
	k := &kiosk{t: t, people: newFakePeople(), desk: d, log: &logText{}}
	k.attendant = k.people.add("I. Maro", event.Attendant)
	k.rigger = k.people.add("T. Brandt", event.Rigger)
	k.inspector = k.people.add("O. Vance", event.Inspector)
	k.keeper = k.people.add("S. Quill", event.Keeper|event.Attendant)
	k.server, err = New(Config{People: k.people, Desk: d, Now: testNow, Version: "v0.0.0-test",
		Log: slog.New(slog.NewTextHandler(k.log, nil))})
	if err != nil {
		t.Fatal(err)
	}
	k.http = httptest.NewServer(k.server.Handler())
	t.Cleanup(func() {
		k.http.Close()
		if err := d.Close(); err != nil {
			t.Error(err)
		}
	})
	return k
}

// A client is a browser without a window.
type client struct {
	k    *kiosk
	http *http.Client
}

func (k *kiosk) client() *client {
	jar, err := cookiejar.New(nil)
	if err != nil {
		k.t.Fatal(err)
	}
	return &client{k: k, http: &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error {
		return http.ErrUseLastResponse
	}}}
}

// testPIN is what everyone chooses who signs in with signedIn.
const testPIN = "902758"

// signedIn is a browser in which p has signed in, past the change of the one-time
// PIN.
func (k *kiosk) signedIn(p state.Person) *client {
	k.t.Helper()
	id := p.ID.String()
	if s, err := k.desk.Standing(k.t.Context(), id); err != nil {
		k.t.Fatal(err)
	} else if !s.HasPIN {
		if _, err := k.desk.SetOneTime(k.t.Context(), id); err != nil {
			k.t.Fatal(err)
		}
		if err := k.desk.Choose(k.t.Context(), id, testPIN); err != nil {
			k.t.Fatal(err)
		}
	}
	c := k.client()
	if a := c.post("/sign-in", url.Values{"name": {p.Name}, "pin": {testPIN}}); a.status != http.StatusSeeOther {
		k.t.Fatalf("sign in %s: %v", p.Name, a)
	}
	return c
}

// An answer is what came back.
type answer struct {
	status int
	to     string // where a redirect leads
	header http.Header
	body   string
}

func (c *client) do(r *http.Request) answer {
	c.k.t.Helper()
	res, err := c.http.Do(r)
	if err != nil {
		c.k.t.Fatal(err)
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err != nil {
		c.k.t.Fatal(err)
	}
	return answer{status: res.StatusCode, to: res.Header.Get("Location"), header: res.Header, body: string(body)}
}

func (c *client) request(method, path string, body io.Reader) *http.Request {
	c.k.t.Helper()
	r, err := http.NewRequestWithContext(c.k.t.Context(), method, c.k.http.URL+path, body)
	if err != nil {
		c.k.t.Fatal(err)
	}
	return r
}

func (c *client) get(path string) answer {
	c.k.t.Helper()
	return c.do(c.request(http.MethodGet, path, nil))
}

func (c *client) post(path string, form url.Values) answer {
	c.k.t.Helper()
	r := c.request(http.MethodPost, path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return c.do(r)
}

// has tells whether the page holds text, ignoring how space is laid out.
func (a answer) has(text string) bool {
	return strings.Contains(strings.Join(strings.Fields(a.body), " "), text)
}

var keyPattern = regexp.MustCompile(`name="key" value="([^"]+)"`)

// key is the key of the form on the page.
func (a answer) key(t *testing.T) string {
	t.Helper()
	m := keyPattern.FindStringSubmatch(a.body)
	if m == nil {
		t.Fatalf("page has no form with a key: %s", a.body)
	}
	return m[1]
}
