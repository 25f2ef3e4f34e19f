package state

import (
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
)

// takenUnissued is why the keeper sees a sling that went out without being asked
// about.
const takenUnissued = "taken without being issued"

// Unissued reports whether the sling went out without anybody having been asked
// whether it may.
func (l Loan) Unissued() bool { return l.Marked == takenUnissued }

// away tells what happens to a sling that is out, or that went out by itself.
func (s Sling) away(e Event) Sling {
	switch b := e.Body.(type) {
	case event.Taken:
		s.require(gate.StateIn, gate.StateHeld, gate.StateUnchecked, gate.StateLost)
		waiting, was := s.Hold, s.Details.Sling.State
		s = s.leave(gate.StateOut)
		s.Hold = waiting
		switch was {
		case gate.StateUnchecked:
			s = s.hold("went out before anybody had looked at it", e)
		case gate.StateLost:
			s = s.hold("was lost, and went out before anybody had looked at it", e)
		}
		s.Loan = Loan{Rigger: b.Rigger, Since: e.UTC, Day: e.Day, ReturnBy: b.ReturnBy, Marked: takenUnissued}
		s.Issues++
		s.Use = event.Use{} // nobody stated a lift
	case event.HandedOn:
		s.require(gate.StateOut)
		if b.From != s.Loan.Rigger {
			s.Doubt |= Contradicts
		}
		s.Loan.Rigger, s.Loan.Since, s.Loan.Day = b.To, e.UTC, e.Day
	case event.Placed:
		s.require(gate.StateOut)
		s.Loan.Area = b.Area
	case event.Recalled:
		s.require(gate.StateOut)
		s.Loan.Recall = Recall{Reason: b.Reason, By: b.By, Day: e.Day}
	}
	return s
}

// heap tells what happens to a sling that is taken in first and looked at later.
func (s Sling) heap(e Event) Sling {
	switch b := e.Body.(type) {
	case event.TakenIn:
		s.require(gate.StateIn, gate.StateOut, gate.StateLost)
		lost := s.Details.Sling.State == gate.StateLost
		s = s.back(gate.StateUnchecked)
		if lost {
			s = s.hold("was lost and turned up", e)
		}
		if !b.From.IsZero() { // whoever owes an answer already still does
			s = s.owe(b.From, e)
		}
	case event.Checked:
		s.require(gate.StateUnchecked)
		s = s.leave(gate.StateIn)
		s = s.checked(b.Said, b.Answers, e, false).said(b.Said, b.Answers, b.Note, e)
	case event.Told:
		s.Owes = without(s.Owes, func(o Owed) bool { return o.Rigger == b.From })
		s = s.checked(b.Said, b.Answers, e, true)
		if s.goes() || s.Details.Sling.State == gate.StateHeld {
			s = s.said(b.Said, b.Answers, b.Note, e)
		}
	}
	return s
}

// owe adds whoever brought a sling back to those who have still to say what happened.
func (s Sling) owe(rigger event.PersonID, e Event) Sling {
	s.Owes = with(s.Owes, Owed{Rigger: rigger, Day: e.Day})
	return s
}

// OwedBy gives the days on which the sling was taken in from somebody who has not said
// yet what happened, oldest first; none where nothing is owed.
func (s Sling) OwedBy(rigger event.PersonID) (days []quantity.Date) {
	for _, o := range s.Owes {
		if o.Rigger == rigger {
			days = append(days, o.Day)
		}
	}
	return days
}
