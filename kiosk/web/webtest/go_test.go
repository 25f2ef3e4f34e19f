package webtest

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

// A page that goes elsewhere by itself, at once or while the test's own way is open, is
// no reason for a test to fail; what the browser cannot show is one.
func TestGoCrossed(t *testing.T) {
	mux := http.NewServeMux()
	shows := func(path, html string) {
		mux.HandleFunc(path, func(w http.ResponseWriter, r *http.Request) {
			w.Header().Set("Content-Type", "text/html")
			fmt.Fprintf(w, "<!doctype html><title>x</title><body><h1>%s</h1>%s", path, html)
		})
	}
	shows("/leaves/at-once", `<form action="/elsewhere"></form><script>document.forms[0].submit()</script>`)
	shows("/leaves/soon", `<button>go</button><script>document.querySelector("button").onclick = () => setTimeout(() => location.assign("/elsewhere"), Math.random() * 20)</script>`)
	shows("/elsewhere", "")
	shows("/there", "")
	mux.HandleFunc("/file", func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Disposition", "attachment")
	})
	mux.HandleFunc("/nothing", func(w http.ResponseWriter, r *http.Request) { w.WriteHeader(http.StatusNoContent) })
	s := httptest.NewServer(mux)
	t.Cleanup(s.Close)
	p := Start(t).Page(t)
	for range 6 {
		p.Go(s.URL + "/leaves/at-once")
		p.Go(s.URL + "/there")
		if at := p.Text("h1"); at != "/there" {
			t.Fatalf("at %s", at)
		}
		p.Go(s.URL + "/leaves/soon")
		p.Click("button") // what somebody has touched may cross the way of the test
		p.Go(s.URL + "/there")
		if at := p.Text("h1"); at != "/there" {
			t.Fatalf("at %s", at)
		}
	}
	for path, why := range map[string]string{"/file": "kept", "/nothing": "elsewhere"} {
		ctx, cancel := context.WithTimeout(p.ctx, patience)
		defer cancel()
		if err := p.opens(ctx, s.URL+path); err == nil || !strings.Contains(err.Error(), why) {
			t.Errorf("%s: %v", path, err)
		}
	}
	s.Close()
	if err := p.opens(p.ctx, s.URL+"/there"); err == nil {
		t.Error("a server that is gone has a page")
	}
}
