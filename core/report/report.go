package report

import (
	"fmt"
	"strconv"
	"strings"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/removal"
	"cribgate/core/state"
	"cribgate/core/tagcode"
)

// Facts is what a report is made of.
type Facts struct {
	Units      quantity.Units
	Crib       state.Crib  // as it was when the inspection was signed
	Sling      state.Sling // as it was before that
	Inspected  event.Inspected
	Examiner   string        // who made and signed it, by name
	At         int64         // position in the register
	Hash       string        // of that envelope
	Signed     quantity.Date // the day on which it was signed: the date of the report
	Superseded *Later        // nil while it is the newest
	Metal      []string      // what stands against its metal beside what was measured, such as a stamp that its chain cannot carry, in words
}

// Later is the inspection that came after.
type Later struct {
	Date quantity.Date
	At   int64
}

// A Report is a thorough inspection in words. The zero Report says nothing.
type Report struct {
	Title    string
	Number   string // position in the register
	Verdict  string // safe to operate or not, in a few words
	Safe     bool
	Standing string // that another report came after it; empty while none did
	Sections []Section
	Measured []Row // every measurement
	Caution  string
}

// A Section is some items under one heading.
type Section struct {
	Heading string
	Items   []Item
}

// An Item is one thing that a report says.
type Item struct {
	Law  string // the clause that asks for it; empty where it is ours
	Name string
	Says []string // at least one
}

// Caution stands on every report.
const Caution = "Made with a program that holds measurements against published limits. It supports, and never replaces, the competent person who signs, the maker's instructions and the local law."

// none is what an item says of which nothing was recorded.
const none = "Not recorded."

// Of puts an inspection into words. It fails where what is recorded as measured cannot
// be read.
func Of(f Facts) (Report, error) {
	var question removal.Question
	var answer removal.Answer
	if s := f.Inspected.Sheet; s != nil {
		var err error
		if question, err = removal.ParseQuestion([]byte(s.Verdict.Question)); err != nil {
			return Report{}, fmt.Errorf("report: what was measured: %w", err)
		}
		if answer, err = removal.Assess(question); err != nil {
			return Report{}, fmt.Errorf("report: what was measured: %w", err)
		}
	}
	r := Report{
		Title: "Report of thorough inspection", Number: strconv.FormatInt(f.At, 10), Caution: Caution,
		Safe: f.Inspected.Outcome == tagcode.Fit, Verdict: verdict(f),
		Sections: []Section{f.who(), f.what(), f.why(), f.found(answer), f.after(), f.how(), f.signed()},
		Measured: rows(f.Units, removal.Measures(question)),
	}
	if l := f.Superseded; l != nil {
		r.Standing = fmt.Sprintf("Superseded by the report of %s, at position %d of the register.", l.Date.Long(), l.At)
	}
	return r, nil
}

func verdict(f Facts) string {
	switch {
	case f.Inspected.Outcome == tagcode.Fit:
		return "Safe to operate until " + f.Inspected.Due.Long()
	case f.Inspected.Outcome == tagcode.Out:
		return "Not safe to operate: out of service"
	}
	return "Not safe to operate: held"
}

// says gives an item with what is recorded, or that nothing is.
func says(law, name string, texts ...string) Item {
	i := Item{Law: law, Name: name}
	for _, t := range texts {
		if t = strings.TrimSpace(t); t != "" {
			i.Says = append(i.Says, t)
		}
	}
	if len(i.Says) == 0 {
		i.Says = []string{none}
	}
	return i
}

// sheet gives the sheet, an empty one where only the result was written down.
func (f Facts) sheet() event.Sheet {
	if f.Inspected.Sheet == nil {
		return event.Sheet{}
	}
	return *f.Inspected.Sheet
}
