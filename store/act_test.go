package store_test

import (
	"context"
	"errors"
	"strings"
	"sync"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/store"
	"cribgate/store/storetest"
)

var plain = store.Act{Station: "test", Way: "hand"}

func append1(ctx context.Context, s *store.Store, act store.Act, sling state.Sling, body event.Body) (rec store.Record, err error) {
	_, err = s.Do(ctx, act, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		rec, err = tx.Append(ctx, event.Sling(sling.ID), sling.Heads, body)
		return nil, err
	})
	return rec, err
}

func head(t *testing.T, s *store.Store) store.Head {
	t.Helper()
	h, err := s.Head(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func TestKeys(t *testing.T) {
	s, _, path := storetest.New(t, store.Options{Program: "test"})
	sling := storetest.Register(t, s, 1)
	act := plain
	act.Key, act.Request = "k1", [32]byte{1}
	calls := 0
	do := func(s *store.Store, act store.Act) ([]byte, error) {
		return s.Do(t.Context(), act, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
			calls++
			_, err := tx.Append(ctx, event.Sling(sling.ID), sling.Heads, event.Held{Reason: "once"})
			return []byte("first answer"), err
		})
	}
	before := head(t, s)
	for range 3 {
		answer, err := do(s, act)
		if err != nil || string(answer) != "first answer" {
			t.Errorf("%q, %v", answer, err)
		}
	}
	other := storetest.Open(t, path, store.Options{Program: "test"}) // the key outlives the program
	if answer, err := do(other, act); err != nil || string(answer) != "first answer" {
		t.Errorf("after opening again: %q, %v", answer, err)
	}
	if after := head(t, s); calls != 1 || after.At != before.At+1 {
		t.Errorf("the act was done %d times, head %d to %d", calls, before.At, after.At)
	}
	act.Request = [32]byte{2}
	if _, err := do(s, act); !errors.Is(err, store.ErrKeyReused) || errors.Is(err, store.ErrNotRecorded) {
		t.Errorf("the same key for another request: %v", err)
	}
	// An act that failed was not done: its key is free.
	act.Key = "k2"
	if _, err := do(s, act); !errors.Is(err, store.ErrConflict) || !errors.Is(err, store.ErrNotRecorded) {
		t.Errorf("an act that fails: %v", err)
	}
	answer, err := s.Do(t.Context(), act, func(context.Context, *store.Tx) ([]byte, error) { return nil, nil })
	if err != nil || len(answer) != 0 {
		t.Errorf("the key of an act that failed: %q, %v", answer, err)
	}
}

func TestErrorRollsBack(t *testing.T) {
	s, _, _ := storetest.New(t, store.Options{Program: "test"})
	sling := storetest.Register(t, s, 1)
	before := head(t, s)
	sentinel := errors.New("changed my mind")
	_, err := s.Do(t.Context(), plain, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		if _, err := tx.Append(ctx, event.Sling(sling.ID), sling.Heads, event.Held{Reason: "x"}); err != nil {
			return nil, err
		}
		if held, err := tx.Sling(ctx, sling.ID); err != nil || held.Details.Sling.State != gate.StateHeld {
			t.Errorf("the act does not see what it appended: %v, %v", held.Details.Sling.State, err)
		}
		return []byte("x"), sentinel
	})
	if !errors.Is(err, sentinel) {
		t.Errorf("got %v", err)
	}
	after, err := s.Sling(t.Context(), sling.ID)
	if err != nil || after.Details.Sling.State != gate.StateIn || head(t, s) != before {
		t.Errorf("something stayed: %v, %v", after.Details.Sling.State, err)
	}
}

