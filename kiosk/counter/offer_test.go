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
		change  func(s *state.Sling, o *Offering)
	}{
		"nothing against it":           {true, func(*state.Sling, *Offering) {}},
		"two stories":                  {false, func(s *state.Sling, _ *Offering) { s.Doubt = state.Forked }},
		"a crib not understood":        {false, func(_ *state.Sling, o *Offering) { o.Crib.Doubt = state.NotUnderstood }},
		"not compared after a restore": {false, func(_ *state.Sling, o *Offering) { o.Crib.Restored.Log = event.LogID{9} }},
		"impounded":                    {false, func(s *state.Sling, _ *Offering) { s.Impound.By = b.keeper }},
		"at a repairer's":              {false, func(s *state.Sling, _ *Offering) { s.Repair.To = "the maker" }},
		"a defect, dangerous now":      {false, func(s *state.Sling, _ *Offering) { s.Defects = []state.OpenDefect{{No: 1}} }},
		"a defect for before it's back": {false, func(s *state.Sling, _ *Offering) {
			s.Defects = []state.OpenDefect{{No: 1, Defect: event.Defect{By: today}}}
		}},
		"a defect for when it's back": {true, func(s *state.Sling, _ *Offering) {
			s.Defects = []state.OpenDefect{{No: 1, Defect: event.Defect{By: today.AddDays(1)}}}
		}},
		"no tag":                      {false, func(s *state.Sling, _ *Offering) { s.Tags = nil }},
		"held":                        {false, func(s *state.Sling, _ *Offering) { s.Details.Sling.State = gate.StateHeld }},
		"not looked at":               {false, func(s *state.Sling, _ *Offering) { s.Details.Sling.State = gate.StateUnchecked }},
		"passed by who hands it over": {false, func(s *state.Sling, o *Offering) { s.PassedBy, o.By = b.inspector, b.inspector }},
		"and in a crib of one person": {true, func(s *state.Sling, o *Offering) {
			s.PassedBy, o.By, o.Crib.Founded.Policy.OnePerson = b.inspector, b.inspector, true
		}},
	} {
		s, o := b.sling(id), Offering{Crib: crib, Today: today}
		c.change(&s, &o)
		back := today.AddDays(1)
		ask := fit.Ask{Now: today, Policy: gate.DefaultPolicy(), Lift: fit.Lift{Lift: gate.Lift{
			Use: gate.UseOrdinary, Load: quantity.Tonne, Hitch: gate.Straight, Legs: s.Details.Sling.Legs, Centred: true, ReturnBy: back,
			Angle: &gate.Angle{From: gate.FromHorizontal, Size: 60 * quantity.Degree},
		}}}
		got, err := fit.NewRack([]fit.Sling{o.Sling(s)}).Choose(ask, 9)
		if err != nil || (len(got.Fits) == 1) != c.offered {
			t.Errorf("%s: %+v, %v", name, got, err)
		}
		unasked := o.Sling(s)
		unasked.Against = fit.Against{}
		if got, err = fit.NewRack([]fit.Sling{unasked}).Choose(ask, 9); err != nil || len(got.Fits)+len(got.Near) != 0 {
			t.Errorf("%s, and nobody asked: %+v, %v", name, got, err)
		}
	}
}
