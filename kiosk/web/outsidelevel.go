package web

import (
	"cmp"
	"slices"
	"strings"

	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
)

// A level is how much it presses that a sling that is out comes back. The gravest
// comes first.
type level uint8

const (
	notToBeUsed level = iota // something stands against the sling itself, such as that it is overdue
	isRecalled
	isLate // it should have been back
	dueIn3
	dueIn14
	dueIn30
	notDue
)

// How many days before its inspection a sling that is out is told of (site policy, no
// source).
const (
	dueSoonest = 3
	dueSooner  = 14
	dueSoon    = soonDays
)

var levelNames = [...]string{
	notToBeUsed: "Not to be used: bring it back", isRecalled: "Recalled", isLate: "Late",
	dueIn3: "Inspection due within 3 days", dueIn14: "Inspection due within 14 days", dueIn30: "Inspection due within 30 days", notDue: "Nothing presses",
}

// verdict is the edge of a card of that level.
func (l level) verdict() Verdict {
	switch l {
	case notToBeUsed, isRecalled, isLate:
		return StaysHere
	case dueIn3:
		return LookCloser
	}
	return Away
}

// bars are how many of three are filled in on its card: one at 30 days, two at 14,
// three at 3.
func (l level) bars() int {
	switch l {
	case dueIn3:
		return 3
	case dueIn14:
		return 2
	case dueIn30:
		return 1
	}
	return 0
}

// An away is a sling that is out, and why it is wanted back.
type away struct {
	sling  state.Sling
	level  level
	codes  []gate.Reason // see counter.Wanted
	answer gate.Answer
	today  quantity.Date
}

// awayOf judges a sling that is out. One that cannot be judged is not to be used.
func awayOf(s state.Sling, crib state.Crib, today quantity.Date) away {
	a := away{sling: s, level: notDue, today: today}
	var err error
	if a.codes, err = counter.Wanted(s, crib, today); err != nil {
		a.level = notToBeUsed
		return a
	}
	if a.answer, err = gate.Explain(counter.Question(s, crib.Founded.Policy, today, nil)); err != nil {
		a.level = notToBeUsed
		return a
	}
	at := func(l level) { a.level = min(a.level, l) }
	for _, r := range a.codes {
		switch r {
		case gate.Recalled:
			at(isRecalled)
		case gate.DueBeforeReturn:
		case gate.OtherUse:
			at(isLate) // nobody was asked whether it may go
		default:
			at(notToBeUsed)
		}
	}
	if back := s.Loan.ReturnBy; !back.IsZero() && back.Before(today) {
		at(isLate)
	}
	switch days := a.answer.Due.DaysSince(today); {
	case a.answer.Due.IsZero():
	case days <= dueSoonest:
		at(dueIn3)
	case days <= dueSooner:
		at(dueIn14)
	case days <= dueSoon:
		at(dueIn30)
	}
	return a
}

// sortAway judges slings that are out, the gravest first; within a level the one that
// is wanted first.
func sortAway(slings []state.Sling, crib state.Crib, today quantity.Date) []away {
	list := make([]away, len(slings))
	for i, s := range slings {
		list[i] = awayOf(s, crib, today)
	}
	slices.SortStableFunc(list, func(a, b away) int {
		byDue := 0
		if a.level != isLate && a.level != isRecalled && a.level != notDue {
			byDue = a.answer.Due.Compare(b.answer.Due)
		}
		return cmp.Or(cmp.Compare(a.level, b.level), a.sling.Loan.Recall.By.Compare(b.sling.Loan.Recall.By), byDue,
			backOrder(a.sling, today)-backOrder(b.sling, today), a.sling.Loan.ReturnBy.Compare(b.sling.Loan.ReturnBy),
			a.sling.Loan.Since.Compare(b.sling.Loan.Since), cmp.Compare(a.sling.Details.Ident, b.sling.Details.Ident))
	})
	return list
}

// backOrder puts late slings first, then those without a day, then the others.
func backOrder(s state.Sling, today quantity.Date) int {
	switch back := s.Loan.ReturnBy; {
	case back.IsZero():
		return 1
	case back.Before(today):
		return 0
	}
	return 2
}

// says tells why a sling is wanted back, and when it is due.
func (a away) says(w words) string {
	var parts []string
	add := func(text string) { parts = append(parts, sentenceEnd(text)) }
	s := a.sling
	if s.Loan.Recall != (state.Recall{}) {
		add(recallSays(s.Loan.Recall))
	}
	if s.Hold.Reason != "" {
		add("It is held as soon as it is back: " + s.Hold.Reason)
	}
	due, days := a.answer.Due, a.answer.Due.DaysSince(a.today)
	for _, r := range a.codes {
		switch r {
		case gate.Recalled, gate.Held, gate.DueBeforeReturn:
		case gate.Overdue:
			add("Its inspection was due " + due.Long() + ": it must not be used")
		case gate.NoDueDate:
			add("Its inspection has no due date")
		case gate.OtherUse:
			add("It went out without being issued")
		default:
			add(w.reason(r, a.answer, s.Details.Service).Sentence)
		}
	}
	back := s.Loan.ReturnBy
	switch {
	case due.IsZero() || days < 0:
	case !back.IsZero() && due.Before(back):
		add("Its inspection falls due " + due.Long() + ", before it is to come back")
	case days == 0:
		add("Its inspection is due today")
	case days <= dueSoon:
		add("Its inspection is due " + due.Long() + ", in " + plural(days, "day"))
	}
	if a.level == isLate && !back.IsZero() && back.Before(a.today) {
		add("It was needed back by " + back.Long())
	}
	if a.answer.System == 0 && len(a.codes) == 0 && a.level == notToBeUsed {
		add("What is recorded of it cannot be judged")
	}
	return w.say(strings.Join(parts, " "))
}

// recallSays is a recall in one sentence.
func recallSays(r state.Recall) string {
	when := "at once"
	if !r.By.IsZero() {
		when = "by " + r.By.Long()
	}
	return "Recalled, wanted back " + when + ": " + r.Reason
}