// The loser of a race is told what happened; there is one winner.
func TestRace(t *testing.T) {
	s, keeper, path := storetest.New(t, store.Options{Program: "test"})
	other := storetest.Open(t, path, store.Options{Program: "test"})
	for round := range 20 {
		sling := storetest.Register(t, s, round)
		var all sync.WaitGroup
		var mu sync.Mutex
		won := 0
		for i := range 6 {
			all.Go(func() {
				from := s
				if i%2 == 1 {
					from = other
				}
				_, err := append1(t.Context(), from, plain, sling, event.Issued{Rigger: keeper, Serial: 1})
				mu.Lock()
				defer mu.Unlock()
				var conflict *store.ConflictError
				switch {
				case err == nil:
					won++
				case !errors.As(err, &conflict) || !errors.Is(err, store.ErrConflict):
					t.Errorf("round %d: %v", round, err)
				case len(conflict.Since) != 1 || conflict.Since[0].Envelope.Kind != event.KindIssued || conflict.Subject != event.Sling(sling.ID):
					t.Errorf("round %d: the loser is told %+v", round, conflict)
				}
			})
		}
		all.Wait()
		if won != 1 {
			t.Fatalf("round %d: %d winners", round, won)
		}
	}
}

func TestConflictTells(t *testing.T) {
	s, keeper, _ := storetest.New(t, store.Options{Program: "test"})
	first := storetest.Register(t, s, 1)
	second := storetest.Append(t, s, first.ID, first.Heads, event.Issued{Rigger: keeper, Serial: 1})
	storetest.Append(t, s, first.ID, second.Heads, event.Returned{From: keeper, Said: event.Nothing})
	for name, c := range map[string]struct {
		seen []event.Hash
		want []event.Kind
	}{
		"two behind":      {first.Heads, []event.Kind{event.KindIssued, event.KindReturned}},
		"one behind":      {second.Heads, []event.Kind{event.KindReturned}},
		"saw nothing":     {nil, []event.Kind{event.KindRegistered, event.KindIssued, event.KindReturned}},
		"saw another's":   {[]event.Hash{{1}}, []event.Kind{event.KindRegistered, event.KindIssued, event.KindReturned}},
		"saw more heads":  {append(second.Heads[:1:1], first.Heads...), []event.Kind{event.KindReturned}},
		"the newest, and": {append(second.Heads[:1:1], event.Hash{1}), []event.Kind{event.KindReturned}},
	} {
		_, err := append1(t.Context(), s, plain, state.Sling{ID: first.ID, Heads: c.seen}, event.Held{Reason: "x"})
		var conflict *store.ConflictError
		if !errors.As(err, &conflict) {
			t.Errorf("%s: %v", name, err)
			continue
		}
		var got []event.Kind
		for _, r := range conflict.Since {
			got = append(got, r.Envelope.Kind)
		}
		if strings.Join(words(got), " ") != strings.Join(words(c.want), " ") {
			t.Errorf("%s: told %v, want %v", name, got, c.want)
		}
	}
}

func words(kinds []event.Kind) (out []string) {
	for _, k := range kinds {
		out = append(out, string(k))
	}
	return out
}

