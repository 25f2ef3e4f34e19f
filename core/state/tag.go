package state

import (
	"fmt"
	"slices"

	"cribgate/core/event"
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
}

// Lapsed reports whether the tag waits to be confirmed since more than
// LapseDays before today.
func (t Tag) Lapsed(today quantity.Date) bool {
	return t.Status == TagPrinted && t.Printed.AddDays(LapseDays).Before(today)
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

// Waiting gives the newest tag that was printed and not confirmed, false where
// there is none or it has lapsed.
func (s Sling) Waiting(today quantity.Date) (Tag, bool) {
	if n := len(s.Tags); n > 0 && s.Tags[n-1].Status == TagPrinted && !s.Tags[n-1].Lapsed(today) {
		return s.Tags[n-1], true
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
	s.Tags = append(slices.Clone(s.Tags), Tag{
		Serial: b.Serial, Key: b.Key, Digest: b.Digest, Version: b.Version, Level: b.Level,
		Mask: b.Mask, Stock: b.Stock, Status: TagPrinted, Printed: e.Day,
	})
	return s
}

func (s Sling) confirmed(b event.TagConfirmed) Sling {
	s.Tags = slices.Clone(s.Tags)
	known := false
	for i := range s.Tags {
		t := &s.Tags[i]
		switch {
		case t.Serial == b.Serial:
			known = t.Status != TagReplaced
			t.Status = TagLive
		case t.Serial < b.Serial:
			t.Status = TagReplaced
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
