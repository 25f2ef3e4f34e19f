package store_test

import (
	"context"
	"path/filepath"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/tagcode"
	"cribgate/store"
	"cribgate/store/storetest"
)

// filled founds a register of so many slings and events for a benchmark.
func filled(b *testing.B, slings, events int) (*store.Store, string) {
	b.Helper()
	clock := &storetest.Clock{T: time.Date(2026, 1, 5, 7, 0, 0, 0, time.UTC)}
	path := filepath.Join(b.TempDir(), "register.sqlite")
	s, _, err := store.Init(b.Context(), path, storetest.Founding(), store.Options{Program: "bench", Now: clock.Now})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() {
		if err := s.Close(); err != nil {
			b.Error(err)
		}
	})
	start := time.Now()
	if err := storetest.Fill(b.Context(), s, clock, slings, events); err != nil {
		b.Fatal(err)
	}
	b.Logf("%d events of %d slings: %.0f a second", events, slings, float64(events)/time.Since(start).Seconds())
	return s, path
}

var sizes = []struct {
	name           string
	slings, events int
}{{"1k", 1000, 10_000}, {"100k", 100_000, 1_000_000}}

func BenchmarkSlingByTag(b *testing.B) {
	for _, size := range sizes {
		b.Run(size.name, func(b *testing.B) {
			s, _ := filled(b, size.slings, size.events)
			i := 0
			for b.Loop() {
				i = (i*48271 + 1) % size.slings
				if _, _, err := s.SlingByTag(b.Context(), tagcode.Digest(storetest.TagText(i+1, 1))); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkBulk(b *testing.B) {
	for b.Loop() {
		filled(b, 1000, 50_000)
	}
	b.ReportMetric(50_000*float64(b.N)/b.Elapsed().Seconds(), "events/s")
}

func BenchmarkVerify(b *testing.B) {
	s, _ := filled(b, 1000, 100_000)
	var events int64
	for b.Loop() {
		r, err := s.Verify(b.Context(), nil)
		if err != nil || !r.Whole() {
			b.Fatal(r.Breaks, err)
		}
		events += r.Events
	}
	b.ReportMetric(float64(events)/b.Elapsed().Seconds(), "events/s")
}

func BenchmarkRebuild(b *testing.B) {
	s, _ := filled(b, 1000, 100_000)
	for b.Loop() {
		if err := s.Rebuild(b.Context()); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(100_000*float64(b.N)/b.Elapsed().Seconds(), "events/s")
}

var _ = context.Background
var _ = event.Crib
