package state

import (
	"slices"

	"cribgate/core/event"
	"cribgate/core/quantity"
)

// Aside is for whom a sling is kept, and for which lift. The zero value is nobody.
type Aside struct {
	event.SetAside
	By event.PersonID // who set it aside
}

// On reports whether the sling is kept for somebody on a day: it lapses by itself when
// its own day is over.
func (a Aside) On(day quantity.Date) bool { return !a.Lift.IsZero() && !a.Day.Before(day) }

// Planned is a lift that a rigger planned for a day. The zero value is none.
type Planned struct {
	event.LiftPlanned
	Rigger  event.PersonID
	By      event.PersonID // who wrote it down
	GivenUp bool
	Why     string         // it was given up
	Loans   []event.LoanID // with which slings went out for it, in their order
}

// Apply adds one event of a rigger's story that is about this lift. The receiver is
// not changed; what comes before the lift was planned says nothing.
func (p Planned) Apply(rigger event.PersonID, e Event) Planned {
	switch b := e.Body.(type) {
	case event.LiftPlanned:
		if p.Lift.IsZero() {
			p = Planned{LiftPlanned: b, Rigger: rigger, By: e.By}
		}
	case event.LiftGivenUp:
		if b.Lift == p.Lift {
			p.GivenUp, p.Why = true, b.Why
		}
	case event.LiftDrawn:
		if b.Lift == p.Lift && !slices.Contains(p.Loans, b.Loan) {
			p.Loans = append(slices.Clone(p.Loans), b.Loan)
		}
	}
	return p
}

// Open reports whether slings are still to go out for the lift.
func (p Planned) Open() bool { return !p.Lift.IsZero() && !p.GivenUp && len(p.Loans) == 0 }
