package web

import (
	"errors"
	"net/http"

	"cribgate/kiosk/counter"
	"cribgate/kiosk/desk"
)

// PINPage asks for a PIN of one's own in place of the one-time PIN.
type PINPage struct {
	Base
	First Field
	Again Field
}

func (s *Server) pinPage(v *visit) error {
	if !v.standing.OneTime {
		return v.redirect("/")
	}
	return s.renderPIN(v, http.StatusOK, "", "")
}

func (s *Server) renderPIN(v *visit, status int, firstError, againError string) error {
	return s.render(v, status, "pin", &PINPage{
		Base: Base{Title: "Choose your PIN"},
		First: Field{Name: "first", Label: "New PIN", Hint: "6 to 12 digits; no run like 345678 and no pattern like 474747",
			Error: firstError, Type: "password", Mode: "numeric", Complete: "new-password", Most: desk.MaxDigits, Needed: true, Focus: true},
		Again: Field{Name: "again", Label: "The same PIN again", Error: againError, Type: "password", Mode: "numeric",
			Complete: "new-password", Most: desk.MaxDigits, Needed: true},
	})
}

func (s *Server) choosePIN(v *visit) error {
	ctx := v.r.Context()
	person := v.who.ID
	first := v.raw("first")
	if first != v.raw("again") {
		return s.renderPIN(v, http.StatusUnprocessableEntity, "", "The two are not the same. Type both again.")
	}
	err := s.Desk.Choose(ctx, person.String(), first)
	switch {
	case errors.Is(err, desk.ErrPINDigits):
		return s.renderPIN(v, http.StatusUnprocessableEntity, "A PIN is 6 to 12 digits and nothing else.", "")
	case errors.Is(err, desk.ErrPINSimple):
		return s.renderPIN(v, http.StatusUnprocessableEntity, "This PIN would be guessed early: it is a run or a repeated pattern. Choose another.", "")
	case errors.Is(err, desk.ErrPINSame):
		return s.renderPIN(v, http.StatusUnprocessableEntity, "This is the one-time PIN. Choose another.", "")
	case errors.Is(err, desk.ErrNotOneTime):
		return v.redirect("/") // chosen already, by the same form sent twice
	case errors.Is(err, desk.ErrBusy):
		return &Visible{Code: Busy, Cause: err, Sentence: "Many people are signing in just now.", Next: "Try again in a few seconds."}
	case err != nil:
		return err
	}
	if err := s.Counter.PINWasSet(ctx, v.by(counter.Hand, ""), person, false); err != nil {
		return &Visible{Code: Unusable, Cause: err,
			Sentence: "Your new PIN is set, but the register could not record that it was.",
			Next:     "Sign in with the new PIN, and tell the keeper the reference."}
	}
	// The old session ended with the old PIN.
	if err := s.Desk.Sessions().SignIn(ctx, person.String()); err != nil {
		return err
	}
	s.notice(v, "Your PIN is set. Use it from now on.")
	return v.redirect("/")
}
