package web

import (
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"cribgate/core/state"
	"cribgate/kiosk/desk"
	"cribgate/store"
)

// maxName is the most characters of a person's name.
const maxName = 60

// SignInPage asks for name and PIN.
type SignInPage struct {
	Base
	Known Choice // names that have signed in on this browser; no options, no question
	Name  Field
	PIN   Field
	Error string
}

// otherName is the answer "someone else" to the question who signs in.
const otherName = "-"

func (s *Server) signInPage(v *visit) error {
	return s.renderSignIn(v, http.StatusOK, "", "", "")
}

func (s *Server) renderSignIn(v *visit, status int, name, nameError, problem string) error {
	known, err := s.stillHere(v)
	if err != nil {
		return err
	}
	p := &SignInPage{
		Base:  Base{Title: "Sign in"},
		Known: Choice{Name: "known", Legend: "Who are you?"},
		Name: Field{Name: "name", Label: "Name", Hint: "In full; or scan your badge", Value: name, Error: nameError,
			Complete: "username", Most: maxName, Focus: len(known) == 0},
		PIN: Field{Name: "pin", Label: "PIN", Hint: "6 to 12 digits", Type: "password", Mode: "numeric",
			Complete: "current-password", Most: desk.MaxDigits, Needed: true, Focus: len(known) > 0},
		Error: problem,
	}
	for i, k := range known {
		on := strings.EqualFold(k, name) || name == "" && i == 0
		p.Known.Options = append(p.Known.Options, Option{Value: k, Label: k, On: on})
		if on && name != "" {
			p.Name.Value = ""
		}
	}
	if len(known) > 0 {
		other := !slices.ContainsFunc(p.Known.Options, func(o Option) bool { return o.On })
		p.Known.Options = append(p.Known.Options, Option{Value: otherName, Label: "Someone else", On: other})
		p.Name.Label = "Name of someone else"
	}
	return s.render(v, status, "sign-in", p)
}

func (s *Server) signIn(v *visit) error {
	ctx := v.r.Context()
	if badge := strings.TrimSpace(v.raw("name")); isBadge(badge) {
		return s.nameByBadge(v, badge)
	}
	name, complaint := v.line("name", maxName)
	if known := v.raw("known"); known != "" && known != otherName {
		name, complaint = v.line("known", maxName)
	}
	if complaint != "" {
		return s.renderSignIn(v, http.StatusUnprocessableEntity, "", complaint, "")
	}
	if name == "" {
		return s.renderSignIn(v, http.StatusUnprocessableEntity, "", "Type your name.", "")
	}
	who, err := s.Counter.Named(ctx, name)
	if err != nil && !errors.Is(err, store.ErrNotFound) && !errors.Is(err, store.ErrDoubled) {
		return err
	}
	id, ended := "", endedSentence(v, who)
	if who.May(everyone, v.today) || ended != "" && who.Doubt == 0 {
		id = who.ID.String()
	}
	if err := s.Desk.Verify(ctx, id, v.raw("pin")); err != nil {
		problem, status := signInProblem(err)
		if problem == "" {
			return err
		}
		return s.renderSignIn(v, status, name, "", problem)
	}
	if ended != "" { // said to whoever knows the PIN only
		return s.renderSignIn(v, http.StatusForbidden, name, "", ended)
	}
	if err := s.Desk.Sessions().SignIn(ctx, id); err != nil {
		return err
	}
	s.Cameras.SignedOut(s.Desk.Sessions().Line(v.r).ID()) // whoever was signed in here before
	s.rememberName(v, who.Name)
	return v.redirect("/")
}

// signInProblem says in words why someone could not sign in; nothing if err is
// not for people.
func signInProblem(err error) (sentence string, status int) {
	if wait, ok := errors.AsType[*desk.WaitError](err); ok {
		return fmt.Sprintf("Too many wrong PINs. Wait %d seconds, then try again.", wait.Seconds()), http.StatusTooManyRequests
	}
	switch {
	case errors.Is(err, desk.ErrWrongPIN):
		return "Name and PIN do not belong together. Try again; after ten wrong PINs the name is locked.", http.StatusUnprocessableEntity
	case errors.Is(err, desk.ErrNoPIN):
		return "No PIN has been set for this name yet. Ask the keeper for a one-time PIN.", http.StatusUnprocessableEntity
	case errors.Is(err, desk.ErrLocked):
		return "This name is locked after too many wrong PINs. Ask the keeper for a new one-time PIN.", http.StatusForbidden
	case errors.Is(err, desk.ErrBusy):
		return "Many people are signing in just now. Try again in a few seconds.", http.StatusServiceUnavailable
	}
	return "", 0
}

func (s *Server) signOut(v *visit) error {
	if err := s.Desk.Sessions().SignOut(v.r.Context()); err != nil {
		return err
	}
	s.Cameras.SignedOut(s.Desk.Sessions().Line(v.r).ID())
	return v.redirect("/sign-in")
}

// home leads to the first place that the person may see.
func (s *Server) home(v *visit) error {
	if v.standing.OneTime {
		return v.redirect("/pin")
	}
	for _, p := range s.nav {
		if v.may(p.act) {
			return v.redirect(p.Path)
		}
	}
	return errNoPage
}

// The names cookie holds who has signed in on this browser, newest first, so
// that nobody types a name in gloves each morning. It proves nothing.
const (
	namesCookie = "cribgate_names"
	mostNames   = 5
)

func knownNames(r *http.Request) []string {
	c, err := r.Cookie(namesCookie)
	if err != nil {
		return nil
	}
	data, err := base64.RawURLEncoding.DecodeString(c.Value)
	if err != nil {
		return nil
	}
	var names []string
	if err := json.Unmarshal(data, &names); err != nil || len(names) > mostNames {
		return nil
	}
	return names
}

// stillHere gives those names of this browser that somebody here still has.
func (s *Server) stillHere(v *visit) ([]string, error) {
	known := knownNames(v.r)
	if len(known) == 0 {
		return nil, nil
	}
	people, err := s.Store.People(v.r.Context())
	if err != nil {
		return nil, err
	}
	return slices.DeleteFunc(known, func(name string) bool {
		return !slices.ContainsFunc(people, func(p state.Person) bool { return p.Here && !p.Ended(v.today) && p.Name == name })
	}), nil
}

func (s *Server) rememberName(v *visit, name string) {
	known, err := s.stillHere(v)
	if err != nil {
		return // what is remembered is a comfort
	}
	names := slices.DeleteFunc(known, func(n string) bool { return n == name })
	names = append([]string{name}, names...)
	data, err := json.Marshal(names[:min(len(names), mostNames)])
	if err != nil {
		return // text always marshals
	}
	http.SetCookie(v.w, &http.Cookie{
		Name: namesCookie, Value: base64.RawURLEncoding.EncodeToString(data), Path: "/sign-in",
		MaxAge: 365 * 24 * 3600, HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: s.Secure || v.r.TLS != nil,
	})
}
