package state

import (
	"slices"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
)

// Doubt says why a story cannot be relied on. The zero value is none.
type Doubt uint8

// The doubts.
const (
	Forked        Doubt = 1 << iota // two stories that nobody has joined
	NotUnderstood                   // an event of a newer program
	Contradicts                     // an event that could not happen after the one before it
)

// Sling is what is known of one sling now. The zero value is a sling that
// nobody has registered.
type Sling struct {
	ID       event.SlingID
	Details  event.Details  // Details.Sling carries the present state and dates
	PassedBy event.PersonID // who passed it, or corrected that it was, and has not seen it issued since
	Loan     Loan           // where it is out; where it is lost, who had it last
	Hold     Hold           // where it is held, or will be as soon as it comes back or turns up
	End      End            // where it is retired or lost
	Owes     []Owed         // whoever brought it back and has not said yet what happened, oldest first
	Doubled  quantity.Date  // on that day it lay here while the record had it out; zero once a tag was confirmed on it since
	Seen     Sighting       // when the rack was counted last
	Aside    Aside          // for whom it is kept, and for which lift
	Impound  Impound        // where it is kept as it is after an accident
	New      []NewFigure    // what its parts measured when new, in the order in which they were given
	Repair   Repair         // where it is at a repairer's
	Defects  []OpenDefect   // of an examiner from outside that nobody has remedied, by number
	Wear     []Worn         // of the last inspections that were measured, oldest first; of its parts as they are now
	Failed   []event.Piece  // what an inspection did not pass, and was neither measured again and passed since nor put in anew
	Word     Word           // by what it was not passed without a gauge, where that may be taken back
	Mended   Mended         // what is still to be done since it came back from repair

	LastDefect int   // highest number of a defect
	Tags       []Tag // by serial

	Use    event.Use // what the lift asked for which it went out last
	Check  Check     // what was answered when it was looked at last after it came back
	Remark string    // note of its last thorough inspection

	// ComparedIn is the log in which tag, plate and record were last held
	// against each other: when it was registered, when a tag was confirmed on
	// it, or by an act of its own after the register was restored.
	ComparedIn event.LogID

	Issues  int // how often it went out
	Doubt   Doubt
	Heads   []event.Hash // ascending; more than one means a fork
	Events  int
	Changed time.Time // UTC of its newest event
}

// Loan says with whom a sling is.
type Loan struct {
	Rigger   event.PersonID
	Since    time.Time // UTC
	Day      quantity.Date
	ReturnBy quantity.Date // zero where none was stated
	Marked   string        // why the keeper is to see it
	Line     event.Line    // of what else went out with it, and for which lift
	Area     string        // machine or area where it is kept; empty: it is with its rigger
	Recall   Recall        // where it is to be brought back
}

// Recall asks for a sling back. The zero value does not.
type Recall struct {
	Reason string
	By     quantity.Date // zero: at once
	Day    quantity.Date // on which it was asked
}

// Owed says who has still to say what happened to a sling that was taken in
// without asking.
type Owed struct {
	Rigger event.PersonID
	Day    quantity.Date // on which it was taken in
}

// Sighting is where a sling was seen while the rack was counted. The zero value is
// one that was never counted.
type Sighting struct {
	Count event.CountID
	Place string
	At    time.Time // UTC
}

// Hold says why a sling may not go out.
type Hold struct {
	Reason string
	Said   event.Said // what was said of it when it came back, where that holds it; the gravest
	By     event.PersonID
	Since  time.Time // UTC
}

// End says how a sling left: retired or lost.
type End struct {
	Reason string
	How    string
	By     event.PersonID
	Day    quantity.Date
}

// Follows reports whether e saw just this story, so that Apply equals the fold.
func (s Sling) Follows(e Event) bool { return slices.Equal(s.Heads, e.Parents) }

// FoldSling tells the story of a sling, in any order of arrival.
func FoldSling(id event.SlingID, story []Event) Sling {
	s := Sling{ID: id}
	for _, e := range Order(story) {
		s = s.Apply(e)
	}
	return s
}

// Apply adds one event. The receiver is not changed.
func (s Sling) Apply(e Event) Sling {
	joins := len(s.Heads) > 1 && len(e.Parents) > 1
	s.Heads = heads(s.Heads, e)
	s.Doubt &^= Forked
	if len(s.Heads) > 1 {
		s.Doubt |= Forked
	}
	s.Events++
	if e.UTC.After(s.Changed) {
		s.Changed = e.UTC
	}
	registered := s.Details.Ident != ""
	if _, first := e.Body.(event.Registered); e.Body != nil && first == registered {
		s.Doubt |= Contradicts // what was registered first stands; of no sling nothing is known
		return s
	}
	s = s.apply(e)
	if joins && s.goes() {
		s = s.hold("two stories of this sling were joined", e)
	}
	return s
}

