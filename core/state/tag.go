package state

import (
	"fmt"

	"cribgate/core/quantity"
	"cribgate/core/tagcode"
)

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
