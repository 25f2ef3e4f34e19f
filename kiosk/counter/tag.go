package counter

import (
	"context"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/store"
)

// Print records a tag that is about to be printed for a sling. draw makes it from
// the sling as the act finds it, on the stock of that name, and gives what is
// recorded of it; where draw fails, nothing is. The tag is good for nothing until
// [Counter.Confirm].
func (c *Counter) Print(ctx context.Context, who Who, seen Seen, stock string, draw func(context.Context, *store.Tx, state.Sling) (event.TagPrinted, error)) (Outcome, error) {
	return c.onSling(ctx, who, "print", seen, event.Inspector|event.Keeper, []gate.State{gate.StateIn, gate.StateHeld, gate.StateUnchecked}, func(tx *store.Tx, s state.Sling) (event.Body, []gate.Reason, error) {
		printed, err := draw(ctx, tx, s)
		return printed, nil, err
	}, stock)
}
