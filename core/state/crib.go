package state

import (
	"slices"
	"time"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
)

// Crib is what is known of the crib now. The zero value was never founded.
type Crib struct {
	Founded  event.Founded // with the policy as it is now
	Keys     []tagcode.Fingerprint
	Restored Restoration
	Vouched  Vouched
	Ahead    []Ahead // tags that say more than the register knows, in the order in which they were met
	Count    Count   // that is going on
	Strays   []Stray // that nobody has settled, by number
	Visit    Visit   // of an examiner from outside that is going on
	LastNo   int     // highest number of a stray
	LastPad  int     // highest number of a printed sheet
	Doubt    Doubt
	Heads    []event.Hash
}

// Count is a count of the rack that is going on. The zero value is none.
type Count struct {
	ID     event.CountID
	Places []string // begin the places that are counted; none: all
	By     event.PersonID
	Since  time.Time // UTC
}

// Visit is an examiner's visit that is going on. The zero value is none.
type Visit struct {
	event.VisitBegun
	By    event.PersonID
	Since time.Time // UTC
}

// Stray is a sling that the register does not know, kept apart.
type Stray struct {
	event.Stray
	By  event.PersonID
	Day quantity.Date
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
	case event.PadPrinted:
		if b.First != c.LastPad+1 {
			c.Doubt |= Contradicts
		}
		c.LastPad = max(c.LastPad, b.Last)
	case event.CountBegun:
		if !c.Count.ID.IsZero() {
			c.Doubt |= Contradicts // one at a time
		}
		c.Count = Count{ID: b.Count, Places: b.Places, By: e.By, Since: e.UTC}
	case event.CountEnded:
		if b.Count != c.Count.ID {
			c.Doubt |= Contradicts
		}
		c.Count = Count{}
	case event.Stray:
		if b.No <= c.LastNo {
			c.Doubt |= Contradicts
		}
		c.LastNo = max(c.LastNo, b.No)
		c.Strays = append(slices.Clone(c.Strays), Stray{Stray: b, By: e.By, Day: e.Day})
	case event.StraySettled:
		known := len(c.Strays)
		c.Strays = slices.DeleteFunc(slices.Clone(c.Strays), func(s Stray) bool { return s.No == b.No })
		if len(c.Strays) == known {
			c.Doubt |= Contradicts
		}
		if len(c.Strays) == 0 {
			c.Strays = nil
		}
	case event.VisitBegun:
		if !c.Visit.Visit.IsZero() {
			c.Doubt |= Contradicts // one at a time
		}
		c.Visit = Visit{VisitBegun: b, By: e.By, Since: e.UTC}
	case event.VisitEnded:
		if b.Visit != c.Visit.Visit {
			c.Doubt |= Contradicts
		}
		c.Visit = Visit{}
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
