package print

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/store"
)

// Why a sling of a register gets no tag. Each comes wrapped with the sling.
var (
	ErrGone    = errors.New("sling is retired or lost")
	ErrDoubt   = errors.New("its record cannot be relied on")
	ErrSerials = errors.New("all tag serials are used")
	ErrNoRoom  = errors.New("a tag has no room for its record")
	ErrNamed   = errors.New("it is named twice")
	ErrChanged = errors.New("its record has changed since the tag was drawn; print again")
)

// Keys finds the key that seals a register's tags, from its fingerprint. A
// keyring.Ring is one.
type Keys interface {
	Current(tagcode.Fingerprint) (tagcode.Key, error)
}

// FromRegister makes the next tag of each sling that is named by its owner's
// identification, in that order; without names, of all that are neither retired
// nor lost. The register does not know these tags yet: that is Record.
//
// All slings are looked at; the error joins what stands against each, and then
// no tag is returned.
func FromRegister(ctx context.Context, r store.Reader, keys Keys, idents []string) ([]Tag, error) {
	crib, err := r.Crib(ctx)
	if err != nil {
		return nil, fmt.Errorf("print: read the register: %w", err)
	}
	key, err := keys.Current(crib.Key())
	if err != nil {
		return nil, fmt.Errorf("print: find the key of the register's tags: %w", err)
	}
	var tags []Tag
	var bad []error
	add := func(s state.Sling) {
		tag, err := Next(s, key, crib.Founded.Policy.Prefix)
		if err != nil {
			bad = append(bad, err)
			return
		}
		tags = append(tags, tag)
	}
	for i, ident := range idents {
		if slices.Contains(idents[:i], ident) {
			bad = append(bad, fmt.Errorf("print: sling %q: %w", ident, ErrNamed))
			continue
		}
		s, err := r.SlingByIdent(ctx, ident)
		if err != nil {
			bad = append(bad, fmt.Errorf("print: sling %q: %w", ident, err))
			continue
		}
		add(s)
	}
	if len(idents) == 0 {
		if err := each(ctx, r, add); err != nil {
			return nil, err
		}
	}
	if len(bad) > 0 {
		return nil, errors.Join(bad...)
	}
	return tags, nil
}

// each goes through all slings that can have a tag.
func each(ctx context.Context, r store.Reader, do func(state.Sling)) error {
	q := store.Query{
		States: []gate.State{gate.StateIn, gate.StateOut, gate.StateUnchecked, gate.StateHeld},
		Limit:  store.MaxPage,
	}
	for {
		page, more, err := r.List(ctx, q)
		if err != nil {
			return fmt.Errorf("print: list the slings: %w", err)
		}
		for _, s := range page {
			do(s)
		}
		if more == "" {
			return nil
		}
		q.After = more
	}
}

// Next makes the next tag of a sling as its record stands. The error is ErrGone,
// ErrDoubt, ErrSerials or ErrNoRoom where the sling gets none.
func Next(s state.Sling, key tagcode.Key, prefix string) (Tag, error) {
	serial := s.NextSerial()
	switch {
	case gone(s):
		return Tag{}, fmt.Errorf("print: sling %s: %w", s.Details.Ident, ErrGone)
	case s.Doubt != 0:
		return Tag{}, fmt.Errorf("print: sling %s: %w", s.Details.Ident, ErrDoubt)
	case serial == 0:
		return Tag{}, fmt.Errorf("print: sling %s: %w", s.Details.Ident, ErrSerials)
	}
	says, err := s.Tag(key.Fingerprint(), serial)
	if err != nil {
		return Tag{}, fmt.Errorf("print: sling %s: %w: %w", s.Details.Ident, ErrNoRoom, err)
	}
	tag, err := Make(s.Details.Ident, says, key, prefix)
	tag.Sling, tag.doubt = s.ID, s.Details.Sling.TagDoubt()
	return tag, err
}

// Record makes tags of FromRegister known to the register as they were drawn: it
// appends a printed tag to the story of each sling, within the caller's act. It
// is called before a tag can reach anybody. A tag whose serial is taken by now,
// or that no longer says what the record does, is refused with ErrChanged, and
// the act should end.
func Record(ctx context.Context, tx *store.Tx, drawn []Drawn) error {
	for _, tag := range drawn {
		if err := record(ctx, tx, tag); err != nil {
			return err
		}
	}
	return nil
}

func record(ctx context.Context, tx *store.Tx, tag Drawn) error {
	s, err := tx.Sling(ctx, tag.Sling)
	if err != nil {
		return fmt.Errorf("print: record tag of %s: %w", tag.Ident, err)
	}
	if !tag.IsNext(s) {
		return fmt.Errorf("print: record tag of %s: %w", tag.Ident, ErrChanged)
	}
	if _, err := tx.Append(ctx, event.Sling(s.ID), s.Heads, tag.Printed); err != nil {
		return fmt.Errorf("print: record tag of %s: %w", tag.Ident, err)
	}
	return nil
}

// IsNext tells whether the tag is what Next would make of the sling now.
func (t Tag) IsNext(s state.Sling) bool {
	says, err := s.Tag(t.Sealed.Key, s.NextSerial())
	return err == nil && says == t.Sealed.Tag && s.Doubt == 0 && !gone(s)
}

// gone tells whether a sling is one that gets no tag.
func gone(s state.Sling) bool {
	st := s.Details.Sling.State
	return st == gate.StateRetired || st == gate.StateLost
}
