package gate

import (
	"cribgate/core/quantity"
	"cribgate/core/rating"
)

// Text is a reason in words.
type Text struct {
	Sentence string // what is wrong, for anyone at the counter
	Rule     string // by which rule
	Next     string // what to do now
}

// Text puts the reason in words, with the figures of the answer it stands in
// where it has them. The zero Answer has none, so reasons of the counter take it.
func (r Reason) Text(a Answer, u quantity.Units) Text {
	row := r.row()
	t := Text{Sentence: row.sentence, Rule: r.Rule(a).String(), Next: row.next}
	switch r {
	case Overdue:
		if !a.Due.IsZero() {
			t.Sentence = "Its thorough inspection was due on " + a.Due.Long() + "."
		}
	case DueBeforeReturn:
		if !a.Due.IsZero() {
			t.Sentence = "Its thorough inspection falls due on " + a.Due.Long() + ", before it is to come back."
		}
	case WouldTilt:
		if a.Tilt > 0 {
			t.Sentence = "The load would hang " + a.Tilt.String() + " from level, which is too far."
		}
	case AngleTooFlat:
		t.Sentence = flatSentence(a)
	case UnderRated:
		t.Sentence = underSentence(a.Over, u)
		if a.Over.What == SlingOver && a.Over.Legs > 1 {
			t.Rule = "Rated for " + rating.LegsWords(a.Over.Legs) + ", " + a.Over.Basis.Words() + ": " + t.Rule
		}
		if !a.Over.leaner() {
			t.Next = "Take a stronger sling."
		}
	}
	return t
}

// leaner tells whether steeper legs would be rated for more: not where one leg
// carries, where they are in the steepest row already, or where the upper fitting
// is the limit.
func (o Over) leaner() bool {
	switch o.What {
	case SlingOver:
		return o.Legs > 1 && o.Basis != rating.H60 && o.Basis != rating.B45
	case FittingOver:
		return false
	}
	return true
}

func flatSentence(a Answer) string {
	switch {
	case a.Flattest == 0 && a.System == 0:
		return gateReasons[AngleTooFlat].sentence
	case a.System == rating.EN:
		return "The legs would be too flat: " + (90*quantity.Degree - a.Flattest).String() + " from vertical, and 60° is the most."
	}
	return "The legs would be too flat: " + a.Flattest.String() + " from horizontal, and 30° is the least."
}

func underSentence(o Over, u quantity.Units) string {
	needs, may := u.Mass(o.Needs), u.Mass(o.May)
	if needs == may { // less apart than a whole unit
		needs, may = o.Needs.String(), o.May.String()
	}
	switch o.What {
	case SlingOver:
		return "Too light for this lift: the lift needs " + needs + " and this sling may carry " + may + "."
	case LegOver:
		return "Too light for this lift: one leg would carry " + needs + " and may carry " + may + "."
	case FittingOver:
		return "Too light for this lift: the lift needs " + needs + " and the upper fitting may carry " + may + "."
	}
	return gateReasons[UnderRated].sentence
}
