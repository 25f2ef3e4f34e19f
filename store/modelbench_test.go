package store_test

import (
	"context"
	"fmt"
	"maps"
	"math/big"
	"slices"
	"strings"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/store"
)

// plainBench is what the bench knows of a sling, told a second time.
type plainBench struct {
	said     event.Said // the gravest of what holds it
	seized   bool
	holder   string // of what is impounded
	repairer string
	throats  [3]quantity.Length // of new hooks, by leg
	last     int                // defect
	remedies map[int]quantity.Date
	wear     []wornAt
}

type wornAt struct {
	on   quantity.Date
	used int
}

func (b *plainBench) says(said event.Said) {
	if b.said != event.Something {
		b.said = said
	}
}

func (b *plainBench) set(f event.Figure) { b.throats[f.Of.Leg] = f.Value }

func (b *plainBench) changed(parts []event.Piece) {
	for _, p := range parts {
		b.throats[p.Leg], b.wear = 0, nil
	}
}

func (b *plainBench) defect(open *[]int, d event.Defect) {
	b.last++
	b.remedies = maps.Clone(b.remedies)
	if b.remedies == nil {
		b.remedies = map[int]quantity.Date{}
	}
	b.remedies[b.last] = d.By
	*open = append(slices.Clone(*open), b.last)
}

// benchOf gives what a register knows, but for when a defect is to be remedied,
// which the order of the queue shows.
func benchOf(s state.Sling) plainBench {
	b := plainBench{said: s.Hold.Said, seized: s.Impound != state.Impound{}, holder: s.Impound.Holder, repairer: s.Repair.To, last: s.LastDefect}
	for _, n := range s.New {
		b.throats[n.Of.Leg] = n.Value
	}
	for _, w := range s.Wear {
		b.wear = append(b.wear, wornAt{w.Day, w.Used})
	}
	return b
}

// rank gives where a sling stands in the queue of the bench: how grave it is, 0 the
// gravest, and what is due next; false where it is not here.
func (s plainSling) rank() (grave int, next string, here bool) {
	due := s.due
	for _, no := range s.defects {
		if by := s.bench.remedies[no]; !by.IsZero() && (due.IsZero() || by.Before(due)) {
			due = by
		}
	}
	held := s.stands == "held"
	switch {
	case s.bench.seized:
		grave = 0
	case held && s.bench.said == event.Something:
		grave = 1
	case held && s.bench.said == event.NotKnown:
		grave = 2
	case held:
		grave = 3
	case len(s.defects) > 0 || s.wornOut():
		grave = 4
	default:
		grave = 6 // those that worked hard are before them
	}
	return grave, due.String(), slices.Contains([]string{"in", "held", "unchecked"}, s.stands)
}

func (s plainSling) wornOut() bool {
	n := len(s.bench.wear)
	if n < 2 {
		return false
	}
	a, b := s.bench.wear[n-2], s.bench.wear[n-1]
	days := b.on.DaysSince(a.on)
	if days <= 0 || b.used <= a.used {
		return false
	}
	left := big.NewRat(int64(1000-b.used)*int64(days), int64(b.used-a.used)) // days until the limit
	return left.Cmp(big.NewRat(int64(s.due.DaysSince(b.on)), 1)) <= 0
}

// benchDiffers tells where the queue of the bench is not what the facts come to,
// read in pages of two.
func (m *machine) benchDiffers(ctx context.Context, r store.Reader) error {
	type row struct {
		grave int
		next  string
		id    event.SlingID
		ident string
	}
	var want []row
	for n := range m.m.now.slings {
		s := m.m.now.slings[n]
		if grave, next, here := s.rank(); here {
			got, err := r.Sling(ctx, n)
			if err != nil {
				return err
			}
			want = append(want, row{grave, next, n, got.Details.Ident})
		}
	}
	slices.SortFunc(want, func(a, b row) int {
		return strings.Compare(fmt.Sprint(a.grave, " ", a.next, " ", a.ident), fmt.Sprint(b.grave, " ", b.next, " ", b.ident))
	})
	after := ""
	for {
		page, next, err := r.Bench(ctx, after, 2)
		if err != nil {
			return err
		}
		for _, s := range page {
			if len(want) == 0 || s.ID != want[0].id {
				return fmt.Errorf("the bench has %s, want %v", s.ID, want)
			}
			want = want[1:]
		}
		if after = next; after == "" {
			break
		}
	}
	if len(want) > 0 {
		return fmt.Errorf("the bench has not %v", want)
	}
	return nil
}
