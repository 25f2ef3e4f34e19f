// Package chore does a piece of work again and again beside the counter, until the
// program ends.
//
//	chore.Run(ctx, time.After, keeper.Once)
//
// The work is done at once, and says each time how long to wait until the next; what
// goes wrong in it is its own to tell. Work that is under way when the context ends is
// waited for.
package chore

import (
	"context"
	"time"
)

// Run calls once, waits for as long as it says by after, which is [time.After] in a
// program, and begins again until ctx ends. once is called at least one time, and never
// twice at the same time.
func Run(ctx context.Context, after func(time.Duration) <-chan time.Time, once func(context.Context) time.Duration) {
	for {
		wait := once(ctx)
		select {
		case <-ctx.Done():
			return
		case <-after(wait):
		}
	}
}
