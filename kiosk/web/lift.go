package web

import (
	"net/http"
	"strconv"

	"cribgate/core/quantity"
)

// LiftPage asks for everything that a lift is judged by.
type LiftPage struct {
	Base
	Rigger string
	Wrong  bool // something is missing or wrong

	Load     Field
	Unit     Choice
	Known    Choice
	Special  Choice
	Use      Choice
	Hitch    DrawnChoice
	Legs     DrawnChoice
	Spread   DrawnChoice
	Degrees  Field
	From     Choice
	Centred  Choice
	Bears    Choice
	Radius   Field
	RadiusIn Choice
	Choke    DrawnChoice
	Heat     Choice
	Hot      Field
	Scale    Choice
	Back     Choice
	Day      Field
	Anew     bool // another lift can be stated, without these answers
	Scan     ScanBox
}

// A DrawnChoice is a choice whose answers are drawn. A drawing stands at the
// place of its answer.
type DrawnChoice struct {
	Choice
	Drawings []Drawing
}

// Drawn pairs each answer with its drawing, for the template.
func (c DrawnChoice) Drawn() []DrawnOption {
	list := make([]DrawnOption, len(c.Options))
	for i, o := range c.Options {
		list[i].Option = o
		if i < len(c.Drawings) {
			list[i].Drawing = c.Drawings[i]
		}
	}
	return list
}

// A DrawnOption is one answer with its drawing; a zero Drawing is none.
type DrawnOption struct {
	Option
	Drawing Drawing
}

func (s *Server) liftPage(v *visit) error {
	t := s.turn(v)
	form := t.Lift
	if _, anew := v.r.URL.Query()["anew"]; anew || len(form) == 0 {
		form = freshLift(v.crib.Founded.Units)
	}
	return s.renderLift(v, http.StatusOK, t, form, nil)
}

// freshLift is what the lift page shows chosen before anyone has answered: the
// crib's own units, and nothing else.
func freshLift(u quantity.Units) liftForm {
	f := liftForm{"unit": "lb", "radius-unit": "in", "scale": "F"}
	if u == quantity.Metric {
		f["unit"], f["radius-unit"], f["scale"] = "kg", "mm", "C"
	}
	return f
}

// stateLift keeps the lift and asks about the sling that lies in front, or shows
// at each field what is missing.
func (s *Server) stateLift(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	t := s.turn(v)
	form, wrong := liftForm{}, complaints{}
	for _, name := range liftFields() {
		text, complaint := v.line(name, 40)
		form[name] = text
		wrong.add(name, complaint)
	}
	_, missing := form.read(v.liftTerms())
	for name, sentence := range missing {
		if wrong[name] == "" {
			wrong.add(name, sentence)
		}
	}
	if len(wrong) > 0 {
		return s.renderLift(v, http.StatusUnprocessableEntity, t, form, wrong)
	}
	t.Lift, t.Singles = form, ""
	t.anew()
	if err := s.askNewest(v, t, key); err != nil {
		return err
	}
	return s.toCard(v, t, t.newest())
}

func (s *Server) renderLift(v *visit, status int, t *turn, f liftForm, wrong complaints) error {
	rigger, err := s.rigger(v, t)
	if err != nil {
		return err
	}
	terms := v.liftTerms()
	p := &LiftPage{Base: Base{Title: "The lift"}, Rigger: rigger.Name, Wrong: len(wrong) > 0, Anew: len(t.Lift) > 0,
		Scan: ScanBox{Key: newKey(), Away: true, Stay: true}}
	ask := asking{f, wrong}
	p.Load = ask.field("load", "Load", "Everything that hangs from the hook, rigging included", "decimal")
	p.Load.Focus = len(wrong) == 0 && f["load"] == ""
	p.Unit = ask.choice("unit", "In", "", Option{Value: "lb", Label: "lb"}, Option{Value: "kg", Label: "kg"})
	p.Known = ask.choice("known", "How is the load known?", "",
		Option{Value: "weighed", Label: "Weighed", Sub: "by scale, load cell or crane"},
		Option{Value: "papers", Label: "From papers, or estimated", Sub: "the site adds " + strconv.Itoa(terms.margin) + " % (site policy)"})
	ask.rigging(p)
	ask.angle(p)
	ask.rest(p, terms)
	return s.render(v, status, "lift", p)
}

// asking fills fields and choices with what was answered and what is wrong.
type asking struct {
	form  liftForm
	wrong complaints
}

func (a asking) field(name, label, hint, mode string) Field {
	return Field{Name: name, Label: label, Hint: hint, Value: a.form[name], Error: a.wrong[name], Mode: mode, Most: 40}
}

func (a asking) choice(name, legend, hint string, options ...Option) Choice {
	for i := range options {
		options[i].On = options[i].Value == a.form[name]
	}
	return Choice{Name: name, Legend: legend, Hint: hint, Error: a.wrong[name], Options: options}
}
