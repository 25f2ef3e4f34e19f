package store

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"

	"cribgate/core/event"
	"cribgate/core/state"
)

// folded is what core/state folds a story into.
type folded[T any] interface {
	Follows(state.Event) bool
	Apply(state.Event) T
	Encode() ([]byte, error)
	Known() ([]event.Hash, state.Doubt)
}

// entry is the present of one subject while an act goes on.
type entry[T folded[T]] struct {
	now   T
	was   T     // as it is in its row
	row   int64 // number of its row, 0 for none
	told  bool  // an event has been added since
	again bool  // an event did not follow; the story has to be told again
}

func (e *entry[T]) heads() []event.Hash {
	heads, _ := e.now.Known()
	return heads
}

func (e *entry[T]) fits(ev state.Event) bool {
	_, before := e.now.Known()
	_, after := e.now.Apply(ev).Known()
	return after&^before&state.Contradicts == 0
}

func (e *entry[T]) add(ev state.Event) {
	e.told = true
	if e.now.Follows(ev) {
		e.now = e.now.Apply(ev)
	} else {
		e.again = true
	}
}

// retell has the story told again from its beginning: what an event says has
// changed.
func (e *entry[T]) retell() { e.told, e.again = true, true }

// present holds the subjects that an act has touched, and writes them to their
// rows before anything is read from there and before the act commits.
type present struct {
	tx     *sql.Tx
	crib   *entry[state.Crib]
	people map[event.PersonID]*entry[state.Person]
	slings map[event.SlingID]*entry[state.Sling]
}

// keep is how many slings are kept decoded at a time, some 2 KB each. A bulk act
// over a large crib comes back to most of them before it ends.
const keep = 20_000

func (p *present) cribEntry(ctx context.Context) (*entry[state.Crib], error) {
	if p.crib == nil {
		e, err := load(ctx, p.tx, state.Crib{}, state.DecodeCrib, sqlCrib)
		if err != nil {
			return nil, err
		}
		p.crib = e
	}
	return p.crib, nil
}

func (p *present) person(ctx context.Context, id event.PersonID) (*entry[state.Person], error) {
	if e, ok := p.people[id]; ok {
		return e, nil
	}
	e, err := load(ctx, p.tx, state.Person{ID: id}, state.DecodePerson, sqlPerson, id.String())
	if err != nil {
		return nil, err
	}
	if p.people == nil {
		p.people = make(map[event.PersonID]*entry[state.Person])
	}
	p.people[id] = e
	return e, nil
}

func (p *present) sling(ctx context.Context, id event.SlingID) (*entry[state.Sling], error) {
	if e, ok := p.slings[id]; ok {
		return e, nil
	}
	if len(p.slings) >= keep {
		if err := p.flush(ctx); err != nil {
			return nil, err
		}
		p.slings = nil
	}
	e, err := load(ctx, p.tx, state.Sling{ID: id}, state.DecodeSling, sqlSling, id.String())
	if err != nil {
		return nil, err
	}
	if p.slings == nil {
		p.slings = make(map[event.SlingID]*entry[state.Sling])
	}
	p.slings[id] = e
	return e, nil
}

// load reads a subject's row; where there is none, it begins with empty.
func load[T folded[T]](ctx context.Context, tx *sql.Tx, empty T, decode func([]byte) (T, error), query string, args ...any) (*entry[T], error) {
	now, row, err := one(ctx, tx, "the present", decode, query, args...)
	if errors.Is(err, ErrNotFound) {
		return &entry[T]{now: empty, was: empty}, nil
	}
	if err != nil {
		return nil, err
	}
	return &entry[T]{now: now, was: now, row: row}, nil
}

// told is an entry whatever its subject is.
type told interface {
	heads() []event.Hash
	fits(state.Event) bool
	add(state.Event)
	retell()
}

