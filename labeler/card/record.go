package card

import (
	"fmt"
	"strings"

	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
)

// A Record is what a pocket card is made from: what a register, or a line of
// the machine surface, says of one sling. The zero Record gets no card.
type Record struct {
	Ident   string // the owner's identification
	Sling   gate.Sling
	Outcome tagcode.Outcome // of the last thorough inspection
	Policy  gate.Policy
	Margin  int            // per cent that the site adds to a load that was not weighed
	Units   quantity.Units // that lead
	Printed quantity.Date  // the day of the print
	AsOf    quantity.Date  // of the newest fact in the record
	Head    tagcode.Head   // where the register stood, zero where the record is from elsewhere

	Doubtful bool   // the record cannot be relied on
	Waiting  string // why a sling that is out will be held when it comes back; empty for nothing
}

// RefusedError says why a sling gets no pocket card.
type RefusedError struct {
	Ident string
	Why   []string // sentences
}

// Error lists the reasons.
func (e *RefusedError) Error() string {
	return fmt.Sprintf("card: no pocket card for %s: %s", e.Ident, strings.Join(e.Why, " "))
}

// A Pocket is a pocket card, asked and not yet drawn.
type Pocket struct {
	Record
	Due     quantity.Date // last day on which the sling's inspection counts
	Columns []Column      // the last is too flat for any band
	Front   []Section     // by hitch and legs, over all columns
	Back    []Section     // what takes from the front's figures, over all columns but the last
}

// Pocket asks the gate for everything that stands on the card. The error is a
// [*RefusedError] where the sling gets none.
func (r Record) Pocket() (Pocket, error) {
	if err := tagcode.CheckIdent(r.Ident); err != nil {
		return Pocket{}, fmt.Errorf("card: %w", err)
	}
	question := gate.Question{ID: r.Ident, Now: r.Printed, Policy: r.Policy, Sling: r.Sling}
	alone, err := gate.Decide(question)
	if err != nil {
		return Pocket{}, fmt.Errorf("card: ask about %s: %w", r.Ident, err)
	}
	if why := r.against(alone); len(why) > 0 {
		return Pocket{}, &RefusedError{r.Ident, why}
	}
	question.Sling.State = gate.StateIn // a card is for the rigger who has it
	p := Pocket{Record: r, Due: alone.Due, Columns: columns(r.Sling.System)}
	front := asker{question: question, columns: p.Columns}
	p.Front = front.front()
	back := asker{question: question, columns: p.Columns[:len(p.Columns)-1]}
	p.Back = back.back()
	for _, err := range []error{front.err, back.err} {
		if err != nil {
			return Pocket{}, err
		}
	}
	return p, nil
}

// against lists why the sling gets no card. To be out is none: the figures are
// for whoever has it.
func (r Record) against(alone gate.Answer) []string {
	var why []string
	if r.Doubtful {
		why = append(why, "Its record cannot be relied on.")
	}
	if r.Waiting != "" {
		why = append(why, "It is to be held when it comes back: "+r.Waiting+".")
	}
	switch {
	case r.Sling.Inspected.IsZero(): // the gate says so
	case r.Outcome == tagcode.NoOutcome:
		why = append(why, "What its last thorough inspection found is not on record.")
	case r.Outcome != tagcode.Fit:
		why = append(why, "Its last thorough inspection did not find it fit.")
	}
	for _, reason := range alone.Reasons {
		if reason != gate.AlreadyOut {
			why = append(why, reason.Text(alone, gate.Speech{Units: r.Units}).Sentence)
		}
	}
	return why
}
