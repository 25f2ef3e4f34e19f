package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"syscall"
	"testing"
	"time"
)

// BenchmarkRack asks for the rack of 20,000 slings, and for what somebody types on it,
// letter by letter, as a browser does: signed in, over a connection. Each is to be
// answered within 50 ms, which is asked of the 95th percentile.
func BenchmarkRack(b *testing.B) {
	const slings = 20_000
	k := newKiosk(b)
	idents, places := make([]string, slings), make([]string, slings)
	for n := range slings {
		idents[n] = fmt.Sprintf("NS-%05d", (n*48271)%slings)
		places[n] = fmt.Sprintf("%c-%d PEG %d", 'A'+n%20, n/20%25, n/500)
	}
	k.manyShelved(idents, places...)
	c := k.signedIn(k.attendant)
	further := "/rack?after=" + url.QueryEscape(afterThousand(b, k))
	texts := []string{"N", "NS", "NS-", "NS-0", "NS-01", "NS-017", "NS-0171", "NS-01717", "PEG", "PEG 2", "A-3 PEG 2", "3/8", "X"}
	for _, row := range []struct {
		name string
		ask  func(n int) answer
		rows func(n int) int // that are to come, at the least
	}{
		{"first 100", func(int) answer { return c.get("/rack") }, func(int) int { return 100 }},
		{"next 100", func(int) answer { return c.get(further) }, func(int) int { return 100 }},
		{"typed", func(n int) answer {
			return c.post("/rack/search", url.Values{"find": {texts[n%len(texts)]}, "show": {""}})
		}, func(n int) int { return min(1, len(texts)-1-n%len(texts)) }},
	} {
		b.Run(row.name, func(b *testing.B) {
			n := 0
			timesOf(b, func() {
				a := row.ask(n)
				if got := len(a.pegs()); a.status != http.StatusOK || got < row.rows(n) {
					b.Fatalf("%d: %d rows, want %d", a.status, got, row.rows(n))
				}
				n++
			})
		})
	}
}

// timesOf measures what is asked again and again.
func timesOf(b *testing.B, ask func()) {
	var took []time.Duration
	before := processor(b)
	for b.Loop() {
		begun := time.Now()
		ask()
		took = append(took, time.Since(begun))
	}
	slices.Sort(took)
	b.ReportMetric(float64((processor(b)-before).Microseconds())/1000/float64(len(took)), "cpu-ms")
	b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "p50-ms")
	b.ReportMetric(float64(took[len(took)*95/100].Microseconds())/1000, "p95-ms")
}

// processor is how much of a processor's time has been used, whoever else wanted it:
// by the server and the browser together, which are one process here.
func processor(b *testing.B) time.Duration {
	b.Helper()
	var used syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &used); err != nil {
		b.Fatal(err)
	}
	return time.Duration(used.Utime.Nano() + used.Stime.Nano())
}

// afterThousand is where a page ends that lies in the middle of the rack.
func afterThousand(b *testing.B, k *kiosk) string {
	b.Helper()
	v := &visit{}
	query, ok := k.server.rackQuery(v, "", "")
	if !ok {
		b.Fatal("no such sieve")
	}
	query.Limit = 1000
	_, next, err := k.store.List(b.Context(), query)
	if err != nil {
		b.Fatal(err)
	}
	return next
}
