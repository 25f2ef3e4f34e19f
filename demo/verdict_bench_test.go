package main

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/kiosk/counter"
	"cribgate/store"
	"cribgate/store/keyring"
)

// BenchmarkVerdict takes the text of a tag to the counter's verdict, on a small
// register and on one of 100,000 slings and a million events, in one run:
//
//	go test ./demo -run '^$' -bench Verdict -timeout 60m
//
// p50-ns and p99-ns are of single verdicts; MB is the process's memory as the
// system sees it, measured after the verdicts.
func BenchmarkVerdict(b *testing.B) {
	for _, size := range []struct{ slings, events int }{{1_000, 10_000}, {100_000, 1_000_000}} {
		b.Run(fmt.Sprintf("slings=%d", size.slings), func(b *testing.B) {
			dir := filepath.Join(b.TempDir(), "crib")
			last, err := quantity.ParseDate("2026-03-01")
			if err != nil {
				b.Fatal(err)
			}
			// Seeding is another process's, so that its memory is not in the figure.
			seed := program(b.Context(), b, "demo", "seed", "--slings", strconv.Itoa(size.slings), "--events", strconv.Itoa(size.events),
				"--years", "2", "--until", last.String(), "--out", dir, "--pins=false")
			if text, err := seed.CombinedOutput(); err != nil {
				b.Fatalf("seed: %v\n%s", err, text)
			}
			verdicts(b, dir, last)
		})
	}
}

func verdicts(b *testing.B, dir string, last quantity.Date) {
	register, _, keys := store.Paths(dir)
	y, m, d := last.AddDays(1).YMD()
	morning := time.Date(y, time.Month(m), d, 7, 0, 0, 0, time.UTC)
	opened := time.Now()
	st, err := store.Open(b.Context(), register, store.Options{Now: func() time.Time { return morning }})
	if err != nil {
		b.Fatal(err)
	}
	open := time.Since(opened)
	defer st.Close()
	ring, err := keyring.Load(keys)
	if err != nil {
		b.Fatal(err)
	}
	texts := liveTags(b, st, ring, 2_000)
	who := counter.Who{Station: "bench", Way: counter.Scanner}
	var rigger event.PersonID
	people, err := st.People(b.Context())
	if err != nil {
		b.Fatal(err)
	}
	for _, p := range people {
		switch {
		case p.May(event.Attendant, quantity.Date{}) && who.Person.IsZero():
			who.Person = p.ID
		case p.May(event.Rigger, quantity.Date{}) && rigger.IsZero():
			rigger = p.ID
		}
	}
	c := counter.New(st, ring)
	ask := counter.Ask{Rigger: rigger, Lift: gate.Lift{Use: gate.UseOrdinary, Load: 500 * quantity.Pound, Hitch: gate.Straight, Legs: 1}}
	runtime.GC()
	var took []time.Duration
	n, may := 0, 0
	for b.Loop() {
		ask.Reading = counter.Reading{Text: texts[n*48_271%len(texts)], Way: counter.Scanner}
		begun := time.Now()
		o, err := c.Look(b.Context(), who, ask)
		if err != nil {
			b.Fatal(err)
		}
		took = append(took, time.Since(begun))
		if n++; o.May {
			may++
		}
	}
	if may == 0 {
		b.Fatal("no verdict said that a sling may go: nothing real was asked")
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2]), "p50-ns")
	b.ReportMetric(float64(took[len(took)*99/100]), "p99-ns")
	b.ReportMetric(resident(b), "MB")
	b.ReportMetric(float64(open.Milliseconds()), "open-ms")
	head, err := st.Head(b.Context())
	if err != nil {
		b.Fatal(err)
	}
	b.ReportMetric(float64(head.At), "events")
}

// liveTags gives the texts of most live tags, spread over the whole register.
func liveTags(b *testing.B, st *store.Store, ring keyring.Ring, most int) []string {
	var texts []string
	after := ""
	for {
		page, next, err := st.List(b.Context(), store.Query{After: after, Limit: store.MaxPage})
		if err != nil {
			b.Fatal(err)
		}
		for i, s := range page {
			live, ok := s.Live()
			if !ok || i%50 != 0 && len(page) == store.MaxPage {
				continue
			}
			key, err := ring.Current(live.Key)
			if err != nil {
				b.Fatal(err)
			}
			tag, err := s.Tag(live.Key, live.Serial)
			if err != nil {
				continue // a record that no tag fits
			}
			if sealed, err := tag.Seal(key); err == nil {
				texts = append(texts, sealed.Text())
			}
		}
		if after = next; next == "" || len(texts) >= most {
			return texts
		}
	}
}

// resident is the process's resident memory in MB, 0 where the system does not
// say.
func resident(b *testing.B) float64 {
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		b.Log("the system does not say how much memory the process has")
		return 0
	}
	for line := range strings.Lines(string(status)) {
		if kb, ok := strings.CutPrefix(line, "VmRSS:"); ok {
			n, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(kb), "kB")), 64)
			if err != nil {
				b.Fatal(err)
			}
			return n / 1024
		}
	}
	return 0
}