// What cannot happen, or could not be read back, is not written, even where the
// act goes on as if it had been.
func TestAppendRefuses(t *testing.T) {
	s, keeper, _ := storetest.New(t, store.Options{Program: "test"})
	sling := storetest.Register(t, s, 1)
	unknown := state.Sling{ID: event.SlingOf(storetest.Key, "CS-99999")}
	bad := storetest.Sling(2)
	bad.Sling.Legs = 5
	out := storetest.Sling(3)
	out.Sling.State = gate.StateOut
	cases := map[string]struct {
		sling state.Sling
		body  event.Body
		act   store.Act
		want  error
	}{
		"return of what is in":            {sling, event.Returned{From: keeper, Said: event.Nothing}, plain, store.ErrContradicts},
		"registered twice":                {sling, event.Registered{Details: storetest.Sling(1)}, plain, store.ErrContradicts},
		"issue of nothing":                {unknown, event.Issued{Rigger: keeper, Serial: 1}, plain, store.ErrContradicts},
		"a tag never printed":             {sling, event.TagConfirmed{Serial: 4}, plain, store.ErrContradicts},
		"a tag thrown away never printed": {sling, event.TagSpoiled{Serial: 4, Why: event.SpoiltLost}, plain, store.ErrContradicts},
		"another subject's event":         {sling, event.PINSet{}, plain, store.ErrContradicts},
		"five legs":                       {unknown, event.Registered{Details: bad}, plain, event.ErrBody},
		"registered as out":               {unknown, event.Registered{Details: out}, plain, event.ErrBody},
		"no name of the reason":           {sling, event.Returned{From: keeper, Said: "perhaps"}, plain, event.ErrBody},
		"text that is not UTF-8":          {sling, event.Held{Reason: "\xff"}, plain, nil},
		"a station with a space":          {sling, event.Held{Reason: "x"}, store.Act{Station: "counter 1", Way: "hand"}, nil},
		"no station":                      {sling, event.Held{Reason: "x"}, store.Act{Way: "hand"}, nil},
		"a body of 100 kB":                {sling, event.Held{Reason: strings.Repeat("x", 100_000)}, plain, nil},
		"no subject":                      {state.Sling{}, event.Held{Reason: "x"}, plain, store.ErrContradicts},
		"an inspection of nothing":        {unknown, event.Inspected{}, plain, nil},
	}
	before := head(t, s)
	for name, c := range cases {
		_, err := s.Do(t.Context(), c.act, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
			_, err := tx.Append(ctx, event.Sling(c.sling.ID), c.sling.Heads, c.body)
			if err == nil || c.want != nil && !errors.Is(err, c.want) {
				t.Errorf("%s: got %v, want %v", name, err, c.want)
			}
			return nil, nil
		})
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if at := head(t, s).At; at != before.At {
			t.Errorf("%s: was written at %d", name, at)
		}
	}
}

func TestEnvelope(t *testing.T) {
	clock := &storetest.Clock{T: time.Date(2026, 3, 1, 23, 30, 0, 123_456_789, time.UTC)}
	s, keeper, _ := storetest.New(t, store.Options{Program: "v1.2.3", Now: clock.Now})
	sling := storetest.Register(t, s, 1)
	before := head(t, s)
	rec, err := append1(t.Context(), s, store.Act{By: keeper, Station: "counter-1", Way: "scanner"}, sling, event.Held{Reason: "x"})
	if err != nil {
		t.Fatal(err)
	}
	e := rec.Envelope
	if e.At != before.At+1 || e.Prev != before.Hash || e.Log != before.Log || e.Crib != before.Crib || head(t, s).Hash != rec.Hash {
		t.Errorf("not chained: %+v after %+v", e, before)
	}
	if e.By != keeper || e.Station != "counter-1" || e.Way != "scanner" || e.Program != "v1.2.3" || e.Boot == (event.BootID{}) {
		t.Errorf("%+v", e)
	}
	// Berlin is an hour ahead in winter: there it is the next day already.
	if !e.UTC.Equal(clock.T.Truncate(time.Millisecond)) || e.Day.String() != "2026-03-02" {
		t.Errorf("stamped %s, %s", e.UTC, e.Day)
	}
	if len(e.Parents) != 1 || e.Parents[0] != sling.Heads[0] {
		t.Errorf("parents %v, want %v", e.Parents, sling.Heads)
	}
}

