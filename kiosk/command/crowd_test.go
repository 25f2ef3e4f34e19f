package command

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"flag"
	"net"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"cribgate/core/event"
	"cribgate/core/state"
	"cribgate/kiosk/desk"
	"cribgate/store"
	"cribgate/store/keyring"
	"cribgate/store/storetest"
)

var rounds = flag.Int("rounds", 1, "how many times 720 events the open pages are told of; 50 are an hour of ten a second")

const (
	crowdPages  = 50
	crowdSlings = 20
)

// A crowd is a kiosk that serves, and pages that listen to it.
type crowd struct {
	t      testing.TB
	kiosk  *Kiosk
	url    string
	slings []state.Sling
	heard  chan hearing
	pages  []*websocket.Conn
	all    sync.WaitGroup
}

// A hearing is that a page was told of a position.
type hearing struct {
	at int64
	on time.Time
}

func newCrowd(t testing.TB) *crowd {
	t.Helper()
	dir := t.TempDir()
	register, deskFile, keys := store.Paths(dir)
	o := store.Options{Program: "test"}
	key, err := keyring.Create(keys, rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	founding := storetest.Founding()
	founding.Key = key.Fingerprint()
	st, _, err := store.Init(t.Context(), register, founding, o)
	if err == nil {
		err = errors.Join(st.Close(), desk.Init(t.Context(), deskFile))
	}
	if err != nil {
		t.Fatal(err)
	}
	c := &crowd{t: t, heard: make(chan hearing, 4*crowdPages)}
	if c.kiosk, err = Open(t.Context(), dir, o); err != nil {
		t.Fatal(err)
	}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	c.url = "ws://" + listener.Addr().String() + "/live"
	ctx, stop := context.WithCancel(context.Background())
	served := make(chan error, 1)
	go func() { served <- c.kiosk.Serve(ctx, listener) }()
	t.Cleanup(func() {
		for _, p := range c.pages {
			p.Close()
		}
		c.all.Wait()
		stop()
		if err := errors.Join(<-served, c.kiosk.Close()); err != nil {
			t.Error(err)
		}
	})
	for n := range crowdSlings {
		c.slings = append(c.slings, storetest.Register(t, c.kiosk.Store, n))
	}
	for range crowdPages {
		c.comes()
	}
	c.hear(c.at(), time.Now())
	return c
}

func (c *crowd) at() int64 {
	c.t.Helper()
	head, err := c.kiosk.Store.Head(c.t.Context())
	if err != nil {
		c.t.Fatal(err)
	}
	return head.At
}

// comes opens one page more.
func (c *crowd) comes() {
	c.t.Helper()
	page, _, err := websocket.DefaultDialer.Dial(c.url, nil)
	if err != nil {
		c.t.Fatal(err)
	}
	c.pages = append(c.pages, page)
	c.all.Go(func() {
		last := int64(0)
		for {
			_, text, err := page.ReadMessage()
			if err != nil {
				return // it was closed
			}
			var told struct{ At int64 }
			if err := json.Unmarshal(text, &told); err != nil {
				c.t.Error(err)
				return
			}
			if told.At < last {
				c.t.Errorf("a page was told of %d after %d", told.At, last)
			}
			if told.At > last {
				c.heard <- hearing{told.At, time.Now()}
			}
			last = told.At
		}
	})
}

// goes closes the page that is open longest.
func (c *crowd) goes() {
	c.t.Helper()
	if err := c.pages[0].Close(); err != nil {
		c.t.Error(err)
	}
	c.pages = c.pages[1:]
}

// hear waits until every page was told of a position and says how long each waited.
func (c *crowd) hear(at int64, since time.Time) (waits []time.Duration) {
	c.t.Helper()
	late := time.After(time.Minute)
	for len(waits) < crowdPages {
		select {
		case h := <-c.heard:
			if h.at == at {
				waits = append(waits, h.on.Sub(since))
			}
		case <-late:
			c.t.Fatalf("%d pages of %d were told of %d", len(waits), crowdPages, at)
		}
	}
	return waits
}

// happens lets one event happen and waits until each page has been told of it.
func (c *crowd) happens(n int) []time.Duration {
	c.t.Helper()
	s := &c.slings[n%crowdSlings]
	body := event.Body(event.Held{Reason: "gouged"})
	if n/crowdSlings%2 == 1 {
		body = event.Released{Reason: "every link gauged"}
	}
	begun := time.Now()
	*s = storetest.Append(c.t, c.kiosk.Store, s.ID, s.Heads, body)
	return c.hear(c.at(), begun)
}

// BenchmarkTold lets events happen one after the other while 50 pages listen. A page is
// to be told within 200 ms of the act's beginning, which is asked of the 95th
// percentile of all pages and events.
func BenchmarkTold(b *testing.B) {
	c := newCrowd(b)
	var waits []time.Duration
	n := 0
	for b.Loop() {
		waits = append(waits, c.happens(n)...)
		n++
	}
	slices.Sort(waits)
	b.ReportMetric(float64(waits[len(waits)/2].Microseconds())/1000, "p50-ms")
	b.ReportMetric(float64(waits[len(waits)*95/100].Microseconds())/1000, "p95-ms")
	b.ReportMetric(float64(waits[len(waits)-1].Microseconds())/1000, "max-ms")
}

// An hour of events, on which 50 pages listen that come and go, leaves the memory as it
// was: what is held at the end of it is what was held when a quarter had happened.
func TestAnHourOfEventsHoldsNoMemory(t *testing.T) {
	const most = 2 << 20 // bytes that may lie about, of 50 pages and their server; 20 times fewer an event in the full run
	c := newCrowd(t)
	events := 720 * *rounds
	var quarter runtime.MemStats
	goroutines := 0
	for n := range events {
		c.happens(n)
		if n%10 == 9 { // a page is closed and another opened
			c.goes()
			c.comes()
			if h := <-c.heard; h.at != c.at() {
				t.Fatalf("a new page is told of %d", h.at)
			}
		}
		if n == events/4 {
			quarter, goroutines = held(), runtime.NumGoroutine()
		}
	}
	end := held()
	grown := int64(end.HeapAlloc+end.StackInuse) - int64(quarter.HeapAlloc+quarter.StackInuse)
	t.Logf("%d events: %d kB held, %d kB more than after a quarter; %d goroutines, then %d", events,
		(end.HeapAlloc+end.StackInuse)>>10, grown>>10, runtime.NumGoroutine(), goroutines)
	if grown > most {
		t.Errorf("%d kB more are held", grown>>10)
	}
	if n := runtime.NumGoroutine(); n > goroutines+4 { // one or two of a page that is just closed
		t.Errorf("%d goroutines, and %d after a quarter", n, goroutines)
	}
	if pages := c.kiosk.hub.Listeners(); pages < crowdPages || pages > crowdPages+1 {
		t.Errorf("%d pages listen", pages)
	}
}

// held is what is held once everything was collected that could be.
func held() (m runtime.MemStats) {
	runtime.GC()
	runtime.GC() // what finalizers let go of
	runtime.ReadMemStats(&m)
	return m
}

// The kiosk's own door is the one that pages of another origin do not come through.
func TestAStrangersPageIsNotTold(t *testing.T) {
	c := newCrowd(t)
	_, answer, err := websocket.DefaultDialer.Dial(c.url, map[string][]string{"Origin": {"https://elsewhere.example"}})
	if err == nil || answer == nil || !strings.HasPrefix(answer.Status, "403") {
		t.Errorf("a page of another origin: %v, %v", answer, err)
	}
}
