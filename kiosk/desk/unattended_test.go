package desk

import (
	"context"
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

// What was done while a page asked by itself, or while a request was answered that
// changes nothing, is not undone by it; and who has signed out meanwhile stays out.
func TestAskingUndoesNothing(t *testing.T) {
	for name, as := range map[string]func(*browser) *browser{
		"a page that asks by itself": (*browser).unattended,
		"somebody who asks":          func(b *browser) *browser { return &browser{t: b.t, cookie: b.cookie, handler: b.handler} },
	} {
		t.Run(name, func(t *testing.T) {
			askingUndoesNothing(t, "/turn", "a sling", as)
			askingUndoesNothing(t, "/out", "", as)
		})
	}
}

func askingUndoesNothing(t *testing.T, meanwhile, lies string, as func(*browser) *browser) {
	t.Helper()
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
	mux.HandleFunc("/out", func(_ http.ResponseWriter, r *http.Request) {
		if err := s.SignOut(r.Context()); err != nil {
			t.Error(err)
		}
	})
	mux.HandleFunc("/asks", func(http.ResponseWriter, *http.Request) {
		close(began)
		<-goesOn
	})
	mux.HandleFunc("/reads", func(w http.ResponseWriter, r *http.Request) { fmt.Fprint(w, s.Turn(r.Context())) })
	b := &browser{t: t, handler: s.Wrap(mux, func(_ http.ResponseWriter, _ *http.Request, err error) { t.Error(err) })}
	b.get("/in")
	before := b.cookie
	page, asked := as(b), make(chan struct{})
	go func() {
		defer close(asked)
		page.get("/asks")
	}()
	<-began
	b.get(meanwhile)
	close(goesOn)
	<-asked
	b.cookie = before
	if got := b.get("/reads"); got != lies {
		t.Errorf("after %s on the counter lies %q", meanwhile, got)
	}
	who, _, err := s.Person(loaded(t, s, before))
	if err != nil || (who == "") != (meanwhile == "/out") {
		t.Errorf("after %s %q is signed in, %v", meanwhile, who, err)
	}
}

// loaded is the context of a request with a cookie.
func loaded(t *testing.T, s *Sessions, cookie *http.Cookie) context.Context {
	t.Helper()
	ctx, err := s.manager.Load(t.Context(), cookie.Value)
	if err != nil {
		t.Fatal(err)
	}
	return ctx
}
