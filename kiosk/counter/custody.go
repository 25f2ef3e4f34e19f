package counter

import (
	"context"
	"errors"
	"slices"
	"strconv"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/store"
)

// Kept gives the reasons why a sling stays, whatever its state and whatever the lift:
// it is impounded or at a repairer's, hangs in the rack or is out and would not be
// released, or a defect that an examiner found stands open.
// A defect is good up to and on its day (LOLER, regulation 10(3), from memory, not
// seen); one without a day is dangerous now. back is the day by which the sling would
// come back, zero where none is stated.
func Kept(s state.Sling, today, back quantity.Date) (codes []gate.Reason) {
	if s.Impound != (state.Impound{}) {
		codes = append(codes, gate.Impounded)
	}
	if s.Repair != (state.Repair{}) {
		codes = append(codes, gate.AtRepairer)
	}
	if st := s.Details.Sling.State; len(codes) == 0 && (st == gate.StateIn || st == gate.StateOut) {
		codes = NotReleased(s) // whoever released it went by less than is asked today, or it was inspected where it is used
	}
	before := func(day quantity.Date) bool {
		return slices.ContainsFunc(s.Defects, func(d state.OpenDefect) bool { return d.By.Before(day) }) // no day is before every other
	}
	switch {
	case before(today):
		codes = append(codes, gate.DefectOpen)
	case before(back):
		codes = append(codes, gate.DefectBeforeReturn)
	}
	return codes
}

// NotReleased gives the reasons why a held sling is not released, whoever asks: more
// than an inspector's word is needed for one that is impounded, that is at a
// repairer's or came back from one, or that its last thorough inspection did not pass.
// A sling that hangs in the rack, or is out, is held to the same, see [Kept].
func NotReleased(s state.Sling) (codes []gate.Reason) {
	if s.Impound != (state.Impound{}) {
		codes = append(codes, gate.Impounded)
	}
	if s.Repair != (state.Repair{}) {
		return append(codes, gate.AtRepairer)
	}
	switch {
	case !s.Mended.Day.IsZero():
		codes = append(codes, gate.RepairUninspected)
	case s.Details.Outcome == tagcode.Hold, s.Details.Outcome == tagcode.Out, len(s.Failed) > 0:
		codes = append(codes, gate.NotPassed)
	}
	if s.Mended.Stamp != "" {
		codes = append(codes, gate.StampNotRecorded)
	}
	return codes
}

// ofCustody are the roles that answer for what is kept apart.
const ofCustody = event.Inspector | event.Keeper

// Impound keeps a sling as it was found after an accident, until two people free it.
// Everybody who works at the counter may, together with a second one who does, and
// whoever hands it in has made sure of the second. One that is out is impounded where
// it is, and held as soon as it comes back.
func (c *Counter) Impound(ctx context.Context, who Who, seen Seen, b event.Impounded) (Outcome, error) {
	var err error
	for _, text := range []struct {
		name string
		text *string
	}{{"reason", &b.Reason}, {"who has it", &b.Holder}, {"where it lies", &b.Lies}} {
		if *text.text, err = needed("impound", text.name, *text.text); err != nil {
			return Outcome{}, err
		}
	}
	return c.onSling(ctx, who, "impound", seen, atCounter, inUse(), func(tx *store.Tx, s state.Sling) (event.Body, []gate.Reason, error) {
		if s.Impound != (state.Impound{}) {
			return nil, []gate.Reason{gate.Impounded}, nil
		}
		refused, err := twoSign(ctx, tx, who.Person, b.Second, [][2]event.Roles{{atCounter, atCounter}})
		return b, refused, err
	}, b.Reason, b.Second.String(), b.Holder, b.Lies)
}

// twoSign refuses unless the two are two people who have roles as one of the pairs
// says.
func twoSign(ctx context.Context, tx *store.Tx, first, second event.PersonID, pairs [][2]event.Roles) ([]gate.Reason, error) {
	refused := []gate.Reason{gate.TwoSign}
	if first == second {
		return refused, nil
	}
	other, err := tx.Person(ctx, second)
	if errors.Is(err, store.ErrNotFound) {
		return refused, nil
	}
	if err != nil {
		return nil, err
	}
	one, err := tx.Person(ctx, first)
	if err != nil {
		return nil, err
	}
	for _, as := range pairs {
		if one.May(as[0], tx.Today()) && other.May(as[1], tx.Today()) {
			return nil, nil
		}
	}
	return refused, nil
}

// Custody records that an impounded sling went to another holder, where it lies from
// then on, and why.
func (c *Counter) Custody(ctx context.Context, who Who, seen Seen, b event.Custody) (Outcome, error) {
	var err error
	if b.Holder, err = needed("custody", "who has it", b.Holder); err != nil {
		return Outcome{}, err
	}
	if b.Lies, err = needed("custody", "where it lies", b.Lies); err != nil {
		return Outcome{}, err
	}
	if b.Note, err = needed("custody", "why", b.Note); err != nil {
		return Outcome{}, err
	}
	return c.onSling(ctx, who, "custody", seen, ofCustody, inUse(), func(_ *store.Tx, s state.Sling) (event.Body, []gate.Reason, error) {
		if s.Impound == (state.Impound{}) {
			return nil, []gate.Reason{gate.NotNow}, nil
		}
		return b, nil, nil
	}, b.Holder, b.Lies, b.Note)
}

// Free ends what Impound began, where an inspector and a keeper, two people, say so;
// whoever hands it in has made sure of the second. The sling stays held, and lies at
// place from then on where that is given.
func (c *Counter) Free(ctx context.Context, who Who, seen Seen, b event.Freed, place string) (Outcome, error) {
	var err error
	if b.Reason, err = needed("free", "reason", b.Reason); err != nil {
		return Outcome{}, err
	}
	return c.onSlingAt(ctx, who, "free", seen, ofCustody, inUse(), place, func(tx *store.Tx, s state.Sling) (event.Body, []gate.Reason, error) {
		if s.Impound == (state.Impound{}) {
			return nil, []gate.Reason{gate.NotNow}, nil
		}
		refused, err := twoSign(ctx, tx, who.Person, b.Second, [][2]event.Roles{{event.Inspector, event.Keeper}, {event.Keeper, event.Inspector}})
		return b, refused, err
	}, b.Reason, b.Second.String())
}

// Remedy records how a defect that an examiner found was put right. An inspector
// does, since whoever says so has looked.
func (c *Counter) Remedy(ctx context.Context, who Who, seen Seen, b event.Remedied) (Outcome, error) {
	var err error
	if b.How, err = needed("remedy", "how", b.How); err != nil {
		return Outcome{}, err
	}
	return c.onSling(ctx, who, "remedy", seen, event.Inspector, inUse(), func(_ *store.Tx, s state.Sling) (event.Body, []gate.Reason, error) {
		if !slices.ContainsFunc(s.Defects, func(d state.OpenDefect) bool { return d.No == b.No }) {
			return nil, []gate.Reason{gate.NotNow}, nil
		}
		return b, nil, nil
	}, strconv.Itoa(b.No), b.How)
}
