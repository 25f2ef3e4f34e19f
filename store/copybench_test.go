package store_test

import (
	"path/filepath"
	"strconv"
	"testing"

	"cribgate/store"
)

// BenchmarkCopy copies a register, walks the copy, and brings it back.
func BenchmarkCopy(b *testing.B) {
	s, path := filled(b, 5_000, 100_000)
	b.Run("copy", func(b *testing.B) {
		var events int64
		for b.Loop() {
			c, err := s.Copy(b.Context(), copiesOf(path), store.Copying{})
			if err != nil {
				b.Fatal(err)
			}
			b.SetBytes(c.Bytes)
			events += c.At
		}
		b.ReportMetric(float64(events)/b.Elapsed().Seconds(), "events/s")
	})
	c, err := s.Copy(b.Context(), copiesOf(path), store.Copying{})
	if err != nil {
		b.Fatal(err)
	}
	n := 0
	b.Run("restore", func(b *testing.B) {
		var events int64
		for b.Loop() {
			n++
			to := filepath.Join(b.TempDir(), strconv.Itoa(n), "register.sqlite")
			r, err := store.Restore(b.Context(), c.Path, to, "bench", store.Options{Program: "bench"}, nil)
			if err != nil {
				b.Fatal(err)
			}
			b.SetBytes(c.Bytes)
			events += r.Head.At
		}
		b.ReportMetric(float64(events)/b.Elapsed().Seconds(), "events/s")
	})
}
