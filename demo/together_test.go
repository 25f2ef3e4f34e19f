package main

import (
	"encoding/json"
	mathrand "math/rand/v2"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"cribgate/demo/browser"
	"cribgate/kiosk/command"
	"cribgate/kiosk/live"
)

// liveWithin is how soon an open page hears what another program recorded (site
// policy of this program, no source).
const liveWithin = 2 * time.Second

// Two kiosks serve one register and a labeler writes into it: each page hears what
// the others record, nobody is turned away, one of many gets a sling, and the
// register holds what each was told.
func TestTwoKiosksAndALabeler(t *testing.T) {
	const browsers, acts, tags = 8, 12, 3
	c := newCrowd(t, 2, 2*browsers, browsers+2)
	own, spare, wanted := c.slings[:browsers], c.slings[browsers], c.slings[browsers+1]
	clerks := c.clerks(2 * browsers)
	c.within(func(k *command.Kiosk) { c.base = made(k.Store.Head(t.Context()))(t).At })
	var kiosks []*child
	for range 2 {
		kiosks = append(kiosks, serves(t, "kiosk", "serve", "--register", c.dir, "--listen", "127.0.0.1:0"))
	}
	back := today(t, c.dir, 30)
	var workers []*worker
	for i, at := range clerks {
		at.ready(t, kiosks[i%2].home, back)
		if i < browsers {
			workers = append(workers, &worker{clerk: at, sling: own[i], chance: mathrand.New(mathrand.NewPCG(*seed, uint64(i)))})
		}
	}

	lines := []*listener{c.listens(kiosks[0]), c.listens(kiosks[1])}
	var late []time.Duration
	for n := range 5 {
		w, before := workers[n], c.base+int64(n)
		if err := w.one(); err != nil {
			t.Fatal(err)
		}
		late = append(late, lines[1-n%2].hears(before+1))
	}
	done := 5
	for range tags {
		c.prints(spare)
		for _, l := range lines {
			late = append(late, l.hears(c.base+int64(done+c.printed)))
		}
	}
	slices.Sort(late)
	t.Logf("what another program recorded was heard after %v at the median, %v at the most", late[len(late)/2], late[len(late)-1])
	if late[len(late)/2] > liveWithin {
		t.Errorf("pages hear of other programs only after %v", late)
	}

	each(append(workers, nil), func(_ int, w *worker) {
		if w == nil {
			for range tags {
				c.prints(spare)
			}
			return
		}
		for range acts {
			if err := w.one(); err != nil {
				t.Error(err)
				return
			}
		}
	})
	if t.Failed() {
		return
	}
	c.holdsWhat(workers, spare, true)

	pages := make([]browser.Page, len(clerks))
	for i, at := range clerks {
		p := visitor{at.Browser, t}.must(at.scanned(wanted.text))
		if err := p.Verdict("may-go"); err != nil {
			t.Fatalf("browser %d: %v", i, err)
		}
	}
	each(clerks, func(i int, at *clerk) {
		var err error
		if pages[i], err = at.Again("/counter/issue", nil); err != nil {
			t.Errorf("browser %d: %v", i, err)
		}
	})
	won := slices.IndexFunc(pages, func(p browser.Page) bool { return p.Text(browser.VerdictWords) == "Handed over" })
	if won < 0 {
		t.Fatalf("nobody has it: %q", pages[0].Text(browser.Sentence))
	}
	for i, p := range pages {
		if says := p.Text(browser.Sentence); i != won && (p.Status != http.StatusOK || !strings.HasPrefix(says, clerks[won].rigger.Name+" has it since ")) {
			t.Errorf("browser %d lost to %d and was told %d %q %q", i, won, p.Status, p.Text(browser.VerdictWords), says)
		}
	}
	for _, k := range kiosks {
		k.interrupt()
	}
}

// one does one act.
func (w *worker) one() error {
	if err := w.next(); err != nil {
		return err
	}
	return w.send()
}

// A listener is a page that is open.
type listener struct {
	t    *testing.T
	line *websocket.Conn
}

func (c *crowd) listens(k *child) *listener {
	c.t.Helper()
	line, answer, err := websocket.DefaultDialer.Dial("ws"+strings.TrimPrefix(k.home, "http")+"/live", nil)
	if err != nil {
		c.t.Fatal(err, answer)
	}
	c.t.Cleanup(func() { _ = line.Close() }) // the kiosk may have ended it
	return &listener{c.t, line}
}

// hears waits until the page is told of a position, and tells how long that took.
func (l *listener) hears(at int64) time.Duration {
	l.t.Helper()
	begun := time.Now()
	if err := l.line.SetReadDeadline(begun.Add(time.Minute)); err != nil {
		l.t.Fatal(err)
	}
	for {
		_, text, err := l.line.ReadMessage()
		if err != nil {
			l.t.Fatalf("wait for position %d: %v", at, err)
		}
		var now live.Stand
		if err := json.Unmarshal(text, &now); err != nil {
			l.t.Fatalf("heard %q: %v", text, err)
		}
		if now.At >= at {
			return time.Since(begun)
		}
	}
}
