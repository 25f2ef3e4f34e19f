package store_test

import (
	"testing"
	"time"

	"cribgate/store"
	"cribgate/store/storetest"
)

// Growth is what the last weeks added, whatever came before them.
func TestGrowth(t *testing.T) {
	clock := &storetest.Clock{T: time.Date(2026, 1, 5, 7, 0, 0, 0, time.UTC)}
	s, _, _ := storetest.New(t, store.Options{Program: "test", Now: clock.Now})
	g, err := s.Growth(t.Context(), clock.T)
	if err != nil || g.Bytes < 4096 || g.PerDay != g.Bytes {
		t.Errorf("on its first day: %+v, %v", g, err) // all of it came within a day
	}
	if err := storetest.Fill(t.Context(), s, clock, 10, 600); err != nil { // within ten minutes
		t.Fatal(err)
	}
	filled := clock.T
	if g, err = s.Growth(t.Context(), filled.AddDate(0, 0, 10)); err != nil {
		t.Fatal(err)
	}
	if want := g.Bytes / 10; g.PerDay < want*98/100 || g.PerDay > want*102/100 {
		t.Errorf("after ten days: %+v, want about %d a day", g, want)
	}
	if g, err = s.Growth(t.Context(), filled.AddDate(0, 0, 29)); err != nil || g.PerDay != 0 {
		t.Errorf("after four weeks without an event: %+v, %v", g, err)
	}
	clock.T = filled.AddDate(0, 0, 60)
	for n := range 30 {
		storetest.Register(t, s, 500+n)
	}
	g, err = s.Growth(t.Context(), clock.T)
	head, headErr := s.Head(t.Context())
	if err != nil || headErr != nil {
		t.Fatal(err, headErr)
	}
	if want := g.Bytes * 30 / head.At / 28; g.PerDay < want*98/100 || g.PerDay > want*102/100 {
		t.Errorf("thirty events in the last weeks of %d: %+v, want about %d a day", head.At, g, want)
	}
}
