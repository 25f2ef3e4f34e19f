package counter

import (
	"testing"

	"cribgate/core/event"
	"cribgate/core/fit"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
)

// What the counter would not hand over is not offered either, though the gate, which
// knows of metal, tag and dates only, would let it go. Nor is a sling of which nobody
// asked.
func TestOnlyWhatWouldGoIsOffered(t *testing.T) {
	b := newBench(t, nil)
	id, _ := b.tagged("NS-0417")
	today := date(t, "2026-03-02")
	crib, err := b.st.Crib(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		offered bool
		change  func(s *state.Sling, c *state.Crib)
	}{
		"nothing against it":           {true, func(*state.Sling, *state.Crib) {}},
		"two stories":                  {false, func(s *state.Sling, _ *state.Crib) { s.Doubt = state.Forked }},
		"a crib not understood":        {false, func(_ *state.Sling, c *state.Crib) { c.Doubt = state.NotUnderstood }},
		"not compared after a restore": {false, func(_ *state.Sling, c *state.Crib) { c.Restored.Log = event.LogID{9} }},
		"impounded":                    {false, func(s *state.Sling, _ *state.Crib) { s.Impound.By = b.keeper }},
		"at a repairer's":              {false, func(s *state.Sling, _ *state.Crib) { s.Repair.To = "the maker" }},
		"a defect, dangerous now":      {false, func(s *state.Sling, _ *state.Crib) { s.Defects = []state.OpenDefect{{No: 1}} }},
		"a defect for before it's back": {false, func(s *state.Sling, _ *state.Crib) {
			s.Defects = []state.OpenDefect{{No: 1, Defect: event.Defect{By: today}}}
		}},
		"a defect for when it's back": {true, func(s *state.Sling, _ *state.Crib) {
			s.Defects = []state.OpenDefect{{No: 1, Defect: event.Defect{By: today.AddDays(1)}}}
		}},
		"failed, and let out all the same": {false, func(s *state.Sling, _ *state.Crib) { s.Failed = []event.Piece{{Hook: true, Leg: 1}} }},
		"no tag":                           {false, func(s *state.Sling, _ *state.Crib) { s.Tags = nil }},
		"held":                             {false, func(s *state.Sling, _ *state.Crib) { s.Details.Sling.State = gate.StateHeld }},
		"not looked at":                    {false, func(s *state.Sling, _ *state.Crib) { s.Details.Sling.State = gate.StateUnchecked }},
		"passed by who hands it over":      {false, func(s *state.Sling, _ *state.Crib) { s.PassedBy = b.inspector }},
		"and in a crib of one person": {true, func(s *state.Sling, c *state.Crib) {
			s.PassedBy, c.Founded.Policy.OnePerson = b.inspector, true
		}},
	} {
		s, now := b.sling(id), crib
		c.change(&s, &now)
		back := today.AddDays(1)
		ask := fit.Ask{Now: today, Policy: gate.DefaultPolicy(), Lift: fit.Lift{Lift: gate.Lift{
			Use: gate.UseOrdinary, Load: quantity.Tonne, Hitch: gate.Straight, Legs: s.Details.Sling.Legs, Centred: true, ReturnBy: back,
			Angle: &gate.Angle{From: gate.FromHorizontal, Size: 60 * quantity.Degree},
		}}}
		got, err := fit.NewRack([]fit.Sling{Choosable(s, now, today)}).Choose(ask, 9)
		if err != nil || (len(got.Fits) == 1 && MayOffer(s, now, b.as(b.inspector, ""))) != c.offered {
			t.Errorf("%s: %+v, %v", name, got, err)
		}
		unasked := Choosable(s, now, today)
		unasked.Against = fit.Against{}
		if got, err = fit.NewRack([]fit.Sling{unasked}).Choose(ask, 9); err != nil || len(got.Fits)+len(got.Near) != 0 {
			t.Errorf("%s, and nobody asked: %+v, %v", name, got, err)
		}
	}
}
