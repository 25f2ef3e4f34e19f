package web

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"cribgate/core/gate"
	"cribgate/core/state"
)

// standPlate puts how a sling stands on its plate.
func standPlate(st stand, w words) StandPlate {
	s := st.sling
	d := s.Details.Sling
	p := StandPlate{Verdict: st.verdict, Ident: s.Details.Ident}
	reasons := st.reasons
	due, _ := st.dueWords()
	switch d.State {
	case gate.StateIn:
		p.Word = "In"
		place := "It is in the rack"
		if s.Details.Place != "" {
			place = "It hangs at " + s.Details.Place
		}
		switch st.verdict {
		case StaysHere:
			p.Word = "Stays here"
			p.Ident += ", in the rack"
			if s.Details.Place != "" {
				p.Ident = s.Details.Ident + ", at " + s.Details.Place
			}
		case MayGo:
			p.Sentence = place + ", " + due + ". What it may carry depends on the lift."
			if a := s.Aside; a.On(st.today) {
				p.Sentence += " It is set aside for " + w.name(a.Rigger) + ", " + Day(a.Day) + "."
			}
		case LookCloser:
			p.Sentence = place + st.tag.words()
		}
	case gate.StateUnchecked:
		p.Word = "Unchecked"
		if said := owedSays(s, w); said != "" {
			p.More = append(p.More, Reason{Sentence: said})
		}
	case gate.StateOut:
		p.Word = "Out"
		p.Sentence = "With " + w.name(s.Loan.Rigger) + " since " + w.clock(s.Loan.Since)
		switch back := s.Loan.ReturnBy; {
		case back.IsZero():
			p.Sentence += "; no day of return was stated."
		case back.Before(st.today):
			p.Sentence += ". It was needed back by " + back.Long() + " and is " + plural(st.today.DaysSince(back), "day") + " late."
		default:
			p.Sentence += ", needed back by " + back.Long() + "."
		}
		if s.Loan.Area != "" {
			p.Sentence += " It is kept at " + s.Loan.Area + "."
		}
		if s.Loan.Recall != (state.Recall{}) {
			p.More = append(p.More, Reason{Sentence: sentenceEnd(recallSays(s.Loan.Recall))})
		}
		if s.Hold.Reason != "" {
			p.More = append(p.More, Reason{Sentence: "It will be held when it comes back: " + sentenceEnd(s.Hold.Reason) + " " + w.name(s.Hold.By) + " said so, " + w.clock(s.Hold.Since) + "."})
		}
		if s.Loan.Marked != "" {
			p.More = append(p.More, Reason{Sentence: "Marked for the keeper: " + sentenceEnd(s.Loan.Marked)})
		}
		reasons = without(reasons, gate.AlreadyOut, st, w)
	case gate.StateHeld:
		p.Word = "Held"
		p.Sentence = upperFirst(s.Hold.Reason) + "."
		lies := "; its place is " + placeWords(s.Details.Place)
		if kept := keptAt(s); kept != "" {
			p.Word, lies = keptWord(s), ""
			p.More = append(p.More, Reason{Sentence: upperFirst(kept) + "."})
			reasons = without(without(reasons, gate.Impounded, st, w), gate.AtRepairer, st, w)
		}
		p.More = append(p.More, Reason{Sentence: "Held by " + w.name(s.Hold.By) + ", " + w.clock(s.Hold.Since) + lies + "."})
		reasons = without(reasons, gate.Held, st, w)
	case gate.StateRetired:
		p.Word = w.say("Retired")
		p.Sentence = upperFirst(s.End.Reason) + "."
		p.More = append(p.More, Reason{Sentence: "On " + s.End.Day.Long() + " by " + w.name(s.End.By) + ". Made unusable: " + sentenceEnd(s.End.How)})
		reasons = nil // nothing else about it counts any more
	case gate.StateLost:
		p.Word = "Lost"
		p.Sentence = "Nobody knows where it is since " + s.End.Day.Long() + "; " + w.name(s.End.By) + " said so."
		if s.End.Reason != "" {
			p.More = append(p.More, Reason{Sentence: upperFirst(s.End.Reason) + "."})
		}
		if !s.Loan.Rigger.IsZero() {
			p.More = append(p.More, Reason{Sentence: w.name(s.Loan.Rigger) + " had it last, since " + s.Loan.Day.Long() + "."})
		}
		reasons = without(reasons, gate.Lost, st, w)
	}
	if p.Sentence == "" && len(reasons) > 0 {
		p.Sentence, p.Rule, p.InFull = reasons[0].Sentence, reasons[0].Rule, reasons[0].InFull
		reasons = reasons[1:]
	}
	p.More = append(p.More, reasons...)
	return p
}

// without leaves out the reason that the plate's own word says already.
func without(reasons []Reason, r gate.Reason, st stand, w words) []Reason {
	said := w.says(r, st.answer).Sentence
	return slices.DeleteFunc(slices.Clone(reasons), func(x Reason) bool { return x.Sentence == said })
}

func upperFirst(text string) string {
	text = strings.TrimRight(text, ".")
	if text == "" {
		return ""
	}
	first, n := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(first)) + text[n:]
}
