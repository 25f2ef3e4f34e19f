package web

import (
	"errors"
	"net/http"
	"slices"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
	"cribgate/store"
)

// PlanPage plans a lift that was stated for a day.
type PlanPage struct {
	Base
	Stated  string // in the spelling of event.StatedLift
	Drawing Drawing
	Facts   []Fact
	Day     Choice
	Other   Field
	Back    Choice
	Later   Field
	What    Field
	Rigger  Field
	Names   []string
	For     string // the rigger, where it is whoever is signed in
	Wrong   string
}

// maxWhat is room for what is lifted, and where.
const maxWhat = 80

// planPath is where the lift page leads to plan a lift.
const planPath = dayPath + "/plan"

// planLift asks for which day the lift is that was stated on the lift page, and for
// whom. Where something is missing, the lift page is shown again.
func (s *Server) planLift(v *visit) error {
	t := s.turn(v)
	form, wrong := liftSent(v)
	if len(wrong) > 0 {
		return s.renderLift(v, http.StatusUnprocessableEntity, t, 0, form, wrong)
	}
	if again, err := s.doubtLoad(v, t, 0, form); again || err != nil {
		return err
	}
	stated, _ := form.read(v.liftTerms())
	rigger, err := s.rigger(v, t)
	if err != nil {
		return err
	}
	return s.renderPlan(v, http.StatusOK, stated.StatedLift, planForm{"rigger": rigger.Name}, complaints{})
}

// A planForm holds what was answered, by field name.
type planForm map[string]string

var planFields = []string{"day", "other", "back", "later", "what", "rigger"}

// planned records a lift for a day.
func (s *Server) planned(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	stated, err := event.ParseStatedLift([]byte(v.raw("stated")))
	if err != nil {
		return &Visible{Code: BadInput, Cause: err, Sentence: "The lift was not sent as it was stated.", Next: "State the lift again."}
	}
	f, c := planForm{}, complaints{}
	for _, name := range planFields {
		text, complaint := v.line(name, maxWhat)
		f[name] = text
		c.add(name, complaint)
	}
	p := counter.Plan{What: f["what"], Stated: stated}
	p.Day = f.date(c, "day", "other", "Say on which day the lift is.")
	switch f["back"] {
	case "same":
		p.Stated.Lift.ReturnBy = p.Day
	default:
		p.Stated.Lift.ReturnBy = f.date(c, "back", "later", "Say when the slings are needed back.")
	}
	if p.Rigger, err = s.planFor(v, f, c); err != nil {
		return err
	}
	if len(c) > 0 {
		return s.renderPlan(v, http.StatusUnprocessableEntity, stated, f, c)
	}
	_, err = s.Counter.PlanLift(v.r.Context(), v.by(counter.Hand, key), p)
	if q, ok := errors.AsType[*gate.QuestionError](err); ok {
		return &Visible{Code: BadInput, Cause: err, Sentence: "No sling could be asked about this lift: " + q.Reason + ".", Next: "State the lift again."}
	}
	switch {
	case errors.Is(err, counter.ErrLiftDay):
		c.add("day", "A lift is planned for today or up to "+itoa(counter.PlanAhead)+" days ahead, and its slings are back on that day or later.")
		return s.renderPlan(v, http.StatusUnprocessableEntity, stated, f, c)
	case errors.Is(err, counter.ErrRole):
		c.add("rigger", "This person may not draw slings on that day, or somebody else has to plan it.")
		return s.renderPlan(v, http.StatusUnprocessableEntity, stated, f, c)
	case err != nil:
		return err
	}
	s.notice(v, "The lift is planned.")
	return v.redirect(dayAt(p.Day))
}

// date reads a day that was chosen, or typed beside.
func (f planForm) date(c complaints, name, beside, missing string) quantity.Date {
	text, at := f[name], name
	switch text {
	case "":
		c.add(name, missing)
		return quantity.Date{}
	case "other":
		text, at = f[beside], beside
	}
	d, err := quantity.ParseDate(text)
	if err != nil {
		c.add(at, "There is no such day: write it like 2026-03-02.")
	}
	return d
}

// planFor is for whom the lift is planned: whoever is signed in, where that is a rigger
// and nobody else, or whoever was named.
func (s *Server) planFor(v *visit, f planForm, c complaints) (event.PersonID, error) {
	if onlyRigger(v.who) {
		return v.who.ID, nil
	}
	if f["rigger"] == "" {
		c.add("rigger", "Say for whom it is.")
		return event.PersonID{}, nil
	}
	p, err := s.Store.PersonByName(v.r.Context(), f["rigger"])
	switch {
	case errors.Is(err, store.ErrNotFound):
		c.add("rigger", "Nobody here has just this name.")
	case errors.Is(err, store.ErrDoubled):
		c.add("rigger", "Two people here have this name. The keeper can tell them apart.")
	case err != nil:
		return event.PersonID{}, err
	}
	return p.ID, nil
}

func onlyRigger(p state.Person) bool { return p.Roles == event.Rigger }

func (s *Server) renderPlan(v *visit, status int, stated event.StatedLift, f planForm, c complaints) error {
	text, err := stated.MarshalJSON()
	if err != nil {
		return err
	}
	w := v.wordsOf(nil)
	lift := v.planned(state.Planned{LiftPlanned: event.LiftPlanned{Stated: stated}})
	p := &PlanPage{Base: Base{Title: "Plan the lift"}, Stated: string(text), Drawing: v.drawStated(lift),
		Facts: slices.DeleteFunc(lift.facts(w.lead), func(f Fact) bool { return f.Label == "Needed back by" })}
	ask := asking{liftForm(f), c}
	var days []Option
	for i := range 5 {
		d := v.today.AddDays(i)
		days = append(days, Option{Value: d.String(), Label: w.dayWord(d, v.today)})
	}
	p.Day = ask.choice("day", "On which day?", "", append(days, Option{Value: "other", Label: "Another day"})...)
	p.Other = ask.field("other", "Which day", "Like "+v.today.String(), "")
	p.Other.Type = "date"
	p.Back = ask.choice("back", "When are the slings needed back?", "", Option{Value: "same", Label: "On the same day"}, Option{Value: "other", Label: "Later"})
	p.Later = ask.field("later", "By which day", "Like "+v.today.String(), "")
	p.Later.Type = "date"
	p.What = ask.field("what", "What is lifted, and where?", "A few words, so that people know it from the others", "")
	p.What.Most = maxWhat
	if onlyRigger(v.who) {
		p.For = v.who.Name
	} else {
		p.Rigger = ask.field("rigger", "For whom?", "The name of the rigger who draws the slings", "")
		p.Rigger.List, p.Rigger.Most = "riggers", maxWhat
		people, err := s.Store.People(v.r.Context())
		if err != nil {
			return err
		}
		for _, who := range people {
			if who.May(event.Rigger, v.today) {
				p.Names = append(p.Names, who.Name)
			}
		}
	}
	return s.render(v, status, "plan", p)
}