func (p *present) of(ctx context.Context, s event.Subject) (told, error) {
	switch s.Kind() {
	case event.OfCrib:
		return p.cribEntry(ctx)
	case event.OfPerson:
		return p.person(ctx, s.Person())
	case event.OfSling:
		return p.sling(ctx, s.Sling())
	}
	return nil, errors.New("no subject")
}

// heads gives the newest events of a subject.
func (p *present) heads(ctx context.Context, s event.Subject) ([]event.Hash, error) {
	e, err := p.of(ctx, s)
	if err != nil {
		return nil, err
	}
	return e.heads(), nil
}

// fits tells whether the event can happen after what is known of its subject.
func (p *present) fits(ctx context.Context, s event.Subject, ev state.Event) (bool, error) {
	e, err := p.of(ctx, s)
	if err != nil {
		return false, err
	}
	return e.fits(ev), nil
}

// add adds the event at a position to the present of its subject.
func (p *present) add(ctx context.Context, at int64, s event.Subject, ev state.Event) error {
	e, err := p.of(ctx, s)
	if err != nil {
		return err
	}
	e.add(ev)
	if d, ok := drawnOf(at, s, ev.Body); ok {
		return p.writeDrawn(ctx, d)
	}
	if l, ok := plannedOf(at, s, ev.Body); ok {
		return p.writePlanned(ctx, l)
	}
	return nil
}

// retell has the story of a subject told again.
func (p *present) retell(ctx context.Context, s event.Subject) error {
	e, err := p.of(ctx, s)
	if err != nil {
		return err
	}
	e.retell()
	return nil
}

// flush writes every subject that has a new event, in an order that does not
// depend on chance.
func (p *present) flush(ctx context.Context) error {
	if p.crib != nil {
		if err := settle(ctx, p.tx, p.crib, event.Crib(), state.FoldCrib, p.writeCrib); err != nil {
			return err
		}
	}
	for _, id := range sorted(p.people, func(id event.PersonID) string { return string(id[:]) }) {
		fold := func(story []state.Event) state.Person { return state.FoldPerson(id, story) }
		if err := settle(ctx, p.tx, p.people[id], event.Person(id), fold, p.writePerson); err != nil {
			return err
		}
	}
	for _, id := range sorted(p.slings, event.SlingID.String) {
		fold := func(story []state.Event) state.Sling { return state.FoldSling(id, story) }
		if err := settle(ctx, p.tx, p.slings[id], event.Sling(id), fold, p.writeSling); err != nil {
			return err
		}
	}
	return nil
}

func sorted[K comparable, V interface{ dirty() bool }](m map[K]V, name func(K) string) []K {
	keys := make([]K, 0, len(m))
	for k, v := range m {
		if v.dirty() {
			keys = append(keys, k)
		}
	}
	slices.SortFunc(keys, func(a, b K) int { return bytes.Compare([]byte(name(a)), []byte(name(b))) })
	return keys
}

func (e *entry[T]) dirty() bool { return e.told }

// settle writes one subject's row where it has a new event.
func settle[T folded[T]](ctx context.Context, tx *sql.Tx, e *entry[T], s event.Subject, fold func([]state.Event) T,
	write func(context.Context, *entry[T], []byte) error) error {
	if !e.told {
		return nil
	}
	if e.again {
		story, err := events(ctx, tx, s)
		if err != nil {
			return err
		}
		e.now = fold(story)
	}
	text, err := e.now.Encode()
	if err != nil {
		return fmt.Errorf("store: the present of %s: %w", s, err)
	}
	if err := write(ctx, e, text); err != nil {
		return fmt.Errorf("store: write the present of %s: %w", s, explain(err))
	}
	e.was, e.told, e.again = e.now, false, false
	return nil
}

// events reads a story for folding.
func events(ctx context.Context, q querier, s event.Subject) ([]state.Event, error) {
	story, err := Reader{q}.Story(ctx, s)
	if err != nil {
		return nil, err
	}
	list := make([]state.Event, len(story))
	for i, r := range story {
		list[i] = r.Event()
	}
	return list, nil
}
