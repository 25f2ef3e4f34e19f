package store

import (
	"context"
	"fmt"
	"sort"
	"time"
)

// Growth says how fast a register grows.
type Growth struct {
	Bytes  int64 // of the file, its write-ahead log apart
	PerDay int64 // bytes a day over the last weeks; 0 where nothing was recorded in them
}

// GrowthWeeks is over how many weeks growth is measured (site policy of this
// program, no source): a quiet week alone would promise too much.
const GrowthWeeks = 4

// Growth measures how fast the register has grown in the weeks before now, by the
// events that were recorded in them and the bytes that one has taken so far.
func (s *Store) Growth(ctx context.Context, now time.Time) (Growth, error) {
	g, err := s.growth(ctx, now)
	if err != nil {
		return Growth{}, fmt.Errorf("store: growth: %w", explain(err))
	}
	return g, nil
}

func (s *Store) growth(ctx context.Context, now time.Time) (g Growth, err error) {
	if g.Bytes, err = s.db.Bytes(ctx); err != nil {
		return Growth{}, err
	}
	head, err := s.Head(ctx)
	if err != nil {
		return Growth{}, err
	}
	since := now.AddDate(0, 0, -7*GrowthWeeks)
	first, err := s.timeOf(ctx, 1)
	if err != nil {
		return Growth{}, err
	}
	if first.After(since) {
		since = first
	}
	before := int64(sort.Search(int(head.At), func(i int) bool { // how many events are older
		at, findErr := s.timeOf(ctx, int64(i)+1)
		if findErr != nil {
			err = findErr
		}
		return findErr != nil || !at.Before(since)
	}))
	if err != nil {
		return Growth{}, err
	}
	days := max(1, now.Sub(since).Hours()/24)
	g.PerDay = int64(float64(head.At-before) / days * float64(g.Bytes) / float64(head.At))
	return g, nil
}

// timeOf gives when the event of a position was recorded. Times do not go back
// from one position to the next, unless a clock was corrected in between.
func (r Reader) timeOf(ctx context.Context, at int64) (time.Time, error) {
	list, err := r.Since(ctx, at-1, 1)
	if err != nil {
		return time.Time{}, err
	}
	if len(list) == 0 {
		return time.Time{}, damaged(at, "it is gone")
	}
	return list[0].Envelope.UTC, nil
}
