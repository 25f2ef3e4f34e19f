// Package bounded holds a call to a time and an amount of memory, for tests that
// feed readers with whatever a fuzzer thinks of: a text that takes a minute or a
// gigabyte stops a counter as well as one that panics.
//
//	bounded.Run(t, time.Now, 8<<20, func() { Parse(text) })
//
// The clock is handed in, since core has none. Nothing here is linked into a
// program.
package bounded

import (
	"runtime/metrics"
	"time"
)

// Most is how long a call may take.
const Most = time.Second

// tries is how often a call that took too long is made again before it counts:
// a machine that gives its time to others is no fault of the call.
const tries = 3

// TB is what Run needs of a test.
type TB interface {
	Helper()
	Errorf(format string, args ...any)
}

const allocated = "/gc/heap/allocs:bytes"

// Run calls f, which may be called again, and fails the test where every one of
// three calls took longer than Most or allocated more than room bytes in sum.
// What other goroutines allocate meanwhile counts as well.
func Run(t TB, now func() time.Time, room uint64, f func()) {
	t.Helper()
	sample := []metrics.Sample{{Name: allocated}}
	var took time.Duration
	var used uint64
	for range tries {
		metrics.Read(sample)
		before, began := sample[0].Value.Uint64(), now()
		f()
		took = now().Sub(began)
		metrics.Read(sample)
		if used = sample[0].Value.Uint64() - before; took <= Most && used <= room {
			return
		}
	}
	t.Errorf("a call took %v and %d bytes; %v and %d are the most", took, used, Most, room)
}
