package state

import (
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
)

// What is set aside is so up to the end of its day, whoever looks, and until it goes
// out, is lost or ends; a hold leaves it so.
func TestSetAside(t *testing.T) {
	aside := event.SetAside{Lift: event.LiftID{1}, Rigger: who, Day: on("2026-03-05")}
	for _, c := range []struct {
		name  string
		then  []event.Body
		stays bool
		doubt Doubt
	}{
		{"nothing more", nil, true, 0},
		{"held", []event.Body{event.Held{Reason: "nick"}}, true, 0},
		{"held and released", []event.Body{event.Held{Reason: "nick"}, event.Released{Reason: "fine"}}, true, 0},
		{"put back", []event.Body{event.PutBack{Lift: event.LiftID{1}}}, false, 0},
		{"put back for another lift", []event.Body{event.PutBack{Lift: event.LiftID{2}}}, true, 0},
		{"issued", []event.Body{event.Issued{Rigger: event.PersonID{2}, Serial: 1}}, false, 0},
		{"issued and back", []event.Body{event.Issued{Rigger: who, Serial: 1}, event.Returned{From: who, Said: event.Nothing}}, false, 0},
		{"taken", []event.Body{event.Taken{}}, false, 0},
		{"lost", []event.Body{event.Lost{}}, false, 0},
		{"retired", []event.Body{event.Retired{}}, false, 0},
	} {
		s := FoldSling(id, story(append([]event.Body{event.Registered{Details: details()}, aside}, c.then...)...))
		if (s.Aside.SetAside == aside) != c.stays || s.Doubt != c.doubt {
			t.Errorf("%s: %+v, doubt %b", c.name, s.Aside, s.Doubt)
		}
		text, err := s.Encode()
		if again, err2 := DecodeSling(text); err != nil || err2 != nil || again.Aside != s.Aside {
			t.Errorf("%s: %v, %v", c.name, err, err2)
		}
	}
	s := FoldSling(id, story(event.Registered{Details: details()}, aside))
	if !s.Aside.On(on("2026-03-04")) || !s.Aside.On(on("2026-03-05")) || s.Aside.On(on("2026-03-06")) || (Aside{}).On(on("2026-03-05")) {
		t.Error("a sling is set aside up to its day")
	}
	out := FoldSling(id, story(event.Registered{Details: details()}, event.Issued{Rigger: who, Serial: 1}, aside))
	if out.Doubt != Contradicts || out.Details.Sling.State != gate.StateOut {
		t.Errorf("one that is out was set aside: doubt %b", out.Doubt)
	}
}

// A lift is open until slings went out for it or it is given up; what is said of
// another changes nothing.
func TestPlanned(t *testing.T) {
	lift := event.LiftPlanned{Lift: event.LiftID{1}, Day: on("2026-03-05"), What: "pump"}
	fold := func(bodies ...event.Body) (p Planned) {
		for _, b := range bodies {
			p = p.Apply(who, Event{By: event.PersonID{9}, Body: b})
		}
		return p
	}
	if p := fold(lift); !p.Open() || p.Rigger != who || p.By != (event.PersonID{9}) {
		t.Errorf("%+v", p)
	}
	if p := fold(lift, event.LiftGivenUp{Lift: event.LiftID{2}}, event.LiftDrawn{Lift: event.LiftID{2}, Loan: event.LoanID{1}}, event.LiftPlanned{Lift: event.LiftID{2}}); !p.Open() || p.What != "pump" {
		t.Errorf("by what is said of another: %+v", p)
	}
	if p := fold(lift, event.LiftGivenUp{Lift: event.LiftID{1}, Why: "rain"}); p.Open() || p.Why != "rain" {
		t.Errorf("given up: %+v", p)
	}
	if p := fold(lift, event.LiftDrawn{Lift: event.LiftID{1}, Loan: event.LoanID{1}}, event.LiftDrawn{Lift: event.LiftID{1}, Loan: event.LoanID{1}}); p.Open() || len(p.Loans) != 1 {
		t.Errorf("drawn: %+v", p)
	}
	if p := fold(event.LiftGivenUp{Lift: event.LiftID{1}}); p.Open() || !p.Lift.IsZero() {
		t.Errorf("never planned: %+v", p)
	}
}
