package web

import (
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
)

// since adds to a line of a slip what has happened to its sling after it was handed
// over, so that a slip that is looked at or printed again later tells it: that it is
// asked back, who has it now and where it is kept, or that it is out on this loan no more.
func (line *SlipLine) since(i event.Issued, s state.Sling, w words) {
	if s.Details.Sling.State != gate.StateOut || s.Loan.Line.Loan != i.Line.Loan {
		line.Notes = append(line.Notes, "It is not out on this slip any more.")
		return
	}
	if s.Loan.Rigger != i.Rigger {
		line.Notes = append(line.Notes, "Handed on: "+w.name(s.Loan.Rigger)+" has it since "+w.clock(s.Loan.Since)+".")
	}
	if s.Loan.Area != "" {
		line.Notes = append(line.Notes, "Kept at "+s.Loan.Area+".")
	}
	recall := s.Loan.Recall
	if recall == (state.Recall{}) {
		return
	}
	line.Recalled, line.Why = "Recalled: bring it back at once.", recall.Reason
	if !recall.By.IsZero() {
		line.Recalled = "Recalled: bring it back by " + Day(recall.By) + "."
	}
	if !i.ReturnBy.IsZero() {
		line.Back = "Before the recall: needed back by " + Day(i.ReturnBy) + "."
	}
}

// onPaper is what a slip of paper says first of a sling. Why it is recalled may be
// longer than the paper has room for, and stands on the page.
func (line SlipLine) onPaper() string {
	return strings.TrimSpace(line.Recalled + " " + line.May)
}

// unbroken is a figure that no line breaks off from its unit.
func unbroken(f Fact) string { return strings.ReplaceAll(f.Value, " ", "\u00a0") }

// slipPaper is the paper on which a crib of such units prints.
func slipPaper(u quantity.Units) string {
	if u == quantity.Metric {
		return "a4"
	}
	return "letter"
}
