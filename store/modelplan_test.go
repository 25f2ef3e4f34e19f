package store_test

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"slices"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/store"
)

// plansDiffer tells where the lists of planned lifts, and of what is set aside for
// them, are not what a plain look through the log finds.
func (m *machine) plansDiffer(ctx context.Context, r store.Reader) error {
	first, _ := quantity.NewDate(2026, 2, 10)
	last := first.AddDays(9)
	for _, c := range []struct {
		what string
		got  func() ([]state.Planned, error)
		want func(rigger event.PersonID, lift event.LiftID, day quantity.Date) bool
	}{
		{"on the days", func() ([]state.Planned, error) { return r.PlannedOn(ctx, first, last) },
			func(_ event.PersonID, _ event.LiftID, day quantity.Date) bool {
				return !day.Before(first) && !day.After(last)
			}},
		{"by the keeper", func() ([]state.Planned, error) { return r.PlannedBy(ctx, m.keeper, first) },
			func(rigger event.PersonID, _ event.LiftID, day quantity.Date) bool {
				return rigger == m.keeper && !day.Before(first)
			}},
		{"as one", func() ([]state.Planned, error) {
			one, err := r.Planned(ctx, event.LiftID{1})
			if errors.Is(err, store.ErrNotFound) {
				return nil, nil
			}
			return []state.Planned{one}, err
		}, func(_ event.PersonID, lift event.LiftID, _ quantity.Date) bool { return lift == event.LiftID{1} }},
	} {
		got, err := c.got()
		want := m.plans(c.what != "as one", c.want)
		if c.what == "as one" && len(want) > 1 {
			want = want[:1]
		}
		if err != nil || len(got) != len(want) || len(got) > 0 && !reflect.DeepEqual(got, want) {
			return fmt.Errorf("planned %s: %+v, want %+v, %w", c.what, got, want, err)
		}
	}
	for _, lift := range []event.LiftID{{1}, {2}} {
		for day := first; !day.After(last); day = day.AddDays(1) {
			list, err := r.SetAsideFor(ctx, day, lift)
			if err := m.same(idsOf(list), err, func(s plainSling) bool { return s.aside.Lift == lift && s.aside.Day == day }); err != nil {
				return fmt.Errorf("set aside for %s on %s: %w", lift, day, err)
			}
		}
	}
	list, err := r.SetAsideFrom(ctx, first)
	if err := m.same(idsOf(list), err, func(s plainSling) bool { return !s.aside.Lift.IsZero() && !s.aside.Day.Before(first) }); err != nil {
		return fmt.Errorf("set aside from %s: %w", first, err)
	}
	return nil
}

func idsOf(list []state.Sling) []event.SlingID {
	ids := []event.SlingID{}
	for _, s := range list {
		ids = append(ids, s.ID)
	}
	return ids
}

// plans folds what the events say that are asked for, in their order or by day.
func (m *machine) plans(byDay bool, asked func(event.PersonID, event.LiftID, quantity.Date) bool) []state.Planned {
	type said struct {
		day    quantity.Date
		rigger event.PersonID
		rec    store.Record
		lift   event.LiftID
	}
	var list []said
	for _, rec := range m.m.log {
		s := said{rigger: rec.Envelope.Subject.Person(), rec: rec}
		switch b := rec.Body.(type) {
		case event.LiftPlanned:
			s.lift, s.day = b.Lift, b.Day
		case event.LiftGivenUp:
			s.lift, s.day = b.Lift, b.Day
		case event.LiftDrawn:
			s.lift, s.day = b.Lift, b.Day
		default:
			continue
		}
		if asked(s.rigger, s.lift, s.day) {
			list = append(list, s)
		}
	}
	if byDay {
		slices.SortStableFunc(list, func(a, b said) int { return a.day.Compare(b.day) })
	}
	var order []event.LiftID
	plans := map[event.LiftID]*state.Planned{}
	for _, s := range list {
		p := plans[s.lift]
		if p == nil {
			p = &state.Planned{}
			plans[s.lift], order = p, append(order, s.lift)
		}
		switch b := s.rec.Body.(type) {
		case event.LiftPlanned:
			if p.Lift.IsZero() {
				p.LiftPlanned, p.Rigger, p.By = b, s.rigger, s.rec.Envelope.By
			}
		case event.LiftGivenUp:
			if !p.Lift.IsZero() {
				p.GivenUp, p.Why = true, b.Why
			}
		case event.LiftDrawn:
			if !p.Lift.IsZero() && !slices.Contains(p.Loans, b.Loan) {
				p.Loans = append(p.Loans, b.Loan)
			}
		}
	}
	var out []state.Planned
	for _, id := range order {
		if !plans[id].Lift.IsZero() {
			out = append(out, *plans[id])
		}
	}
	return out
}
