package command

import (
	"context"
	"time"

	"cribgate/kiosk/chore"
)

// tidyEvery is how often answers that nobody can ask for any more are removed
// (common practice, no source).
const tidyEvery = time.Hour

// tidy removes them beside the answers until ctx ends. What goes wrong here loses
// nothing and is tried again.
func (k *Kiosk) tidy(ctx context.Context) {
	chore.Run(ctx, time.After, func(ctx context.Context) time.Duration {
		switch n, err := k.Store.ForgetAnswers(ctx); {
		case err != nil && ctx.Err() == nil:
			k.log.WarnContext(ctx, "forget old answers", "err", err)
		case n > 0:
			k.log.InfoContext(ctx, "old answers forgotten", "answers", n)
		}
		return tidyEvery
	})
}
