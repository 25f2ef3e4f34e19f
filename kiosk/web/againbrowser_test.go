package web

import (
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/kiosk/web/webtest"
)

// A wire is what lies between a browser and the kiosk, and breaks.
type wire struct {
	home   string
	breaks atomic.Int32 // how: see below
	forms  atomic.Int32 // how many were sent, those included that a browser sent again by itself
}

// The ways in which a wire breaks for forms.
const (
	whole     int32 = iota
	before          // the form does not arrive
	afterward       // the answer does not
	stranger        // something between the two answers in its place
)

func (k *kiosk) wire() *wire {
	k.t.Helper()
	to, err := url.Parse(k.http.URL)
	if err != nil {
		k.t.Fatal(err)
	}
	l := &wire{}
	through := &httputil.ReverseProxy{Rewrite: func(p *httputil.ProxyRequest) {
		p.SetURL(to)
		p.Out.Host = p.In.Host
	}}
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodPost {
			through.ServeHTTP(w, r)
			return
		}
		l.forms.Add(1)
		switch how := l.breaks.Load(); how {
		case whole:
			through.ServeHTTP(w, r)
		case stranger:
			http.Error(w, "bad gateway", http.StatusBadGateway)
		default:
			if how == afterward {
				through.ServeHTTP(httptest.NewRecorder(), r)
			}
			panic(http.ErrAbortHandler) // ends the connection
		}
	}))
	k.t.Cleanup(server.Close)
	l.home = server.URL
	return l
}

// openedBy is opened, by way of another address.
func (k *kiosk) openedBy(b *webtest.Browser, home string, who state.Person) *webtest.Page {
	k.t.Helper()
	k.signedIn(who) // sets the PIN
	p := b.Page(k.t)
	p.Go(home + "/sign-in")
	p.Type("#f-name", who.Name)
	p.Type("#f-pin", testPIN)
	p.Follow("main form button.first")
	return p
}

const lostSentence = "It is not known whether this was recorded."

// TestConnectionLost: where the connection breaks, before or after the act, the
// page says that nobody knows, and asking again tells it, and the act is done once.
func TestConnectionLost(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	b := webtest.Start(t)
	id, text := k.hanging("NS-0417", nil)
	other, otherText := k.hanging("NS-0418", nil)
	l := k.wire()
	p := k.atCounterBy(b, l.home, k.attendant, k.rigger)
	for i, row := range []struct {
		how     int32
		arrived bool
	}{{before, false}, {afterward, true}, {stranger, false}} {
		scanned(p, text)
		if i > 0 { // what came back here just now goes out again only with the end of its plate
			p.Type("#f-typed", "0417")
		}
		l.breaks.Store(row.how)
		p.Click("main button.first")
		p.Waits(`document.querySelector(".lost")?.textContent.includes("` + lostSentence + `")`)
		if got := k.recorded(id, event.KindIssued) == i+1; got != row.arrived {
			t.Fatalf("way %d: recorded %v", row.how, k.kinds(id))
		}
		p.Press(webtest.ByScanner, webtest.Scanned(otherText)...)
		p.Waits(`document.querySelector("[data-heard]")?.textContent.includes("Ask again first")`)
		l.breaks.Store(whole)
		p.Changes(func() { p.Click(".lost button") })
		if got := p.Text("#verdict"); got != "Handed over" || k.recorded(id, event.KindIssued) != i+1 {
			t.Fatalf("way %d: asked again: %q, recorded %v", row.how, got, k.kinds(id))
		}
		if webtest.Eval[bool](p, `!!document.querySelector(".lost")`) {
			t.Errorf("way %d: it is known now, and the page says that it is not", row.how)
		}
		scanned(p, text)
		p.Changes(func() { p.AllWell("main") })
	}
	if got := k.kinds(other); len(got) != 3 {
		t.Errorf("what was scanned meanwhile was taken: %v", got)
	}
	// The same button asks again too, and so does loading the page.
	for i, ask := range []func(){
		func() { p.Click(`form[action="/counter/issue"] button.first`) },
		func() { p.Go(l.home + "/counter") },
	} {
		scanned(p, text)
		p.Type("#f-typed", "0417")
		l.breaks.Store(afterward)
		p.Click("main button.first")
		p.Waits(`!!document.querySelector(".lost")`)
		l.breaks.Store(whole)
		p.Changes(ask)
		if got := p.Text("#verdict"); got != "Handed over" || k.recorded(id, event.KindIssued) != 4+i {
			t.Errorf("%d: %q, recorded %v", i, got, k.kinds(id))
		}
		scanned(p, text)
		p.Changes(func() { p.AllWell("main") })
	}
}

