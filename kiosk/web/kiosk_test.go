package web

import (
	"bytes"
	"database/sql"
	"errors"
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
	"sync/atomic"
	"testing"
	"time"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/core/trade"
	"cribgate/kiosk/audit"
	"cribgate/kiosk/bench"
	"cribgate/kiosk/camera"
	"cribgate/kiosk/counter"
	"cribgate/kiosk/desk"
	"cribgate/kiosk/live"
	"cribgate/kiosk/worn"
	"cribgate/store"
	"cribgate/store/keyring"
	"cribgate/store/photos"
)

// A kiosk is a running server with one person of each role, for tests.
type kiosk struct {
	t        testing.TB
	deskFile string
	server   *Server
	store    *store.Store
	desk     *desk.Desk
	http     *httptest.Server
	hub      *live.Hub
	worn     *worn.Tags
	cameras  *camera.Cameras
	audit    *audit.Audit
	log      *logText
	passed   atomic.Int64 // how much later than testNow it is, in nanoseconds
	off      atomic.Int64 // how far the machine's clock is from right, in nanoseconds

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

// inUS is how the test crib puts things.
var inUS = gate.Speech{Words: trade.US, Rules: due.US}

// testNow is 2 March 2026 in the crib, and already the 3rd in UTC.
func testNow() time.Time { return time.Date(2026, 3, 3, 2, 30, 0, 0, time.UTC) }

func (k *kiosk) now() time.Time { return testNow().Add(time.Duration(k.passed.Load())) }

func (k *kiosk) clock() time.Time { return k.now().Add(time.Duration(k.off.Load())) }

// up is a machine that has not been turned off since testNow.
func (k *kiosk) up() (event.BootID, time.Duration, error) {
	return event.BootID{1}, time.Duration(k.passed.Load()), nil
}

func newKiosk(t testing.TB) *kiosk { return newKioskUnder(t, due.US) }

// newKioskUnder is a crib that goes by other rules. Two of the same rules begin as
// copies of one register.
func newKioskUnder(t testing.TB, rules due.Rules) *kiosk {
	t.Helper()
	k := &kiosk{t: t, log: &logText{}}
	f, err := founded[rules]()
	if err != nil {
		t.Fatal(err)
	}
	register, deskFile, keys := store.Paths(t.TempDir())
	if err := f.copied(filepath.Dir(register)); err != nil {
		t.Fatal(err)
	}
	st, err := store.Open(t.Context(), register, store.Options{Now: k.clock, Machine: k.up, Program: "v0.0.0-test"})
	if err != nil {
		t.Fatal(err)
	}
	ring, err := keyring.Load(keys)
	if err != nil {
		t.Fatal(err)
	}
	d, err := desk.Open(t.Context(), deskFile, desk.Options{})
	if err != nil {
		t.Fatal(err)
	}
	drafts, err := bench.Open(t.Context(), filepath.Join(filepath.Dir(register), bench.File), bench.Options{Now: k.now})
	if err != nil {
		t.Fatal(err)
	}
	k.store, k.desk, k.deskFile = st, d, deskFile
	k.hub = live.NewHub(1)
	k.worn = worn.New(st, ring, slog.New(slog.DiscardHandler))
	k.cameras = camera.Open(camera.Options{Known: k.worn})
	k.audit = audit.Open(st, filepath.Join(filepath.Dir(register), audit.File), slog.New(slog.DiscardHandler))
	k.server, err = New(Config{Store: st, Counter: counter.New(st, ring).Under(k.audit), Audit: k.audit, Desk: d, Bench: drafts, Keys: ring, Photos: photos.In(filepath.Dir(register)), Live: k.hub, Cameras: k.cameras, Worn: k.worn, Version: "v0.0.0-test",
		Log: slog.New(slog.NewTextHandler(k.log, nil))})
	if err != nil {
		t.Fatal(err)
	}
	k.http = httptest.NewServer(k.server.Handler())
	t.Cleanup(func() {
		k.hub.Close()
		k.cameras.Close()
		k.http.Close()
		if err := errors.Join(drafts.Close(), d.Close(), st.Close()); err != nil && !errors.Is(err, sql.ErrConnDone) {
			t.Error(err)
		}
	})
	k.keeper, k.attendant, k.rigger, k.inspector = k.person(f.keeper), k.person(f.attendant), k.person(f.rigger), k.person(f.inspector)
	return k
}

func (k *kiosk) person(id event.PersonID) state.Person {
	k.t.Helper()
	p, err := k.store.Person(k.t.Context(), id)
	if err != nil {
		k.t.Fatal(err)
	}
	return p
}

// byKeeper says that the keeper acts.
func (k *kiosk) byKeeper() counter.Who {
	return counter.Who{Person: k.keeper.ID, Station: station, Way: counter.Hand}
}

func (k *kiosk) add(name string, roles event.Roles) state.Person {
	k.t.Helper()
	id, err := k.server.Counter.AddPerson(k.t.Context(), k.byKeeper(), event.PersonAdded{Name: name, Roles: roles})
	if err != nil {
		k.t.Fatal(err)
	}
	return k.person(id)
}

// leaves takes a person off.
func (k *kiosk) leaves(p state.Person) {
	k.t.Helper()
	p = k.person(p.ID)
	err := k.server.Counter.ChangePerson(k.t.Context(), k.byKeeper(), p.ID, p.Heads, event.PersonChanged{Name: p.Name, Roles: p.Roles})
	if err != nil {
		k.t.Fatal(err)
	}
}

// count is how many people the register knows.
func (k *kiosk) count() int {
	k.t.Helper()
	people, err := k.store.People(k.t.Context())
	if err != nil {
		k.t.Fatal(err)
	}
	return len(people)
}

// pinsSet are the records of PINs of p: true for each one-time PIN.
func (k *kiosk) pinsSet(p state.Person) (oneTime []bool) {
	k.t.Helper()
	story, err := k.store.Story(k.t.Context(), event.Person(p.ID))
	if err != nil {
		k.t.Fatal(err)
	}
	for _, r := range story {
		if b, ok := r.Body.(event.PINSet); ok {
			oneTime = append(oneTime, b.OneTime)
		}
	}
	return oneTime
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

// testHash is testPIN at the least cost of argon2id. A stored hash says its own cost, so
// that tests need not wait for the real one wherever somebody signs in.
const testHash = "$argon2id$v=19$m=8,t=1,p=1$Vf/MKHiQzLePOxZzr3bstA$98cKt5fbJ/MQ0LFuEFxQf9eNAJxPcI7sQIKtyr1PHHE"

// chosen gives somebody testPIN, as if they had chosen it.
func (k *kiosk) chosen(person string) {
	k.t.Helper()
	db, err := sql.Open("sqlite3", k.deskFile)
	if err != nil {
		k.t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.ExecContext(k.t.Context(), `INSERT INTO credential (person, hash, one_time, epoch, failures, failed_ms) VALUES (?, ?, 0, 1, 0, 0)
		ON CONFLICT (person) DO UPDATE SET hash = excluded.hash, one_time = 0, epoch = epoch + 1, failures = 0, failed_ms = 0`, person, testHash); err != nil {
		k.t.Fatal(err)
	}
}

// signedIn is a browser in which p has signed in, past the change of the one-time
// PIN.
func (k *kiosk) signedIn(p state.Person) *client {
	k.t.Helper()
	id := p.ID.String()
	if s, err := k.desk.Standing(k.t.Context(), id); err != nil {
		k.t.Fatal(err)
	} else if !s.HasPIN {
		k.chosen(id)
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
