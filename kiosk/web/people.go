package web

import (
	"errors"
	"net/http"

	"cribgate/core/event"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
	"cribgate/kiosk/desk"
	"cribgate/store"
)

// PeoplePage lists who works here and what each role may do.
type PeoplePage struct {
	Base
	DayPass     DayPassForm
	People      []PersonRow // who is here
	Ended       []PersonRow // whose last day is over
	Gone        []PersonRow // who was taken off
	Permissions []Permission
	MayAdd      bool
	Name        Field
	Role        Choice
	Given       GivenPIN

	erasing   event.PersonID // whose form is shown with what was wrong
	eraseForm EraseForm
}

// A PersonRow is one person.
type PersonRow struct {
	Key      string
	ID       string
	Name     string
	Roles    string
	Terms    string // what holds besides the roles; empty for nothing
	Path     string // its own page; empty for none
	Today    string // where it can be taken on again for a day: the day
	SignIn   string // "signs in with a PIN", "no PIN yet" …
	Outside  string // how much this person has out; empty for nothing, or where the reader may not change it
	MayGive  bool   // the reader may give a one-time PIN and change roles
	MayOff   bool   // the reader may take this person off
	MayOn    bool   // the reader may take this person on again
	Erase    EraseForm
	Role     Choice
	Doubtful string // why the record of this person cannot be used; empty if it can
}

// EraseForm takes a person's name out of the register. The zero value is not
// shown.
type EraseForm struct {
	Path    string
	Heads   string
	Instead string // what stands in the place of the name
	Why     Field
	PIN     Field // of the keeper who does it
	Error   string
	Open    bool
}

// GivenPIN is a one-time PIN, shown once. The zero value shows nothing.
type GivenPIN struct {
	Name string
	PIN  string
}

func (s *Server) people(v *visit) error {
	return s.renderPeople(v, http.StatusOK, &PeoplePage{Name: nameField("", ""), Role: roleChoice(0, "")})
}

func nameField(value, complaint string) Field {
	return Field{Name: "name", Label: "Name", Hint: "As everyone here says it; no two people the same",
		Value: value, Error: complaint, Most: maxName, Needed: true}
}

func roleChoice(on event.Roles, complaint string) Choice {
	c := Choice{Name: "role", Legend: "What they do here", Hint: "One or more", Many: true, Error: complaint}
	for _, r := range roleNames {
		c.Options = append(c.Options, Option{Value: r.role.String(), Label: r.name, Sub: r.does, On: on.Has(r.role)})
	}
	return c
}

func (s *Server) renderPeople(v *visit, status int, p *PeoplePage) error {
	p.Title = "People"
	p.MayAdd = v.may(actAddPeople)
	p.Permissions = permissions()
	if p.MayAdd && p.DayPass.Name.Name == "" {
		p.DayPass = s.dayPassForm(v, "", "", v.today, "")
	}
	list, err := s.Store.People(v.r.Context())
	if err != nil {
		return err
	}
	outside := map[event.PersonID]int{}
	if p.MayAdd {
		out, err := s.out(v.r.Context())
		if err != nil {
			return err
		}
		for _, sling := range out {
			outside[sling.Loan.Rigger]++
		}
	}
	for _, who := range list {
		row, err := s.personRow(v, who, p.MayAdd)
		if err != nil {
			return err
		}
		if who.ID == p.erasing && row.Erase.Path != "" {
			row.Erase = p.eraseForm
		}
		if n := outside[who.ID]; n > 0 {
			row.Outside = "has " + plural(n, "sling") + " outside"
		}
		switch {
		case !who.Here:
			p.Gone = append(p.Gone, row)
		case who.Ended(v.today):
			p.Ended = append(p.Ended, row)
		default:
			p.People = append(p.People, row)
		}
	}
	return s.render(v, status, "people", p)
}

