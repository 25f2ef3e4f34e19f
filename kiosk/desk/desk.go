package desk

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"cribgate/store/sqlite"
)

// MaxFailures is how many wrong PINs in a row lock a person. NIST SP 800-63B
// 5.2.2 allows at most 100; ten is site policy, no source: with a random PIN of
// six digits a guesser then succeeds once in 100,000.
const MaxFailures = 10

// freeFailures is how many wrong PINs cost no wait: a glove slips.
const freeFailures = 2

// maxWaiting bounds how many sign-ins may queue for the one hash at a time.
const maxWaiting = 16

// Answers of [Desk.Verify] and [Desk.Choose] that a person must be told.
var (
	// ErrWrongPIN covers an unknown person, too, and takes as long.
	ErrWrongPIN = errors.New("desk: wrong PIN")
	// ErrNoPIN: a known person for whom no PIN was ever set.
	ErrNoPIN = errors.New("desk: no PIN has been set for this person")
	// ErrLocked: only a new one-time PIN helps.
	ErrLocked = errors.New("desk: locked after too many wrong PINs")
	// ErrBusy: too many people are signing in just now.
	ErrBusy = errors.New("desk: too many sign-ins at once")
	// ErrGiven: the one-time PIN of a request was given, and cannot be given again.
	ErrGiven = errors.New("desk: the one-time PIN was given before")
	// ErrNotOneTime: only a one-time PIN can be replaced without typing it.
	ErrNotOneTime = errors.New("desk: the PIN is not a one-time PIN")
)

// A WaitError says that the PIN was not looked at, since the last wrong one was
// typed too short a time ago.
type WaitError struct{ For time.Duration }

// Error says how long, in whole seconds.
func (e *WaitError) Error() string {
	return fmt.Sprintf("desk: wait %d seconds before the next try", e.Seconds())
}

// Seconds is the wait in whole seconds, rounded up.
func (e *WaitError) Seconds() int { return int((e.For + time.Second - 1) / time.Second) }

// waitAfter is how long after the n-th wrong PIN in a row the next may be tried:
// nothing at first, then 5 s, doubled each time up to 5 minutes (site policy, no
// source; NIST SP 800-63B 5.2.2 suggests growing waits).
func waitAfter(failures int) time.Duration {
	if failures <= freeFailures {
		return 0
	}
	wait := 5 * time.Second << min(failures-freeFailures-1, 10)
	return min(wait, 5*time.Minute)
}

// A Desk is an open desk file. It is safe for concurrent use.
type Desk struct {
	db       *sqlite.DB
	hashing  chan struct{} // holds the one hash at a time
	waiting  chan struct{} // holds those who hash or wait for it
	secret   [32]byte      // of this program alone: what the PIN of a request is drawn from
	sessions *Sessions
}

// Standing is what the desk knows of one person. The zero Standing has no PIN
// and no session.
type Standing struct {
	HasPIN   bool
	OneTime  bool // the PIN must be changed before anything else
	Locked   bool
	Failures int   // wrong PINs in a row
	Epoch    int64 // grows with each PIN set; a session of another epoch is over
}

// Close closes the file.
func (d *Desk) Close() error {
	if err := d.db.Close(); err != nil {
		return fmt.Errorf("desk: close: %w", err)
	}
	return nil
}

// Standing returns what the desk knows of person; nothing known is no error.
func (d *Desk) Standing(ctx context.Context, person string) (Standing, error) {
	var s Standing
	row := d.db.Read.QueryRowContext(ctx, `SELECT one_time, failures, epoch FROM credential WHERE person = ?`, person)
	err := row.Scan(&s.OneTime, &s.Failures, &s.Epoch)
	if errors.Is(err, sql.ErrNoRows) {
		return Standing{}, nil
	}
	if err != nil {
		return Standing{}, fmt.Errorf("desk: standing of %s: %w", person, err)
	}
	s.HasPIN = true
	s.Locked = s.Failures >= MaxFailures
	return s, nil
}

