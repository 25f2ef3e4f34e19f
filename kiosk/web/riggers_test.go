package web

import (
	"context"
	"crypto/rand"
	"slices"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/state"
	"cribgate/store"
)

func TestIsMeant(t *testing.T) {
	for _, x := range []struct {
		find string
		want bool
	}{
		{"", true}, {"mar", true}, {"I. Maro", true}, {"maro i", true}, {"im", true}, {"I.M.", true}, {"i m", true}, {"i", true},
		{"mi", false}, {"imx", false}, {"x", false},
	} {
		if got := isMeant("I. Maro", x.find); got != x.want {
			t.Errorf("%q means I. Maro: %t", x.find, got)
		}
	}
}

// draws writes down that a sling went out to somebody, signed for by another where a
// learner handed it over.
func (k *kiosk) draws(ident string, to state.Person, line event.Line, marked string) {
	k.t.Helper()
	id, _ := k.hanging(ident, nil)
	random, err := event.NewPersonID(rand.Reader)
	if err != nil {
		k.t.Fatal(err)
	}
	line.Loan = event.LoanID(random)
	act := store.Act{By: k.attendant.ID, Station: station, Way: "scanner"}
	if _, err := k.store.Do(k.t.Context(), act, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		_, err := tx.Append(ctx, event.Sling(id), k.sling(id).Heads, event.Issued{
			Rigger: to.ID, Serial: 1, Marked: marked, Line: line, Verdict: event.Verdict{Question: "{}", Answer: "{}", Edition: "test"}})
		return nil, err
	}); err != nil {
		k.t.Fatal(err)
	}
}

// Whoever drew something last stands first, the latest first; the others by name.
func TestRecentFirst(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	for _, name := range []string{"A. Alder", "B. Birch", "C. Cedar"} {
		k.add(name, event.Rigger)
	}
	var names []RiggerName
	for _, name := range []string{"A. Alder", "B. Birch", "C. Cedar", "T. Brandt"} {
		names = append(names, RiggerName{ID: k.named(name).ID.String(), Name: name})
	}
	of := func(list []RiggerName) string {
		var out []string
		for _, n := range list {
			out = append(out, n.Name)
		}
		return strings.Join(out, ", ")
	}
	recent, others, err := k.server.recentFirst(t.Context(), slices.Clone(names))
	if err != nil || len(recent) > 0 || of(others) != "A. Alder, B. Birch, C. Cedar, T. Brandt" {
		t.Errorf("nobody was here: %s; %s; %v", of(recent), of(others), err)
	}
	for i, name := range []string{"T. Brandt", "B. Birch"} {
		k.draws("NS-100"+itoa(i), k.named(name), event.Line{Lift: 1}, "")
	}
	recent, others, err = k.server.recentFirst(t.Context(), names)
	if err != nil || of(recent) != "B. Birch, T. Brandt" || of(others) != "A. Alder, C. Cedar" {
		t.Errorf("first %s; then %s; %v", of(recent), of(others), err)
	}
}