func (s *Server) personRow(v *visit, who state.Person, mayAdd bool) (PersonRow, error) {
	row := PersonRow{Key: newKey(), ID: who.ID.String(), Name: who.Name, Roles: who.Roles.String(), Terms: termsWords(who.Terms)}
	switch {
	case who.Doubt != 0:
		row.Doubtful = "This record is in doubt, so this person may do nothing."
		return row, nil
	case who.Erased && !who.Here:
		row.SignIn = "the name was erased"
		return row, nil
	case !who.Here:
		row.SignIn, row.MayOn = "no longer here", mayAdd
		if mayAdd {
			row.Erase = eraseForm(who)
		}
		return row, nil
	case who.Ended(v.today):
		row.SignIn, row.MayOn, row.MayOff = "last day was "+who.Terms.Until.Long(), mayAdd, mayAdd
		row.Terms, row.Today = "", v.today.String()
		return row, nil
	}
	if mayAdd {
		row.Path = personPath(who)
	}
	standing, err := s.Desk.Standing(v.r.Context(), row.ID)
	if err != nil {
		return PersonRow{}, err
	}
	switch {
	case !standing.HasPIN:
		row.SignIn = "no PIN: cannot sign in"
	case standing.Locked:
		row.SignIn = "locked after too many wrong PINs"
	case standing.OneTime:
		row.SignIn = "has a one-time PIN, not used yet"
	default:
		row.SignIn = "signs in with a PIN"
	}
	row.MayGive, row.MayOff = mayAdd, mayAdd && who.ID != v.who.ID
	row.Role = roleChoice(who.Roles, "")
	row.Role.Hint = ""
	return row, nil
}

func (s *Server) addPerson(v *visit) error {
	ctx := v.r.Context()
	key, err := v.key()
	if err != nil {
		return err
	}
	name, complaint := v.line("name", maxName)
	if complaint == "" && name == "" {
		complaint = "Type a name."
	}
	roles, roleComplaint := v.roles()
	if complaint != "" || roleComplaint != "" {
		return s.renderPeople(v, http.StatusUnprocessableEntity,
			&PeoplePage{Name: nameField(name, complaint), Role: roleChoice(roles, roleComplaint)})
	}
	id, err := s.Counter.AddPerson(ctx, v.by(counter.Hand, key), event.PersonAdded{Name: name, Roles: roles})
	if errors.Is(err, event.ErrName) {
		return s.renderPeople(v, http.StatusUnprocessableEntity, &PeoplePage{
			Name: nameField("", "This has characters that cannot be used in a name. Type it by hand."), Role: roleChoice(roles, "")})
	}
	if errors.Is(err, counter.ErrNameTaken) {
		return s.renderPeople(v, http.StatusConflict, &PeoplePage{
			Name: nameField(name, "Someone here has this name already. Add an initial or a trade."), Role: roleChoice(roles, "")})
	}
	if err != nil {
		return err
	}
	return s.showPIN(v, key+pinOfAdded, id, name)
}

// roles reads the answers of roleChoice.
func (v *visit) roles() (roles event.Roles, complaint string) {
	for _, word := range v.r.PostForm["role"] {
		r, err := event.ParseRole(word)
		if err != nil {
			return 0, "This is not a role."
		}
		roles |= r
	}
	if roles == 0 {
		return 0, "Choose at least one."
	}
	return roles, ""
}

// personHere is whom the address names, if that person is here.
func (s *Server) personHere(v *visit) (state.Person, error) {
	who, err := s.personAsked(v)
	if err == nil && !who.May(everyone, v.today) {
		return state.Person{}, errNoPage
	}
	return who, err
}

// personAsked is whom the address names, here or not.
func (s *Server) personAsked(v *visit) (state.Person, error) {
	id, err := event.ParsePersonID(v.r.PathValue("person"))
	if err != nil {
		return state.Person{}, errNoPage
	}
	who, err := s.Store.Person(v.r.Context(), id)
	if errors.Is(err, store.ErrNotFound) {
		return state.Person{}, errNoPage
	}
	return who, err
}

// pinOfAdded ends the key of the second act of a form that adds a person.
const pinOfAdded = "-pin"

func (s *Server) givePIN(v *visit) error {
	who, err := s.personHere(v)
	if err != nil {
		return err
	}
	key, err := v.key()
	if err != nil {
		return err
	}
	return s.showPIN(v, key, who.ID, who.Name)
}

