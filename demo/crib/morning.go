package crib

import (
	"context"
	"fmt"

	"cribgate/core/event"
	"cribgate/kiosk/counter"
	"cribgate/store"
)

// Morning has the crib's keeper and inspector sign that the date is right, where
// the counter asks for it: the history ends on the day before, from which the clock
// may have leapt by more than a kiosk takes without being told. It reports whether
// they signed.
func Morning(ctx context.Context, st *store.Store, c *counter.Counter) (signed bool, err error) {
	clock, err := st.Clock(ctx)
	if err != nil || clock.Doubt == event.ClockSure {
		return false, err
	}
	var both event.Signed
	for _, p := range cast {
		var as *event.PersonID
		switch p.roles {
		case event.Keeper:
			as = &both.Keeper
		case event.Inspector:
			as = &both.Inspector
		}
		if as == nil || !as.IsZero() {
			continue
		}
		known, err := st.PersonByName(ctx, p.name)
		if err != nil {
			return false, fmt.Errorf("crib: find %s: %w", p.name, err)
		}
		*as = known.ID
	}
	who := counter.Who{Person: both.Keeper, Station: "counter-1", Way: counter.Hand}
	return true, c.Vouch(ctx, who, counter.Vouching{Shown: clock.Reads, Behind: clock.Behind(), Signed: both})
}
