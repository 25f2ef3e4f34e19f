package web

import (
	"fmt"
	"math/rand/v2"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/kiosk/web/webtest"
)

var pegPattern = regexp.MustCompile(`<a class="card [a-z-]*" href="([^"]+)"><span class="title">([^<]+)</span>`)

// pegs are the slings that an answer hangs on the rail, in its order.
func (a answer) pegs() []string {
	var idents []string
	for _, m := range pegPattern.FindAllStringSubmatch(a.body, -1) {
		idents = append(idents, m[2])
	}
	return idents
}

// What is found while it is typed is what the register lists for it, in its order, the
// first hundred; no more than that is said to be found, and no address carries it.
func TestSearchIsTheRegistersList(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.filled()
	var idents []string
	for n := range 230 {
		idents = append(idents, fmt.Sprintf("T-%03d", n))
	}
	k.manyShelved(idents)
	k.shelved("W-1", func(d *event.Details) { d.Place = "B-10 PEG 2" })
	c := k.signedIn(k.rigger)
	texts := []string{"", "T", "t-0", "T-02", "T-020", "NS", "ns-03", "C7", "c4", "1/2", "PEG", "peg 2", "B-10", "C4 3/8", "ZZ", "T-ZZ", "%", "_", "'", `"`, "<b>"}
	seed := rand.Uint64()
	r := rand.New(rand.NewPCG(seed, 1))
	t.Logf("seed %d", seed)
	for range 40 {
		whole := idents[r.IntN(len(idents))]
		texts = append(texts, whole[:r.IntN(len(whole)+1)])
	}
	crib, err := k.store.Crib(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	found := 0
	for _, text := range texts {
		for _, sieve := range sieves {
			a := c.post("/rack/search", url.Values{"find": {text}, "show": {sieve.name}})
			v := &visit{crib: crib, today: day(t, "2026-03-02")}
			query, ok := k.server.rackQuery(v, sieve.name, cleanFind(text))
			if a.status != http.StatusOK || !ok {
				t.Fatalf("%q in %q: %d", text, sieve.name, a.status)
			}
			list, next, err := k.store.List(t.Context(), query)
			if err != nil {
				t.Fatal(err)
			}
			want := make([]string, len(list))
			for i, s := range list {
				want[i] = s.Details.Ident
			}
			if got := a.pegs(); !slices.Equal(got, want) {
				t.Errorf("%q in %q: %q, want %q", text, sieve.name, got, want)
			}
			found += len(want)
			if more := strings.Contains(a.body, "These are the first 100."); more != (next != "" && cleanFind(text) != "") {
				t.Errorf("%q in %q: there are more: %t", text, sieve.name, next != "")
			}
			if strings.Contains(a.body, "after=") != (next != "" && cleanFind(text) == "") {
				t.Errorf("%q in %q: an address that carries it leads further", text, sieve.name)
			}
			if a.header.Get(pageStands) == "" || strings.Contains(a.body, "<b>") {
				t.Errorf("%q in %q: %v %s", text, sieve.name, a.header, a.body)
			}
		}
	}
	if found < 500 {
		t.Errorf("%d slings were found: this proves nothing", found)
	}
	if a := c.post("/rack/search", url.Values{"find": {strings.Repeat("N", 17)}}); len(a.pegs()) != 0 || !a.has("No identification is as long as this.") {
		t.Errorf("too long: %s", a.body)
	}
	if a := c.post("/rack/search", url.Values{"show": {"nowhere"}}); a.status != http.StatusNotFound {
		t.Errorf("no such sieve: %d", a.status)
	}
}

// What is typed on the rack is looked for while it is typed; the newest question wins,
// whatever comes late; and what was found follows the register.
func TestSearchInBrowser(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	var idents []string
	for n := range 130 {
		idents = append(idents, fmt.Sprintf("T-%03d", n))
	}
	k.manyShelved(idents)
	k.follow()
	p := k.opened(webtest.Start(t), k.attendant)
	p.Go(k.http.URL + "/rack")
	const first = `[...document.querySelectorAll(".pegs .title")].map((e) => e.textContent).join(" ")`
	types := func(text string) {
		t.Helper()
		p.Type("#f-find", text)
	}
	types("t-12")
	p.Waits(`document.querySelectorAll(".pegs .title").length === 10`)
	if got := webtest.Eval[string](p, first); !strings.HasPrefix(got, "T-120 T-121 ") {
		t.Errorf("T-12 found %s", got)
	}
	looks(t, p, "rack-typed")
	types("T-1")
	types("T-12")
	types("T-129")
	p.Waits(`document.querySelector(".count").textContent === "1 sling for T-129" && ` + first + ` === "T-129"`)
	sling, err := k.store.SlingByIdent(t.Context(), "T-129")
	if err != nil {
		t.Fatal(err)
	}
	k.holds(sling.ID, "gouged")
	p.Waits(`document.querySelector(".pegs .note").textContent.includes("Held") && document.querySelector(".stale").hidden`)
	if got := webtest.Eval[string](p, `location.pathname + location.search + document.querySelector("#f-find").value`); got != "/rackT-129" {
		t.Errorf("the address and what was typed: %q", got)
	}
	types("")
	p.Waits(`document.querySelectorAll(".pegs .title").length === 100`)
	// An answer that comes late is dropped: the first one here is held up by the page.
	webtest.Eval[bool](p, `(() => {
	const real = globalThis.fetch;
	globalThis.held = null;
	globalThis.fetch = (to, how) => {
		if (globalThis.held || !String(to).includes("search")) return real(to, how);
		const { signal, ...rest } = how; // an answer that cannot be called off
		return (globalThis.held = new Promise((done) => (globalThis.late = () => done(real(to, rest)))));
	};
	return true;
})()`)
	types("T-11")
	p.Waits(`globalThis.held !== null`)
	types("T-128")
	p.Waits(first + ` === "T-128"`)
	webtest.Eval[bool](p, `(globalThis.late(), globalThis.held.then(() => new Promise(requestAnimationFrame)).then(() => (globalThis.came = true)), true)`)
	p.Waits(`globalThis.came === true`)
	if got := webtest.Eval[string](p, first); got != "T-128" {
		t.Errorf("a late answer was shown: %s", got)
	}
	// Where none comes, what hung here is taken away.
	webtest.Eval[bool](p, `(globalThis.fetch = () => Promise.reject(new TypeError("no line")), true)`)
	types("T-127")
	p.Waits(`document.querySelector(".count").textContent === "No answer came. Press Find." && document.querySelector("#found:not([aria-busy])")?.childNodes.length === 0`)
}
