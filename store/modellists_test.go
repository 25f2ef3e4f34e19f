package store_test

import (
	"context"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/store"
)

// listsDiffer tells where a list of the register is not the slings and events that
// a plain look through the facts finds.
func (m *machine) listsDiffer(ctx context.Context, r store.Reader) error {
	hangs := func(s plainSling) bool { return slices.Contains([]string{"in", "unchecked", "held"}, s.stands) }
	for i := range byte(3) {
		who, count := event.PersonID{i}, event.CountID{i}
		if i == 0 {
			who = m.keeper
			count = event.CountID{9} // in which nothing was seen
		}
		for _, c := range []struct {
			q    store.Query
			want func(s plainSling) bool
		}{
			{store.Query{Owes: who}, func(s plainSling) bool { return slices.Contains(s.owes, who) }},
			{store.Query{Doubled: true}, func(s plainSling) bool { return s.doubled }},
			{store.Query{SeenIn: count}, func(s plainSling) bool { return s.count == count }},
			{store.Query{NotSeenIn: count}, func(s plainSling) bool { return s.count != count && hangs(s) }},
			{store.Query{NotSeenIn: count, ByPlace: true}, func(s plainSling) bool { return s.count != count && hangs(s) }},
			{store.Query{NotSeenIn: count, States: []gate.State{gate.StateOut}}, func(s plainSling) bool { return s.count != count && s.stands == "out" }},
			{store.Query{Holder: who}, func(s plainSling) bool { return s.holder == who && s.stands == "out" }},
			{store.Query{States: []gate.State{gate.StateUnchecked}}, func(s plainSling) bool { return s.stands == "unchecked" }},
		} {
			page, _, err := r.List(ctx, c.q)
			got := []event.SlingID{}
			for _, s := range page {
				got = append(got, s.ID)
			}
			if err := m.same(got, err, c.want); err != nil {
				return fmt.Errorf("%+v: %w", c.q, err)
			}
		}
		for _, at := range []string{"", "B", "b-0", "C", "C-9"} {
			key := store.KeyOfPlace(at)
			if at == "" {
				key = ""
			}
			pegs, err := r.Pegs(ctx, key)
			if err := m.samePegs(pegs, err, func(s plainSling) bool { return hangs(s) && begins(s.place, at) }); err != nil {
				return fmt.Errorf("what hangs at %q: %w", at, err)
			}
			pegs, err = r.SeenAt(ctx, count, key)
			if err := m.samePegs(pegs, err, func(s plainSling) bool { return s.count == count && begins(s.seenAt, at) }); err != nil {
				return fmt.Errorf("what was seen at %q: %w", at, err)
			}
		}
		if err := m.loansDiffer(ctx, r, event.LoanID{i + 1}, who); err != nil {
			return err
		}
	}
	if err := m.benchDiffers(ctx, r); err != nil {
		return err
	}
	if err := m.plansDiffer(ctx, r); err != nil {
		return err
	}
	counts, err := r.Count(ctx)
	if err != nil {
		return err
	}
	for stands, n := range counts {
		want := 0
		for _, s := range m.m.now.slings {
			if s.stands == stands.String() {
				want++
			}
		}
		if n != want {
			return fmt.Errorf("%d slings are %s, want %d", n, stands, want)
		}
	}
	return nil
}

// begins tells whether a place, of those that are drawn, begins with another.
func begins(place, with string) bool {
	norm := strings.ReplaceAll(strings.ToUpper(place), "-00", "-0")
	return with == "" || strings.HasPrefix(norm, strings.ToUpper(with))
}

func (m *machine) same(got []event.SlingID, err error, want func(s plainSling) bool) error {
	if err != nil {
		return err
	}
	n := 0
	for id, s := range m.m.now.slings {
		if w := want(s); w != slices.Contains(got, id) {
			return fmt.Errorf("sling %s (%+v) is listed: %t", id, s, !w)
		} else if w {
			n++
		}
	}
	if len(got) != n {
		return fmt.Errorf("%d slings are listed, want %d", len(got), n)
	}
	return nil
}

func (m *machine) samePegs(got []store.Peg, err error, want func(s plainSling) bool) error {
	ids := []event.SlingID{}
	for _, p := range got {
		ids = append(ids, p.ID)
		s := m.m.now.slings[p.ID]
		if p.Stands.String() != s.stands || p.Place != store.KeyOfPlace(s.place) || p.Seen != s.count || !s.count.IsZero() && p.SeenAt != store.KeyOfPlace(s.seenAt) {
			return fmt.Errorf("%+v, want %+v", p, s)
		}
	}
	return m.same(ids, err, want)
}

func (m *machine) loansDiffer(ctx context.Context, r store.Reader, loan event.LoanID, rigger event.PersonID) error {
	var of, shift []store.Record
	var loans []event.LoanID
	last := int64(0)
	for _, rec := range m.m.log {
		b, ok := rec.Body.(event.Issued)
		if !ok || b.Line.Loan.IsZero() {
			continue
		}
		if b.Line.Loan == loan {
			of = append(of, rec)
		}
		if b.Rigger == rigger {
			last = rec.Envelope.At
			loans = append(slices.DeleteFunc(loans, func(l event.LoanID) bool { return l == b.Line.Loan }), b.Line.Loan)
		}
		if b.Line.Lift == 0 {
			shift = append(shift, rec)
		}
	}
	slices.Reverse(shift)
	slices.Reverse(loans)
	same := func(a, b []store.Record) bool {
		return slices.EqualFunc(a, b, func(a, b store.Record) bool { return reflect.DeepEqual(a, b) })
	}
	if got, err := r.Loan(ctx, loan); err != nil || !same(got, of) {
		return fmt.Errorf("loan %s is of %d events, want %d, %w", loan, len(got), len(of), err)
	}
	if got, err := r.LoansOf(ctx, rigger, 2); err != nil || !slices.Equal(got, loans[:min(2, len(loans))]) {
		return fmt.Errorf("loans of %s are %v, want %v, %w", rigger, got, loans, err)
	}
	if at, err := r.LastDrawn(ctx, rigger); err != nil || at != last {
		return fmt.Errorf("%s drew last at %d, want %d, %w", rigger, at, last, err)
	}
	got, err := r.ShiftGear(ctx, 0, 2)
	if err != nil || !same(got, shift[:min(2, len(shift))]) {
		return fmt.Errorf("%d were drawn for a shift, want the newest two of %d, %w", len(got), len(shift), err)
	}
	if len(got) == 2 {
		if more, err := r.ShiftGear(ctx, got[1].Envelope.At, 100); err != nil || !same(more, shift[2:]) {
			return fmt.Errorf("before those, %d were drawn for a shift, want %d, %w", len(more), len(shift)-2, err)
		}
	}
	return nil
}
