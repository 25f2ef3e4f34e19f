package main

import (
	"fmt"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"cribgate/demo/browser"
	"cribgate/store/sqlite"
)

// soaked is how many issues and returns the whole of TestSoak has.
const soaked = 60_000

// Issues and returns without an end leave memory, file handles and goroutines
// where they were, and the answers as quick. How quick is held to a bound in the
// whole run only, since it depends on what else the machine does.
func TestSoak(t *testing.T) {
	n, whole := roundsOf(soaked)
	const browsers, slings, parts = 8, 20, 10
	c := newCrowd(t, 2, browsers, browsers*slings)
	clerks := c.clerks(browsers)
	home, st := c.serves()
	back := made(st.Today(t.Context()))(t).AddDays(30).String()
	for _, at := range clerks {
		at.ready(t, home, back)
	}
	before := made(st.Head(t.Context()))(t)
	t.Logf("%d issues and returns; again: go test ./demo -run '^TestSoak$' -timeout 0 -rounds %d", n, n)
	perPart := max(1, n/parts/browsers)
	var measured []soakPart
	for part := range parts {
		m := soakPart{took: make([]time.Duration, 0, perPart*browsers)}
		var mu sync.Mutex
		var all sync.WaitGroup
		begun := time.Now()
		for i, at := range clerks {
			all.Go(func() {
				own := c.slings[i*slings : (i+1)*slings]
				for k := range perPart {
					took, err := at.turnsRound(own, part*perPart+k)
					if err != nil {
						t.Error(err)
						return
					}
					mu.Lock()
					m.took = append(m.took, took)
					mu.Unlock()
				}
			})
		}
		all.Wait()
		if t.Failed() {
			return
		}
		m.rate = float64(len(m.took)) / time.Since(begun).Seconds()
		m.machine(t, c.dir)
		measured = append(measured, m)
		t.Logf("tenth %2d: %s", part+1, m)
	}
	first, last := measured[0], measured[parts-1]
	if head := made(st.Head(t.Context()))(t); head.At != before.At+int64(perPart*browsers*parts) {
		t.Errorf("the register grew by %d events, %d acts were acknowledged", head.At-before.At, perPart*browsers*parts)
	}
	if report := made(st.Verify(t.Context(), nil))(t); !report.Whole() {
		t.Errorf("verify: %v", report.Breaks)
	}
	// Room for what is made once: pools, caches, the pages of the database.
	if last.heap > first.heap+first.heap/4+(4<<20) {
		t.Errorf("the heap grew from %d to %d bytes", first.heap, last.heap)
	}
	if last.files > first.files+8 || last.goroutines > first.goroutines+8 {
		t.Errorf("%d files and %d goroutines became %d and %d", first.files, first.goroutines, last.files, last.goroutines)
	}
	// Of the databases there are as many as connections were in use at once, at any time.
	if most := 3 * sqlite.Handles(); last.databases > most {
		t.Errorf("the register, the desk and the bench have %d files open, of at most %d", last.databases, most)
	}
	if !whole {
		return
	}
	if last.p99()*2 > first.p99()*3 {
		t.Errorf("the 99th hundredth of the last tenth took %v, of the first %v", last.p99(), first.p99())
	}
	if last.rss > measured[1].rss+measured[1].rss/4 {
		t.Errorf("memory grew from %d to %d bytes", measured[1].rss, last.rss)
	}
}

// turnsRound does the n-th act of somebody who issues all of the slings, then takes
// all of them back, and tells how long the acknowledgement took.
func (at *clerk) turnsRound(own []hung, n int) (time.Duration, error) {
	sling, out := own[n%len(own)], n/len(own)%2 == 1
	p, err := at.scanned(sling.text)
	if err != nil {
		return 0, err
	}
	path, says, answers := "/counter/issue", "Handed over", url.Values{"typed": {sling.plate()}}
	if out {
		path, says, answers = "/counter/return", "Back in", p.AllWell("/counter/return")
	}
	if p.Status != http.StatusOK {
		return 0, fmt.Errorf("%s, act %d: scanned: %d %s", sling.ident, n, p.Status, p.Text(browser.Sentence))
	}
	begun := time.Now()
	p, err = at.Again(path, answers)
	if err != nil {
		return 0, fmt.Errorf("%s, act %d: %w: %s", sling.ident, n, err, p.Text(browser.Sentence))
	}
	if got := p.Text(browser.VerdictWords); got != says {
		return 0, fmt.Errorf("%s, act %d: the page says %q %q, not %q", sling.ident, n, got, p.Text(browser.Sentence), says)
	}
	return time.Since(begun), nil
}

// A soakPart is what a tenth of the acts left behind.
type soakPart struct {
	took              []time.Duration
	rate              float64 // acts a second
	heap, rss         int     // bytes, after the collector ran
	files, goroutines int     // sockets and the rest
	databases         int     // files open of the crib's own
}

func (m *soakPart) machine(t *testing.T, dir string) {
	t.Helper()
	slices.Sort(m.took)
	runtime.GC()
	runtime.GC() // what the first one found to be finalized is gone after the second
	var mem runtime.MemStats
	runtime.ReadMemStats(&mem)
	m.heap, m.goroutines = int(mem.HeapAlloc), runtime.NumGoroutine()
	const own = "/proc/self/fd"
	for _, e := range made(os.ReadDir(own))(t) {
		if to, err := os.Readlink(filepath.Join(own, e.Name())); err == nil && strings.HasPrefix(to, dir+"/") {
			m.databases++
		} else {
			m.files++
		}
	}
	fields := strings.Fields(string(made(os.ReadFile("/proc/self/statm"))(t)))
	m.rss = made(strconv.Atoi(fields[1]))(t) * os.Getpagesize()
}

func (m *soakPart) p99() time.Duration { return m.took[(len(m.took)-1)*99/100] }

func (m soakPart) String() string {
	return fmt.Sprintf("%5.0f acts/s, p50 %6.1f ms, p99 %6.1f ms, heap %5.1f MB, memory %5.1f MB, %d files and %d of the databases, %d goroutines", m.rate,
		m.took[len(m.took)/2].Seconds()*1000, m.p99().Seconds()*1000, float64(m.heap)/(1<<20), float64(m.rss)/(1<<20), m.files, m.databases, m.goroutines)
}
