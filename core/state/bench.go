package state

import (
	"slices"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/removal"
	"cribgate/core/tagcode"
)

// Impound says that a sling is kept as it is after an accident. The zero value is
// one that is not.
type Impound struct {
	event.Impounded // with the holder and the place as they are now
	By              event.PersonID
	Since           time.Time // UTC
}

// A NewFigure is a dimension of a new part, and who gave it when.
type NewFigure struct {
	event.Figure
	By  event.PersonID
	Day quantity.Date
}

// Repair says that a sling is at a repairer's. The zero value is one that is not.
type Repair struct {
	To, Why string
	Day     quantity.Date // on which it went
}

// Mended says what is still to be done with a sling since it came back from repair. The
// zero value is nothing.
type Mended struct {
	Day   quantity.Date // on which it came back; zero once a thorough inspection has passed it since
	Stamp string        // what was stamped on it anew; empty once its record was corrected by that
}

// OpenDefect is what an examiner from outside found, and nobody has remedied.
type OpenDefect struct {
	No int // from 1, and never used again
	event.Defect
	Visit event.VisitID
	Day   quantity.Date
}

// Word is by what somebody without a gauge did not pass a sling that was measured, as
// long as it may be taken back: nothing else was found out about it since. The zero
// value is none.
type Word struct {
	Visit          event.VisitID // in which an examiner said it; zero of a correction
	Inspected, Due quantity.Date // of the inspection that had passed it until a correction; zero of an examiner's
	Failed         []event.Piece // what had failed before it was said
}

// none tells whether nothing may be taken back.
func (w Word) none() bool { return w.Visit.IsZero() && w.Inspected.IsZero() }

// Worn is how far the worst measurement of a thorough inspection had gone.
type Worn struct {
	Day  quantity.Date
	Used int // per mille of the way from new to the limit
}

// keepWorn is how many inspections a trend goes by (site policy, no source): at the
// shortest interval that is a year.
const keepWorn = 12

// Gravity says how urgently the inspector should see a sling, the gravest last.
type Gravity uint8

// The gravities.
const (
	Routine  Gravity = iota // by its due date
	Worked                  // it came back from hard service
	Watched                 // an examiner's defect is open, or its wear will reach the limit before it is due
	Kept                    // held, for another reason than what follows
	Doubted                 // it came back, and nobody could say what happened
	Reported                // it came back after something happened
	Seized                  // impounded
)

// Gravity tells how urgently the inspector should see it.
func (s Sling) Gravity() Gravity {
	switch {
	case s.Impound != Impound{}:
		return Seized
	case s.Details.Sling.State == gate.StateHeld && s.Hold.Said == event.Something:
		return Reported
	case s.Details.Sling.State == gate.StateHeld && s.Hold.Said == event.NotKnown:
		return Doubted
	case s.Details.Sling.State == gate.StateHeld:
		return Kept
	case len(s.Defects) > 0, s.wearsOut():
		return Watched
	case s.worked():
		return Worked
	}
	return Routine
}

// hardShare is from which share of what it may carry a lift was hard service, in per
// cent (site policy, no source).
const hardShare = 90

// worked tells whether the last lift was hard service, and no thorough inspection has
// found the sling fit since.
func (s Sling) worked() bool {
	hard := s.Use.Share >= hardShare || s.Use.Hot || s.Use.Edge
	unseen := s.Check.Worst != "" || s.Details.Sling.State == gate.StateUnchecked
	return hard && unseen && s.Details.Sling.State != gate.StateOut
}

// Next is the day on which something is due: the next thorough inspection, or the
// remedy of a defect that comes before it. It is zero where it must be inspected first.
func (s Sling) Next() quantity.Date {
	next := s.Details.Sling.Due
	for _, d := range s.Defects {
		if !d.By.IsZero() && (next.IsZero() || d.By.Before(next)) {
			next = d.By
		}
	}
	return next
}

// wearsOut tells whether a line through the last two inspections reaches the limit
// before the next is due.
func (s Sling) wearsOut() bool {
	n := len(s.Wear)
	if n < 2 {
		return false
	}
	a, b := s.Wear[n-2], s.Wear[n-1]
	days, ahead := b.Day.DaysSince(a.Day), s.Details.Sling.Due.DaysSince(b.Day)
	if s.Details.Sling.Due.IsZero() || days <= 0 || b.Used <= a.Used {
		return false
	}
	return (1000-b.Used)*days <= (b.Used-a.Used)*ahead
}

// bench tells what an inspector, an examiner or a repairer does with a sling.
func (s Sling) bench(e Event) Sling {
	switch b := e.Body.(type) {
	case event.Impounded:
		s.require(inUse...)
		if s.Impound != (Impound{}) {
			s.Doubt |= Contradicts
		}
		s.Impound = Impound{Impounded: b, By: e.By, Since: e.UTC}
		s = s.hold("impounded: "+b.Reason, e)
	case event.Custody:
		if s.Impound == (Impound{}) {
			s.Doubt |= Contradicts
			break
		}
		s.Impound.Holder, s.Impound.Lies = b.Holder, b.Lies
	case event.Freed:
		if s.Impound == (Impound{}) {
			s.Doubt |= Contradicts
		}
		s.Impound = Impound{}
	case event.FiguresSet:
		for _, f := range b.Figures {
			s.New = append(without(s.New, func(n NewFigure) bool { return n.Of == f.Of }), NewFigure{Figure: f, By: e.By, Day: e.Day})
		}
	case event.SentOff:
		s.require(gate.StateHeld)
		if s.Repair != (Repair{}) || s.Impound != (Impound{}) {
			s.Doubt |= Contradicts
		}
		s.Repair, s.Word = Repair{To: b.To, Why: b.Why, Day: e.Day}, Word{}
	case event.CameBack:
		if s.Repair == (Repair{}) {
			s.Doubt |= Contradicts
		}
		s.Repair, s.Mended.Day, s.Word = Repair{}, e.Day, Word{}
		if b.Stamp != "" {
			s.Mended.Stamp = b.Stamp
		}
		for _, c := range b.Changed {
			s.New = without(s.New, func(n NewFigure) bool { return c.Covers(n.Of) })
			s.Failed = without(s.Failed, c.Has)
			s.Wear = nil // the worst of an inspection may have been of parts that are gone
		}
		s = s.failedAsWhole()
		s.Details.Outcome = tagcode.Hold // no inspection has passed it as it is now
		s = s.hold("came back from repair, and a thorough inspection comes first", e)
	case event.Examined:
		s = s.examined(b, e)
	case event.Remedied:
		left := without(s.Defects, func(d OpenDefect) bool { return d.No == b.No })
		if len(left) == len(s.Defects) {
			s.Doubt |= Contradicts
		}
		s.Defects = left
	}
	return s
}

