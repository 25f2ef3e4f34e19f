package web

import (
	"errors"
	"net/http"
	"strings"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
)

// TermsForm asks what holds for one person besides the roles. The zero value is not
// shown.
type TermsForm struct {
	Path  string
	Holds Choice
	Until Field
	As    []Field // what a report of thorough examination says of an inspector; none for others
}

// The answers of what holds.
const (
	shiftGear = "shift-gear"
	learner   = "learner"
)

func termsForm(p state.Person, t event.Terms, complaint string, c complaints) TermsForm {
	form := TermsForm{
		Path: personPath(p) + "/terms",
		Holds: Choice{Name: "holds", Legend: "What holds for " + p.Name, Hint: "None, one or both", Many: true, Options: []Option{
			{Value: shiftGear, Label: "Draws gear for a shift", Sub: "without stating a lift; with the slip of what it may carry", On: t.ShiftGear},
			{Value: learner, Label: "Learner", Sub: "hands over only with another attendant’s countersign", On: t.Learner},
		}},
		Until: untilField(t.Until, "Empty: without an end. From the day after, this person may do nothing here", complaint),
	}
	if p.Roles.Has(event.Inspector) {
		q := t.Qualified
		form.As = []Field{
			{Name: "qualified-as", Label: "Qualification", Hint: "As the reports of inspections name it; LOLER schedule 1 asks for it", Value: q.As, Error: c["qualified-as"], Most: maxAddress},
			{Name: "qualified-employer", Label: "Employed by", Hint: "Empty: by the employer that set-up names", Value: q.Employer, Error: c["qualified-employer"], Most: maxAddress},
			{Name: "qualified-address", Label: "Address of that employer", Value: q.Address, Error: c["qualified-address"], Most: maxAddress},
		}
	}
	return form
}

// qualified reads what a report says of an inspector; of others it stays as it was.
func (v *visit) qualified(who state.Person, c complaints) event.Qualified {
	if !who.Roles.Has(event.Inspector) {
		return who.Terms.Qualified
	}
	line := func(name string) string {
		text, complaint := v.line(name, maxAddress)
		c.add(name, complaint)
		return text
	}
	return event.Qualified{As: line("qualified-as"), Employer: line("qualified-employer"), Address: line("qualified-address")}
}

func untilField(until quantity.Date, hint, complaint string) Field {
	return Field{Name: "until", Label: "Last day here", Hint: hint, Type: "date", Value: until.String(), Error: complaint, Most: 10}
}

// termsWords says in words what holds for a person.
func termsWords(t event.Terms) string {
	var parts []string
	if t.ShiftGear {
		parts = append(parts, "draws gear for a shift")
	}
	if t.Learner {
		parts = append(parts, "learner: hands over with a countersign")
	}
	if !t.Until.IsZero() {
		parts = append(parts, "last day "+t.Until.Long())
	}
	if t.Qualified.As != "" {
		parts = append(parts, "qualified as "+t.Qualified.As)
	}
	return upperFirst(strings.Join(parts, "; "))
}

// lastDay reads a last day, empty for none. The complaint is empty, or a sentence to
// show at the field.
func (v *visit) lastDay() (until quantity.Date, complaint string) {
	text := v.raw("until")
	if text == "" {
		return quantity.Date{}, ""
	}
	until, err := quantity.ParseDate(text)
	switch {
	case err != nil:
		return quantity.Date{}, "This is no day of the calendar. Type it as year, month and day, like 2026-03-02."
	case until.Before(v.today):
		return until, "This day is over; today is " + v.today.Long() + "."
	}
	return until, ""
}

// setTerms says what holds for a person from now on.
func (s *Server) setTerms(v *visit) error {
	who, err := s.personAsked(v)
	if err != nil {
		return err
	}
	if !who.Here || who.Doubt != 0 {
		return errNoPage
	}
	terms := event.Terms{}
	for _, word := range v.r.PostForm["holds"] {
		switch word {
		case shiftGear:
			terms.ShiftGear = true
		case learner:
			terms.Learner = true
		default:
			return &Visible{Code: BadInput, Sentence: "This is nothing that can hold for a person.", Next: "Go back, load the page again and choose."}
		}
	}
	c := complaints{}
	terms.Qualified = v.qualified(who, c)
	var complaint string
	if terms.Until, complaint = v.lastDay(); complaint != "" || len(c) > 0 {
		return s.renderPerson(v, http.StatusUnprocessableEntity, who, &PersonPage{Terms: termsForm(who, terms, complaint, c)})
	}
	return s.changePerson(v, who, as(who, who.Roles, true, terms), "keeps to this from now on.", personPath(who))
}

// onAgain is what holds for somebody who is taken on again: what held before, with
// the last day of the form if it asks for one.
func (v *visit) onAgain(who state.Person) (event.Terms, error) {
	terms := who.Terms
	if _, asked := v.r.PostForm["until"]; !asked {
		return terms, nil
	}
	until, complaint := v.lastDay()
	if complaint != "" {
		return terms, &Visible{Code: BadInput, Sentence: complaint, Next: "Go back and choose another day."}
	}
	terms.Until = until
	return terms, nil
}

// DayPassForm enters somebody who draws slings for a day. The zero value is not
// shown.
type DayPassForm struct {
	Name, Until Field
	Open        bool // there is something wrong with it
}

func (s *Server) dayPassForm(v *visit, name, complaint string, until quantity.Date, wrongDay string) DayPassForm {
	if until.IsZero() {
		until = v.today
	}
	f := DayPassForm{Open: complaint != "" || wrongDay != "",
		Name:  Field{Name: "visitor", Label: "Name", Hint: "As it is to stand on the badge", Value: name, Error: complaint, Most: maxName, Needed: true},
		Until: untilField(until, "Ends with the shift: for a night shift, the day on which it ends", wrongDay)}
	f.Until.Needed = true
	return f
}

// dayPass enters a rigger up to a last day and prints the badge, which is good for
// just as long.
func (s *Server) dayPass(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	name, complaint := v.line("visitor", maxName)
	if complaint == "" && name == "" {
		complaint = "Type a name."
	}
	until, wrongDay := v.lastDay()
	if until.IsZero() && wrongDay == "" {
		wrongDay = "A day pass has a last day."
	}
	again := func(status int) error {
		return s.renderPeople(v, status, &PeoplePage{Name: nameField("", ""), Role: roleChoice(0, ""), DayPass: s.dayPassForm(v, name, complaint, until, wrongDay)})
	}
	if complaint != "" || wrongDay != "" {
		return again(http.StatusUnprocessableEntity)
	}
	id, err := s.Counter.AddPerson(v.r.Context(), v.by(counter.Hand, key), event.PersonAdded{Name: name, Roles: event.Rigger, Terms: event.Terms{Until: until}})
	switch {
	case errors.Is(err, event.ErrName):
		complaint = "This has characters that cannot be used in a name. Type it by hand."
		return again(http.StatusUnprocessableEntity)
	case errors.Is(err, counter.ErrNameTaken):
		complaint = "Someone here has this name already. Add an initial or the firm."
		return again(http.StatusConflict)
	case err != nil:
		return err
	}
	who, err := s.Store.Person(v.r.Context(), id)
	if err != nil {
		return err
	}
	return s.drawBadge(v, who, key+"-badge")
}
