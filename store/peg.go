package store

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"cribgate/core/event"
	"cribgate/core/gate"
)

// PlaceKey is a rack place spelt so that the order of bytes is that in which one
// walks. The zero value is the beginning of every place.
type PlaceKey string

// KeyOfPlace spells a rack place. An empty one comes after all others.
func KeyOfPlace(place string) PlaceKey { return PlaceKey(placeKey(place)) }

// In tells whether a place is the other, or begins with it where a word or number
// ends: A-12 is in A and in A-12, and not in A-1. Case and zeros before a number do
// not matter.
func (k PlaceKey) In(beginning PlaceKey) bool {
	rest, ok := strings.CutPrefix(string(k), string(beginning))
	if !ok || rest == "" || beginning == "" {
		return ok
	}
	last, _ := utf8.DecodeLastRuneInString(string(beginning))
	next, _ := utf8.DecodeRuneInString(rest)
	return kindOf(last) != kindOf(next) || kindOf(next) == other
}

const (
	other = iota
	letter
	digit
)

func kindOf(r rune) int {
	switch {
	case unicode.IsLetter(r):
		return letter
	case r >= '0' && r <= '9':
		return digit
	}
	return other
}

// A Peg is a sling in its place of the rack, and where it was seen in a count.
type Peg struct {
	ID     event.SlingID
	Ident  string
	Stands gate.State
	Place  PlaceKey
	Seen   event.CountID // in which it was seen last; zero for none
	SeenAt PlaceKey      // there; that of an empty place where it was not said
}

func (p Peg) compare(q Peg) int {
	return cmp.Or(cmp.Compare(p.Place, q.Place), cmp.Compare(p.Ident, q.Ident), cmp.Compare(p.ID.String(), q.ID.String()))
}

// Pegs gives the slings that should hang at the places that begin so, as one walks
// along them: those that are in, unchecked or held.
func (r Reader) Pegs(ctx context.Context, at PlaceKey) ([]Peg, error) {
	var list []Peg
	for _, s := range hung {
		more, err := r.pegs(ctx, sqlPegs, s.String(), string(at), beyond(at))
		if err != nil {
			return nil, fmt.Errorf("store: list what hangs: %w", err)
		}
		list = append(list, more...)
	}
	list = slices.DeleteFunc(list, func(p Peg) bool { return !p.Place.In(at) })
	slices.SortFunc(list, Peg.compare)
	return list, nil
}

// SeenAt gives the slings that were seen last in that count, at the places that
// begin so, wherever they should be.
func (r Reader) SeenAt(ctx context.Context, count event.CountID, at PlaceKey) ([]Peg, error) {
	list, err := r.pegs(ctx, sqlSeenAt, count.String(), string(at), beyond(at))
	if err != nil {
		return nil, fmt.Errorf("store: list what was seen: %w", err)
	}
	list = slices.DeleteFunc(list, func(p Peg) bool { return !p.SeenAt.In(at) })
	slices.SortFunc(list, Peg.compare)
	return list, nil
}

// beyond is after every place that begins so.
func beyond(at PlaceKey) string { return string(at) + "\U0010FFFF\U0010FFFF" }

func (r Reader) pegs(ctx context.Context, query string, args ...any) (list []Peg, err error) {
	err = each(ctx, r.q, func(rows cells) error {
		var p Peg
		var id, stands, seen string
		if err := rows.Scan(&id, &p.Ident, &stands, &p.Place, &seen, &p.SeenAt); err != nil {
			return err
		}
		var err error
		if p.ID, err = event.ParseSlingID(id); err != nil {
			return fmt.Errorf("%w: %w", ErrDamaged, err)
		}
		if p.Stands, err = gate.ParseState(stands); err != nil {
			return fmt.Errorf("%w: %w", ErrDamaged, err)
		}
		if seen != "" {
			if p.Seen, err = event.ParseCountID(seen); err != nil {
				return fmt.Errorf("%w: %w", ErrDamaged, err)
			}
		}
		list = append(list, p)
		return nil
	}, query, args...)
	return list, err
}
