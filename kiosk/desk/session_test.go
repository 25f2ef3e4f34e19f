package desk

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"testing"
	"testing/synctest"
	"time"
)

// browser sends requests to a handler and keeps the one cookie.
type browser struct {
	t       *testing.T
	handler http.Handler
	cookie  *http.Cookie
	set     bool // the last answer set a cookie
}

func newBrowser(t *testing.T, d *Desk) *browser {
	s := d.Sessions()
	mux := http.NewServeMux()
	check := func(w http.ResponseWriter, err error) {
		if err != nil {
			t.Error(err)
			http.Error(w, "failed", http.StatusInternalServerError)
		}
	}
	mux.HandleFunc("/in/{person}", func(w http.ResponseWriter, r *http.Request) {
		check(w, s.SignIn(r.Context(), r.PathValue("person")))
	})
	mux.HandleFunc("/out", func(w http.ResponseWriter, r *http.Request) { check(w, s.SignOut(r.Context())) })
	mux.HandleFunc("/note", func(w http.ResponseWriter, r *http.Request) { s.PutNotice(r.Context(), "Saved.") })
	mux.HandleFunc("/who", func(w http.ResponseWriter, r *http.Request) {
		person, standing, err := s.Person(r.Context())
		check(w, err)
		fmt.Fprintf(w, "%s %v %s", person, standing.OneTime, s.TakeNotice(r.Context()))
	})
	fail := func(w http.ResponseWriter, r *http.Request, err error) { check(w, err) }
	return &browser{t: t, handler: s.Wrap(mux, fail)}
}

func (b *browser) get(path string) string {
	b.t.Helper()
	r := httptest.NewRequestWithContext(b.t.Context(), http.MethodGet, path, nil)
	if b.cookie != nil {
		r.AddCookie(b.cookie)
	}
	w := httptest.NewRecorder()
	b.handler.ServeHTTP(w, r)
	res := w.Result()
	b.set = len(res.Cookies()) > 0
	for _, c := range res.Cookies() {
		b.cookie = c
	}
	if res.StatusCode != http.StatusOK {
		b.t.Fatalf("GET %s: %s", path, res.Status)
	}
	return w.Body.String()
}

func TestSession(t *testing.T) {
	d := newDesk(t)
	setOneTime(t, d, "p1")
	b := newBrowser(t, d)
	if got := b.get("/who"); got != " false " || b.set {
		t.Errorf("stranger: %q, cookie set: %v", got, b.set)
	}
	b.get("/in/p1")
	c := b.cookie
	if c == nil || !c.HttpOnly || c.SameSite != http.SameSiteStrictMode || c.Path != "/" || c.MaxAge != 0 || !c.Expires.IsZero() {
		t.Fatalf("cookie %v", c)
	}
	if got := b.get("/who"); got != "p1 true " {
		t.Errorf("signed in: %q", got)
	}
	b.get("/note")
	if got := b.get("/who"); got != "p1 true Saved." {
		t.Errorf("notice: %q", got)
	}
	if got := b.get("/who"); got != "p1 true " {
		t.Errorf("notice a second time: %q", got)
	}
	old := b.cookie
	b.get("/in/p1")
	if b.cookie.Value == old.Value {
		t.Error("sign-in kept the token")
	}
	fresh := b.cookie
	b.cookie = old
	if got := b.get("/who"); got != " false " {
		t.Errorf("token from before the sign-in: %q", got)
	}
	b.cookie = fresh
	b.get("/out")
	b.cookie = fresh
	if got := b.get("/who"); got != " false " {
		t.Errorf("after signing out: %q", got)
	}
}

func TestTokenIsStoredHashed(t *testing.T) {
	d := newDesk(t)
	setOneTime(t, d, "p1")
	b := newBrowser(t, d)
	b.get("/in/p1")
	var n int
	if err := d.db.Read.QueryRow(`SELECT count(*) FROM session`).Scan(&n); err != nil || n != 1 {
		t.Fatalf("%d sessions, %v", n, err)
	}
	if err := d.db.Read.QueryRow(`SELECT count(*) FROM session WHERE token = ?`, b.cookie.Value).Scan(&n); err != nil || n != 0 {
		t.Errorf("the token itself lies in the file (%d, %v)", n, err)
	}
}

