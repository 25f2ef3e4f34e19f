package web

import (
	"net/http"

	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/core/tagcode"
)

// signInBadge fills in the name of a badge that was scanned where somebody signs in.
// It proves nothing: the PIN is asked all the same.
func (s *Server) signInBadge(v *visit) error {
	return s.nameByBadge(v, v.raw("text"))
}

func (s *Server) nameByBadge(v *visit, text string) error {
	who, reasons, err := s.Counter.Badge(v.r.Context(), text)
	if err != nil {
		return err
	}
	if len(reasons) > 0 {
		says := v.wordsOf(nil).says(reasons[0], gate.Answer{})
		return s.renderSignIn(v, http.StatusUnprocessableEntity, "", "", says.Sentence+" Sign in by name, or ask the keeper.")
	}
	return s.renderSignIn(v, http.StatusOK, who.Name, "", "")
}

// isBadge tells whether what was typed as a name is a badge's text: a scanner whose
// frame is not set up types into the field.
func isBadge(text string) bool {
	kind, err := tagcode.KindOf(text)
	return err == nil && kind == tagcode.KindBadge
}

// endedSentence tells somebody that their last day is over; empty where it is not.
func endedSentence(v *visit, who state.Person) string {
	if !who.Here || !who.Ended(v.today) {
		return ""
	}
	return "Your last day here was " + who.Terms.Until.Long() + ". The keeper can take you on again."
}
