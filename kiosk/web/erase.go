package web

import (
	"errors"
	"net/http"
	"slices"

	"cribgate/core/event"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
	"cribgate/kiosk/desk"
	"cribgate/store"
)

func eraseForm(who state.Person) EraseForm {
	return EraseForm{
		Path: "/people/" + who.ID.String() + "/erase", Heads: headsText(who.Heads), Instead: event.InsteadOf(who.ID),
		Why: Field{Name: "why", Label: "Reason", Hint: "Without the name: it stays", Most: maxText, Needed: true},
		PIN: Field{Name: "pin", Label: "Your own PIN, once more", Type: "password", Mode: "numeric", Complete: "off", Most: desk.MaxDigits, Needed: true},
	}
}

// erasePerson takes a name out of the register and out of the desk's file. The
// keeper proves once more who it is.
func (s *Server) erasePerson(v *visit) error {
	ctx := v.r.Context()
	key, err := v.key()
	if err != nil {
		return err
	}
	who, err := s.personAsked(v)
	if err != nil {
		return err
	}
	if who.Erased {
		s.notice(v, "The name was erased.") // by the same form sent twice, or by someone else
		return v.redirect("/people")
	}
	if who.Here {
		return &Visible{Code: BadInput, Sentence: who.Name + " still works here.", Next: "Take " + who.Name + " off first."}
	}
	heads, err := parseHeads(v.raw("heads"))
	if err != nil {
		return err
	}
	why, complaint := v.text("why", maxText)
	if complaint == "" && why == "" {
		complaint = "Say why, without the name."
	}
	wrong := eraseForm(who)
	wrong.Open, wrong.Why.Value, wrong.Why.Error = true, why, complaint
	if err := s.Desk.Verify(ctx, v.who.ID.String(), v.raw("pin")); err != nil {
		problem, _ := signInProblem(err)
		if problem == "" {
			return err
		}
		wrong.PIN.Error = problem
	}
	if wrong.Why.Error != "" || wrong.PIN.Error != "" {
		return s.renderErase(v, http.StatusUnprocessableEntity, who, wrong)
	}
	names, err := s.Store.NamesOf(ctx, who.ID)
	if err != nil {
		return err
	}
	if _, err = s.Counter.ErasePerson(ctx, v.by(counter.Hand, key), who.ID, heads, why); err != nil {
		status, problem := http.StatusConflict, ""
		switch {
		case errors.Is(err, counter.ErrHasSlings):
			problem = who.Name + " has slings outside. Get those back first."
		case errors.Is(err, counter.ErrNameInReason):
			status, wrong.Why.Error = http.StatusUnprocessableEntity, "The reason has the name in it, and would keep it."
		case errors.Is(err, store.ErrConflict), errors.Is(err, counter.ErrStillHere):
			problem = "Someone changed this person just now. Look again."
		case errors.Is(err, store.ErrErasures):
			problem = "Nothing was erased: the list of what was erased before, which lies beside the register, cannot be read. Put back the one that lies beside the copies."
		default:
			return err
		}
		wrong.Error = problem
		return s.renderErase(v, status, who, wrong)
	}
	if err := s.keepTurn(v, &turn{By: v.who.ID.String()}); err != nil {
		return err
	}
	s.notice(v, "Erased. "+event.InsteadOf(who.ID)+" stands in the place of the name.")
	err = errors.Join(s.Desk.Forget(ctx, who.ID.String(), names...), s.Bench.Forget(ctx, who.ID.String(), func(text string) bool {
		return slices.ContainsFunc(names, func(name string) bool { return event.Mentions(text, name) })
	}))
	if err != nil {
		return &Visible{Code: Unusable, Cause: err,
			Sentence: "The name is erased from the register, but the files of PINs, sessions and drafts could not all be written anew.",
			Next:     "Start the program anew when nobody is signed in, and tell whoever looks after it the reference."}
	}
	return v.redirect("/people")
}

// renderErase shows the people page with one person's form open.
func (s *Server) renderErase(v *visit, status int, who state.Person, form EraseForm) error {
	p := &PeoplePage{Name: nameField("", ""), Role: roleChoice(0, ""), erasing: who.ID, eraseForm: form}
	return s.renderPeople(v, status, p)
}
