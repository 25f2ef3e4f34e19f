package tagcode

import (
	"errors"
	"fmt"
	"slices"
)

// Outcome is what the last thorough inspection came to.
type Outcome uint8

// The outcomes. The zero value is NoOutcome.
const (
	NoOutcome Outcome = iota
	Fit
	Hold
	Out
)

var outcomes = []string{"none", "fit", "hold", "out"}

// ErrOutcome reports a word that is no outcome.
var ErrOutcome = errors.New("tagcode: not none, fit, hold or out")

// ParseOutcome reads what String writes.
func ParseOutcome(word string) (Outcome, error) {
	i := slices.Index(outcomes, word)
	if i < 0 {
		return NoOutcome, fmt.Errorf("%w: %q", ErrOutcome, word)
	}
	return Outcome(i), nil
}

// String spells the outcome: none, fit, hold or out; empty for a value that is
// none of them.
func (o Outcome) String() string {
	if int(o) >= len(outcomes) {
		return ""
	}
	return outcomes[o]
}