// changeRoles gives a person other roles.
func (s *Server) changeRoles(v *visit) error {
	roles, complaint := v.roles()
	if complaint != "" {
		return &Visible{Code: BadInput, Sentence: "A person has at least one role.",
			Next: "Go back and choose one, or take the person off."}
	}
	who, err := s.personHere(v)
	if err != nil {
		return err
	}
	return s.changePerson(v, who, as(who, roles, true, who.Terms), "has other roles now.", "/people")
}

// takeOff ends what a person may do here. Nobody does it to themselves: a slip
// would shut them out, and the other keepers may have no PIN.
func (s *Server) takeOff(v *visit) error {
	who, err := s.personAsked(v)
	if err == nil && (!who.Here || who.Doubt != 0) {
		err = s.unlessArrived(v, errNoPage)
	}
	if err != nil {
		return err
	}
	if who.ID == v.who.ID {
		return &Visible{Code: BadInput, Sentence: "Nobody takes themselves off.", Next: "Another keeper does it."}
	}
	return s.changePerson(v, who, as(who, who.Roles, false, who.Terms), "is taken off.", "/people")
}

// takeOn brings back a person who was taken off, or whose last day is over, with the
// roles of then.
func (s *Server) takeOn(v *visit) error {
	who, err := s.personAsked(v)
	if err == nil && who.Here && !who.Ended(v.today) {
		err = s.unlessArrived(v, errNoPage)
	}
	if err != nil {
		return err
	}
	terms, err := v.onAgain(who)
	if err != nil {
		return err
	}
	to := "/people"
	if who.Ended(v.today) {
		to = personPath(who) // whose badge has ended too
	}
	return s.changePerson(v, who, as(who, who.Roles, true, terms), "is here again.", to)
}

// as says all that holds for a person from now on.
func as(who state.Person, roles event.Roles, here bool, terms event.Terms) event.PersonChanged {
	return event.PersonChanged{Name: who.Name, Roles: roles, Here: here, Terms: terms}
}

func (s *Server) changePerson(v *visit, who state.Person, to event.PersonChanged, done, then string) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	err = s.Counter.ChangePerson(v.r.Context(), v.by(counter.Hand, key), who.ID, who.Heads, to)
	switch {
	case errors.Is(err, counter.ErrLastKeeper):
		return &Visible{Code: BadInput, Cause: err, Sentence: "A crib keeps at least one keeper.",
			Next: "Make someone else a keeper first."}
	case errors.Is(err, counter.ErrDayOver):
		return &Visible{Code: BadInput, Cause: err, Sentence: "The last day of " + who.Name + " was " + who.Terms.Until.Long() + ".",
			Next: "Go back to the people page and say how long it is for now."}
	case errors.Is(err, counter.ErrNameTaken):
		return &Visible{Code: BadInput, Cause: err, Sentence: "Somebody here has this name by now.",
			Next: "Add the person with an initial or a trade to the name."}
	}
	if err != nil {
		return err
	}
	s.notice(v, who.Name+" "+done)
	return v.redirect(then)
}

// showPIN gives a person a one-time PIN and answers with the page that shows it:
// not a redirect, since the PIN must lie nowhere between two requests. Sent twice,
// the form of that key gives one PIN, which is shown while it is good.
func (s *Server) showPIN(v *visit, key string, id event.PersonID, name string) error {
	ctx := v.r.Context()
	s.giving.Lock() // where both are under way, the second finds the PIN of the first
	defer s.giving.Unlock()
	_, again, err := s.Store.Answered(ctx, key)
	if err != nil {
		return err
	}
	// Recorded first: a record too many harms nobody, a PIN that nobody has seen
	// would shut the person out.
	if err := s.Counter.PINWasSet(ctx, v.by(counter.Hand, key), id, true); err != nil {
		return err
	}
	pin, err := s.Desk.SetOneTimeFor(ctx, id.String(), key, !again)
	if errors.Is(err, desk.ErrGiven) {
		return &Visible{Code: Stale, Cause: err,
			Sentence: "This form was sent before. The one-time PIN that came of it is not shown again.",
			Next:     "Where nobody has seen it, give another one on the people page."}
	}
	if err != nil {
		return err
	}
	return s.renderPeople(v, http.StatusOK, &PeoplePage{
		Name: nameField("", ""), Role: roleChoice(0, ""), Given: GivenPIN{Name: name, PIN: pin}})
}
