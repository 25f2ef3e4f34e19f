package web

import (
	"cribgate/core/gate"
	"cribgate/kiosk/counter"
)

// Counted is the shape of a sling that was seen in its place: a plain card, which
// says nothing of whether it may go.
const Counted Verdict = "counted"

// A CountCard says what came of one scan. The zero value is none.
type CountCard struct {
	Verdict  Verdict
	Words    string // of the verdict
	Title    string
	Sub      string
	Sentence string
	Next     string // what to do now
	Move     Field  // a new place for it; no name: none is asked for
	Sling    string // its id, for the form
	Heads    string
	Link     Action // where it is dealt with; no path: nowhere
}

// countCard puts what came of a scan into words.
func (s *Server) countCard(v *visit, n counter.Counted) (CountCard, error) {
	found := counter.Found{Known: n.Known, Sling: n.Sling, Codes: n.Codes}
	if !n.Known || !n.Counts {
		card := s.strangeCard(v, found)
		if n.Over {
			card.Sentence, card.Next = "The count had ended before this scan came.", "Begin another count, and scan it there."
		}
		return card, nil
	}
	names, err := s.names(v)
	if err != nil {
		return CountCard{}, err
	}
	w := v.wordsOf(names)
	card := CountCard{Verdict: Counted, Words: "Counted", Title: n.Sling.Details.Ident,
		Sub: placeWords(n.Sling.Details.Place) + " · " + w.makeUp(n.Sling.Details.Sling.Plate)}
	if n.Again {
		card.Words, card.Sentence = "Counted already", "One scan is enough."
	}
	card.sees(n, w)
	for _, r := range n.Codes {
		text := w.says(r, gate.Answer{})
		if card.Verdict == Counted {
			card.Verdict, card.Words = LookCloser, "Counted. Look closer"
		}
		card.Sentence = joined(card.Sentence, text.Sentence)
	}
	return card, nil
}

// sees says how the sling of a scan stands in the count.
func (c *CountCard) sees(n counter.Counted, w words) {
	sling := n.Sling
	switch counter.SightOf(sling, sling.Seen.Count, nil) {
	case counter.WrongPlace:
		c.Verdict, c.Words = LookCloser, "Wrong place"
		c.Sentence = "It belongs at " + placeWords(sling.Details.Place) + " and was seen at " + placeWords(sling.Seen.Place) + "."
		c.Next = "Hang it where it belongs, or give it this place."
		c.Sling, c.Heads = sling.ID.String(), headsText(sling.Heads)
		c.Move = Field{Name: "moved-to", Label: "It hangs here from now on", Hint: "The whole place, as it is written at the peg", Value: sling.Seen.Place, Most: maxPlace, Needed: true}
	case counter.OutButHere:
		c.outButHere(n, w)
	default:
		switch sling.Details.Sling.State {
		case gate.StateHeld:
			c.Sentence = joined(c.Sentence, "It is held: "+sentenceEnd(sling.Hold.Reason))
			if kept := keptAt(sling); kept != "" {
				c.Sentence = joined(c.Sentence, "On record it is "+kept+".")
			}
		case gate.StateUnchecked:
			c.Sentence = joined(c.Sentence, "It came back and waits to be looked at.")
		}
	}
}

func (c *CountCard) outButHere(n counter.Counted, w words) {
	sling := n.Sling
	c.Verdict = LookCloser
	c.Link = Action{Label: "Its page", Sub: "after the count", Path: slingPath(sling)}
	switch sling.Details.Sling.State {
	case gate.StateOut:
		c.Words, c.Sentence = "Booked out, and here", "The record has it with "+w.name(sling.Loan.Rigger)+" since "+w.clock(sling.Loan.Since)+"."
		c.Next = "Keep it aside. After the count take it back at the counter, where its plate is compared: another sling may be out under its name."
	case gate.StateLost:
		c.Words, c.Sentence = "Lost, and here", "It is on record as lost."
		c.Next = "Keep it aside, and say on its page that it was found. An inspector looks at it."
	default:
		c.Verdict, c.Words, c.Sentence = StaysHere, w.say("Retired, and here"), w.say("It was retired from service for good.")
		c.Next = "Keep it, and do not hang it back. Tell the keeper: it should have been made unusable."
	}
}

// strangeCard says why a scan does not count.
func (s *Server) strangeCard(v *visit, found counter.Found) CountCard {
	w := v.wordsOf(nil)
	card := CountCard{Verdict: LookCloser, Words: "Not counted", Title: "No sling"}
	if found.Known {
		card.Title = found.Sling.Details.Ident
		card.Link = Action{Label: "Its page", Path: slingPath(found.Sling)}
		if len(found.Codes) == 0 {
			card.Sentence, card.Next = "It has no place on record.", "Choose the place where you stand, then scan it again."
		}
	}
	for i, r := range found.Codes {
		text := w.says(r, gate.Answer{})
		card.Sentence = joined(card.Sentence, text.Sentence)
		if i == 0 {
			card.Next = countNext(r, text.Next)
		}
	}
	return card
}

// countNext is what to do with what does not count, where that is not what is done
// at the counter.
func countNext(r gate.Reason, next string) string {
	switch r {
	case gate.UnknownSling, gate.TagNotOurs, gate.TagForged, gate.TagNewerFormat:
		return "Keep the sling apart, and count on. What hangs here and is not on record goes to the slings kept apart."
	case gate.TagUnconfirmed, gate.TagLapsed, gate.TagSpoiled:
		return "This tag was never confirmed on a sling, so it may lie anywhere. Type the identification on the plate instead."
	case gate.TagIsBadge, gate.TagIsSlip, gate.TagIsSeal, gate.TagWebAddress, gate.TagUnreadable, gate.ShortCodeMistyped, gate.ShortCodeUnknown:
		return "Scan the tag on the sling, or type the identification on its plate."
	}
	return next
}

func joined(a, b string) string {
	if a == "" {
		return b
	}
	return a + " " + b
}