// Known gives the newest events of the story and what is wrong with it.
func (s Sling) Known() ([]event.Hash, Doubt) { return s.Heads, s.Doubt }

func (s Sling) apply(e Event) Sling {
	switch b := e.Body.(type) {
	case nil:
		s.Doubt |= NotUnderstood
	case event.Registered:
		s = s.register(b, e)
		s.ComparedIn = e.Log
	case event.Corrected:
		s = s.corrected(b, e)
	case event.TagPrinted:
		s = s.printed(b, e)
	case event.TagConfirmed:
		s = s.confirmed(b)
		s.ComparedIn, s.Doubled = e.Log, quantity.Date{}
	case event.Compared:
		s.require(gate.StateIn, gate.StateHeld, gate.StateUnchecked)
		s = s.compared(b, e)
	case event.TagSpoiled:
		s = s.spoiled(b, e)
	case event.TagRead:
		s = s.read(b, e)
	case event.Issued:
		s.require(gate.StateIn)
		s = s.leave(gate.StateOut)
		s.Loan = Loan{Rigger: b.Rigger, Since: e.UTC, Day: e.Day, ReturnBy: b.ReturnBy, Marked: b.Marked, Line: b.Line}
		s.PassedBy = event.PersonID{}
		s.Issues++
		s.Use = b.Use
	case event.Refused, event.Erased:
	case event.Returned:
		s.require(gate.StateOut, gate.StateLost)
		s = s.back(gate.StateIn)
		s = s.checked(b.Said, b.Answers, e, false).said(b.Said, b.Answers, b.Note, e)
		if b.Doubled {
			s.Doubled = e.Day
		}
		if b.Owes {
			s = s.owe(b.From, e)
		}
	case event.TakenIn, event.Checked, event.Told:
		s = s.heap(e)
	case event.Taken, event.HandedOn, event.Placed, event.Recalled:
		s = s.away(e)
	case event.SetAside:
		s.require(gate.StateIn)
		s.Aside = Aside{SetAside: b, By: e.By}
	case event.PutBack:
		if b.Lift == s.Aside.Lift {
			s.Aside = Aside{}
		}
	case event.Seen:
		s.Seen = Sighting{Count: b.Count, Place: b.Place, At: e.UTC}
	case event.Moved:
		s.Details.Place = b.Place
	case event.Impounded, event.Custody, event.Freed, event.FiguresSet, event.SentOff, event.CameBack, event.Examined, event.Remedied:
		s = s.bench(e)
	case event.Held:
		s.require(gate.StateIn, gate.StateHeld, gate.StateOut, gate.StateUnchecked)
		s = s.hold(b.Reason, e)
	case event.Released:
		s.require(gate.StateHeld)
		if s.keptBack() {
			s.Doubt |= Contradicts
		}
		s = s.leave(gate.StateIn)
	case event.Inspected:
		s = s.inspected(b, e)
	case event.Retired:
		s.require(gate.StateIn, gate.StateHeld, gate.StateOut, gate.StateUnchecked, gate.StateLost)
		if s.Impound != (Impound{}) {
			s.Doubt |= Contradicts
		}
		s.Repair, s.Mended, s.Defects = Repair{}, Mended{}, nil
		s = s.leave(gate.StateRetired)
		s.End = End{Reason: b.Reason, How: b.How, By: e.By, Day: e.Day}
	case event.Lost:
		s.require(gate.StateIn, gate.StateHeld, gate.StateOut, gate.StateUnchecked)
		loan, waiting := s.Loan, s.Hold
		s = s.leave(gate.StateLost)
		s.Loan, s.Hold = loan, waiting // who had it last, and what it is held for once it is here
		s.End = End{Reason: b.Note, By: e.By, Day: e.Day}
	case event.Found:
		s.require(gate.StateLost)
		s = s.back(gate.StateIn)
		s = s.hold("was lost and turned up", e)
	default:
		s.Doubt |= Contradicts // an event of another kind of subject
	}
	return s
}

func (s *Sling) require(states ...gate.State) {
	if !slices.Contains(states, s.Details.Sling.State) {
		s.Doubt |= Contradicts
	}
}

// leave ends loan, hold and end, and puts the sling into state to. What is not here
// is kept for nobody.
func (s Sling) leave(to gate.State) Sling {
	s.Loan, s.Hold, s.End = Loan{}, Hold{}, End{}
	if to == gate.StateOut || to == gate.StateLost || to == gate.StateRetired {
		s.Aside = Aside{}
	}
	s.Details.Sling.State = to
	return s
}

