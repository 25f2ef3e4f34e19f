package state

import (
	"fmt"
	"slices"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
)

// TagStatus says what a printed tag is good for.
type TagStatus uint8

// The tag statuses. A printed tag that is not confirmed in time lapses; that
// follows from its date and is no status ([Tag.Lapsed]).
const (
	TagPrinted  TagStatus = iota + 1 // printed, not yet confirmed on the sling
	TagLive                          // on the sling
	TagReplaced                      // another was confirmed after it
	TagSpoiled                       // thrown away before it was confirmed
)

// LapseDays is how long a printed tag may wait to be confirmed (site policy of
// this program, no source).
const LapseDays = 7

// Tag is one QR tag of a sling.
type Tag struct {
	Serial  tagcode.Serial
	Key     tagcode.Fingerprint
	Digest  [32]byte
	Version int
	Level   string
	Mask    int
	Stock   string
	Status  TagStatus
	Printed quantity.Date
	By      event.PersonID // who printed it
	Says    Says           // zero where the record fitted no tag when it was printed
	Graded  string         // letter of the print that was confirmed; empty where none was graded
	Spoiled Spoiled
	Wear    Wear
}

// Says is what a tag says of its sling besides which one it is.
type Says struct {
	Inspected quantity.Date
	Due       quantity.Date
	Outcome   tagcode.Outcome
	Facts     tagcode.Facts
}

// Spoiled says how a tag came to be thrown away. The zero value is a tag that
// was not.
type Spoiled struct {
	Why  event.Spoilt
	Note string
	By   event.PersonID
	Day  quantity.Date
}

// Lapsed reports whether the tag waits to be confirmed since more than
// LapseDays before today.
func (t Tag) Lapsed(today quantity.Date) bool {
	return t.Status == TagPrinted && t.Printed.AddDays(LapseDays).Before(today)
}

// Agrees reports whether the tag says what a tag that is printed now would say.
func (s Sling) Agrees(t Tag) bool {
	now, err := s.Tag(t.Key, t.Serial)
	return err == nil && now == s.Printed(t)
}

// Printed is what stands on a tag of this sling, whatever the record says since:
// its facts are zero, which none has, where it is known to say nothing.
func (s Sling) Printed(t Tag) tagcode.Tag {
	return tagcode.Tag{
		Key: t.Key, Number: tagcode.NumberOf(t.Key, s.Details.Ident), Serial: t.Serial,
		Inspected: t.Says.Inspected, Due: t.Says.Due, Outcome: t.Says.Outcome, Facts: t.Says.Facts,
	}
}

func saysOf(t tagcode.Tag) Says {
	return Says{Inspected: t.Inspected, Due: t.Due, Outcome: t.Outcome, Facts: t.Facts}
}

// TagWant says whether a sling is to get a new tag. The zero value is no.
type TagWant uint8

// The wants.
const (
	WantsFirst TagWant = iota + 1 // none is on it
	WantsNext                     // the one that is on it says something else than the record
	WantsWorn                     // the one that is on it is worn, and will soon not be read any more
)

// Wants says whether the sling is to get a new tag. One that is gone, did not
// pass its last inspection or is in doubt gets none as it stands; for one whose
// newest tag waits to be confirmed, or waited too long, that tag comes first.
func (s Sling) Wants() TagWant {
	switch d := s.Details; {
	case d.Sling.State == 0, d.Sling.State == gate.StateRetired, d.Sling.State == gate.StateLost:
		return 0
	case failed(d.Outcome), s.Doubt != 0, s.NextSerial() == 0:
		return 0
	}
	if _, ok := s.Unconfirmed(); ok {
		return 0
	}
	switch live, ok := s.Live(); {
	case !ok:
		return WantsFirst
	case !s.Agrees(live):
		return WantsNext
	case live.Wear.Fails(live.Printed):
		return WantsWorn
	}
	return 0
}

// Unconfirmed gives the tag that was printed last, those thrown away apart, where
// it was not confirmed, in time or not; false where there is none.
func (s Sling) Unconfirmed() (Tag, bool) {
	for _, t := range slices.Backward(s.Tags) {
		if t.Status != TagSpoiled {
			return t, t.Status == TagPrinted
		}
	}
	return Tag{}, false
}

