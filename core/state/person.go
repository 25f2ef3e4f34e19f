package state

import (
	"slices"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
)

// Person is what is known of a person now. The zero value is nobody and may do
// nothing.
type Person struct {
	ID     event.PersonID
	Name   string
	Roles  event.Roles
	Here   bool
	Terms  event.Terms
	Badge  event.BadgePrinted // the newest, the only one that is good; zero: none was printed
	Erased bool               // the name was taken out of the register, for good; Name is what stands in its place
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
	case event.BadgePrinted:
		if b.Serial <= p.Badge.Serial {
			p.Doubt |= Contradicts
		}
		p.Badge = b
	case event.PINSet, event.LiftPlanned, event.LiftGivenUp, event.LiftDrawn: // see Planned
	default:
		p.Doubt |= Contradicts
	}
	return p
}

// NextBadge gives what the next badge of the person says, sealed with the key: it is
// good up to the person's last day. ok is false for somebody who gets none: who is
// not here, of whom the record is in doubt, or whose serials are all used.
func (p Person) NextBadge(key tagcode.Fingerprint) (b tagcode.Badge, ok bool) {
	if !p.Here || p.Doubt != 0 || p.Badge.Serial >= tagcode.MaxSerial {
		return tagcode.Badge{}, false
	}
	return p.badge(key, p.Badge.Serial+1, p.Terms.Until), true
}

// Printed gives what the newest badge of the person says. ok is false where none was
// printed.
func (p Person) Printed() (b tagcode.Badge, ok bool) {
	if p.Badge.Serial == 0 {
		return tagcode.Badge{}, false
	}
	return p.badge(p.Badge.Key, p.Badge.Serial, p.Badge.Until), true
}

func (p Person) badge(key tagcode.Fingerprint, serial tagcode.Serial, until quantity.Date) tagcode.Badge {
	return tagcode.Badge{Key: key, Person: tagcode.NumberOf(key, p.ID.String()), Serial: serial, Until: until}
}
