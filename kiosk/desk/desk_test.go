package desk

import (
	"context"
	"errors"
	"path/filepath"
	"sync"
	"testing"
	"testing/synctest"
	"time"
)

func newDesk(t *testing.T) *Desk {
	t.Helper()
	path := filepath.Join(t.TempDir(), "desk.sqlite")
	if err := Init(t.Context(), path); err != nil {
		t.Fatal(err)
	}
	d, err := Open(t.Context(), path, Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := d.Close(); err != nil {
			t.Error(err)
		}
	})
	return d
}

func setOneTime(t *testing.T, d *Desk, person string) string {
	t.Helper()
	pin, err := d.SetOneTime(t.Context(), person)
	if err != nil {
		t.Fatal(err)
	}
	return pin
}

// other returns a PIN that is not pin.
func other(pin string) string {
	if pin == "481516" {
		return "481517"
	}
	return "481516"
}

func TestVerify(t *testing.T) {
	d := newDesk(t)
	ctx := t.Context()
	pin := setOneTime(t, d, "p1")
	if err := d.Verify(ctx, "p1", pin); err != nil {
		t.Errorf("right PIN: %v", err)
	}
	if err := d.Verify(ctx, "p1", other(pin)); !errors.Is(err, ErrWrongPIN) {
		t.Errorf("wrong PIN: %v", err)
	}
	if err := d.Verify(ctx, "p2", pin); !errors.Is(err, ErrNoPIN) {
		t.Errorf("person without a PIN: %v", err)
	}
	if err := d.Verify(ctx, "", pin); !errors.Is(err, ErrWrongPIN) {
		t.Errorf("nobody: %v", err)
	}
	if _, err := d.SetOneTime(ctx, ""); err == nil {
		t.Error("nobody got a PIN")
	}
}

// A request that comes again gets the PIN of the first time, and sets nothing.
func TestOneTimeForTheSameRequest(t *testing.T) {
	d := newDesk(t)
	ctx := t.Context()
	given := func(person, request string, first bool) string {
		t.Helper()
		pin, err := d.SetOneTimeFor(ctx, person, request, first)
		if err != nil {
			t.Fatalf("%s of %s, first %v: %v", request, person, first, err)
		}
		return pin
	}
	gone := func(what string) {
		t.Helper()
		if pin, err := d.SetOneTimeFor(ctx, "p1", "a", false); !errors.Is(err, ErrGiven) || pin != "" {
			t.Errorf("%s: %q, %v", what, pin, err)
		}
	}
	gone("never set")
	pin := given("p1", "a", true)
	epoch := func() int64 {
		t.Helper()
		standing, err := d.Standing(ctx, "p1")
		if err != nil {
			t.Fatal(err)
		}
		return standing.Epoch
	}
	before := epoch()
	if again := given("p1", "a", false); again != pin || epoch() != before {
		t.Errorf("again: %s and epoch %d, first %s and %d", again, epoch(), pin, before)
	}
	if err := d.Verify(ctx, "p1", pin); err != nil {
		t.Errorf("the PIN that was given twice: %v", err)
	}
	if others := []string{given("p2", "a", true), given("p1", "b", true)}; others[0] == pin && others[1] == pin {
		t.Errorf("everybody is given %s", pin)
	}
	gone("another was given since")
	given("p1", "a", true)
	if err := d.Choose(ctx, "p1", other(pin)); err != nil {
		t.Fatal(err)
	}
	gone("one of their own was chosen since")
	given("p1", "a", true)
	if _, err := d.write(ctx, `UPDATE credential SET failures = ?`, MaxFailures); err != nil {
		t.Fatal(err)
	}
	gone("locked since")
	given("p1", "a", true)
	d.secret = randomSeed() // as of a program that has started anew
	gone("of another program")
	for _, empty := range [][2]string{{"", "a"}, {"p1", ""}} {
		if _, err := d.SetOneTimeFor(ctx, empty[0], empty[1], true); err == nil {
			t.Errorf("%q got a PIN", empty)
		}
	}
}

