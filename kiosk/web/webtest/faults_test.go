package webtest

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

// Faults must find each fault, and nothing on a page without one.
func TestFaults(t *testing.T) {
	const good = `<h1>Title</h1><p>Text</p><label>Name <input name="n"></label>`
	const style = `<style>body{font-size:18px;margin:0} .button,input{min-height:64px;min-width:64px;font-size:18px}</style>`
	cases := []struct{ name, body, says string }{
		{"good", good, ""},
		{"wide", good + `<main><div style="width:2000px">x</div></main>`, "page is 2000 px wide"},
		{"small text", good + `<p style="font-size:17px">Text</p>`, "is set in 17 px"},
		{"small drawing", good + `<svg role="img" viewBox="0 0 100 100" width="50"><text style="font-size:20px" y="50">x</text></svg>`, "is set in 10 px"},
		{"low button", good + `<button class="button" style="min-height:60px;height:60px">Go</button>`, "× 60 px"},
		{"small link", good + `<a href="/">Go</a>`, "px"},
		{"no label", good + `<input name="m">`, "has no label"},
		{"mute picture", good + `<svg></svg>`, "has no words"},
		{"heading left out", good + `<h3>Part</h3>`, "skips a heading level"},
		{"two titles", good + `<h1>Another</h1>`, "has 2 headings"},
	}
	page := ""
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		fmt.Fprint(w, "<!doctype html><title>t</title>"+style+"<body>"+page)
	}))
	defer server.Close()
	p := Start(t).Page(t)
	for _, c := range cases {
		page = c.body
		p.Go(server.URL)
		faults := strings.Join(Faults(p), "\n")
		if c.says == "" && faults != "" || !strings.Contains(faults, c.says) {
			t.Errorf("%s: found %q, want %q", c.name, faults, c.says)
		}
	}
}
