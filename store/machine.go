package store

import (
	"crypto/sha256"
	"fmt"
	"os"
	"strconv"
	"strings"
	"sync"
	"time"

	"cribgate/core/event"
)

// reading tells one start of a machine from the next, and how long it lasts.
type reading struct {
	boot event.BootID
	up   time.Duration // whole milliseconds, time asleep included
}

// since gives how much time has passed since an earlier reading, at the least:
// nothing where the machine was started anew in between.
func (r reading) since(earlier reading) time.Duration {
	if r.boot != earlier.boot || r.up < earlier.up {
		return 0
	}
	return r.up - earlier.up
}

// A Machine reads which start of the machine this is and how long it has lasted.
// A clock that is set does not change what it says.
type Machine func() (boot event.BootID, up time.Duration, err error)

func (m Machine) read() (reading, error) {
	boot, up, err := m()
	if err != nil {
		return reading{}, fmt.Errorf("store: how long this machine runs: %w", err)
	}
	return reading{boot, up.Truncate(time.Millisecond)}, nil
}

// madeUp is the machine of a made-up clock: it starts now, and its uptime is what
// passes on that clock. Where that goes back, no time passes until it is caught up.
func madeUp(now func() time.Time) Machine {
	begin := now()
	sum := sha256.Sum256([]byte("made up " + begin.UTC().Format(time.RFC3339Nano)))
	var latest struct {
		sync.Mutex
		up time.Duration
	}
	return func() (event.BootID, time.Duration, error) {
		latest.Lock()
		defer latest.Unlock()
		latest.up = max(latest.up, now().Sub(begin))
		return event.BootID(sum[:16]), latest.up, nil
	}
}

// thisMachine asks the kernel where it tells (Linux: boot_id and uptime of
// proc(5), which counts time asleep); elsewhere the program's own start stands for
// the machine's.
func thisMachine() Machine {
	if _, _, err := kernel(); err != nil {
		return madeUp(time.Now)
	}
	return kernel
}

func kernel() (event.BootID, time.Duration, error) {
	id, err := os.ReadFile("/proc/sys/kernel/random/boot_id")
	if err != nil {
		return event.BootID{}, 0, err
	}
	text, err := os.ReadFile("/proc/uptime")
	if err != nil {
		return event.BootID{}, 0, err
	}
	seconds, _, _ := strings.Cut(string(text), " ")
	up, err := strconv.ParseFloat(seconds, 64)
	if err != nil {
		return event.BootID{}, 0, err
	}
	sum := sha256.Sum256(id) // names the start without giving the machine's own id away
	return event.BootID(sum[:16]), time.Duration(up*1000) * time.Millisecond, nil
}