func TestWaitsGrowAndLock(t *testing.T) {
	d := newDesk(t) // outside, so that what the file does beside keeps real time
	synctest.Test(t, func(t *testing.T) {
		ctx := t.Context()
		pin := setOneTime(t, d, "p1")
		waits := []time.Duration{0, 0, 5, 10, 20, 40, 80, 160, 300}
		for n, wait := range waits {
			if err := d.Verify(ctx, "p1", other(pin)); !errors.Is(err, ErrWrongPIN) {
				t.Fatalf("wrong PIN %d: %v", n+1, err)
			}
			if wait == 0 {
				continue
			}
			wait *= time.Second
			time.Sleep(wait - time.Millisecond)
			var early *WaitError
			if err := d.Verify(ctx, "p1", pin); !errors.As(err, &early) || early.Seconds() != 1 {
				t.Fatalf("right PIN 1 ms early after %d wrong: %v", n+1, err)
			}
			time.Sleep(time.Millisecond)
		}
		if err := d.Verify(ctx, "p1", other(pin)); !errors.Is(err, ErrLocked) {
			t.Fatalf("wrong PIN %d: %v, want locked", MaxFailures, err)
		}
		time.Sleep(1000 * time.Hour)
		if err := d.Verify(ctx, "p1", pin); !errors.Is(err, ErrLocked) {
			t.Fatalf("right PIN after the lock: %v", err)
		}
		if s, err := d.Standing(ctx, "p1"); err != nil || !s.Locked || s.Failures != MaxFailures {
			t.Errorf("standing %+v, %v", s, err)
		}
		pin = setOneTime(t, d, "p1")
		if err := d.Verify(ctx, "p1", pin); err != nil {
			t.Errorf("new one-time PIN after the lock: %v", err)
		}
	})
}

func TestRightPINForgetsWrongOnes(t *testing.T) {
	d := newDesk(t)
	ctx := t.Context()
	pin := setOneTime(t, d, "p1")
	for range 2 {
		for range freeFailures {
			if err := d.Verify(ctx, "p1", other(pin)); !errors.Is(err, ErrWrongPIN) {
				t.Fatal(err)
			}
		}
		if err := d.Verify(ctx, "p1", pin); err != nil {
			t.Fatal(err)
		}
	}
	if s, err := d.Standing(ctx, "p1"); err != nil || s.Failures != 0 {
		t.Errorf("standing %+v, %v", s, err)
	}
}

// A clock set back by a power cut must not make a wait of seconds one of years.
func TestClockSetBackEndsWait(t *testing.T) {
	d := newDesk(t)
	ctx := t.Context()
	pin := setOneTime(t, d, "p1")
	future := time.Now().AddDate(3, 0, 0).UnixMilli()
	if _, err := d.db.Write.Exec(`UPDATE credential SET failures = 5, failed_ms = ?`, future); err != nil {
		t.Fatal(err)
	}
	if err := d.Verify(ctx, "p1", pin); err != nil {
		t.Errorf("right PIN: %v", err)
	}
}

// A try is counted before it is checked, so that a program ended in between
// gives no free guess.
func TestTryIsCountedFirst(t *testing.T) {
	d := newDesk(t)
	setOneTime(t, d, "p1")
	if _, err := d.takeTry(t.Context(), "p1"); err != nil {
		t.Fatal(err)
	}
	if s, err := d.Standing(t.Context(), "p1"); err != nil || s.Failures != 1 {
		t.Errorf("standing %+v, %v", s, err)
	}
}

func TestGuessesAtOnceCountEach(t *testing.T) {
	d := newDesk(t)
	pin := setOneTime(t, d, "p1")
	errs := make([]error, maxWaiting)
	var wg sync.WaitGroup
	for i := range errs {
		wg.Go(func() { errs[i] = d.Verify(t.Context(), "p1", other(pin)) })
	}
	wg.Wait()
	wrong := 0
	for _, err := range errs {
		var wait *WaitError
		switch {
		case errors.Is(err, ErrWrongPIN):
			wrong++
		case !errors.As(err, &wait):
			t.Errorf("guess: %v", err)
		}
	}
	if wrong != freeFailures+1 {
		t.Errorf("%d guesses were checked at once, want %d", wrong, freeFailures+1)
	}
}