func TestNewPINEndsSessions(t *testing.T) {
	d := newDesk(t)
	first := setOneTime(t, d, "p1")
	a, b := newBrowser(t, d), newBrowser(t, d)
	a.get("/in/p1")
	b.get("/in/p1")
	if err := d.Choose(t.Context(), "p1", other(first)); err != nil {
		t.Fatal(err)
	}
	for _, x := range []*browser{a, b} {
		if got := x.get("/who"); got != " false " {
			t.Errorf("after a new PIN: %q", got)
		}
	}
	a.get("/in/p1")
	setOneTime(t, d, "p1")
	if got := a.get("/who"); got != " false " {
		t.Errorf("after a new one-time PIN: %q", got)
	}
}

func TestSessionEnds(t *testing.T) {
	d := newDesk(t)
	synctest.Test(t, func(t *testing.T) {
		setOneTime(t, d, "p1")
		b := newBrowser(t, d)

		b.get("/in/p1")
		time.Sleep(Idle + time.Second)
		if got := b.get("/who"); got != " false " {
			t.Errorf("idle too long: %q", got)
		}

		b.get("/in/p1")
		begin := time.Now()
		for time.Since(begin) < Shift-Idle {
			time.Sleep(Idle - touchEvery)
			if got := b.get("/who"); got != "p1 true " {
				t.Fatalf("busy after %v: %q", time.Since(begin), got)
			}
		}
		time.Sleep(Shift - time.Since(begin))
		if got := b.get("/who"); got != " false " {
			t.Errorf("after the shift: %q", got)
		}

		b.get("/in/p1")
		var n int
		if err := d.db.Read.QueryRow(`SELECT count(*) FROM session`).Scan(&n); err != nil || n != 1 {
			t.Errorf("%d sessions kept, %v: old ones are not forgotten", n, err)
		}
	})
}

// Looking at pages must not write to the disk each time.
func TestLookingWritesSeldom(t *testing.T) {
	d := newDesk(t)
	synctest.Test(t, func(t *testing.T) {
		setOneTime(t, d, "p1")
		b := newBrowser(t, d)
		b.get("/in/p1")
		expiry := func() (ms int64) {
			if err := d.db.Read.QueryRow(`SELECT expiry_ms FROM session`).Scan(&ms); err != nil {
				t.Fatal(err)
			}
			return ms
		}
		before := expiry()
		time.Sleep(touchEvery - time.Second)
		b.get("/who")
		if got := expiry(); got != before {
			t.Errorf("a look within %v moved the end by %d ms", touchEvery, got-before)
		}
		time.Sleep(2 * time.Second)
		b.get("/who")
		if got := expiry(); got <= before {
			t.Errorf("a look after %v did not move the end", touchEvery)
		}
	})
}

// strict is a browser's connection that counts how often an answer begins.
type strict struct {
	*httptest.ResponseRecorder
	begun int
}

func (s *strict) WriteHeader(status int) {
	s.begun++
	s.ResponseRecorder.WriteHeader(status)
}

// Where the session cannot be stored, that is the answer, whole and alone, however
// the handler would have answered.
func TestSessionFailedIsAnsweredOnce(t *testing.T) {
	const said = "The disk is full."
	for name, answer := range map[string]http.HandlerFunc{
		"page":     func(w http.ResponseWriter, _ *http.Request) { fmt.Fprint(w, "page") },
		"status":   func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusNoContent) },
		"redirect": func(w http.ResponseWriter, r *http.Request) { http.Redirect(w, r, "/next", http.StatusSeeOther) },
		"nothing":  func(http.ResponseWriter, *http.Request) {},
	} {
		t.Run(name, func(t *testing.T) {
			d := newDesk(t)
			handler := d.Sessions().Wrap(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
				d.Sessions().PutNotice(r.Context(), "Saved.")
				if _, err := d.db.Write.ExecContext(r.Context(), `DROP TABLE session`); err != nil {
					t.Error(err)
				}
				answer(w, r)
			}), func(w http.ResponseWriter, _ *http.Request, err error) {
				http.Error(w, said, http.StatusServiceUnavailable)
			})
			w := &strict{ResponseRecorder: httptest.NewRecorder()}
			handler.ServeHTTP(w, httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/", nil))
			if w.begun != 1 || w.Code != http.StatusServiceUnavailable || w.Body.String() != said+"\n" {
				t.Errorf("begun %d times: %d %q", w.begun, w.Code, w.Body.String())
			}
		})
	}
}
