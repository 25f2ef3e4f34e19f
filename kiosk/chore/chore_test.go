package chore_test

import (
	"context"
	"slices"
	"testing"
	"testing/synctest"
	"time"

	"cribgate/kiosk/chore"
)

// Each time says how long it is to the next one, and none begins once the context has
// ended, however long the wait would have been.
func TestRun(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		ctx, end := context.WithTimeout(t.Context(), 2*time.Hour)
		defer end()
		begun := time.Now()
		var at []time.Duration
		chore.Run(ctx, time.After, func(context.Context) time.Duration {
			at = append(at, time.Since(begun))
			return []time.Duration{0, time.Minute, 10 * time.Minute, 24 * time.Hour}[len(at)-1]
		})
		if want := []time.Duration{0, 0, time.Minute, 11 * time.Minute}; !slices.Equal(at, want) {
			t.Errorf("done at %v, want %v", at, want)
		}
		if ended := time.Since(begun); ended != 2*time.Hour {
			t.Errorf("ended after %v, though the context ended after 2h", ended)
		}
	})
}

// Where the context has ended already the work is done once, and it can see that.
func TestRunOfAnEndedContext(t *testing.T) {
	t.Parallel()
	ctx, end := context.WithCancel(t.Context())
	end()
	n := 0
	chore.Run(ctx, func(time.Duration) <-chan time.Time { return nil }, func(ctx context.Context) time.Duration {
		n++
		if ctx.Err() == nil {
			t.Error("the work is not told that the context has ended")
		}
		return 0
	})
	if n != 1 {
		t.Errorf("the work was done %d times", n)
	}
}