// SetOneTime gives person a random one-time PIN, which is returned here and
// kept nowhere. It lifts a lock and ends the person's sessions.
func (d *Desk) SetOneTime(ctx context.Context, person string) (string, error) {
	if person == "" {
		return "", errors.New("desk: set a one-time PIN: no person")
	}
	return d.setOneTime(ctx, person, oneTime(randomSeed()))
}

// SetOneTimeFor is SetOneTime for a request that may come again, such as a form that
// is sent twice. The first time it sets the PIN that it gives. After that it sets
// nothing: it gives the same PIN while that is good, and [ErrGiven] once it was
// replaced, locked, or this program started anew. Which time it is the caller knows.
func (d *Desk) SetOneTimeFor(ctx context.Context, person, request string, first bool) (string, error) {
	if person == "" || request == "" {
		return "", errors.New("desk: set a one-time PIN: no person, or no request")
	}
	mac := hmac.New(sha256.New, d.secret[:])
	fmt.Fprintf(mac, "%q %q", person, request) // never fails
	pin := oneTime([32]byte(mac.Sum(nil)))
	if first {
		return d.setOneTime(ctx, person, pin)
	}
	done, err := d.enter(ctx)
	if err != nil {
		return "", err
	}
	defer done()
	var hash string
	err = d.db.Read.QueryRowContext(ctx,
		`SELECT hash FROM credential WHERE person = ? AND one_time = 1 AND failures < ?`, person, MaxFailures).Scan(&hash)
	if errors.Is(err, sql.ErrNoRows) {
		return "", ErrGiven
	}
	same := false
	if err == nil {
		same, err = matches(hash, pin)
	}
	if err != nil {
		return "", fmt.Errorf("desk: give a one-time PIN for %s again: %w", person, err)
	}
	if !same {
		return "", ErrGiven
	}
	return pin, nil
}

func (d *Desk) setOneTime(ctx context.Context, person, pin string) (string, error) {
	done, err := d.enter(ctx)
	if err != nil {
		return "", err
	}
	defer done()
	_, err = d.write(ctx, `
		INSERT INTO credential (person, hash, one_time, epoch, failures, failed_ms) VALUES (?, ?, 1, 1, 0, 0)
		ON CONFLICT (person) DO UPDATE SET
			hash = excluded.hash, one_time = 1, epoch = epoch + 1, failures = 0, failed_ms = 0`, person, hashPIN(pin))
	if err != nil {
		return "", fmt.Errorf("desk: set a one-time PIN for %s: %w", person, err)
	}
	return pin, nil
}

// Verify checks the PIN typed for person. It returns nil only if the PIN is
// right and the person is not locked; otherwise [ErrWrongPIN], [ErrNoPIN],
// [ErrLocked], [ErrBusy], a [*WaitError], or an error of the file. An empty
// person stands for a name that nobody has.
func (d *Desk) Verify(ctx context.Context, person, pin string) error {
	done, err := d.enter(ctx)
	if err != nil {
		return err
	}
	defer done()
	if person == "" {
		if _, err := matches(stranger, pin); err != nil {
			return err
		}
		return ErrWrongPIN
	}
	t, err := d.takeTry(ctx, person)
	if err != nil {
		return err
	}
	ok, err := matches(t.hash, pin)
	if err != nil {
		return fmt.Errorf("desk: check the PIN of %s: %w", person, err)
	}
	if !ok {
		if t.failures >= MaxFailures {
			return ErrLocked
		}
		return ErrWrongPIN
	}
	same, err := d.write(ctx,
		`UPDATE credential SET failures = 0, failed_ms = 0 WHERE person = ? AND epoch = ?`, person, t.epoch)
	if err != nil {
		return fmt.Errorf("desk: sign in %s: %w", person, err)
	}
	if same == 0 { // another PIN was set while this one was checked
		return ErrWrongPIN
	}
	return nil
}