var inUse = []gate.State{gate.StateIn, gate.StateHeld, gate.StateOut, gate.StateUnchecked}

func (s Sling) examined(b event.Examined, e Event) Sling {
	s.require(inUse...)
	if s.Word.Visit == b.Visit && !b.Visit.IsZero() {
		s.Failed = s.Word.Failed // it takes the place of what was said before
	}
	passedBy, before, outcome := s.PassedBy, s.Failed, tagcode.Fit
	if b.Dangerous() {
		outcome = tagcode.Hold
	}
	for _, d := range b.Defects {
		s.LastDefect++
		s.Defects = append(slices.Clip(s.Defects), OpenDefect{No: s.LastDefect, Defect: d, Visit: b.Visit, Day: e.Day})
	}
	as := event.Inspected{Date: b.Date, Outcome: outcome, Service: s.Details.Service, Months: s.Details.Months, Due: b.Due, RatingTag: b.RatingTag}
	if outcome != tagcode.Fit {
		as.Due, as.Note = s.Details.Sling.Due, "an examiner found a defect that is dangerous now"
	}
	s = s.inspected(as, e)
	if !slices.Equal(s.Failed, before) {
		s.Word = Word{Visit: b.Visit, Failed: before}
	}
	if outcome == tagcode.Fit {
		s.PassedBy = passedBy // an examiner, who hands nothing over here, adds nobody and takes nobody off
	}
	return s
}

// measured keeps what an inspection that was measured did not pass, until one that
// measures it passes it. Once a sling was measured, no word of anybody passes it.
func (s Sling) measured(b event.Inspected) Sling {
	s.Word = Word{}
	switch {
	case b.Sheet == nil && failed(b.Outcome):
		return s.failedAsWhole()
	case b.Sheet == nil:
	case b.Outcome == tagcode.Fit:
		s.Failed = unpassed(s.Failed, b.Sheet)
	case len(b.Sheet.Failed) == 0: // written before it was said which
		s.Failed = with(s.Failed, event.Piece{})
	default:
		s.Failed = with(s.Failed, b.Sheet.Failed...)
	}
	return s
}

// unpassed gives what of that which failed a sheet that passes the sling has not
// measured: all of it where its question cannot be read.
func unpassed(failed []event.Piece, sheet *event.Sheet) []event.Piece {
	if len(failed) == 0 {
		return nil // which is nearly always so, and then no question is read
	}
	q, err := removal.ParseQuestion([]byte(sheet.Verdict.Question))
	if err != nil {
		return failed
	}
	return event.Unmeasured(failed, q)
}

// TakesBack tells whether a record with such details only takes back the correction
// that had made a sling, which had passed, one that has not.
func (s Sling) TakesBack(d event.Details) bool {
	return s.Word.Visit.IsZero() && !s.Word.none() && d.Outcome == tagcode.Fit && d.Sling.Inspected == s.Word.Inspected && d.Sling.Due == s.Word.Due
}

// misread is a sling whose outcome, or whose legs, a correction has changed.
func (s Sling) misread(was, d event.Details) Sling {
	switch {
	case s.TakesBack(d):
		s.Failed, s.Word = s.Word.Failed, Word{}
	case failed(d.Outcome):
		before := s.Failed
		s = s.failedAsWhole()
		if was.Outcome == tagcode.Fit && !slices.Equal(s.Failed, before) {
			s.Word = Word{Inspected: was.Sling.Inspected, Due: was.Sling.Due, Failed: before}
		}
	}
	gone := func(p event.Piece) bool { return p.Leg > d.Sling.Legs }
	if slices.ContainsFunc(s.Failed, gone) || slices.ContainsFunc(s.Word.Failed, gone) {
		s.Failed, s.Word = with(without(s.Failed, gone), event.Piece{}), Word{} // nobody can measure a leg that it has not got
	}
	return s
}

// failedAsWhole is a sling that somebody did not pass without measuring: where it was
// measured before, it is passed by measuring it again.
func (s Sling) failedAsWhole() Sling {
	if len(s.Wear) > 0 {
		s.Failed = with(s.Failed, event.Piece{})
	}
	return s
}

// with gives a list of its own with some more, each once.
func with[T comparable](list []T, more ...T) []T {
	list = slices.Clone(list)
	for _, m := range more {
		if !slices.Contains(list, m) {
			list = append(list, m)
		}
	}
	return list
}

// without gives a list of its own without some, nil where none is left.
func without[T any](list []T, gone func(T) bool) []T {
	left := slices.DeleteFunc(slices.Clone(list), gone)
	if len(left) == 0 {
		return nil
	}
	return left
}
