package counter

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

// Badge gives the person that a scanned badge names, or the reasons why it names
// nobody: then the person is the zero one. What the person may do is not asked
// here; a badge permits nothing.
//
// A badge is known by equality with the newest that was printed for its person, so
// that a lost key strands nobody.
func (c *Counter) Badge(ctx context.Context, text string) (state.Person, []gate.Reason, error) {
	sealed, err := tagcode.ParseBadge(text)
	if err != nil {
		return state.Person{}, []gate.Reason{notRead(text, err)}, nil
	}
	crib, err := c.store.Crib(ctx)
	if err != nil {
		return state.Person{}, nil, fmt.Errorf("counter: the crib's keys: %w", err)
	}
	if !slices.Contains(crib.Keys, sealed.Key) {
		return state.Person{}, []gate.Reason{gate.BadgeNotOurs}, nil
	}
	people, err := c.store.People(ctx)
	if err != nil {
		return state.Person{}, nil, fmt.Errorf("counter: whose badge it is: %w", err)
	}
	today, err := c.store.Today(ctx)
	if err != nil {
		return state.Person{}, nil, fmt.Errorf("counter: a badge: %w", err)
	}
	i := slices.IndexFunc(people, func(p state.Person) bool {
		return tagcode.NumberOf(sealed.Key, p.ID.String()) == sealed.Person
	})
	digest := tagcode.Digest(text)
	printed := i >= 0 && people[i].Badge.Digest == digest
	if key, err := c.keys.Current(sealed.Key); !printed && (err != nil || sealed.Verify(key) != nil) {
		return state.Person{}, []gate.Reason{gate.BadgeForged}, nil // without the key nobody can tell
	}
	if i < 0 || !people[i].Here {
		return state.Person{}, []gate.Reason{gate.BadgeUnknown}, nil
	}
	who := people[i]
	switch {
	case who.Doubt != 0:
		return state.Person{}, []gate.Reason{gate.RiggerNotCleared}, nil
	case sealed.Serial < who.Badge.Serial:
		return state.Person{}, []gate.Reason{gate.BadgeReplaced}, nil
	case !printed:
		return state.Person{}, []gate.Reason{gate.BadgeNotRecorded}, nil
	case who.Ended(today), !sealed.Until.IsZero() && sealed.Until.Before(today):
		return state.Person{}, []gate.Reason{gate.BadgeEnded}, nil
	}
	return who, nil, nil
}

// IsBadge tells whether a text is a badge, whoever made it and whether or not it is
// good.
func IsBadge(text string) bool {
	kind, _ := tagcode.KindOf(text) // what is none is no badge
	return kind == tagcode.KindBadge
}

// notRead says what a text is that does not read as a badge.
func notRead(text string, err error) gate.Reason {
	kind, _ := tagcode.KindOf(text) // what is none is told apart by err
	switch {
	case errors.Is(err, tagcode.ErrNewer):
		return gate.TagNewerFormat
	case errors.Is(err, tagcode.ErrMalformed) && kind == tagcode.KindBadge:
		return gate.BadgeForged
	}
	return gate.NotABadge
}

// ErrBadge reports a badge that is not the next one of its person as the record
// stands: somebody printed one, or changed the person, meanwhile.
var ErrBadge = errors.New("counter: this is not the person's next badge")

// PrintBadge writes down that the next badge of a person was drawn, as b says. It is
// called before the badge can reach anybody; those before it are no longer good.
func (c *Counter) PrintBadge(ctx context.Context, who Who, id event.PersonID, b event.BadgePrinted) error {
	request, err := event.Encode(b)
	if err != nil {
		return fmt.Errorf("counter: print a badge: %w", err)
	}
	_, err = c.store.Do(ctx, who.act("print badge", id.String(), string(request)), func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		if err := c.keeper(ctx, tx, who); err != nil {
			return nil, err
		}
		p, err := tx.Person(ctx, id)
		if err != nil {
			return nil, err
		}
		next, ok := p.NextBadge(b.Key)
		if !ok || p.Ended(tx.Today()) || next.Serial != b.Serial || next.Until != b.Until {
			return nil, ErrBadge
		}
		_, err = tx.Append(ctx, event.Person(id), p.Heads, b)
		return nil, err
	})
	if err != nil {
		return fmt.Errorf("counter: print a badge: %w", err)
	}
	return nil
}
