package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"testing"
	"time"
)

// BenchmarkCount counts in a rack of 20,000 slings, a thousand in each of its places:
// one scan and its answer, the page of a place as it follows, the page to choose a
// place, and the sheet.
func BenchmarkCount(b *testing.B) {
	const slings = 20_000
	k := newKiosk(b)
	idents, places := make([]string, slings), make([]string, slings)
	for n := range slings {
		idents[n] = fmt.Sprintf("NS-%05d", (n*48271)%slings)
		places[n] = fmt.Sprintf("%c-%d PEG %d", 'A'+n%20, n/20%25, n/500)
	}
	k.manyShelved(idents, places...)
	c := k.signedIn(k.attendant)
	page := c.countsAll()
	form := page.form(b, "/count/scan")
	form.Set("chosen", "yes")
	form.Set("place", "A")
	for _, row := range []struct {
		name string
		ask  func(n int) answer
	}{
		{"scan", func(n int) answer {
			form.Set("key", newKey())
			form.Set("text", idents[(20*n)%slings])
			return c.post("/count/scan", form)
		}},
		{"place", func(int) answer { return c.get("/count?" + url.Values{"at": {"A"}}.Encode()) }},
		{"choose", func(int) answer { return c.get("/count") }},
		{"sheet", func(int) answer { return c.get("/count/sheet") }},
	} {
		b.Run(row.name, func(b *testing.B) {
			var took []time.Duration
			n, before := 0, processor(b)
			for b.Loop() {
				begun := time.Now()
				if a := row.ask(n); a.status != http.StatusOK {
					b.Fatal(a.status, a.words())
				}
				took = append(took, time.Since(begun))
				n++
			}
			slices.Sort(took)
			b.ReportMetric(float64((processor(b)-before).Microseconds())/1000/float64(n), "cpu-ms")
			b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "p50-ms")
			b.ReportMetric(float64(took[len(took)*95/100].Microseconds())/1000, "p95-ms")
		})
	}
}