// hold keeps the sling in. One that is held already keeps its first reason and
// gains this one; one that is out stays out, and comes back held.
func (s Sling) hold(reason string, e Event) Sling {
	if s.Hold.Reason != "" {
		s.Hold.Reason += "; " + reason
		return s
	}
	if s.Details.Sling.State != gate.StateOut {
		s = s.leave(gate.StateHeld)
	}
	s.Hold = Hold{Reason: reason, By: e.By, Since: e.UTC}
	return s
}

// goes tells whether nothing keeps the sling in but that it may be out, or not
// looked at yet.
func (s Sling) goes() bool {
	st := s.Details.Sling.State
	return st == gate.StateIn || st == gate.StateOut || st == gate.StateUnchecked
}

// back ends a loan: the sling is in state to, or held where a hold waited for it.
func (s Sling) back(to gate.State) Sling {
	waiting := s.Hold
	s = s.leave(to)
	if waiting.Reason != "" {
		s.Details.Sling.State, s.Hold = gate.StateHeld, waiting
	}
	return s
}

// said holds a sling of which somebody said anything but that nothing happened.
func (s Sling) said(said event.Said, answers []event.Answered, note string, e Event) Sling {
	if said == event.Nothing {
		return s
	}
	reason := "came back, and nobody could say what happened"
	if said == event.Something {
		reason = "came back after something happened"
	}
	if which := whys(answers); which != "" {
		reason = "came back: " + which
	}
	if note != "" {
		reason += ": " + note
	}
	s = s.hold(reason, e)
	if s.Hold.Said != event.Something {
		s.Hold.Said = said
	}
	return s
}

// keptBack tells whether more than a release is needed: two people free an
// impounded sling, and one that is away comes back first.
func (s Sling) keptBack() bool { return s.Impound != (Impound{}) || s.Repair != (Repair{}) }

func (s Sling) register(b event.Registered, e Event) Sling {
	s.Details = b.Details
	switch {
	case s.Details.Sling.State != gate.StateIn:
		s = s.leave(gate.StateHeld).hold("held when it was registered", e)
	case failed(b.Details.Outcome):
		s = s.hold(notPassed, e)
	}
	return s
}

// corrected replaces what is recorded of the sling but identification and state.
// One that its last inspection did not pass, as it now reads, is held like one
// that is inspected so. Who corrects an inspection that passed it has passed it.
func (s Sling) corrected(b event.Corrected, e Event) Sling {
	was, d := s.Details, b.Details
	d.Ident, d.Sling.State = was.Ident, was.Sling.State
	s.Details = d
	if d.Outcome != was.Outcome || d.Sling.Inspected != was.Sling.Inspected || d.Sling.Due != was.Sling.Due {
		s.PassedBy = event.PersonID{}
		if d.Outcome == tagcode.Fit {
			s.PassedBy = e.By
		}
	}
	if b.Restamped {
		s.Mended.Stamp = ""
	}
	s = s.misread(was, d)
	if s.goes() && failed(d.Outcome) && s.Hold.Reason == "" {
		s = s.hold(notPassed, e)
	}
	return s
}

const notPassed = "the thorough inspection did not pass it"

// failed tells whether a thorough inspection came to something else than fit.
func failed(o tagcode.Outcome) bool { return o == tagcode.Hold || o == tagcode.Out }

func (s Sling) inspected(b event.Inspected, e Event) Sling {
	s.require(gate.StateIn, gate.StateHeld, gate.StateOut, gate.StateUnchecked)
	d := &s.Details
	d.Sling.Inspected, d.Sling.Due, d.Sling.RatingTag = b.Date, b.Due, b.RatingTag
	d.Outcome, d.Service, d.Months = b.Outcome, b.Service, b.Months
	s.PassedBy, s.Remark = event.PersonID{}, b.Note
	s = s.measured(b)
	if b.Sheet != nil {
		s.Wear = append(slices.Clip(s.Wear), Worn{Day: b.Date, Used: b.Sheet.Used})
		s.Wear = s.Wear[max(0, len(s.Wear)-keepWorn):]
	}
	if b.Outcome == tagcode.Fit {
		if !b.Date.Before(s.Mended.Day) { // one of a day before has not seen what was done
			s.Mended.Day = quantity.Date{}
		}
		s.Check = Check{} // more was looked at than a return check would have
		s.PassedBy = e.By
		if d.Sling.State == gate.StateUnchecked {
			return s.leave(gate.StateIn)
		}
		return s
	}
	reason := notPassed
	if b.Note != "" {
		reason += ": " + b.Note
	}
	return s.hold(reason, e)
}
