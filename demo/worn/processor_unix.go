//go:build unix

package worn

import (
	"syscall"
	"time"
)

// processor is what this process took of the processors so far. It does not count
// what others took of them meanwhile, which a clock does.
func processor() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		panic(err) // the arguments are right, and nothing else can be wrong
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
