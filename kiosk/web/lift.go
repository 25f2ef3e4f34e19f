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
	Who    string // the rigger whom the page was made for, by id
	Number int    // of the purpose that is stated anew; 0 for one more
	Which  string // which of several lifts; empty for the only one
	Wrong  bool   // something is missing or wrong
	Asks   LoadDoubt

	Somebody  string // that somebody else takes slings than the page was made for
	Action    string // where it is stated: at the counter, or for the counter
	Phone     bool   // it is stated for the counter, by who does not hand over
	Waits     string // that a lift of who is signed in waits at the counter
	FromPhone Waits  // a lift that the rigger has stated beforehand
	Taken     string // slings that were chosen while something else was asked
	Seen      *LiftSeen
	MayPlan   bool // it can be planned for a day
	MayTake   bool // slings can be taken from the list

	Of       Choice // the helper for the load by size
	Shape    Choice
	Sizes    []Field
	SizeUnit Choice
	Estimate Estimate

	Load     Field
	Unit     Choice
	Known    Choice
	Special  Choice
	Use      Choice
	Hitch    DrawnChoice
	Legs     DrawnChoice
	Together Choice
	Slings   Field
	Beam     Field
	Parts    Choice
	Crane    Choice // no options, no question
	Lower    Choice
	EndsOpen bool // something is said of crane or lower ends
	Spread   DrawnChoice
	Degrees  Field
	From     Choice
	Span     Field
	Width    Field
	Reach    Field
	Room     Field
	Hook     Field
	LongIn   Choice
	Picks    []Place
	CG       Place
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

// A Place is where a pick or the centre of gravity is.
type Place struct {
	Legend string
	N      int // of the pick; 0: the centre of gravity
	Fields []Field
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
	n := t.Now
	if _, anew := v.r.URL.Query()["anew"]; anew {
		n = 0
	}
	if p := t.purpose(n); p != nil && p.Shift == "" {
		if form, ok := v.formOfPurpose(p); ok {
			return s.renderLift(v, http.StatusOK, t, n, form, nil)
		}
	}
	return s.renderLift(v, http.StatusOK, t, 0, freshLift(v.crib.Founded.Units), nil)
}

// freshLift is what the lift page shows chosen before anyone has answered: the
// crib's own units, and nothing else.
func freshLift(u quantity.Units) liftForm {
	f := liftForm{"unit": "lb", "radius-unit": "in", "scale": "F", "length-unit": "ft", "w-unit": "in", "p1x": "0", "p1y": "0"}
	if u == quantity.Metric {
		f["unit"], f["radius-unit"], f["scale"], f["length-unit"], f["w-unit"] = "kg", "mm", "C", "m", "mm"
	}
	return f
}

func (s *Server) renderLift(v *visit, status int, t *turn, n int, f liftForm, wrong complaints) error {
	return s.renderLiftWith(v, status, t, n, f, wrong, LoadDoubt{}, nil)
}

func (s *Server) renderLiftWith(v *visit, status int, t *turn, n int, f liftForm, wrong complaints, doubt LoadDoubt, seen *LiftSeen) error {
	rigger, err := s.rigger(v, t)
	if err != nil {
		return err
	}
	terms := v.liftTerms()
	p := &LiftPage{Base: Base{Title: "The lift"}, Action: liftPath, Seen: seen, Taken: v.raw("take"), Rigger: rigger.Name, Who: t.Rigger, Number: n,
		Wrong: len(wrong) > 0, Anew: t.purpose(n) != nil, Scan: ScanBox{Key: newKey(), Away: true, Stay: true}}
	if n == 0 && len(t.For) > 0 {
		p.Which = "Lift " + strconv.Itoa(len(t.For)+1)
	} else if len(t.For) > 1 {
		p.Which = "Lift " + strconv.Itoa(n)
	}
	p.Somebody, p.Asks = wrong["who"], doubt
	if seen == nil {
		p.Seen = &LiftSeen{}
		if _, missing := f.read(terms); len(missing) == 0 && len(wrong) == 0 {
			if p.Seen, err = s.seeLiftFor(v, f); err != nil {
				return err
			}
		}
	}
	p.MayTake, p.MayPlan = v.may(actIssue), v.may(actDay)
	if p.MayTake && !p.Anew && len(wrong) == 0 {
		p.FromPhone = s.waits(v, rigger)
	}
	s.forCounter(v, p)
	ask := asking{f, wrong}
	p.Load = ask.field("load", "Load", "Everything that hangs from the hook, rigging included", "decimal")
	p.Load.Focus = len(wrong) == 0 && f["load"] == ""
	p.Unit = ask.choice("unit", "In", "", Option{Value: "lb", Label: "lb"}, Option{Value: "kg", Label: "kg"})
	p.Known = ask.choice("known", "How is the load known?", "Nobody knows it? Then no sling goes yet: it is weighed first, or looked up in its papers or on its plate",
		Option{Value: "weighed", Label: "Weighed", Sub: "by scale, load cell or crane"},
		Option{Value: "papers", Label: "From papers", Sub: "a plate, a drawing, a delivery note. " + added(terms)},
		Option{Value: "estimated", Label: "Estimated", Sub: "at its most, or by its size. " + added(terms)})
	ask.weighing(p)
	p.Estimate = f.estimate(complaints{}, v.wordsOf(nil))
	ask.rigging(p)
	ask.together(p, terms)
	ask.angle(p)
	ask.rest(p, terms)
	return s.render(v, status, "lift", p)
}

// added says what the site adds to a load that was not weighed.
func added(terms liftTerms) string {
	return "The site adds " + strconv.Itoa(terms.margin) + " % (site policy)"
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
