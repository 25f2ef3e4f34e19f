package bounded_test

import (
	"testing"
	"time"

	"cribgate/core/bounded"
)

// fake is a test that counts its failures, with a clock of its own.
type fake struct {
	failed int
	now    time.Time
}

func (f *fake) Helper()               {}
func (f *fake) Errorf(string, ...any) { f.failed++ }
func (f *fake) clock() time.Time      { return f.now }

var kept []byte

// What is at the limits passes, and what is over them three times does not.
func TestRun(t *testing.T) {
	for _, c := range []struct {
		name  string
		took  []time.Duration // of the calls, the last one for all that follow
		bytes int
		calls int
		fails int
	}{
		{"nothing", []time.Duration{0}, 0, 1, 0},
		{"just a second", []time.Duration{time.Second}, 0, 1, 0},
		{"more than a second", []time.Duration{time.Second + 1}, 0, 3, 1},
		{"more than a second, once", []time.Duration{time.Minute, 0}, 0, 2, 0},
		{"more than a second, twice", []time.Duration{time.Minute, time.Minute, 0}, 0, 3, 0},
		{"room", []time.Duration{0}, 1 << 20, 1, 0},
		{"too much", []time.Duration{0}, 16 << 20, 3, 1},
	} {
		f, calls := &fake{}, 0
		bounded.Run(f, f.clock, 8<<20, func() {
			f.now = f.now.Add(c.took[min(calls, len(c.took)-1)])
			kept = make([]byte, c.bytes)
			calls++
		})
		if calls != c.calls || f.failed != c.fails {
			t.Errorf("%s: %d calls, %d failures; want %d, %d", c.name, calls, f.failed, c.calls, c.fails)
		}
	}
}
