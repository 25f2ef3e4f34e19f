package store_test

import (
	"context"
	"database/sql"
	"fmt"
	"path/filepath"
	"runtime/debug"
	"slices"
	"testing"
	"testing/fstest"
	"time"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
	"cribgate/store"
	"cribgate/store/sqlite"
	"cribgate/store/storetest"
)

// filled founds a register of so many slings and events.
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
	if err := storetest.Fill(b.Context(), s, clock, slings, events); err != nil {
		b.Fatal(err)
	}
	return s, path
}

// BenchmarkRegister fills one register of each size and times what a counter
// asks of it: the reads of a verdict, a page of the rack, opening.
func BenchmarkRegister(b *testing.B) {
	for _, size := range []struct {
		name           string
		slings, events int
	}{{"1k", 1000, 10_000}, {"100k", 100_000, 1_000_000}} {
		b.Run(size.name, func(b *testing.B) {
			start := time.Now()
			s, path := filled(b, size.slings, size.events)
			b.Logf("filled: %.0f events/s", float64(size.events)/time.Since(start).Seconds())
			var keeper event.PersonID
			if people, err := s.People(b.Context()); err != nil || len(people) != 1 {
				b.Fatal(people, err)
			} else {
				keeper = people[0].ID
			}
			b.Run("verdict", func(b *testing.B) {
				i := 0
				timed(b, func() error {
					i = (i*48271 + 11) % size.slings
					return verdictReads(b.Context(), s, i+1, keeper)
				})
			})
			b.Run("rack page", func(b *testing.B) {
				i := 0
				timed(b, func() error {
					i = (i*48271 + 11) % size.slings
					_, _, err := s.List(b.Context(), store.Query{Text: storetest.Sling(i).Ident[:5], Limit: 50})
					return err
				})
			})
			b.Run("tag queue", func(b *testing.B) {
				today, err := s.Today(b.Context())
				if err != nil {
					b.Fatal(err)
				}
				timed(b, func() error { return queueReads(b.Context(), s, today) })
			})
			b.Run("open", func(b *testing.B) {
				timed(b, func() error {
					again, err := store.Open(b.Context(), path, store.Options{})
					if err != nil {
						return err
					}
					return again.Close()
				})
			})
		})
	}
}

// queueReads are what a page of the tag queue reads, seven stocks to filter by.
func queueReads(ctx context.Context, s *store.Store, today quantity.Date) error {
	for _, list := range []store.TagList{store.TagsWaiting, store.TagsLapsed, store.TagsSpoiled} {
		for _, stock := range []string{"", "test", "b", "c", "d", "e", "f", "g"} {
			if _, err := s.CountTags(ctx, store.TagQuery{List: list, Today: today, Stock: stock}, 1001); err != nil {
				return err
			}
		}
		if _, _, err := s.Tags(ctx, store.TagQuery{List: list, Today: today, Limit: 60}); err != nil {
			return err
		}
	}
	if _, err := s.CountWants(ctx, "", 1001); err != nil {
		return err
	}
	_, _, err := s.List(ctx, store.Query{WantsTag: true, Limit: 60})
	return err
}

func verdictReads(ctx context.Context, s *store.Store, n int, who event.PersonID) error {
	sling, _, err := s.SlingByTag(ctx, tagcode.Digest(storetest.TagText(n, 1)))
	if err != nil {
		return err
	}
	if _, err := s.Sling(ctx, sling.ID); err != nil {
		return err
	}
	if _, err := s.Person(ctx, who); err != nil {
		return err
	}
	_, err = s.Today(ctx) // head and crib
	return err
}

// timed reports median and 99th percentile beside the mean.
func timed(b *testing.B, f func() error) {
	b.Helper()
	var took []time.Duration
	for b.Loop() {
		start := time.Now()
		if err := f(); err != nil {
			b.Fatal(err)
		}
		took = append(took, time.Since(start))
	}
	report(b, "", took)
}

func report(b *testing.B, name string, took []time.Duration) time.Duration {
	slices.Sort(took)
	median := took[len(took)/2]
	b.ReportMetric(float64(median.Microseconds()), name+"p50-µs")
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds()), name+"p99-µs")
	return median
}

// BenchmarkAct times an acknowledged act against a bare durable commit of one
// row by the same SQLite on the same disk, by turns.
func BenchmarkAct(b *testing.B) {
	s, _ := filled(b, 1000, 10_000)
	files := fstest.MapFS{"0001_bare.sql": &fstest.MapFile{Data: []byte("-- +goose Up\nCREATE TABLE bare (n INTEGER PRIMARY KEY, text TEXT NOT NULL) STRICT;\n")}}
	layout := sqlite.Schema{AppID: 1, Migrations: files}
	path := filepath.Join(b.TempDir(), "bare.sqlite")
	if err := sqlite.Create(b.Context(), path, layout, nil); err != nil {
		b.Fatal(err)
	}
	bare, err := sqlite.Open(b.Context(), path, layout, nil)
	if err != nil {
		b.Fatal(err)
	}
	defer bare.Close()
	var acts, rows []time.Duration
	n := 0
	for b.Loop() {
		n++
		id := event.SlingOf(storetest.Key, storetest.Sling(1+n%1000).Ident)
		act := store.Act{Station: "bench", Way: "scanner", Key: fmt.Sprint(n)}
		start := time.Now()
		_, err := s.Do(b.Context(), act, func(ctx context.Context, tx *store.Tx) ([]byte, error) { return toggle(ctx, tx, id) })
		if err != nil {
			b.Fatal(err)
		}
		acts = append(acts, time.Since(start))
		start = time.Now()
		err = bare.Tx(b.Context(), func(tx *sql.Tx) error {
			_, err := tx.ExecContext(b.Context(), "INSERT INTO bare (text) VALUES ('a row')")
			return err
		})
		if err != nil {
			b.Fatal(err)
		}
		rows = append(rows, time.Since(start))
	}
	ratio := float64(report(b, "act-", acts)) / float64(report(b, "bare-", rows))
	b.ReportMetric(ratio, "ratio")
}

func BenchmarkBulk(b *testing.B) {
	for b.Loop() {
		filled(b, 1000, 50_000)
	}
	b.ReportMetric(50_000*float64(b.N)/b.Elapsed().Seconds(), "events/s")
}

// BenchmarkVerify collects garbage as seldom as the program that verifies does.
func BenchmarkVerify(b *testing.B) {
	s, _ := filled(b, 1000, 100_000)
	defer debug.SetGCPercent(debug.SetGCPercent(400))
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