// A PIN that is set anew while the old one is being checked is the one that counts:
// who knew the old one does not come in after it.
func TestAPINSetMeanwhileCounts(t *testing.T) {
	d := newDesk(t)
	ctx := t.Context()
	old := setOneTime(t, d, "p1")
	for range 20 { // a check that ends before the new PIN is set is right to say yes
		checked := make(chan error, 1)
		go func() { checked <- d.Verify(ctx, "p1", old) }()
		for len(checked) == 0 {
			s, err := d.Standing(ctx, "p1")
			if err != nil {
				t.Fatal(err)
			}
			if s.Failures > 0 { // a try is counted before it is checked
				break
			}
		}
		// As another program does it, beside this one.
		if _, err := d.write(ctx, `UPDATE credential SET epoch = epoch + 1, failures = 0 WHERE person = 'p1'`); err != nil {
			t.Fatal(err)
		}
		switch err := <-checked; {
		case errors.Is(err, ErrWrongPIN):
			return
		case err != nil:
			t.Fatal(err)
		}
	}
	t.Error("the old PIN was good each time, though a new one was set while it was checked")
}

func TestQueueIsBounded(t *testing.T) {
	d := newDesk(t)
	for range maxWaiting {
		d.waiting <- struct{}{}
	}
	if err := d.Verify(t.Context(), "p1", "481516"); !errors.Is(err, ErrBusy) {
		t.Errorf("full queue: %v", err)
	}
	<-d.waiting
	d.hashing <- struct{}{}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := d.Verify(ctx, "p1", "481516"); !errors.Is(err, context.Canceled) {
		t.Errorf("gone while waiting: %v", err)
	}
	if len(d.waiting) != maxWaiting-1 {
		t.Errorf("%d still wait", len(d.waiting))
	}
}

func TestChoose(t *testing.T) {
	d := newDesk(t)
	ctx := t.Context()
	first := setOneTime(t, d, "p1")
	if err := d.Choose(ctx, "p1", "123456"); !errors.Is(err, ErrPINSimple) {
		t.Errorf("simple PIN: %v", err)
	}
	if err := d.Choose(ctx, "p1", first); !errors.Is(err, ErrPINSame) {
		t.Errorf("same PIN: %v", err)
	}
	if s, err := d.Standing(ctx, "p1"); err != nil || !s.OneTime {
		t.Errorf("standing %+v, %v", s, err)
	}
	own := other(first)
	if err := d.Choose(ctx, "p1", own); err != nil {
		t.Fatal(err)
	}
	if err := d.Verify(ctx, "p1", own); err != nil {
		t.Errorf("own PIN: %v", err)
	}
	if err := d.Verify(ctx, "p1", first); !errors.Is(err, ErrWrongPIN) {
		t.Errorf("one-time PIN used again: %v", err)
	}
	if err := d.Choose(ctx, "p1", "902758"); !errors.Is(err, ErrNotOneTime) {
		t.Errorf("second choice: %v", err)
	}
	if err := d.Choose(ctx, "p2", "902758"); !errors.Is(err, ErrNotOneTime) {
		t.Errorf("person without a PIN: %v", err)
	}
}

// BenchmarkVerify is what one sign-in costs.
func BenchmarkVerify(b *testing.B) {
	path := filepath.Join(b.TempDir(), "desk.sqlite")
	if err := Init(b.Context(), path); err != nil {
		b.Fatal(err)
	}
	d, err := Open(b.Context(), path, Options{})
	if err != nil {
		b.Fatal(err)
	}
	defer d.Close()
	pin, err := d.SetOneTime(b.Context(), "p1")
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if err := d.Verify(b.Context(), "p1", pin); err != nil {
			b.Fatal(err)
		}
	}
}
