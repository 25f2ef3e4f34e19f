package web

import (
	"cmp"
	"context"
	"crypto/rand"
	"slices"
	"strings"
	"sync"

	"cribgate/core/event"
	"cribgate/core/state"
)

// fakePeople is a register of people in memory.
type fakePeople struct {
	mu   sync.Mutex
	crib state.Crib
	all  []state.Person
	keys map[string]event.PersonID
	pins []string // what PINSet was told
	err  error    // what every call answers, if not nil
}

func newFakePeople() *fakePeople {
	return &fakePeople{
		crib: state.Crib{Founded: event.Founded{Name: "North Sluice crib", Units: event.Imperial, Zone: "America/Chicago"}},
		keys: map[string]event.PersonID{},
	}
}

func (f *fakePeople) add(name string, roles event.Roles) state.Person {
	id, err := event.NewPersonID(rand.Reader)
	if err != nil {
		panic(err)
	}
	p := state.Person{ID: id, Name: name, Roles: roles, Here: true}
	f.all = append(f.all, p)
	return p
}

func (f *fakePeople) Crib(context.Context) (state.Crib, error) { return f.crib, f.err }

func (f *fakePeople) find(ok func(state.Person) bool) (state.Person, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if i := slices.IndexFunc(f.all, ok); i >= 0 {
		return f.all[i], f.err
	}
	return state.Person{}, f.err
}

func (f *fakePeople) Person(_ context.Context, id event.PersonID) (state.Person, error) {
	return f.find(func(p state.Person) bool { return p.ID == id })
}

func (f *fakePeople) PersonNamed(_ context.Context, name string) (state.Person, error) {
	return f.find(func(p state.Person) bool { return p.Here && strings.EqualFold(p.Name, name) })
}

func (f *fakePeople) People(context.Context) ([]state.Person, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	list := slices.Clone(f.all)
	slices.SortFunc(list, func(a, b state.Person) int { return cmp.Compare(a.Name, b.Name) })
	return list, f.err
}

func (f *fakePeople) AddPerson(ctx context.Context, _ event.PersonID, key, name string, roles event.Roles) (event.PersonID, error) {
	if id, ok := f.keys[key]; ok {
		return id, nil
	}
	if p, err := f.PersonNamed(ctx, name); err != nil || !p.ID.IsZero() {
		return event.PersonID{}, cmp.Or(err, ErrNameTaken)
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	p := f.add(name, roles)
	f.keys[key] = p.ID
	return p.ID, f.err
}

func (f *fakePeople) PINSet(_ context.Context, _, person event.PersonID, oneTime bool) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	word := "own"
	if oneTime {
		word = "one-time"
	}
	f.pins = append(f.pins, word)
	return f.err
}
