package web

import (
	"testing"

	"cribgate/core/event"
	"cribgate/core/state"
	"cribgate/core/tagcode"
)

// What is printed in bold would not go out on the day of the sheet.
func TestRackOnPaper(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id, _ := k.hanging("NS-0417", func(d *event.Details) { d.Sling.Due = k.today().AddDays(3) })
	sling, err := k.store.Sling(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	crib, err := k.store.Crib(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	v := &visit{crib: crib, today: k.today()}
	for _, c := range []struct {
		name   string
		change func(*state.Sling)
		day    int
		stays  bool
	}{
		{"today", func(*state.Sling) {}, 0, false},
		{"on the day when it is due", func(*state.Sling) {}, 3, false},
		{"after it", func(*state.Sling) {}, 4, true},
		{"without a tag", func(s *state.Sling) { s.Tags = nil }, 0, true},
		{"doubtful", func(s *state.Sling) { s.Doubt = state.Forked }, 0, true},
		{"not passed", func(s *state.Sling) { s.Details.Outcome = tagcode.Hold }, 0, true},
		{"set aside", func(s *state.Sling) {
			s.Aside = state.Aside{SetAside: event.SetAside{Day: k.today(), Rigger: k.rigger.ID}}
		}, 0, false},
		{"dangerous", func(s *state.Sling) { s.Defects = []state.OpenDefect{{No: 1}} }, 0, true},
	} {
		s := sling
		c.change(&s)
		if l := rackLine(s, v, v.today.AddDays(c.day), v.wordsOf(nil)); l.Stays != c.stays || l.Ident != "NS-0417" {
			t.Errorf("%s: %+v", c.name, l)
		}
	}
}
