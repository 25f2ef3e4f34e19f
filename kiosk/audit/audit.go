// Package audit has the register verified from end to end, once a day while the
// kiosk serves, and remembers what came of it.
//
// [Audit.Run] does that beside the counter, gently: one core, and rests four
// times as long as it works. A register that was found not to hold is broken, and
// stays so over a restart, until a later verification finds that it holds: the
// counter then hands nothing out ([Audit.Broken]). What could not be looked at,
// such as a disk that was away, changes nothing and is told.
//
// The result lies in a small file beside the register and never in it, since
// nothing is to be added to a register that does not hold. It is a reminder and no
// evidence: whoever deletes it has the register verified once more.
package audit

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"cribgate/store"
)

// DefaultEvery is how often a register is verified. Site policy, no source.
const DefaultEvery = 24 * time.Hour

// File is the name of the file in the register's directory.
const File = "verified.json"

// again is how long to wait after a verification that could not be done.
const again = 10 * time.Minute

// Audit remembers the last full verification of one register. It may be used by
// many goroutines.
type Audit struct {
	store *store.Store
	file  string
	log   *slog.Logger
	ended func() // for tests: hears of every verification that came to its end

	one  sync.Mutex // held by a verification: there is one at a time
	mu   sync.Mutex
	last Result
	fail error // why the newest one could not be done
}

// Open reads what is remembered in file. A file that is not there, or cannot be
// read, is as if there had never been a verification.
func Open(s *store.Store, file string, log *slog.Logger) *Audit {
	a := &Audit{store: s, file: file, log: log, ended: func() {}}
	last, err := load(file)
	if err != nil {
		log.Warn("what is remembered of the last verification cannot be read; the register is verified again", "err", err)
		return a
	}
	a.last = last
	return a
}

// Last is the last verification that came to its end, zero where there was none,
// and why a newer one could not be done, nil where there is no newer one.
func (a *Audit) Last() (Result, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.last, a.fail
}

// Broken reports whether the register was found not to hold, and has not been
// found to hold since.
func (a *Audit) Broken() bool {
	last, _ := a.Last()
	return last.Broken()
}

// Now verifies the register and remembers what came of it. The error says why
// that could not be done.
func (a *Audit) Now(ctx context.Context, gently bool) (Result, error) {
	a.one.Lock()
	defer a.one.Unlock()
	begun := time.Now()
	report, err := a.store.VerifyAs(ctx, store.Verification{Gently: gently})
	if err == nil {
		result := resultOf(report, begun, time.Now())
		a.mu.Lock()
		a.last, a.fail = result, nil
		a.mu.Unlock()
		defer a.ended()
		if result.Broken() {
			a.log.ErrorContext(ctx, "the register does not hold: nothing is handed out", "breaks", result.Breaks)
		}
		if err := result.save(a.file); err != nil {
			return result, fmt.Errorf("audit: remember the verification: %w", err)
		}
		return result, nil
	}
	if ctx.Err() == nil {
		a.mu.Lock()
		a.fail = err
		a.mu.Unlock()
	}
	return Result{}, fmt.Errorf("audit: %w", err)
}

// Run verifies until ctx ends: at once where the last time is longer ago than
// every, or found the register broken, and then at that interval.
func (a *Audit) Run(ctx context.Context, every time.Duration) {
	wait := time.Duration(0)
	if last, _ := a.Last(); !last.Broken() && !last.Ended.IsZero() {
		wait = min(max(0, every-time.Since(last.Ended)), every)
	}
	for {
		timer := time.NewTimer(wait)
		select {
		case <-ctx.Done():
			timer.Stop()
			return
		case <-timer.C:
		}
		wait = every
		if _, err := a.Now(ctx, true); err != nil && !errors.Is(err, context.Canceled) {
			a.log.WarnContext(ctx, "verify the register", "err", err)
			wait = min(every, again)
		}
	}
}
