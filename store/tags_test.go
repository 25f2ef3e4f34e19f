package store_test

import (
	"cmp"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/store"
	"cribgate/store/storetest"
)

// The lists of tags and of slings that want one are what a walk over every sling
// finds, whatever was printed, confirmed, thrown away, lost and inspected.
func TestTagLists(t *testing.T) {
	r := random(t)
	clock := &storetest.Clock{T: time.Date(2026, 1, 5, 12, 0, 0, 0, time.UTC)}
	s, keeper, _ := storetest.New(t, store.Options{Program: "test", Now: clock.Now})
	slings := make([]state.Sling, 20)
	for n := range slings {
		slings[n] = storetest.Register(t, s, n)
	}
	stocks := []string{"disc", "flag", "plate"}
	found := map[string]int{}
	for step := range 400 {
		clock.T = clock.T.Add(2 * time.Hour)
		n := r.IntN(len(slings))
		slings[n] = storetest.Append(t, s, slings[n].ID, slings[n].Heads, nextOfTags(r, n, slings[n], keeper, stocks))
		if step%40 == 39 {
			checkTagLists(t, s, r, slings, stocks, found)
		}
	}
	for _, list := range []string{"waiting", "lapsed", "spoiled", "wanting"} {
		if found[list] == 0 {
			t.Errorf("nothing was ever %s, which proves too little", list)
		}
	}
}

// nextOfTags draws an event that may follow.
func nextOfTags(r *rand.Rand, n int, now state.Sling, keeper event.PersonID, stocks []string) event.Body {
	serial := now.NextSerial()
	last := state.Tag{}
	if len(now.Tags) > 0 {
		last = now.Tags[len(now.Tags)-1]
	}
	switch pick := r.IntN(12); {
	case pick == 0:
		return event.Refused{}
	case pick == 1 && now.Details.Sling.State.String() == "in":
		return event.Lost{}
	case now.Details.Sling.State.String() == "lost":
		return event.Found{}
	case pick < 4 && now.Details.Sling.State.String() == "in" || now.Details.Sling.State.String() == "held" && pick < 4:
		d := now.Details.Sling.Inspected.AddDays(1)
		outcome := tagcode.Fit
		if pick == 3 && r.IntN(3) == 0 {
			outcome = tagcode.Hold
		}
		return event.Inspected{Date: d, Outcome: outcome, Service: 1, Due: d.AddMonths(12), RatingTag: 1}
	case last.Status == state.TagPrinted && pick < 7:
		return event.TagConfirmed{Serial: serial - 1}
	case last.Status == state.TagPrinted && pick < 9:
		return event.TagSpoiled{Serial: serial - 1, Why: event.SpoiltPrint}
	case r.IntN(3) > 0:
		return event.Refused{}
	}
	b := printed(n, serial, storetest.Key)
	b.Stock = stocks[r.IntN(len(stocks))]
	return b
}

