package print

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/printtemplates"
	"cribgate/store"
)

// Why a person of a register gets no badge. Each comes wrapped with the person.
var (
	ErrNotHere      = errors.New("nobody of that name is here today")
	ErrBadgeSerials = errors.New("all badge serials are used")
)

// BadgesFromRegister makes the next badge of each person that is named, in that
// order; without names, of everybody here who has none that is good. A badge is
// good up to its person's last day. The register does not know these badges yet:
// that is RecordBadges.
//
// All people are looked at; the error joins what stands against each, and then no
// badge is returned.
func BadgesFromRegister(ctx context.Context, r store.Reader, keys Keys, today quantity.Date, names []string) ([]Badge, error) {
	crib, err := r.Crib(ctx)
	if err != nil {
		return nil, fmt.Errorf("print: read the register: %w", err)
	}
	people, err := r.People(ctx)
	if err != nil {
		return nil, fmt.Errorf("print: read the people of the register: %w", err)
	}
	people = slices.DeleteFunc(people, func(p state.Person) bool { return !p.Here || p.Ended(today) })
	var badges []Badge
	var bad []error
	add := func(p state.Person) {
		b, err := NextBadge(crib, p, keys)
		if err != nil {
			bad = append(bad, err)
			return
		}
		badges = append(badges, b)
	}
	for i, name := range names {
		at := slices.IndexFunc(people, func(p state.Person) bool { return p.Name == name })
		switch {
		case slices.Contains(names[:i], name):
			bad = append(bad, fmt.Errorf("print: badge of %q: %w", name, ErrNamed))
		case at < 0:
			bad = append(bad, fmt.Errorf("print: badge of %q: %w", name, ErrNotHere))
		default:
			add(people[at])
		}
	}
	for _, p := range people {
		if len(names) == 0 && !hasBadge(p, today) {
			add(p)
		}
	}
	if len(bad) > 0 {
		return nil, errors.Join(bad...)
	}
	return badges, nil
}

// hasBadge tells whether a person has a badge that is good on that day.
func hasBadge(p state.Person, on quantity.Date) bool {
	b, printed := p.Printed()
	return printed && (b.Until.IsZero() || !b.Until.Before(on))
}

// NextBadge makes the next badge of a person as the record stands. The error is
// ErrDoubt, ErrNotHere or ErrBadgeSerials where the person gets none.
func NextBadge(crib state.Crib, p state.Person, keys Keys) (Badge, error) {
	says, ok := p.NextBadge(crib.Key())
	switch {
	case ok:
		return badgeOf(crib, p, says, keys)
	case p.Doubt != 0:
		return Badge{}, fmt.Errorf("print: badge of %s: %w", p.Name, ErrDoubt)
	case !p.Here:
		return Badge{}, fmt.Errorf("print: badge of %q: %w", p.Name, ErrNotHere)
	}
	return Badge{}, fmt.Errorf("print: badge of %s: %w", p.Name, ErrBadgeSerials)
}

// BadgeAgain makes the newest badge of a person, to draw it once more. It is
// ErrChanged where none was printed, or another than the record says.
func BadgeAgain(crib state.Crib, p state.Person, keys Keys) (Badge, error) {
	says, printed := p.Printed()
	if !printed {
		return Badge{}, fmt.Errorf("print: badge of %s: %w", p.Name, ErrChanged)
	}
	b, err := badgeOf(crib, p, says, keys)
	if err == nil && tagcode.Digest(b.Sealed.Text()) != p.Badge.Digest {
		return Badge{}, fmt.Errorf("print: badge %d of %s: %w", says.Serial, p.Name, ErrChanged)
	}
	return b, err
}

func badgeOf(crib state.Crib, p state.Person, says tagcode.Badge, keys Keys) (Badge, error) {
	key, err := keys.Current(says.Key)
	if err != nil {
		return Badge{}, fmt.Errorf("print: find the key of badge %d of %s: %w", says.Serial, p.Name, err)
	}
	sealed, err := says.Seal(key)
	if err != nil {
		return Badge{}, fmt.Errorf("print: make badge of %s: %w", p.Name, err)
	}
	return Badge{Person: p.ID, Name: p.Name, Crib: crib.Founded.Name, Role: p.Roles, Sealed: sealed}, nil
}

// Printed is what a register is told of the badge on a stock.
func (b Badge) Printed(stock printtemplates.Stock) event.BadgePrinted {
	return event.BadgePrinted{Serial: b.Sealed.Serial, Key: b.Sealed.Key, Digest: tagcode.Digest(b.Sealed.Text()),
		Until: b.Sealed.Until, Stock: stock.Name}
}

// WriteBadges prints badges as Write does tags. before is called before a badge can
// reach anybody.
func (j Job) WriteBadges(ctx context.Context, badges []Badge, before func() error) (Result, error) {
	return write(ctx, j, badges, func([]Drawn) error { return before() })
}

// RecordBadges makes badges of BadgesFromRegister known to the register, within the
// caller's act: those before them are no longer good. One whose serial is taken by
// now, or whose person has changed, is refused with ErrChanged, and the act should
// end.
func RecordBadges(ctx context.Context, tx *store.Tx, badges []Badge, stock printtemplates.Stock) error {
	for _, b := range badges {
		p, err := tx.Person(ctx, b.Person)
		if err != nil {
			return fmt.Errorf("print: record badge of %s: %w", b.Name, err)
		}
		if next, ok := p.NextBadge(b.Sealed.Key); !ok || next != b.Sealed.Badge || p.Ended(tx.Today()) {
			return fmt.Errorf("print: record badge of %s: %w", b.Name, ErrChanged)
		}
		if _, err := tx.Append(ctx, event.Person(p.ID), p.Heads, b.Printed(stock)); err != nil {
			return fmt.Errorf("print: record badge of %s: %w", b.Name, err)
		}
	}
	return nil
}
