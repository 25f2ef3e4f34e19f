package web

import (
	"net/url"
	"strings"

	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
)

// Away is the edge of a sling that does not hang here: its peg is empty.
const Away Verdict = "away"

// soonDays is how long before its date a sling counts as due soon (site policy,
// no source).
const soonDays = 30

// A stand is how a sling stands today, whatever the lift: what the gate says of
// the sling alone, and what the record adds to it.
type stand struct {
	sling   state.Sling
	answer  gate.Answer
	reasons []Reason // why it may not go out, in the order of the closed lists
	tag     tagWorth
	looked  bool // a thorough inspection came after what it is held for, as far as is known
	verdict Verdict
	today   quantity.Date
}

// standing asks the gate about a sling alone. A record that the gate cannot judge
// stays here, with that as its reason.
func standing(s state.Sling, crib state.Crib, today quantity.Date, w words) stand {
	p := crib.Founded.Policy
	st := stand{sling: s, today: today, verdict: StaysHere, tag: tagOn(s, p)}
	for _, r := range counter.Doubts(s.Doubt | crib.Doubt) {
		st.add(r, w)
	}
	for _, r := range counter.Uncompared(crib, s) {
		st.add(r, w)
	}
	for _, r := range counter.Kept(s, today, quantity.Date{}) {
		st.add(r, w)
	}
	answer, err := gate.Explain(counter.Question(s, p, today, nil))
	if err != nil {
		st.reasons = append(st.reasons, Reason{Sentence: "What is recorded of this sling cannot be judged. An inspector looks at its details and corrects them."})
		return st
	}
	st.answer = answer
	for _, r := range answer.Reasons {
		st.add(r, w)
	}
	st.settle()
	return st
}

// settle draws the verdict from the sling's state, the reasons and its tag.
func (st *stand) settle() {
	switch state := st.sling.Details.Sling.State; {
	case state == gate.StateOut, state == gate.StateLost:
		st.verdict = Away
	case len(st.reasons) > 0:
	case st.tag != 0:
		st.verdict = LookCloser
	default:
		st.verdict = MayGo
	}
}

func (st *stand) add(r gate.Reason, w words) {
	text := w.reason(r, st.answer, st.sling.Details.Service)
	st.reasons = append(st.reasons, Reason{Sentence: text.Sentence, Rule: text.Rule, InFull: text.InFull})
}

// dueWords says when the sling is due, as a person would: "due 10 Nov 2026",
// "overdue since 3 Feb 2026, 27 days".
func (st stand) dueWords() (text string, late bool) {
	d := st.sling.Details.Sling
	due := st.answer.Due
	switch days := due.DaysSince(st.today); {
	case d.State == gate.StateRetired:
		return "", false
	case d.Inspected.IsZero():
		return "never inspected", true
	case due.IsZero():
		return "no due date", true
	case days < 0:
		return "overdue since " + due.Long() + ", " + plural(-days, "day"), true
	case days == 0:
		return "due today", false
	case days <= soonDays:
		return "due " + due.Long() + ", in " + plural(days, "day"), false
	}
	return "due " + due.Long(), false
}

// stateWords says where the sling is, in one line.
func (st stand) stateWords(w words) (text string, late bool) {
	s := st.sling
	switch s.Details.Sling.State {
	case gate.StateIn:
		if a := s.Aside; a.On(st.today) {
			return "in, set aside for " + w.name(a.Rigger) + ", " + a.Day.Long(), false
		}
		return "in", false
	case gate.StateUnchecked:
		return "came back, not looked at yet", false
	case gate.StateOut:
		text = "out with " + w.name(s.Loan.Rigger)
		if s.Loan.Area != "" {
			text += ", at " + s.Loan.Area
		}
		if s.Loan.Recall != (state.Recall{}) {
			return text + ", recalled", true
		}
		switch back := s.Loan.ReturnBy; {
		case back.IsZero():
			return text + " since " + s.Loan.Day.Long(), false
		case back.Before(st.today):
			return text + ", late since " + back.Long(), true
		default:
			return text + ", needed back " + back.Long(), false
		}
	case gate.StateHeld:
		if kept := keptAt(s); kept != "" {
			return kept, true
		}
		return "held: " + s.Hold.Reason, false
	case gate.StateRetired:
		return w.say("retired") + " " + s.End.Day.Long(), false
	case gate.StateLost:
		return "lost since " + s.End.Day.Long(), true
	}
	return "state not known", true
}

// slingPath is the address of a sling's page. An identification of nothing but
// full stops would be taken for a folder, so such a sling goes by its id.
func slingPath(s state.Sling) string {
	if strings.Trim(s.Details.Ident, ".") == "" {
		return "/rack/" + s.ID.String()
	}
	return "/rack/" + url.PathEscape(s.Details.Ident)
}
