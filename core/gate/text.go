package gate

import (
	"strings"

	"cribgate/core/due"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/source"
	"cribgate/core/trade"
)

// Speech is how a crib puts things. The zero Speech has pounds, the words as they
// are written here, and the rules of the US.
type Speech struct {
	Units quantity.Units
	Words trade.List
	Rules due.Rules // the law that the crib goes by
}

// Text is a reason in words.
type Text struct {
	Sentence string // what is wrong, for anyone at the counter
	Rule     string // by which rule, in a few words
	InFull   string // the rule with its title, and how far the reading of it can be trusted
	Next     string // what to do now
}

// Text puts the reason in words, with the figures of the answer it stands in
// where it has them. The zero Answer has none, so reasons of the counter take it.
// How a sling is rated follows its own system; what is law at the counter follows
// the crib's rules.
func (r Reason) Text(a Answer, s Speech) Text {
	row := r.row()
	clause := under(r.Rule(a), s.Rules)
	t := Text{Sentence: row.sentence, Next: row.next}
	cited := ""
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
		t.Sentence = underSentence(a.Over, s.Units)
		if a.Over.What == SlingOver && a.Over.Legs > 1 {
			cited = "Rated for " + rating.LegsWords(a.Over.Legs) + ", " + a.Over.Basis.Words() + ": "
		}
		if !a.Over.leaner() {
			t.Next = "Take a stronger sling."
		}
	}
	t.Sentence, t.Next = s.say(t.Sentence), s.say(t.Next)
	cited = s.say(cited)
	t.Rule, t.InFull = cited+clause.Short(), cited+s.Words.Say(clause.String())
	return t
}

// say puts a sentence of ours into the crib's words, and names who decides under
// its law.
func (s Speech) say(text string) string {
	return s.Words.Say(strings.ReplaceAll(text, due.Rules(0).Judge(), s.Rules.Judge()))
}

// Under is the clause of the law of the crib that stands for one of another place;
// a clause that holds everywhere is left as it is.
func (s Speech) Under(c source.Clause) source.Clause { return under(c, s.Rules) }

// under is the clause of the crib's own law, where a reason follows one that
// differs from place to place; any other clause is left as it is.
func under(c source.Clause, r due.Rules) source.Clause {
	if c == source.TagGoverns && r == due.US {
		return source.TagGovernsUS // the clause itself is the shipyards'
	}
	at := func(en, uk, yard source.Clause) source.Clause {
		switch r {
		case due.EN:
			return en
		case due.UK:
			return uk
		case due.Yard:
			return yard
		}
		return c
	}
	switch c {
	case source.TagGoverns:
		return at(source.TagGovernsEN, source.TagLegibleUK, source.TagGoverns)
	case source.TagLegible:
		return at(source.TagLegibleEN, source.TagLegibleUK, source.TagGoverns)
	case source.DefectOut:
		return at(source.DefectOutEN, source.DefectOutUK, source.DefectOutYard)
	case source.ReturnToService:
		return at(source.ReturnToServiceEN, source.DefectOutUK, source.ReturnToService)
	case source.RecordKept:
		return at(source.ENTwelveMonths, source.UKKeepReports, source.ShipyardQuarter)
	case source.TwelveMonths:
		return at(source.ENTwelveMonths, source.UKSixMonths, source.ShipyardQuarter)
	case source.MarkTraces:
		return at(source.MarkTracesEN, source.UKReport, source.MarkTraces)
	}
	return c
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
