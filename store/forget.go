package store

import (
	"context"
	"database/sql"
	"fmt"
	"sort"
	"time"

	"cribgate/core/event"
)

// How long an answer is kept for whoever asks again with its key, and how many of
// the newest events' answers are kept however old they are (both site policy of
// this program, no source). Whoever hands out keys must not take one for a new act
// that is nearly as old as AnswersKept.
const (
	AnswersKept   = 30 * 24 * time.Hour
	newestAnswers = 1000
)

// forgetAtOnce is how many answers go in one transaction, so that nobody waits
// long for the register.
const forgetAtOnce = 500

// ForgetAnswers removes the answers that are older than AnswersKept, and tells how
// many. The log is not touched. While the clock is in doubt nothing is removed:
// who knows then how old they are?
func (s *Store) ForgetAnswers(ctx context.Context) (n int64, err error) {
	clock, err := s.Clock(ctx)
	if err != nil {
		return 0, fmt.Errorf("store: forget answers: %w", err)
	}
	if clock.Doubt != event.ClockSure {
		return 0, nil
	}
	now := clock.Reads
	if clock.Newest.Before(now) {
		now = clock.Newest
	}
	upTo, err := s.until(ctx, now.Add(-AnswersKept))
	if err != nil {
		return 0, fmt.Errorf("store: forget answers: %w", err)
	}
	for {
		var gone int64
		err := s.db.Tx(ctx, func(tx *sql.Tx) error {
			done, err := tx.ExecContext(ctx, sqlForgetAnswers, upTo, forgetAtOnce)
			if err == nil {
				gone, err = done.RowsAffected()
			}
			return err
		})
		if err != nil {
			return n, fmt.Errorf("store: forget answers: %w", explain(err))
		}
		n += gone
		if gone < forgetAtOnce {
			return n, nil
		}
	}
}

// until is the newest position of before a moment, 0 for none; the newest events
// are left out. Where the clock was corrected backwards times do not ascend; what is
// found is from before the moment then too, and so is all that is before it.
func (s *Store) until(ctx context.Context, moment time.Time) (int64, error) {
	head, err := s.Head(ctx)
	if err != nil {
		return 0, err
	}
	var failed error
	later := sort.Search(int(max(0, head.At-newestAnswers)), func(i int) bool {
		list, err := s.Since(ctx, int64(i), 1)
		if err == nil && len(list) == 0 {
			err = fmt.Errorf("position %d: %w", i+1, ErrNotFound)
		}
		if err != nil {
			failed = err
			return true
		}
		return !list[0].Envelope.UTC.Before(moment)
	})
	return int64(later), failed
}
