package card

import (
	"strconv"
	"strings"

	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/source"
)

// caution stands on every card.
const caution = "This card supports, and never replaces, the competent person, the maker's instructions and the local law."

// noBreak keeps a figure and its unit on one line.
func noBreak(s string) string { return strings.ReplaceAll(s, " ", "\u00a0") }

// both gives a load in the leading units and in the others, each rounded down.
func both(c Cell, u quantity.Units) (lead, other string) {
	return u.Mass(c.Load(u)), u.Other().Mass(c.Load(u.Other()))
}

// what is the sling in one line.
func what(s gate.Sling) string {
	words := []string{s.Size.Words(), "grade " + strconv.Itoa(int(s.Grade)), rating.LegsFigure(s.Legs)}
	switch {
	case s.Reach == 0:
		words = append(words, "reach not known")
	case s.System == rating.US:
		words = append(words, "reach "+s.Reach.HalfInch().InFeet())
	default:
		words = append(words, "reach "+s.Reach.InMetres())
	}
	if s.Adjustable {
		words = append(words, "adjustable")
	}
	return strings.Join(words, ", ")
}

// stamped lists what the maker's rating tag says. Where several loads of like
// legs follow each other, what their angles are measured from stands once.
func stamped(s gate.Sling) string {
	text := "On the rating tag: "
	for i, x := range s.Stamped {
		load := x.Load.InKilograms()
		switch _, whole := x.Load.Whole(quantity.Pound); {
		case s.System == rating.EN && x.Load >= quantity.Tonne:
			load = x.Load.InTonnes()
		case s.System == rating.US && whole:
			load = x.Load.InPounds()
		}
		if x.Legs != s.Legs && (i == 0 || s.Stamped[i-1].Legs != x.Legs) && x.Basis != rating.Vertical {
			text += legWords(x.Legs) + ": "
		}
		at, end := x.Basis.Words(), "; "
		if i+1 < len(s.Stamped) && s.Stamped[i+1].Legs == x.Legs {
			at, _, _ = strings.Cut(at, " from ")
			end = ", "
		}
		if x.Basis == rating.Vertical {
			at = ", " + at
		} else {
			at = " at " + at
		}
		text += noBreak(load) + at + end
	}
	return strings.TrimRight(text, ";, ") + "."
}

// notes numbers the reasons on one side of a card in the order in which they
// are met.
type notes struct {
	system  rating.System
	reasons []gate.Reason
	rules   []source.Clause
}

// refused is what stands in a cell that is not allowed.
func (n *notes) refused(c Cell) string {
	text := "not allowed"
	for _, r := range c.Answer.Reasons {
		at := 0
		for at < len(n.reasons) && n.reasons[at] != r {
			at++
		}
		if at == len(n.reasons) {
			n.reasons = append(n.reasons, r)
			n.rules = append(n.rules, r.Rule(c.Answer))
		}
		text += " " + strconv.Itoa(at+1) + ")"
	}
	return text
}

// text explains the numbers, each with its rule where cited.
func (n *notes) text(cited bool) string {
	var all []string
	for i, r := range n.reasons {
		sentence := strings.TrimSuffix(r.Text(gate.Answer{}, gate.Speech{}).Sentence, ".")
		if cited {
			sentence += " (" + strings.TrimSuffix(cite(n.rules[i:i+1]), ".") + ")"
		}
		all = append(all, strconv.Itoa(i+1)+")\u00a0"+sentence+".")
	}
	return strings.Join(all, " ")
}

// rules cites, text by text, what the sections' figures follow from.
func (p Pocket) rules() (string, error) {
	var clauses []source.Clause
	for _, s := range append(append([]Section(nil), p.Front...), p.Back...) {
		for _, row := range s.Rows {
			for _, c := range row.Cells {
				l := c.Lift
				a, err := gate.Explain(gate.Question{ID: p.Ident, Now: p.Printed, Policy: p.Policy, Sling: p.Sling, Lift: &l})
				if err != nil {
					return "", err
				}
				for _, step := range a.Working {
					if step.Source != source.LoadMargin { // the load asked about is none
						clauses = append(clauses, step.Source)
					}
				}
			}
		}
	}
	return cite(clauses), nil
}

// cite lists clauses, each once, text by text in the order of the register of
// sources, with the doubt where there is one.
func cite(clauses []source.Clause) string {
	used := map[source.Clause]bool{}
	for _, c := range clauses {
		used[c] = true
	}
	var order []source.Text
	places := map[source.Text][]string{}
	for _, c := range source.Clauses() {
		if !used[c] {
			continue
		}
		if len(places[c.Text()]) == 0 {
			order = append(order, c.Text())
		}
		place := c.Place()
		if place == "" {
			place = c.Says()
		}
		if c.Confidence() == source.Memory {
			place += " (" + c.Confidence().String() + ")"
		}
		places[c.Text()] = append(places[c.Text()], place)
	}
	var all []string
	for _, t := range order {
		all = append(all, short(t)+": "+strings.Join(places[t], "; "))
	}
	return strings.Join(all, ". ") + "."
}

// short is the title of a numbered text without what the number stands for.
func short(t source.Text) string {
	number, _, _ := strings.Cut(t.Title(), ", ")
	if strings.ContainsAny(number, "0123456789") {
		return number
	}
	return t.Title()
}
