package web

import (
	"slices"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/rating"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
	"cribgate/store"
)

// instead finds a sling that would do instead of one that stays: among those that
// hang here, of its size and the next ones up, the one whose capacity is least
// wasted, then the one with the least reach, then the one that is due last. It
// looks at a bounded number, so it may miss one; it never names one that the gate
// refuses.
func (s *Server) instead(v *visit, t *turn, si sight, w words) (Walk, error) {
	const sizes, each = 4, 50
	if !si.lifted || slices.ContainsFunc(si.codes, noSlingHelps) {
		return Walk{}, nil
	}
	ctx := v.r.Context()
	var best state.Sling
	var bestAnswer gate.Answer
	for _, size := range sizesFrom(si.sling.Details.Sling.Size, sizes) {
		list, _, err := s.Store.List(ctx, store.Query{Text: size, States: []gate.State{gate.StateIn}, Limit: each})
		if err != nil {
			return Walk{}, err
		}
		for _, other := range list {
			if !couldGo(v, t, si, other) {
				continue
			}
			lift, asked := si.liftFor(v, other)
			if !asked {
				continue
			}
			answer, err := gate.Decide(counter.Question(other, v.crib.Founded.Policy, v.today, lift))
			if err != nil || !answer.May() {
				continue // what cannot be asked of it, it does not serve
			}
			if best.ID.IsZero() || better(other, answer, best, bestAnswer) {
				best, bestAnswer = other, answer
			}
		}
	}
	if best.ID.IsZero() {
		return Walk{}, nil
	}
	return walkTo(t, best, bestAnswer, w), nil
}

// couldGo leaves out slings that the counter would not hand over whatever the
// lift, and those for which the lift was not stated: with other legs than carry or
// than were asked for, or, where the legs lean, with less reach than was asked
// for, since they would lean more.
func couldGo(v *visit, t *turn, si sight, other state.Sling) bool {
	if other.ID == si.sling.ID || !counter.MayOffer(other, v.crib, v.by("", "")) {
		return false
	}
	if other.Aside.Rigger == si.rigger.ID {
		other.Aside = state.Aside{} // it is kept for whoever stands here
	}
	if !counter.Choosable(other, v.crib, v.today).Against.Lets(si.stated.Lift.ReturnBy) {
		return false
	}
	asked, has := si.sling.Details.Sling, other.Details.Sling
	if si.stated.Lift.Angle != nil && (asked.Reach == 0 || has.Reach < asked.Reach) {
		return false
	}
	if si.stated.Shift {
		return has.Legs == asked.Legs
	}
	if !fitsEnds(v, si.stated, other) {
		return false
	}
	if si.stated.Share == event.OneHook {
		return has.Legs == 1
	}
	return has.Legs == si.stated.Lift.Legs || has.Legs == asked.Legs
}

// liftFor is the lift as it would be asked of another sling, nil for a shift; false
// where it cannot be asked of that one.
func (si sight) liftFor(v *visit, other state.Sling) (*gate.Lift, bool) {
	if si.stated.Shift {
		return nil, true
	}
	lift, against := counter.Of(si.stated.StatedLift, other.Details.Sling, counter.Part{Carries: si.ask.Lift.Load}, v.crib.Founded.Units)
	return &lift, against == gate.NotDecided
}

// fitsEnds tells whether the ends of a sling are known to be what the lift asks for:
// what somebody has to look at first is not named as what would do.
func fitsEnds(v *visit, stated statedLift, other state.Sling) bool {
	fit := other.Details.Fittings
	if stated.Lower != "" && fit.Lower != stated.Lower {
		return false
	}
	if stated.Crane == "" {
		return true
	}
	return slices.ContainsFunc(v.crib.Founded.Policy.Cranes, func(c event.Crane) bool {
		return c.Name == stated.Crane && c.Hook > 0 && c.Hook < fit.Inside
	})
}

// better tells whether a wastes less capacity than b, or less reach where they
// waste the same, or is due later.
func better(a state.Sling, of gate.Answer, b state.Sling, ob gate.Answer) bool {
	x, y := a.Details.Sling, b.Details.Sling
	switch {
	case of.Allowed != ob.Allowed:
		return of.Allowed < ob.Allowed
	case x.Reach != y.Reach:
		return x.Reach < y.Reach
	}
	return x.Due.After(y.Due)
}

// noSlingHelps tells whether a reason stands against the person or the machine,
// so that no other sling would go either.
func noSlingHelps(r gate.Reason) bool {
	return slices.Contains([]gate.Reason{
		gate.RoleNotAllowed, gate.RiggerUnknown, gate.RiggerNotCleared, gate.ClockBehind, gate.ClockAhead,
		gate.SpecialLift, gate.LiftIncomplete, gate.ShiftNotAllowed, gate.TooManyTogether,
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