// The newest event is the floor for time and date.
func TestClock(t *testing.T) {
	start := time.Date(2026, 3, 10, 12, 0, 0, 0, time.UTC)
	clock := &storetest.Clock{T: start}
	s, _, _ := storetest.New(t, store.Options{Program: "test", Now: clock.Now})
	sling := storetest.Register(t, s, 1)
	for _, c := range []struct {
		name  string
		now   time.Duration
		doubt event.ClockDoubt
		day   string
		stamp time.Time
	}{
		{"a day later", 24 * time.Hour, event.ClockSure, "2026-03-11", start.Add(24 * time.Hour)},
		{"a minute back", 24*time.Hour - time.Minute, event.ClockSure, "2026-03-11", start.Add(24 * time.Hour)},
		{"two minutes back", 24*time.Hour - 2*time.Minute, event.ClockSure, "2026-03-11", start.Add(24 * time.Hour)},
		{"a little more", 24*time.Hour - 2*time.Minute - time.Millisecond, event.ClockBehind, "2026-03-11", start.Add(24 * time.Hour)},
		{"a year back", -365 * 24 * time.Hour, event.ClockBehind, "2026-03-11", start.Add(24 * time.Hour)},
		{"right again", 25 * time.Hour, event.ClockSure, "2026-03-11", start.Add(25 * time.Hour)},
	} {
		clock.T = start.Add(c.now)
		got, err := s.Clock(t.Context())
		if err != nil || got.Doubt != c.doubt || got.Today().String() != c.day {
			t.Errorf("%s: today %s, doubt %v, %v", c.name, got.Today(), got.Doubt, err)
		}
		_, err = s.Do(t.Context(), plain, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
			if got := tx.Clock(); got.Doubt != c.doubt || tx.Today().String() != c.day || !tx.Now().Equal(c.stamp) {
				t.Errorf("%s: in an act: doubt %v, today %s, now %s", c.name, got.Doubt, tx.Today(), tx.Now())
			}
			rec, err := tx.Append(ctx, event.Sling(sling.ID), sling.Heads, event.Held{Reason: c.name})
			sling.Heads = []event.Hash{rec.Hash}
			if !rec.Envelope.UTC.Equal(c.stamp) || rec.Envelope.Day.String() != c.day || rec.Envelope.Doubt != c.doubt {
				t.Errorf("%s: stamped %s %s, doubt %v", c.name, rec.Envelope.UTC, rec.Envelope.Day, rec.Envelope.Doubt)
			}
			return nil, err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
}

func TestBulk(t *testing.T) {
	clock := &storetest.Clock{T: time.Date(2026, 1, 5, 7, 0, 0, 0, time.UTC)}
	s, _, _ := storetest.New(t, store.Options{Program: "test", Now: clock.Now})
	if err := storetest.Fill(t.Context(), s, clock, 20, 500); err != nil {
		t.Fatal(err)
	}
	list, err := s.Since(t.Context(), 0, 1000)
	if err != nil || len(list) < 500 {
		t.Fatalf("%d events, %v", len(list), err)
	}
	for i, r := range list[4:] {
		if gap := r.Envelope.UTC.Sub(list[i+3].Envelope.UTC); gap != time.Second {
			t.Fatalf("position %d comes %s after the one before", r.Envelope.At, gap)
		}
	}
	before := head(t, s)
	sentinel := errors.New("no more")
	err = s.Bulk(t.Context(), plain, func(ctx context.Context, tx *store.Tx) error {
		d := storetest.Sling(100)
		if _, err := tx.Append(ctx, event.Sling(event.SlingOf(storetest.Key, d.Ident)), nil, event.Registered{Details: d}); err != nil {
			return err
		}
		return sentinel
	})
	if !errors.Is(err, sentinel) || head(t, s) != before {
		t.Errorf("a bulk that fails: %v", err)
	}
}

func TestWatch(t *testing.T) {
	s, _, _ := storetest.New(t, store.Options{Program: "test"})
	ctx, stop := context.WithCancel(t.Context())
	slow, quick := s.Watch(ctx), s.Watch(t.Context())
	for n := range 5 {
		storetest.Register(t, s, n)
		if at := <-quick; at != head(t, s).At {
			t.Errorf("told of %d, the head is %d", at, head(t, s).At)
		}
	}
	if at := <-slow; at != head(t, s).At { // the newest only; nobody waited for it
		t.Errorf("told of %d, the head is %d", at, head(t, s).At)
	}
	stop()
	if at, open := <-slow; open {
		t.Errorf("told of %d after the end", at)
	}
}

// appendTo is an act that adds one event to a story that has none yet.
func appendTo(subject event.Subject, body event.Body) func(context.Context, *store.Tx) ([]byte, error) {
	return appendAfter(subject, nil, body)
}

func appendAfter(subject event.Subject, seen []event.Hash, body event.Body) func(context.Context, *store.Tx) ([]byte, error) {
	return func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		_, err := tx.Append(ctx, subject, seen, body)
		return nil, err
	}
}
