package web

import (
	"slices"

	"cribgate/core/gate"
	"cribgate/core/rating"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
	"cribgate/store"
)

// instead finds a sling that would do instead of one that stays: among those that
// hang here with as many legs, of its size and the next ones up, the one whose
// capacity is least wasted, then the one that is due last. It looks at a bounded
// number, so it may miss one; it never names one that the gate refuses.
func (s *Server) instead(v *visit, si sight) (state.Sling, bool, error) {
	const sizes, each = 4, 50
	if !si.complete || slices.ContainsFunc(si.codes, noSlingHelps) {
		return state.Sling{}, false, nil
	}
	ctx := v.r.Context()
	var best state.Sling
	var bestAnswer gate.Answer
	for _, size := range sizesFrom(si.sling.Details.Sling.Size, sizes) {
		list, _, err := s.Store.List(ctx, store.Query{Text: size, States: []gate.State{gate.StateIn}, Limit: each})
		if err != nil {
			return state.Sling{}, false, err
		}
		for _, other := range list {
			if !couldGo(v, si, other) {
				continue
			}
			lift := si.stated.forSling(other.Details.Sling, si.ask.Lift.Singles, gate.Unshortened)
			answer, err := gate.Decide(counter.Question(other, v.crib.Founded.Policy, v.today, &lift))
			if err != nil || !answer.May() {
				continue // what cannot be asked of it, it does not serve
			}
			if best.ID.IsZero() || better(other, answer, best, bestAnswer) {
				best, bestAnswer = other, answer
			}
		}
	}
	return best, !best.ID.IsZero(), nil
}

// couldGo leaves out slings that the counter would not hand over whatever the
// lift.
func couldGo(v *visit, si sight, other state.Sling) bool {
	_, live := other.Live()
	own := other.PassedBy == v.who.ID && !v.crib.Founded.Policy.OnePerson
	return live && !own && other.Doubt == 0 && other.ID != si.sling.ID &&
		other.Details.Sling.Legs == si.sling.Details.Sling.Legs
}

// better tells whether a wastes less than b, or is due later where they waste the
// same.
func better(a state.Sling, of gate.Answer, b state.Sling, ob gate.Answer) bool {
	if of.Allowed != ob.Allowed {
		return of.Allowed < ob.Allowed
	}
	return a.Details.Sling.Due.After(b.Details.Sling.Due)
}

// noSlingHelps tells whether a reason stands against the person or the machine,
// so that no other sling would go either.
func noSlingHelps(r gate.Reason) bool {
	return slices.Contains([]gate.Reason{
		gate.RoleNotAllowed, gate.RiggerUnknown, gate.RiggerNotCleared, gate.ClockBehind,
		gate.SpecialLift, gate.LiftIncomplete,
	}, r)
}

// sizesFrom spells a size and the next ones up, as the rack is searched by.
func sizesFrom(size rating.Size, n int) []string {
	var list []string
	for place := size.Place(); len(list) < n; place++ {
		next, ok := rating.SizeAt(size.System(), place)
		if !ok {
			break
		}
		list = append(list, next.String())
	}
	return list
}
