package state

import (
	"slices"

	"cribgate/core/event"
	"cribgate/core/quantity"
)

// Person is what is known of a person now. The zero value is nobody and may do
// nothing.
type Person struct {
	ID     event.PersonID
	Name   string
	Roles  event.Roles
	Here   bool
	Terms  event.Terms
	Erased bool // the name was taken out of the register, for good; Name is what stands in its place
	Doubt  Doubt
	Heads  []event.Hash
}

// May reports whether the person is here on that day, beyond doubt, and has one of
// roles.
func (p Person) May(roles event.Roles, on quantity.Date) bool {
	return p.Here && !p.Ended(on) && p.Doubt == 0 && p.Roles.Any(roles)
}

// Ended reports whether the person's last day is over on that day. Without a day,
// that of everybody who has one is.
func (p Person) Ended(on quantity.Date) bool {
	return !p.Terms.Until.IsZero() && (on.IsZero() || p.Terms.Until.Before(on))
}

// Follows reports whether e saw just this story, so that Apply equals the fold.
func (p Person) Follows(e Event) bool { return slices.Equal(p.Heads, e.Parents) }

// Known gives the newest events of the story and what is wrong with it.
func (p Person) Known() ([]event.Hash, Doubt) { return p.Heads, p.Doubt }

// FoldPerson tells the story of a person, in any order of arrival.
func FoldPerson(id event.PersonID, story []Event) Person {
	p := Person{ID: id}
	for _, e := range Order(story) {
		p = p.Apply(e)
	}
	return p
}

// Apply adds one event. The receiver is not changed.
func (p Person) Apply(e Event) Person {
	p.Heads = heads(p.Heads, e)
	p.Doubt &^= Forked
	if len(p.Heads) > 1 {
		p.Doubt |= Forked
	}
	if _, first := e.Body.(event.PersonAdded); e.Body != nil && first == (p.Name != "") {
		p.Doubt |= Contradicts // who was added first stands; of nobody nothing is known
		return p
	}
	switch b := e.Body.(type) {
	case nil:
		p.Doubt |= NotUnderstood
	case event.PersonAdded:
		p.Name, p.Roles, p.Terms, p.Here = b.Name, b.Roles, b.Terms, true
	case event.PersonChanged:
		p.Name, p.Roles, p.Terms, p.Here = b.Name, b.Roles, b.Terms, b.Here
	case event.Erased:
		p.Erased = true
	case event.PINSet:
	default:
		p.Doubt |= Contradicts
	}
	return p
}