// Live gives the tag that is on the sling, false where none is.
func (s Sling) Live() (Tag, bool) {
	for _, t := range s.Tags {
		if t.Status == TagLive {
			return t, true
		}
	}
	return Tag{}, false
}

// Waiting gives what Unconfirmed does, false where it has lapsed.
func (s Sling) Waiting(today quantity.Date) (Tag, bool) {
	if t, ok := s.Unconfirmed(); ok && !t.Lapsed(today) {
		return t, true
	}
	return Tag{}, false
}

// NextSerial is the serial of the next tag, zero when all are used.
func (s Sling) NextSerial() tagcode.Serial {
	last := tagcode.Serial(0)
	if n := len(s.Tags); n > 0 {
		last = s.Tags[n-1].Serial
	}
	if last >= tagcode.MaxSerial {
		return 0
	}
	return last + 1
}

func (s Sling) printed(b event.TagPrinted, e Event) Sling {
	if n := len(s.Tags); n > 0 && s.Tags[n-1].Serial >= b.Serial {
		s.Doubt |= Contradicts
	}
	t := Tag{
		Serial: b.Serial, Key: b.Key, Digest: b.Digest, Version: b.Version, Level: b.Level,
		Mask: b.Mask, Stock: b.Stock, Status: TagPrinted, Printed: e.Day, By: e.By,
	}
	if says, err := s.Tag(b.Key, b.Serial); err == nil { // else it is known to say nothing
		t.Says = saysOf(says)
	}
	s.Tags = append(slices.Clone(s.Tags), t)
	return s
}

func (s Sling) confirmed(b event.TagConfirmed) Sling {
	s.Tags = slices.Clone(s.Tags)
	known := false
	for i := range s.Tags {
		t := &s.Tags[i]
		switch {
		case t.Status == TagSpoiled: // stays what it is, whatever the story says of it
		case t.Serial == b.Serial:
			known = t.Status != TagReplaced
			t.Status = TagLive
			if b.Graded != nil {
				t.Graded = b.Graded.Letter
			}
		case t.Serial < b.Serial:
			t.Status = TagReplaced
		}
	}
	if !known {
		s.Doubt |= Contradicts
	}
	return s
}

// spoiled throws a tag away that waits to be confirmed, in time or not.
func (s Sling) spoiled(b event.TagSpoiled, e Event) Sling {
	s.Tags = slices.Clone(s.Tags)
	known := false
	for i := range s.Tags {
		if t := &s.Tags[i]; t.Serial == b.Serial {
			known = t.Status == TagPrinted
			t.Status, t.Spoiled = TagSpoiled, Spoiled{Why: b.Why, Note: b.Note, By: e.By, Day: e.Day}
		}
	}
	if !known {
		s.Doubt |= Contradicts
	}
	return s
}

// Tag is what a tag of this sling with that serial would say today, under the
// key with that fingerprint. It fails where the record does not fit a tag: a
// last inspection before 2000, or due more than 511 days after it.
func (s Sling) Tag(key tagcode.Fingerprint, serial tagcode.Serial) (tagcode.Tag, error) {
	d := s.Details
	return TagOf(key, d.Ident, serial, d.Sling.Inspected, d.Sling.Due, d.Outcome, d.Sling.TagFacts())
}

// TagOf puts a tag together from facts that need no register.
func TagOf(key tagcode.Fingerprint, ident string, serial tagcode.Serial, inspected, due quantity.Date, outcome tagcode.Outcome, facts tagcode.Facts) (tagcode.Tag, error) {
	if err := tagcode.CheckIdent(ident); err != nil {
		return tagcode.Tag{}, fmt.Errorf("state: tag: %w", err)
	}
	if inspected.IsZero() {
		due, outcome = quantity.Date{}, tagcode.NoOutcome
	}
	t := tagcode.Tag{
		Key: key, Number: tagcode.NumberOf(key, ident), Serial: serial,
		Inspected: inspected, Due: due, Outcome: outcome, Facts: facts,
	}
	if err := t.Check(); err != nil {
		return tagcode.Tag{}, fmt.Errorf("state: tag of %s: %w", ident, err)
	}
	return t, nil
}
