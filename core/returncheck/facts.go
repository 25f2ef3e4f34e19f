package returncheck

import (
	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/state"
)

// Facts are what a check is chosen by. The zero value knows nothing, and gets the
// fullest check.
type Facts struct {
	Legs       int // 0 not known: nothing is known of what it is made of
	Lower      event.LowerFitting
	Adjustable bool
	Use        event.Use
	Inspected  quantity.Date // zero: never
	Due        quantity.Date
	Today      quantity.Date
	Before     state.Check // the last time it was looked at
	Remark     string      // of its last thorough inspection
}

// FactsOf takes the facts from what is known of a sling.
func FactsOf(s state.Sling, today quantity.Date) Facts {
	d := s.Details
	return Facts{Legs: d.Sling.Legs, Lower: d.Fittings.Lower, Adjustable: d.Sling.Adjustable, Use: s.Use,
		Inspected: d.Sling.Inspected, Due: d.Sling.Due, Today: today, Before: s.Check, Remark: s.Remark}
}

// hard is the share of its rating, in per cent, from which a lift is called hard: a
// fifth below the rating is what a load that was guessed is easily out by (site
// policy, no source).
const hard = 80

// harmless is the share of its rating, in per cent, up to which neither an edge nor a
// choke that was not stated can have overloaded the sling: the sharpest edge leaves
// half (EN 818-6 through trade instructions), the tightest listed choke 40 % (trade
// choke chart), together a fifth.
const harmless = 20

// hardUse tells whether the lift was hard, or nobody knows.
func (f Facts) hardUse() bool { return f.Use.Share == 0 || f.Use.Share >= hard }

// longSince tells whether more than half of the time from the last thorough inspection
// to the next has passed (site policy, no source), or there is no such time.
func (f Facts) longSince() bool {
	if f.Inspected.IsZero() || f.Due.IsZero() || f.Today.IsZero() {
		return true
	}
	return 2*f.Today.DaysSince(f.Inspected) > f.Due.DaysSince(f.Inspected)
}

// lower is what is looked at at the lower ends.
func (f Facts) lower() string {
	switch f.Lower {
	case event.LockingHook:
		return HookLock
	case event.FoundryHook, event.GrabHook:
		return HookOpen
	case event.Shackle:
		return Shackle
	case event.EndLink:
		return EndLink
	}
	return HookLatch // what most have, and what the most can be wrong with
}

// chain is how the chain is looked at.
func (f Facts) chain() string {
	if f.Legs == 1 {
		return Chain
	}
	return Legs
}
