package store_test

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/store"
	"cribgate/store/storetest"
)

// asked does an act under a key and tells whether it was done now or long ago.
func asked(t *testing.T, s *store.Store, id event.SlingID, key string) (answer string, now bool) {
	t.Helper()
	said, err := s.Do(t.Context(), store.Act{Station: "test", Way: "hand", Key: key}, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		now = true
		return toggle(ctx, tx, id)
	})
	if err != nil {
		t.Fatalf("%s: %v", key, err)
	}
	return string(said), now
}

// Answers go when they are older than thirty days and newer events have come after
// them; the log, the present and what is younger stay.
func TestForgetAnswers(t *testing.T) {
	const many = 520 // more than go in one transaction
	clock := &storetest.Clock{T: time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)}
	s, _, _ := storetest.New(t, store.Options{Now: clock.Now, Program: "test"})
	id := storetest.Register(t, s, 9999).ID
	var answers []string
	for n := range many {
		answer, _ := asked(t, s, id, fmt.Sprint("old ", n))
		answers = append(answers, answer)
	}
	last := clock.T
	forgets := func(want int64) {
		t.Helper()
		if got, err := s.ForgetAnswers(t.Context()); err != nil || got != want {
			t.Fatalf("%s later %d answers were forgotten, want %d (%v)", clock.T.Sub(last), got, want, err)
		}
	}
	if err := storetest.Fill(t.Context(), s, clock, 20, 1200); err != nil {
		t.Fatal(err)
	}
	clock.T = last.Add(store.AnswersKept - time.Second)
	asked(t, s, id, "young")
	forgets(0)
	clock.T = last.Add(store.AnswersKept + time.Second)
	forgets(0) // the register does not know yet that it is so late
	asked(t, s, id, "new")
	head, before := dumped(t, s)
	forgets(many)
	forgets(0)
	if after, dump := dumped(t, s); after != head || dump != before {
		t.Errorf("forgetting changed the register: %v was %v", after, head)
	}
	for _, key := range []string{"young", "new"} {
		if _, now := asked(t, s, id, key); now {
			t.Errorf("%s was done twice", key)
		}
	}
	if _, known, err := s.Answered(t.Context(), "old 0"); known || err != nil {
		t.Errorf("the oldest answer is there: %v", err)
	}
	if answer, now := asked(t, s, id, "old 519"); !now || answer == answers[519] {
		t.Errorf("a key that was forgotten is answered %q", answer)
	}
}

// Nobody knows how old an answer is while the clock is in doubt.
func TestForgetNothingInDoubt(t *testing.T) {
	clock := &storetest.Clock{T: time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)}
	s, _, _ := storetest.New(t, store.Options{Now: clock.Now, Program: "test",
		Machine: func() (event.BootID, time.Duration, error) { return event.BootID{1}, time.Hour, nil }})
	id := storetest.Register(t, s, 9999).ID
	asked(t, s, id, "old")
	goesOn(t, s, id)
	clock.T = clock.T.Add(store.AnswersKept + time.Hour)
	if n, err := s.ForgetAnswers(t.Context()); err != nil || n != 0 {
		t.Errorf("%d were forgotten, %v", n, err)
	}
	if _, known, err := s.Answered(t.Context(), "old"); !known || err != nil {
		t.Errorf("the answer is gone: %v", err)
	}
}

// The answers of the newest events stay, however old they are.
func TestNewestAnswersStay(t *testing.T) {
	clock := &storetest.Clock{T: time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)}
	s, _, _ := storetest.New(t, store.Options{Now: clock.Now, Program: "test"})
	id := storetest.Register(t, s, 9999).ID
	asked(t, s, id, "old")
	clock.T = clock.T.Add(2 * store.AnswersKept)
	for n := range 3 {
		asked(t, s, id, fmt.Sprint("new ", n))
	}
	if n, err := s.ForgetAnswers(t.Context()); err != nil || n != 0 {
		t.Errorf("%d were forgotten, %v", n, err)
	}
	goesOn(t, s, id)
	if n, err := s.ForgetAnswers(t.Context()); err != nil || n != 1 {
		t.Errorf("%d were forgotten after more than a thousand events, %v", n, err)
	}
}

// goesOn adds more events than those whose answers stay in any case.
func goesOn(t *testing.T, s *store.Store, id event.SlingID) {
	t.Helper()
	err := s.Bulk(t.Context(), store.Act{Station: "test", Way: "hand"}, func(ctx context.Context, tx *store.Tx) error {
		for range 1100 {
			if _, err := toggle(ctx, tx, id); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

func dumped(t *testing.T, s *store.Store) (store.Head, string) {
	t.Helper()
	var text strings.Builder
	head, err := s.Head(t.Context())
	if err := errors.Join(err, s.Dump(t.Context(), &text)); err != nil {
		t.Fatal(err)
	}
	return head, text.String()
}
