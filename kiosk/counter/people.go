package counter

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"strings"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/store"
)

// Errors of the people's acts. ErrNameTaken reports a name that somebody here has
// already, since staff sign in by name; ErrLastKeeper the attempt to leave a crib
// without a keeper; ErrNotKeeper an act that only a keeper may do; ErrDayOver a
// last day that is over. A name that cannot be kept is event.ErrName.
var (
	ErrNameTaken  = errors.New("counter: somebody here has that name")
	ErrLastKeeper = errors.New("counter: a crib keeps at least one keeper")
	ErrNotKeeper  = errors.New("counter: only a keeper may do this")
	ErrDayOver    = errors.New("counter: that last day is over")
)

// AddPerson enters a person and gives the person's id.
func (c *Counter) AddPerson(ctx context.Context, who Who, added event.PersonAdded) (event.PersonID, error) {
	var err error
	if added.Name, err = event.CheckName(added.Name); err != nil {
		return event.PersonID{}, err
	}
	request, err := event.Encode(added)
	if err != nil {
		return event.PersonID{}, fmt.Errorf("counter: add person: %w", err)
	}
	answer, err := c.store.Do(ctx, who.act("add person", string(request)), func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		if err := c.keeper(ctx, tx, who); err != nil {
			return nil, err
		}
		if err := lastDay(added.Terms, tx.Today()); err != nil {
			return nil, err
		}
		if err := nameFree(ctx, tx, added.Name, event.PersonID{}); err != nil {
			return nil, err
		}
		id, err := event.NewPersonID(rand.Reader)
		if err != nil {
			return nil, err
		}
		if _, err := tx.Append(ctx, event.Person(id), nil, added); err != nil {
			return nil, err
		}
		return []byte(id.String()), nil
	})
	if err != nil {
		return event.PersonID{}, fmt.Errorf("counter: add person: %w", err)
	}
	return event.ParsePersonID(string(answer))
}

// ChangePerson gives a person another name, other roles or other terms, or takes
// the person off. to says all that holds from then on. One keeper always stays.
func (c *Counter) ChangePerson(ctx context.Context, who Who, id event.PersonID, seen []event.Hash, to event.PersonChanged) error {
	var err error
	if to.Name, err = event.CheckName(to.Name); err != nil {
		return err
	}
	request, err := event.Encode(to)
	if err != nil {
		return fmt.Errorf("counter: change person: %w", err)
	}
	_, err = c.store.Do(ctx, who.act("change person", id.String(), string(request)), func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		if err := c.keeper(ctx, tx, who); err != nil {
			return nil, err
		}
		if to.Here {
			if err := lastDay(to.Terms, tx.Today()); err != nil {
				return nil, err
			}
			if err := nameFree(ctx, tx, to.Name, id); err != nil {
				return nil, err
			}
		}
		if !to.Here || !to.Roles.Has(event.Keeper) || !to.Terms.Until.IsZero() {
			if err := otherKeeper(ctx, tx, id); err != nil {
				return nil, err
			}
		}
		_, err := tx.Append(ctx, event.Person(id), seen, to)
		return nil, err
	})
	if err != nil {
		return fmt.Errorf("counter: change person: %w", err)
	}
	return nil
}

// PINWasSet writes down that a PIN was set: by a keeper as a one-time PIN, or
// by the person.
func (c *Counter) PINWasSet(ctx context.Context, who Who, id event.PersonID, oneTime bool) error {
	_, err := c.store.Do(ctx, who.act("pin set", id.String(), fmt.Sprint(oneTime)), func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		if who.Person != id || oneTime {
			if err := c.keeper(ctx, tx, who); err != nil {
				return nil, err
			}
		}
		p, err := tx.Person(ctx, id)
		if err != nil {
			return nil, err
		}
		_, err = tx.Append(ctx, event.Person(id), p.Heads, event.PINSet{OneTime: oneTime})
		return nil, err
	})
	if err != nil {
		return fmt.Errorf("counter: PIN set: %w", err)
	}
	return nil
}

