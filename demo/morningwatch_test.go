package main

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/kiosk/web/webtest"
	"cribgate/store"
)

// A watcher is a page of somebody else that is open all the while: a second station, a
// phone.
type watcher struct {
	t    *testing.T
	name string
	*webtest.Page
}

// told is what the page's machine heard, and when by its clock, which is the kiosk's.
type told struct {
	At   int64   `json:"at"`
	When float64 `json:"when"` // milliseconds since 1970
}

// listens keeps what the kiosk tells this browser, beside what its page makes of it. It
// is forgotten where another page is loaded.
func (w *watcher) listens() {
	w.t.Helper()
	webtest.Eval[bool](w.Page, `(globalThis.told = [], globalThis.ear = new WebSocket(location.origin.replace(/^http/, "ws") + "/live"),
		ear.onmessage = (m) => told.push({ at: JSON.parse(m.data).at, when: performance.timeOrigin + performance.now() }), true)`)
	w.Waits(`told.length > 0`)
}

// holds waits until the page shows what the register says at a position, without
// anybody loading it.
func (w *watcher) holds(at int64) {
	w.t.Helper()
	w.Waits(fmt.Sprintf(`told.at(-1).at >= %d && Number(document.body.dataset.at) >= %d && document.querySelector(".stale")?.hidden !== false`, at, at))
}

// heard gives how long after each event that lies between two positions this page's
// machine was told of it.
func (w *watcher) heard(events []store.Record) []time.Duration {
	w.t.Helper()
	all := webtest.Eval[[]told](w.Page, `told`)
	var late []time.Duration
	for _, e := range events {
		i := slices.IndexFunc(all, func(m told) bool { return m.At >= e.Envelope.At })
		if i < 0 {
			w.t.Errorf("%s was never told of event %d, %s", w.name, e.Envelope.At, e.Envelope.Kind)
			continue
		}
		late = append(late, time.Duration((all[i].When-float64(e.Envelope.UTC.UnixMilli()))*float64(time.Millisecond)))
	}
	slices.Sort(late)
	return late
}

// kindsOf counts events by kind.
func kindsOf(events []store.Record) map[event.Kind]int {
	n := map[event.Kind]int{}
	for _, e := range events {
		n[e.Envelope.Kind]++
	}
	return n
}
