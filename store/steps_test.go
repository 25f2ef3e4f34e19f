package store_test

import (
	"testing"
	"time"

	"cribgate/core/required"
	"cribgate/core/tagcode"
	"cribgate/store"
	"cribgate/store/storetest"
)

// The reads of a verdict cost SQLite as many steps in a large register as in a
// small one. SQLite tells its steps where it was built with
//
//	CGO_CFLAGS="-O2 -g -DSQLITE_ENABLE_STMTVTAB" go test ./store -run Steps
func TestSteps(t *testing.T) {
	small, large := steps(t, 200, 1000), steps(t, 4000, 20_000)
	t.Logf("steps a verdict: %.1f of 200 slings, %.1f of 4000", small, large)
	if diff := large/small - 1; diff > 0.10 || diff < -0.10 {
		t.Errorf("%.1f steps a verdict of 200 slings, %.1f of 4000", small, large)
	}
}

// steps fills a register and counts the steps of one verdict's reads in it, on
// the average of a hundred.
func steps(t *testing.T, slings, events int) float64 {
	t.Helper()
	clock := &storetest.Clock{T: time.Date(2026, 1, 5, 7, 0, 0, 0, time.UTC)}
	s, keeper, _ := storetest.New(t, store.Options{Program: "test", Now: clock.Now})
	r, conn := store.OnOneConnection(t, s)
	count := func() (n, runs int64) {
		err := conn.QueryRowContext(t.Context(), "SELECT coalesce(sum(nstep), 0), coalesce(sum(run), 0) FROM sqlite_stmt WHERE sql NOT LIKE '%sqlite_stmt%'").Scan(&n, &runs)
		if err != nil {
			required.Lacks(t, "SQLite does not tell its steps: %v", err)
		}
		return n, runs
	}
	count()
	if err := storetest.Fill(t.Context(), s, clock, slings, events); err != nil {
		t.Fatal(err)
	}
	const rounds = 100
	read := func() {
		for i := range rounds {
			sling, _, err := r.SlingByTag(t.Context(), tagcode.Digest(storetest.TagText(1+i*slings/rounds, 1)))
			if err != nil {
				t.Fatal(err)
			}
			if _, err := r.Sling(t.Context(), sling.ID); err != nil {
				t.Fatal(err)
			}
			if _, err := r.SlingsByShort(t.Context(), tagcode.ShortOf(sling.ID.Number, 1)); err != nil {
				t.Fatal(err)
			}
			if _, err := r.Head(t.Context()); err != nil {
				t.Fatal(err)
			}
			if _, err := r.Crib(t.Context()); err != nil {
				t.Fatal(err)
			}
			if _, err := r.Person(t.Context(), keeper); err != nil {
				t.Fatal(err)
			}
		}
	}
	read() // statements are prepared
	before, runsBefore := count()
	read()
	after, runsAfter := count()
	if runs := runsAfter - runsBefore; runs < 6*rounds {
		t.Fatalf("%d statements were run, want %d at least; are they still counted?", runs, 6*rounds)
	}
	return float64(after-before) / rounds
}
