package desk

import (
	"fmt"
	"net/http"
	"testing"
	"testing/synctest"
	"time"
)

// unattended is b as a page that asks by itself.
func (b *browser) unattended() *browser {
	return &browser{t: b.t, cookie: b.cookie, handler: http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		b.handler.ServeHTTP(w, r.WithContext(Unattended(r.Context())))
	})}
}

// A page that is left open keeps nobody signed in, however often it asks.
func TestUnattendedPutsNoEndOff(t *testing.T) {
	d := newDesk(t)
	synctest.Test(t, func(t *testing.T) {
		setOneTime(t, d, "p1")
		b := newBrowser(t, d)
		b.get("/in/p1")
		page := b.unattended()
		for range int(Idle/time.Minute) - 1 {
			time.Sleep(time.Minute)
			if got := page.get("/who"); got != "p1 true " {
				t.Fatalf("signed in, and the page reads %q", got)
			}
		}
		time.Sleep(2 * time.Minute)
		if got := b.get("/who"); got != " false " {
			t.Errorf("%s after anybody did anything: %q", Idle, got)
		}
	})
}

// What somebody does while a page that asks by itself is answered stays done.
func TestUnattendedUndoesNothing(t *testing.T) {
	d := newDesk(t)
	setOneTime(t, d, "p1")
	s := d.Sessions()
	began, goesOn := make(chan struct{}), make(chan struct{})
	mux := http.NewServeMux()
	mux.HandleFunc("/in", func(_ http.ResponseWriter, r *http.Request) {
		if err := s.SignIn(r.Context(), "p1"); err != nil {
			t.Error(err)
		}
	})
	mux.HandleFunc("/turn", func(_ http.ResponseWriter, r *http.Request) { s.PutTurn(r.Context(), "a sling") })
	mux.HandleFunc("/asks", func(http.ResponseWriter, *http.Request) {
		close(began)
		<-goesOn
	})
	mux.HandleFunc("/reads", func(w http.ResponseWriter, r *http.Request) { fmt.Fprint(w, s.Turn(r.Context())) })
	b := &browser{t: t, handler: s.Wrap(mux, func(_ http.ResponseWriter, _ *http.Request, err error) { t.Error(err) })}
	b.get("/in")
	page, asked := b.unattended(), make(chan struct{})
	go func() {
		defer close(asked)
		page.get("/asks")
	}()
	<-began
	b.get("/turn")
	close(goesOn)
	<-asked
	if got := b.get("/reads"); got != "a sling" {
		t.Errorf("on the counter lies %q", got)
	}
}