// TestScanLost: a scan that was lost is taken when the next one comes, before it.
func TestScanLost(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	_, text := k.hanging("NS-0417", nil)
	_, otherText := k.hanging("NS-0418", nil)
	l := k.wire()
	p := k.atCounterBy(webtest.Start(t), l.home, k.attendant, k.rigger)
	l.breaks.Store(before)
	p.Press(webtest.ByScanner, webtest.Scanned(text)...)
	p.Waits(`!!document.querySelector(".lost")`)
	l.breaks.Store(whole)
	p.Press(webtest.ByScanner, webtest.Scanned(otherText)...)
	p.Waits(`document.querySelectorAll(".side .card").length === 2 && !document.body.hasAttribute("aria-busy")`)
	if got := webtest.Eval[string](p, `[...document.querySelectorAll(".side .card .title")].map((e) => e.textContent).join(" ")`); got != "NS-0418 NS-0417" {
		t.Errorf("on the rail hang %s", got)
	}
}

// TestConnectionLostElsewhere: the forms of every other page do the same.
func TestConnectionLostElsewhere(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, _ := k.hanging("NS-0417", nil)
	l := k.wire()
	p := k.openedBy(webtest.Start(t), l.home, k.inspector)
	path := slingPath(k.sling(id))
	p.Go(l.home + path)
	p.Click("#hold summary")
	p.Answer("hold-reason", "gouged")
	l.breaks.Store(afterward)
	p.Click("#hold form button")
	p.Waits(`document.querySelector(".lost")?.textContent.includes("` + lostSentence + `")`)
	looks(t, p, "sling-line-down")
	if k.recorded(id, event.KindHeld) != 1 {
		t.Fatalf("recorded %v", k.kinds(id))
	}
	l.breaks.Store(whole)
	p.Changes(func() { p.Click(".lost button") })
	if got := p.Text(".notice"); !strings.HasPrefix(got, "NS-0417 is held.") || k.recorded(id, event.KindHeld) != 1 {
		t.Errorf("asked again: %q, recorded %v", got, k.kinds(id))
	}
	// Back, and the same again: the page is an old one, and says so.
	p.Click("#release summary")
	p.Answer("release-reason", "looked at, no gouge")
	p.Changes(func() { p.Click("#release form button") })
	if k.sling(id).Details.Sling.State != gate.StateIn {
		t.Fatalf("released: %v", k.kinds(id))
	}
	p.Changes(func() { webtest.Eval[bool](p, `(history.back(), true)`) })
	if got := k.kinds(id); len(got) != 5 {
		t.Errorf("going back did something: %v", got)
	}
}

// TestPressedTwiceAtOnce: two presses before an answer are one act, on the counter
// and elsewhere, and so is a form that a browser without scripts sends twice.
func TestPressedTwiceAtOnce(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, text := k.hanging("NS-0417", nil)
	p := k.atCounter(webtest.Start(t), k.attendant, k.rigger)
	scanned(p, text)
	twice := func(selector string) {
		t.Helper()
		p.Changes(func() {
			webtest.Eval[bool](p, `((form) => (form.requestSubmit(), form.requestSubmit(), true))(document.querySelector('`+selector+`'))`)
		})
	}
	twice(`form[action="/counter/issue"]`)
	if got := p.Text("#verdict"); got != "Handed over" || k.recorded(id, event.KindIssued) != 1 {
		t.Errorf("pressed twice: %q %v", got, k.kinds(id))
	}
	p.Go(k.http.URL + slingPath(k.sling(id)))
	p.Click("#hold summary")
	p.Answer("hold-reason", "gouged")
	twice("#hold form")
	if k.recorded(id, event.KindHeld) != 1 {
		t.Errorf("held: %v", k.kinds(id))
	}
}
