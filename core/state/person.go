package state

import (
	"slices"

	"cribgate/core/event"
	"cribgate/core/tagcode"
)

// Person is what is known of a person now. The zero value is nobody and may do
// nothing.
type Person struct {
	ID     event.PersonID
	Name   string
	Roles  event.Roles
	Here   bool
	Erased bool // the name was taken out of the register, for good; Name is what stands in its place
	Doubt  Doubt
	Heads  []event.Hash
}

// May reports whether the person is here, beyond doubt, and has one of roles.
func (p Person) May(roles event.Roles) bool { return p.Here && p.Doubt == 0 && p.Roles.Any(roles) }

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
		p.Name, p.Roles, p.Here = b.Name, b.Roles, true
	case event.PersonChanged:
		p.Name, p.Roles, p.Here = b.Name, b.Roles, b.Here
	case event.Erased:
		p.Erased = true
	case event.PINSet:
	default:
		p.Doubt |= Contradicts
	}
	return p
}

// Crib is what is known of the crib now. The zero value was never founded.
type Crib struct {
	Founded  event.Founded // with the policy as it is now
	Keys     []tagcode.Fingerprint
	Restored Restoration
	Vouched  Vouched
	Ahead    []Ahead // tags that say more than the register knows, in the order in which they were met
	Doubt    Doubt
	Heads    []event.Hash
}

// Key is the fingerprint of the key that seals tags now, zero for none.
func (c Crib) Key() tagcode.Fingerprint {
	if len(c.Keys) == 0 {
		return tagcode.Fingerprint{}
	}
	return c.Keys[len(c.Keys)-1]
}

// Follows reports whether e saw just this story, so that Apply equals the fold.
func (c Crib) Follows(e Event) bool { return slices.Equal(c.Heads, e.Parents) }

// Known gives the newest events of the story and what is wrong with it.
func (c Crib) Known() ([]event.Hash, Doubt) { return c.Heads, c.Doubt }

// FoldCrib tells the story of the crib, in any order of arrival.
func FoldCrib(story []Event) Crib {
	var c Crib
	for _, e := range Order(story) {
		c = c.Apply(e)
	}
	return c
}

// Apply adds one event. The receiver is not changed.
func (c Crib) Apply(e Event) Crib {
	c.Heads = heads(c.Heads, e)
	c.Doubt &^= Forked
	if len(c.Heads) > 1 {
		c.Doubt |= Forked
	}
	if _, first := e.Body.(event.Founded); e.Body != nil && first == (c.Founded.Name != "") {
		c.Doubt |= Contradicts // what was founded first stands
		return c
	}
	switch b := e.Body.(type) {
	case nil:
		c.Doubt |= NotUnderstood
	case event.Founded:
		c.Founded = b
	case event.PolicySet:
		c.Founded.Policy = b.Policy
	case event.KeyMade:
		c.Keys = append(slices.Clone(c.Keys), b.Fingerprint)
	case event.Restored:
		c = c.restored(b, e)
	case event.TagAhead:
		c = c.ahead(b, e)
	case event.Erased:
	case event.DateConfirmed:
		c = c.vouched(b.Floor, b.Signed, false, e)
	case event.ClockCorrected:
		c = c.vouched(b.Floor, b.Signed, true, e)
	default:
		c.Doubt |= Contradicts
	}
	return c
}
