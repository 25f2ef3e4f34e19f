package counter

import (
	"cribgate/core/fit"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
)

// Choosable is a sling of the register as far as choosing asks, on a day. What stands
// against it beside the gate's own reasons is what would stand at the counter whatever
// the lift: a doubtful record, a custody, no tag to scan, that it is set aside; and for a lift that ends
// later, an examiner's defect that is to be remedied before. What depends on who hands
// it over is asked by [MayOffer].
func Choosable(s state.Sling, crib state.Crib, today quantity.Date) fit.Sling {
	against := Barred(s, crib, today)
	if s.Aside.On(today) {
		against = append(against, gate.SetAside)
	}
	x := fit.Sling{Sling: s.Details.Sling, Ident: s.Details.Ident, Fittings: s.Details.Fittings, Issues: s.Issues, Against: fit.Known(against...)}
	for _, d := range s.Defects {
		x.Against = x.Against.After(d.By, gate.DefectBeforeReturn)
	}
	return x
}

// MayOffer tells whether a sling that fits may be offered by who would hand it over,
// which [Choosable] could not know: whoever passed it does not make its next issue.
func MayOffer(s state.Sling, crib state.Crib, who Who) bool {
	return s.PassedBy.IsZero() || s.PassedBy != who.Person || crib.Founded.Policy.OnePerson
}

// Barred gives the reasons beside the gate's own why a sling would not go to anybody on
// a day, whatever the lift.
func Barred(s state.Sling, crib state.Crib, day quantity.Date) []gate.Reason {
	codes := append(Doubts(s.Doubt|crib.Doubt), Uncompared(crib, s)...)
	codes = append(codes, Kept(s, day, quantity.Date{})...)
	if _, live := s.Live(); !live {
		codes = append(codes, gate.TagUnconfirmed)
	}
	return codes
}
