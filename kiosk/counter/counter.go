package counter

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/store"
)

// Keys finds the tag key with a fingerprint; the error says that this machine
// has not got it. A keyring.Ring is one.
type Keys interface {
	Current(tagcode.Fingerprint) (tagcode.Key, error)
}

// Counter acts on one register. It is safe for many goroutines.
type Counter struct {
	store *store.Store
	keys  Keys
	audit Auditor
}

// Auditor knows whether the register was found not to hold, and has not been found
// to hold since. An audit.Audit is one.
type Auditor interface{ Broken() bool }

// New returns a counter on a register and the keys of its tags.
func New(s *store.Store, keys Keys) *Counter { return &Counter{store: s, keys: keys} }

// Under gives a counter that hands nothing out while the auditor says that the
// register does not hold.
func (c *Counter) Under(a Auditor) *Counter { return &Counter{store: c.store, keys: c.keys, audit: a} }

// Who says who acts, where, and under which idempotency key, so that a request
// sent twice acts once. Key may be empty for an act that nobody will retry.
type Who struct {
	Person  event.PersonID
	Station string // counter-1
	Way     Way    // how the sling was identified
	Key     string

	onPaper bool // Key names a row of the pad: see row
}

// Way is how a sling was identified.
type Way string

// The ways.
const (
	Scanner   Way = "scanner"    // a hand scanner that types
	Camera    Way = "camera"     // a live camera before which the tag was held
	Image     Way = "image"      // a picture that was sent
	Resembles Way = "resembles"  // a tag too worn to be read, told by comparing it with those that are known
	ShortCode Way = "short-code" // typed by hand
	Hand      Way = "hand"       // picked on a page
	Program   Way = "program"    // the program itself, or a script
)

// AsksPlate tells whether a sling that was identified so goes out only with the end of
// the identification on its plate: its tag was not read.
func (w Way) AsksPlate() bool { return w == ShortCode || w == Resembles }

// act gives the store's word for who acts; request says what is asked, so that
// a key cannot be used for two different things.
func (w Who) act(what string, request ...string) store.Act {
	h := sha256.New()
	for _, part := range append([]string{what, w.Person.String()}, request...) {
		var n [8]byte
		binary.BigEndian.PutUint64(n[:], uint64(len(part)))
		h.Write(n[:])
		h.Write([]byte(part))
	}
	return store.Act{By: w.Person, Station: w.Station, Way: string(w.Way), Key: w.Key, Request: [32]byte(h.Sum(nil))}
}

// allowed says whether the person who acts has one of roles on that day; if not, it
// gives the refusal.
func allowed(ctx context.Context, r store.Reader, who event.PersonID, roles event.Roles, on quantity.Date) ([]gate.Reason, error) {
	p, err := r.Person(ctx, who)
	if err != nil {
		return nil, fmt.Errorf("counter: who acts: %w", err)
	}
	if !p.May(roles, on) {
		return []gate.Reason{gate.RoleNotAllowed}, nil
	}
	return nil, nil
}

// atCounter are the roles that work at the counter.
const atCounter = event.Attendant | event.Inspector | event.Keeper

// ErrRole reports an act that the person's role does not allow.
var ErrRole = errors.New("counter: this role may not do it")

func mustBe(ctx context.Context, tx *store.Tx, who Who, roles event.Roles) error {
	codes, err := allowed(ctx, tx.Reader, who.Person, roles, tx.Today())
	if err == nil && len(codes) > 0 {
		err = ErrRole
	}
	return err
}

// PlateMatches reports whether typed is the end of the identification on the
// plate: at least three characters, or all of it where it is shorter. Spaces
// around it and case do not count.
func PlateMatches(ident, typed string) bool {
	typed = strings.ToUpper(strings.TrimSpace(typed))
	return len(typed) >= min(3, len(ident)) && strings.HasSuffix(ident, typed)
}

// audited gives the reason why nothing goes out on the word of this register.
func (c *Counter) audited() []gate.Reason {
	if c.audit != nil && c.audit.Broken() {
		return []gate.Reason{gate.RegisterBroken}
	}
	return nil
}

// Clocked gives the reason why nothing goes out while the clock is in doubt.
func Clocked(d event.ClockDoubt) []gate.Reason {
	switch d {
	case event.ClockSure:
		return nil
	case event.ClockAhead:
		return []gate.Reason{gate.ClockAhead}
	}
	return []gate.Reason{gate.ClockBehind}
}

// Doubts gives the reasons why a record cannot be relied on.
func Doubts(d state.Doubt) []gate.Reason {
	var reasons []gate.Reason
	if d&(state.Forked|state.Contradicts) != 0 {
		reasons = append(reasons, gate.RecordForked)
	}
	if d&state.NotUnderstood != 0 {
		reasons = append(reasons, gate.RecordNotUnderstood)
	}
	return reasons
}