// checkTagLists holds the lists against the slings, and counts what was found on each.
func checkTagLists(t *testing.T, s *store.Store, r *rand.Rand, slings []state.Sling, stocks []string, found map[string]int) {
	t.Helper()
	today, err := s.Today(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	since := today.AddDays(-r.IntN(30))
	for _, stock := range append([]string{"", "none"}, stocks...) {
		for i, name := range []string{"waiting", "lapsed", "spoiled"} {
			kind := []store.TagList{store.TagsWaiting, store.TagsLapsed, store.TagsSpoiled}[i]
			q := store.TagQuery{List: kind, Today: today, Since: since, Stock: stock, Limit: 1 + r.IntN(7)}
			want := tagsByHand(q, slings)
			found[name] += len(want)
			if got := walkTags(t, s, q); !slices.Equal(got, want) {
				t.Errorf("list %d of %q, today %s, since %s:\n%v\nwant\n%v", kind, stock, today, since, got, want)
			}
			if n, err := s.CountTags(t.Context(), q, 1000); err != nil || n != len(want) {
				t.Errorf("list %d of %q: %d counted, want %d, %v", kind, stock, n, len(want), err)
			}
			if n, err := s.CountTags(t.Context(), q, 1); err != nil || n != min(1, len(want)) {
				t.Errorf("list %d of %q: %d counted of at most 1, %v", kind, stock, n, err)
			}
		}
		var want []string
		for _, sling := range slings {
			if sling.Wants() != 0 && (stock == "" || len(sling.Tags) > 0 && sling.Tags[len(sling.Tags)-1].Stock == stock) {
				want = append(want, sling.Details.Ident)
			}
		}
		found["wanting"] += len(want)
		if got := list(t, s, store.Query{WantsTag: true, Stock: stock, Limit: 1 + r.IntN(7)}); !slices.Equal(got, want) {
			t.Errorf("wanting a tag, last on %q: %v, want %v", stock, got, want)
		}
		if n, err := s.CountWants(t.Context(), stock, 1000); err != nil || n != len(want) {
			t.Errorf("wanting a tag, last on %q: %d counted, want %d, %v", stock, n, len(want), err)
		}
	}
}

// tagsByHand is what the list says, worked out from the slings.
func tagsByHand(q store.TagQuery, slings []state.Sling) []string {
	type row struct{ day, ident, serial string }
	var rows []row
	for _, s := range slings {
		st := s.Details.Sling.State.String()
		for _, tag := range s.Tags {
			day, on := tag.Printed, tag.Status == state.TagPrinted && st != "lost" && st != "retired"
			switch q.List {
			case store.TagsWaiting:
				on = on && !tag.Lapsed(q.Today)
			case store.TagsLapsed:
				on = on && tag.Lapsed(q.Today)
			case store.TagsSpoiled:
				day = tag.Spoiled.Day
				on = tag.Status == state.TagSpoiled && !day.Before(q.Since)
			}
			if on && (q.Stock == "" || tag.Stock == q.Stock) {
				rows = append(rows, row{day.String(), s.Details.Ident, fmt.Sprintf("%04d", tag.Serial)})
			}
		}
	}
	slices.SortFunc(rows, func(a, b row) int {
		return cmp.Or(cmp.Compare(a.day, b.day), cmp.Compare(a.ident, b.ident), cmp.Compare(a.serial, b.serial))
	})
	if q.List != store.TagsWaiting {
		slices.Reverse(rows)
	}
	var out []string
	for _, r := range rows {
		out = append(out, r.ident+" "+r.serial)
	}
	return out
}

// walkTags reads every page.
func walkTags(t *testing.T, s *store.Store, q store.TagQuery) []string {
	t.Helper()
	var out []string
	for {
		page, next, err := s.Tags(t.Context(), q)
		if err != nil {
			t.Fatalf("%+v: %v", q, err)
		}
		if len(page) > q.Limit || next != "" && len(page) != q.Limit {
			t.Fatalf("%+v: a page of %d, next %q", q, len(page), next)
		}
		for _, p := range page {
			out = append(out, fmt.Sprintf("%s %04d", p.Sling.Details.Ident, p.Tag.Serial))
		}
		if next == "" {
			return out
		}
		q.After = next
	}
}

func TestTagListsRefuse(t *testing.T) {
	s, _, _ := storetest.New(t, store.Options{Program: "test"})
	today, _ := quantity.NewDate(2026, 3, 2)
	for _, q := range []store.TagQuery{
		{Today: today, Limit: -1}, {Today: today, Limit: store.MaxPage + 1},
	} {
		if _, _, err := s.Tags(t.Context(), q); err == nil {
			t.Errorf("%+v was answered", q)
		}
	}
	for _, after := range []string{"x", "2026-03-01\nX", "2026-03-01\nX\ny", "2026-02-01\nX\n1", "\n\n\n"} {
		if _, _, err := s.Tags(t.Context(), store.TagQuery{Today: today, After: after}); !errors.Is(err, store.ErrCursor) {
			t.Errorf("after %q: %v", after, err)
		}
	}
	for _, q := range []store.Query{{WantsTag: true, ByPlace: true}, {Stock: "disc"}} {
		if _, _, err := s.List(t.Context(), q); err == nil {
			t.Errorf("%+v was answered", q)
		}
	}
}