// SetPolicy replaces the crib's policy.
func (c *Counter) SetPolicy(ctx context.Context, who Who, seen []event.Hash, p event.Policy) error {
	body, err := event.Encode(event.PolicySet{Policy: p})
	if err != nil {
		return fmt.Errorf("counter: set policy: %w", err)
	}
	_, err = c.store.Do(ctx, who.act("set policy", string(body)), func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		if err := c.keeper(ctx, tx, who); err != nil {
			return nil, err
		}
		_, err := tx.Append(ctx, event.Crib(), seen, event.PolicySet{Policy: p})
		return nil, err
	})
	if err != nil {
		return fmt.Errorf("counter: set policy: %w", err)
	}
	return nil
}

func (c *Counter) keeper(ctx context.Context, tx *store.Tx, who Who) error {
	err := mustBe(ctx, tx, who, event.Keeper)
	if errors.Is(err, ErrRole) {
		return ErrNotKeeper
	}
	return err
}

// otherKeeper makes sure that a keeper other than id stays; one whose days are
// numbered does not count.
func otherKeeper(ctx context.Context, tx *store.Tx, id event.PersonID) error {
	people, err := tx.People(ctx)
	if err != nil {
		return err
	}
	for _, p := range people {
		if p.ID != id && p.Terms.Until.IsZero() && p.May(event.Keeper, tx.Today()) {
			return nil
		}
	}
	return ErrLastKeeper
}

// lastDay makes sure that nobody is taken on for days that are over.
func lastDay(t event.Terms, today quantity.Date) error {
	if !t.Until.IsZero() && t.Until.Before(today) {
		return ErrDayOver
	}
	return nil
}

// nameFree makes sure that nobody here but one has that name, in capitals or
// not: staff sign in by it. Somebody whose last day is over is not here.
func nameFree(ctx context.Context, tx *store.Tx, name string, but event.PersonID) error {
	people, err := tx.People(ctx)
	if err != nil {
		return err
	}
	for _, p := range people {
		if p.Here && !p.Ended(tx.Today()) && p.ID != but && strings.EqualFold(p.Name, name) {
			return ErrNameTaken
		}
	}
	return nil
}

// Named gives the one person here of that name, in capitals or not, as staff sign
// in: store.ErrNotFound where nobody here has it, store.ErrDoubled where more than
// one has. Where everybody of that name has ended, it is the one who ended last.
func (c *Counter) Named(ctx context.Context, name string) (state.Person, error) {
	today, err := c.store.Today(ctx)
	if err != nil {
		return state.Person{}, fmt.Errorf("counter: a person by name: %w", err)
	}
	people, err := c.store.People(ctx)
	if err != nil {
		return state.Person{}, fmt.Errorf("counter: a person by name: %w", err)
	}
	var found state.Person
	doubled := false
	for _, p := range people {
		if !p.Here || !strings.EqualFold(p.Name, name) {
			continue
		}
		switch c := lasting(p, found, today); {
		case c > 0:
			found, doubled = p, false
		case c == 0:
			doubled = true
		}
	}
	switch {
	case doubled:
		return state.Person{}, fmt.Errorf("counter: a person by name: %w", store.ErrDoubled)
	case !found.Here:
		return state.Person{}, fmt.Errorf("counter: a person by name: %w", store.ErrNotFound)
	}
	return found, nil
}

// lasting compares who of two that are called the same is meant: somebody rather
// than nobody, one who has not ended rather than one who has, of those the later.
func lasting(p, q state.Person, today quantity.Date) int {
	switch {
	case !q.Here:
		return 1
	case p.Ended(today) && q.Ended(today):
		return p.Terms.Until.Compare(q.Terms.Until)
	case p.Ended(today):
		return -1
	case q.Ended(today):
		return 1
	}
	return 0
}