// a try is a right to check one PIN.
type try struct {
	hash     string
	epoch    int64
	failures int // counting this one, should it be wrong
}

// takeTry counts the coming try as wrong, and returns what to check it against.
func (d *Desk) takeTry(ctx context.Context, person string) (try, error) {
	var t try
	err := d.db.Tx(ctx, func(tx *sql.Tx) error {
		var failedMS int64
		err := tx.QueryRowContext(ctx,
			`SELECT hash, epoch, failures, failed_ms FROM credential WHERE person = ?`, person).
			Scan(&t.hash, &t.epoch, &t.failures, &failedMS)
		if errors.Is(err, sql.ErrNoRows) {
			return ErrNoPIN
		}
		if err != nil {
			return err
		}
		if t.failures >= MaxFailures {
			return ErrLocked
		}
		now := time.Now()
		wait := waitAfter(t.failures)
		// A clock that went back must not turn seconds into hours: what is left
		// of a wait is never more than the wait.
		if left := wait - now.Sub(time.UnixMilli(failedMS)); left > 0 && left <= wait {
			return &WaitError{For: left}
		}
		t.failures++
		_, err = tx.ExecContext(ctx,
			`UPDATE credential SET failures = ?, failed_ms = ? WHERE person = ?`, t.failures, now.UnixMilli(), person)
		return err
	})
	if err != nil {
		return try{}, fmt.Errorf("desk: check the PIN of %s: %w", person, err)
	}
	return t, nil
}

// write runs one statement that writes, and returns how many rows it changed.
func (d *Desk) write(ctx context.Context, stmt string, args ...any) (rows int64, err error) {
	err = d.db.Tx(ctx, func(tx *sql.Tx) error {
		res, err := tx.ExecContext(ctx, stmt, args...)
		if err != nil {
			return err
		}
		rows, err = res.RowsAffected()
		return err
	})
	return rows, err
}

// Choose replaces person's one-time PIN by one of their own. The caller has made
// sure that person is signed in. Errors: those of [CheckPIN], [ErrPINSame],
// [ErrNotOneTime], [ErrBusy], or of the file. It ends the person's sessions.
func (d *Desk) Choose(ctx context.Context, person, pin string) error {
	if err := CheckPIN(pin); err != nil {
		return err
	}
	done, err := d.enter(ctx)
	if err != nil {
		return err
	}
	defer done()
	var old string
	err = d.db.Read.QueryRowContext(ctx,
		`SELECT hash FROM credential WHERE person = ? AND one_time = 1`, person).Scan(&old)
	if errors.Is(err, sql.ErrNoRows) {
		return ErrNotOneTime
	}
	if err != nil {
		return fmt.Errorf("desk: change the PIN of %s: %w", person, err)
	}
	same, err := matches(old, pin)
	if err != nil {
		return fmt.Errorf("desk: change the PIN of %s: %w", person, err)
	}
	if same {
		return ErrPINSame
	}
	// The condition on hash: of two pages choosing at once, one wins.
	changed, err := d.write(ctx, `
		UPDATE credential SET hash = ?, one_time = 0, epoch = epoch + 1, failures = 0, failed_ms = 0
		WHERE person = ? AND hash = ?`, hashPIN(pin), person, old)
	if err != nil {
		return fmt.Errorf("desk: change the PIN of %s: %w", person, err)
	}
	if changed == 0 {
		return ErrNotOneTime
	}
	return nil
}

// enter waits for the right to hash, and returns how to give it back.
func (d *Desk) enter(ctx context.Context) (done func(), err error) {
	select {
	case d.waiting <- struct{}{}:
	default:
		return nil, ErrBusy
	}
	select {
	case d.hashing <- struct{}{}:
		return func() { <-d.hashing; <-d.waiting }, nil
	case <-ctx.Done():
		<-d.waiting
		return nil, fmt.Errorf("desk: wait for a sign-in: %w", ctx.Err())
	}
}
