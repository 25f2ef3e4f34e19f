package counter

import (
	"context"
	"fmt"
	"slices"

	"cribgate/core/event"
	"cribgate/core/state"
	"cribgate/store"
)

// NoteRead records what the readings of a sling's live tag came to, where that is
// news; r's serial is the tag's own. seen is the sling as it was found, and spares an
// act where there is nothing to record. A sling that has moved on meanwhile is read
// again soon enough.
func (c *Counter) NoteRead(ctx context.Context, who Who, seen state.Sling, r event.TagRead) error {
	live, ok := seen.Live()
	r.Serial = live.Serial
	// Without a day it is another one than that of the last reading; the act knows which.
	if !ok || seen.Doubt != 0 || !live.Wear.News(state.Reading{Left: r.Left(), Resembled: r.Resembled}) {
		return nil
	}
	if who.Key != "" {
		who.Key += " read"
	}
	blocks := fmt.Sprint(r.Blocks, r.Resembled)
	_, err := c.do(ctx, who.act("read", seen.ID.String(), blocks), func(ctx context.Context, tx *store.Tx) (Outcome, error) {
		s, err := tx.Sling(ctx, seen.ID)
		if err != nil {
			return Outcome{}, err
		}
		o := Outcome{Known: true, Sling: s}
		codes, err := allowed(ctx, tx.Reader, who.Person, atCounter, tx.Today())
		i := slices.IndexFunc(s.Tags, func(t state.Tag) bool { return t.Serial == r.Serial && t.Status == state.TagLive })
		if err != nil || len(codes) > 0 || i < 0 || !s.Tags[i].Wear.News(state.Reading{Day: tx.Today(), Left: r.Left(), Resembled: r.Resembled}) {
			return o, err
		}
		return c.append(ctx, tx, o, r)
	})
	return err
}
