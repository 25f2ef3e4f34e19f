package command

import (
	"context"
	"errors"
	"fmt"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/release"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/labeler/card"
	"cribgate/labeler/sheet"
	"cribgate/store"
)

// errClock refuses a card while this machine's clock is in doubt: a date on it
// could be a lie.
var errClock = errors.New("this machine's clock and the register disagree about the time")

// registerCard draws the pocket card of a sling as a register has it. Nothing
// is recorded: a card gives nobody anything.
func (f cardFlags) registerCard(ctx context.Context) (pages []sheet.Drawing, err error) {
	file, _, _ := store.Paths(f.register)
	s, err := store.Open(ctx, file, store.Options{Program: release.Version()})
	if err != nil {
		return nil, fmt.Errorf("open register %s: %w", f.register, err)
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	clock, err := s.Clock(ctx)
	if err != nil {
		return nil, fmt.Errorf("card: ask for the time: %w", err)
	}
	if clock.Doubt != event.ClockSure {
		return nil, fmt.Errorf("card: %w: it says %s, and the register %s or later", errClock, clock.Reads.Format(time.RFC3339), clock.Floor.Format(time.RFC3339))
	}
	today := clock.Today()
	crib, err := s.Crib(ctx)
	if err != nil {
		return nil, fmt.Errorf("card: read the register: %w", err)
	}
	sling, err := s.SlingByIdent(ctx, f.sling)
	if err != nil {
		return nil, fmt.Errorf("card: sling %q: %w", f.sling, err)
	}
	r, err := recordOf(sling, crib, today)
	if err != nil {
		return nil, err
	}
	head, err := s.Head(ctx)
	if err != nil {
		return nil, fmt.Errorf("card: read the register: %w", err)
	}
	r.Head = tagcode.Head{At: head.At, Hash: head.Hash}
	return pocketCard(r)
}

// recordOf is what a card says of a sling of a register.
func recordOf(s state.Sling, crib state.Crib, today quantity.Date) (card.Record, error) {
	zone, err := time.LoadLocation(crib.Founded.Zone)
	if err != nil {
		return card.Record{}, fmt.Errorf("card: time zone of the crib: %w", err)
	}
	policy := crib.Founded.Policy
	r := card.Record{
		Ident: s.Details.Ident, Sling: s.Details.Sling, Outcome: s.Details.Outcome,
		Policy: gate.Policy{Angles: gate.AnglesBands, Choke: gate.ChokeListed, MaxMonths: policy.MaxMonths, MaxTilt: policy.MaxTilt},
		Margin: policy.MarginPct, Units: crib.Founded.Units,
		Printed: today, AsOf: quantity.DateOf(s.Changed.In(zone)),
		Doubtful: s.Doubt != 0 || crib.Doubt != 0,
	}
	if policy.StrictChoke {
		r.Policy.Choke = gate.ChokeStrict
	}
	if s.Details.Sling.State == gate.StateOut {
		r.Waiting = s.Hold.Reason
	}
	return r, nil
}
