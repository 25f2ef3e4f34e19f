package card

import (
	"fmt"

	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
)

// A Column is one band of the angle of the legs. Its figures hold for the
// flattest angle in it and so for all of it.
type Column struct {
	Words    string     // "60° or steeper"
	From     string     // what the angle is measured from: "from horizontal"
	Flattest gate.Angle // the lift is asked about with this angle
	Over     bool       // the first angle that is too flat for any band
}

// columns lists the bands that a sling is rated by, the steepest first, and
// what is flatter than all of them.
func columns(s rating.System) []Column {
	const past = quantity.MilliDegree // the least step that a lift can be stated in
	h := func(words string, degrees, more quantity.Angle) Column {
		return Column{words, "from horizontal", gate.Angle{From: gate.FromHorizontal, Size: degrees*quantity.Degree + more}, more != 0}
	}
	v := func(words string, degrees, more quantity.Angle) Column {
		return Column{words, "from vertical", gate.Angle{From: gate.FromVertical, Size: degrees*quantity.Degree + more}, more != 0}
	}
	if s == rating.EN {
		return []Column{v("up to 45°", 45, 0), v("45° to 60°", 60, 0), v("over 60°", 60, past)}
	}
	return []Column{h("60° or more", 60, 0), h("45° to 60°", 45, 0), h("30° to 45°", 30, 0), h("under 30°", 30, -past)}
}

// A Cell is what the gate says to one lift.
type Cell struct {
	Lift   gate.Lift
	Answer gate.Answer
}

// Allowed tells whether the lift is allowed at all; otherwise the answer's
// reasons say why not.
func (c Cell) Allowed() bool { return c.Answer.May() }

// Load is what the sling may carry so, rounded down to whole pounds or
// kilograms; 0 where the lift is not allowed.
func (c Cell) Load(u quantity.Units) quantity.Mass {
	switch {
	case !c.Allowed():
		return 0
	case u == quantity.Metric:
		return c.Answer.Allowed.Floor(quantity.Kilogram)
	}
	return c.Answer.Allowed.Floor(quantity.Pound)
}

// A Row is one way to use the sling. One leg hangs straight down and has no
// angle: its row has a single cell, which holds across all columns.
type Row struct {
	Words string
	Cells []Cell
}

// A Section is the rows of one hitch, or of one condition.
type Section struct {
	Words string
	Rows  []Row
}

// An asker puts lifts to the gate for one sling.
type asker struct {
	question gate.Question
	columns  []Column
	err      error // the first
}

// ask gives the gate's answer to a lift with its load left to the least there
// is, so that the answer is what would be allowed.
func (a *asker) ask(l gate.Lift) Cell {
	l.Use, l.Load = gate.UseOrdinary, quantity.MinMass
	q := a.question
	q.Lift = &l
	answer, err := gate.Decide(q)
	if err != nil && a.err == nil {
		a.err = fmt.Errorf("card: ask about %s, %d legs: %w", l.Hitch, l.Legs, err)
	}
	return Cell{Lift: l, Answer: answer}
}

// row asks about a lift at each angle, or once for one leg that hangs straight.
func (a *asker) row(words string, l gate.Lift) Row {
	if l.Hitch != gate.Basket && l.Legs == 1 {
		return Row{words, []Cell{a.ask(l)}}
	}
	r := Row{Words: words}
	for _, c := range a.columns {
		at := l
		at.Angle = &c.Flattest
		r.Cells = append(r.Cells, a.ask(at))
	}
	return r
}

// like tells whether two rows allow and refuse the same.
func (r Row) like(o Row) bool {
	for i, c := range r.Cells {
		if c.Answer.Allowed != o.Cells[i].Answer.Allowed || c.Allowed() != o.Cells[i].Allowed() {
			return false
		}
	}
	return true
}

// never tells whether nothing in the row is allowed.
func (r Row) never() bool {
	for _, c := range r.Cells {
		if c.Allowed() {
			return false
		}
	}
	return true
}

// A span is a run of whole numbers to which the gate says the same.
type span struct {
	from, to int64
	row      Row
}

// spans asks about a row of lifts for each whole number of something, from the
// lowest to the highest, and joins what is alike. So a limit stands on the card
// where the gate has it.
func (a *asker) spans(from, to int64, l func(n int64) gate.Lift) []span {
	var all []span
	for n := from; n <= to; n++ {
		row := a.row("", l(n))
		if last := len(all) - 1; last >= 0 && all[last].row.like(row) {
			all[last].to = n
			continue
		}
		all = append(all, span{n, n, row})
	}
	return all
}
