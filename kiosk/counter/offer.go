package counter

import (
	"cribgate/core/event"
	"cribgate/core/fit"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
)

// An Offering turns slings of the register into those that choosing asks about, so
// that none is offered which the counter would not hand over. Who takes it, what the
// tag in the hand says, and the clock are not looked at: whoever hands over is asked
// again.
type Offering struct {
	Crib  state.Crib
	Today quantity.Date
	By    event.PersonID // who would hand over; zero: nobody yet, as in a plan
}

// Sling is one sling with all that is known against it, whatever the lift. It is not
// offered for longer than until a defect that an examiner found is to be remedied.
func (o Offering) Sling(s state.Sling) fit.Sling {
	against := append(Doubts(s.Doubt|o.Crib.Doubt), Uncompared(o.Crib, s)...)
	against = append(against, Kept(s, o.Today, quantity.Date{})...)
	if _, live := s.Live(); !live {
		against = append(against, gate.TagUnconfirmed)
	}
	if !o.By.IsZero() && s.PassedBy == o.By && !o.Crib.Founded.Policy.OnePerson {
		against = append(against, gate.InspectorIssuesOwn)
	}
	f := fit.Sling{Sling: s.Details.Sling, Ident: s.Details.Ident, Fittings: s.Details.Fittings, Issues: s.Issues, Against: fit.Known(against...)}
	for _, d := range s.Defects {
		if d.By.Before(f.Due) {
			f.Due = d.By
		}
	}
	return f
}
