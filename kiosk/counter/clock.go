package counter

import (
	"context"
	"errors"
	"fmt"
	"time"

	"cribgate/core/event"
	"cribgate/store"
)

// Errors of Vouch. ErrClockSure reports a clock that is not in doubt, so that
// there is nothing to sign; ErrClockMoved one that does not say any more what was
// signed; ErrSigners that it was not a keeper and an inspector, two people unless
// the policy is that of a crib of one.
var (
	ErrClockSure  = errors.New("counter: the clock is not in doubt")
	ErrClockMoved = errors.New("counter: the clock does not say any more what was signed")
	ErrSigners    = errors.New("counter: a keeper and an inspector sign for a date, two people unless the crib has one")
)

// signedFor is how long the page that two people sign may lie open. Site policy,
// no source.
const signedFor = 15 * time.Minute

// Vouching is what a keeper and an inspector sign: this computer's clock is right.
// Whoever hands it in has made sure of both of them.
type Vouching struct {
	Shown  time.Time // what the clock said on the page that they signed
	Behind bool      // and that it lay before what the register knew, which was therefore wrong
	event.Signed
}

// Vouch ends the doubt about the clock. Where it had leapt ahead, its date is
// confirmed; where it lies behind, the register's time is corrected, and starts
// again from what the clock says.
func (c *Counter) Vouch(ctx context.Context, who Who, v Vouching) error {
	request := []string{v.Shown.UTC().Format(event.TimeLayout), fmt.Sprint(v.Behind), v.Keeper.String(), v.Inspector.String()}
	_, err := c.store.Do(ctx, who.act("vouch", request...), func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		clock := tx.Clock()
		switch off := clock.Reads.Sub(v.Shown).Abs(); {
		case clock.Doubt == event.ClockSure:
			return nil, ErrClockSure
		case off > signedFor || clock.Behind() != v.Behind:
			return nil, ErrClockMoved
		}
		crib, err := tx.Crib(ctx)
		if err != nil {
			return nil, err
		}
		if v.Alone() && !crib.Founded.Policy.OnePerson {
			return nil, ErrSigners
		}
		for _, signer := range []struct {
			id   event.PersonID
			role event.Roles
		}{{v.Keeper, event.Keeper}, {v.Inspector, event.Inspector}} {
			refused, err := allowed(ctx, tx.Reader, signer.id, signer.role, tx.Today())
			if errors.Is(err, store.ErrNotFound) || err == nil && len(refused) > 0 {
				return nil, ErrSigners
			}
			if err != nil {
				return nil, err
			}
		}
		var body event.Body = event.DateConfirmed{Floor: clock.Floor, Signed: v.Signed}
		if v.Behind {
			body = event.ClockCorrected{Floor: clock.Floor, Signed: v.Signed}
		}
		_, err = tx.Append(ctx, event.Crib(), crib.Heads, body)
		return nil, err
	})
	if err != nil {
		return fmt.Errorf("counter: vouch for the clock: %w", err)
	}
	return nil
}
