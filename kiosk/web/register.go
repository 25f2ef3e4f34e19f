package web

import (
	"errors"
	"net/http"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
)

// RegisterPage enters a sling.
type RegisterPage struct {
	Base
	Form DetailsForm
}

// CorrectPage mends what was registered.
type CorrectPage struct {
	Base
	Form      DetailsForm
	Restamped Choice // asked of a sling that came back from repair with a new stamp; else it has no legend
	Reason    Area
	Heads     string
	Changed   Changed
}

func (s *Server) registerPage(v *visit) error {
	return s.renderRegister(v, http.StatusOK, s.emptyForm(v), complaints{})
}

// emptyForm has only the units in it that the crib leads with: nothing about a
// sling is filled in for anybody.
func (s *Server) emptyForm(v *visit) detailsForm {
	units := map[string]string{"system": "us", "unit": "lb", "reach-unit": "ft", "scale": "F"}
	if v.crib.Founded.Units == quantity.Metric {
		units = map[string]string{"system": "en", "unit": "kg", "reach-unit": "m", "scale": "C"}
	}
	return func(name string) string { return units[name] }
}

func (s *Server) renderRegister(v *visit, status int, f detailsForm, c complaints) error {
	p := &RegisterPage{Base: Base{Title: "Register a sling"}, Form: s.form(v, f, c)}
	p.Form.Path, p.Form.Check = "/register", "/register/check"
	return s.render(v, status, "register", p)
}

// register enters a sling, or checks what is typed and shows the form again.
func (s *Server) register(v *visit) error {
	if v.raw("only") == "check" {
		return s.renderRegister(v, http.StatusOK, v.raw, complaints{})
	}
	key, err := v.key()
	if err != nil {
		return err
	}
	c := complaints{}
	d := s.readDetails(v, c)
	if len(c) > 0 {
		return s.renderRegister(v, http.StatusUnprocessableEntity, v.raw, c)
	}
	outcome, err := s.Counter.Register(v.r.Context(), v.by(counter.Hand, key), d)
	if errors.Is(err, counter.ErrDetails) {
		c.add("whole", detailsSentence(err))
		return s.renderRegister(v, http.StatusUnprocessableEntity, v.raw, c)
	}
	if err != nil {
		return registerError(err)
	}
	for _, code := range outcome.Codes {
		text := v.wordsOf(nil).says(code, gate.Answer{})
		if code == gate.IdentTaken {
			c.add("ident", text.Sentence+" "+text.Next)
			continue
		}
		c.add("whole", text.Sentence+" "+text.Next)
	}
	if !outcome.May {
		return s.renderRegister(v, http.StatusConflict, v.raw, c)
	}
	s.notice(v, d.Ident+" is registered. Print its tag, hang it on the sling and confirm it there.")
	return v.redirect(slingPath(state.Sling{Details: d}))
}

// detailsSentence is the counter's word for details that it does not take, which
// is for people from its colon on.
func detailsSentence(err error) string {
	_, why, found := strings.Cut(err.Error(), counter.ErrDetails.Error()+": ")
	if !found {
		return "These details cannot be registered."
	}
	return "These details cannot be registered: " + sentenceEnd(why)
}

func (s *Server) correctPage(v *visit) error {
	sling, err := s.findSling(v)
	if err != nil {
		return err
	}
	return s.renderCorrect(v, http.StatusOK, sling, recordedForm(sling.Details), sent{})
}

func (s *Server) renderCorrect(v *visit, status int, sling state.Sling, f detailsForm, was sent) error {
	names, err := s.names(v)
	if err != nil {
		return err
	}
	story, err := s.Store.Story(v.r.Context(), event.Sling(sling.ID))
	if err != nil {
		return err
	}
	if was.wrong == nil {
		was.wrong = complaints{}
	}
	p := &CorrectPage{
		Base:  Base{Title: "Correct " + sling.Details.Ident},
		Form:  s.form(v, f, was.wrong),
		Heads: headsText(sling.Heads),
		Reason: Area{Name: "reason", Label: "Why is it corrected?", Hint: "What was wrong, and how you know. It stays in the register with your name.",
			Value: v.raw("reason"), Error: was.wrong["reason"], Most: maxText, Needed: true},
		Changed: was.changed(story, v.wordsOf(names)),
	}
	if stamp := sling.Mended.Stamp; stamp != "" {
		p.Restamped = Choice{
			Name: "restamped", Legend: "It came back from repair with a new stamp. Is that what the loads above say?",
			Hint: "Written down when it came back: “" + stamp + "”. Read it on the metal.", Error: was.wrong["restamped"],
			Options: options(v.raw("restamped"), [][3]string{
				{"yes", "Yes", "size, grade, legs and loads above are what is stamped on it now"},
				{"no", "No", "something else is corrected, and it stays held"}}),
		}
	}
	p.Form.Path, p.Form.Check = slingPath(sling)+"/correct", "/register/check"
	p.Form.Fixed, p.Form.Back = sling.Details.Ident, slingPath(sling)
	return s.render(v, status, "correct", p)
}

func (s *Server) correct(v *visit) error {
	sling, err := s.findSling(v)
	if err != nil {
		return err
	}
	if v.raw("only") == "check" {
		return s.renderCorrect(v, http.StatusOK, sling, v.raw, sent{})
	}
	key, err := v.key()
	if err != nil {
		return err
	}
	was := sent{open: "correct", wrong: complaints{}, value: v.raw}
	if was.heads, err = parseHeads(v.raw("heads")); err != nil {
		return err
	}
	v.r.PostForm.Set("ident", sling.Details.Ident)
	v.r.PostForm.Set("hang", "in") // the state is not corrected
	d := s.readDetails(v, was.wrong)
	b := event.Corrected{Details: d, Reason: v.reason(was.wrong, "reason", "Write what was wrong, and how you know."), Restamped: v.raw("restamped") == "yes"}
	if sling.Mended.Stamp != "" && !b.Restamped && v.raw("restamped") != "no" {
		was.wrong.add("restamped", "Say whether the loads are those of the new stamp.")
	}
	if len(was.wrong) > 0 {
		return s.renderCorrect(v, http.StatusUnprocessableEntity, sling, v.raw, was)
	}
	outcome, err := s.Counter.Correct(v.r.Context(), v.by(counter.Hand, key), counter.Seen{Sling: sling.ID, Heads: was.heads}, b)
	switch {
	case errors.Is(err, counter.ErrDetails):
		was.wrong.add("whole", detailsSentence(err))
		return s.renderCorrect(v, http.StatusUnprocessableEntity, sling, v.raw, was)
	case err != nil:
		return registerError(err)
	case outcome.May:
		s.notice(v, sling.Details.Ident+" is corrected. Where its tag says otherwise, print a new one.")
		return v.redirect(slingPath(sling))
	}
	for _, code := range outcome.Codes {
		text := v.wordsOf(nil).says(code, gate.Answer{})
		if code == gate.ChangedMeanwhile {
			was.stale = true
			continue
		}
		was.wrong.add("whole", text.Sentence+" "+text.Next)
	}
	if sling, err = s.findSling(v); err != nil {
		return err
	}
	return s.renderCorrect(v, http.StatusConflict, sling, v.raw, was)
}

// checkDetails answers, while a plate is typed, with what the tables say of it.
func (s *Server) checkDetails(v *visit) error {
	return s.renderPart(v, "register", "details-found", s.found(v, v.raw))
}

// recordedForm fills the form with what is on record.
func recordedForm(d event.Details) detailsForm {
	p := d.Sling
	unit, name := stampedUnit(d)
	values := map[string]string{
		"ident": d.Ident, "maker": d.Maker, "made": string(d.Made), "place": d.Place, "note": d.Note, "chart-source": d.ChartSource,
		"system": p.System.String(), "grade": itoa(int(p.Grade)), "size-" + p.System.String(): p.Size.String(),
		"legs": itoa(p.Legs), "adjustable": yesNo(p.Adjustable), "unit": name,
		"rating-tag": p.RatingTag.String(), "service": d.Service.String(), "when": "never", "heat": "no", "hang": "in",
		"scale": "F", "reach-unit": "ft", "lower": string(d.Fittings.Lower), "inside": widthText(d.Fittings.Inside, false),
	}
	if d.Fittings.Lower == "" {
		values["lower"] = lowerUnknown
	}
	if p.Reach > 0 {
		values["reach"], values["reach-unit"] = itoa(int(p.Reach/quantity.Millimetre)), "mm"
	} else if name != "lb" {
		values["reach-unit"] = "m"
	}
	for _, x := range []struct {
		name string
		mass quantity.Mass
	}{{"chart", p.Chart}, {"weakest", p.Weakest}, {"master", p.Master}} {
		if x.mass != 0 {
			values[x.name] = massText(x.mass, unit)
		}
	}
	for _, stamp := range p.Stamped {
		field := stampField(stamp.Legs, stamp.Basis)
		if values[field] != "" {
			values[field] += "; "
		}
		values[field] += massText(stamp.Load, unit)
	}
	if d.Months > 0 {
		values["months"] = itoa(d.Months)
	}
	if p.Hottest != nil {
		values["heat"] = "yes"
		if f, whole := p.Hottest.WholeFahrenheit(); whole {
			values["hottest"] = itoa(int(f))
		} else {
			values["hottest"], values["scale"] = itoa(int(p.Hottest.Celsius())), "C"
		}
	}
	if !p.Inspected.IsZero() {
		values["when"], values["date"] = "day", p.Inspected.String()
		values["outcome"], values["paper-due"] = d.Outcome.String(), p.Due.String()
	}
	return func(name string) string { return values[name] }
}

// stampedUnit is the unit of the first load that is stamped.
func stampedUnit(d event.Details) (quantity.Mass, string) {
	if len(d.Sling.Stamped) > 0 {
		if _, whole := d.Sling.Stamped[0].Load.Whole(quantity.Pound); whole {
			return quantity.Pound, "lb"
		}
		return quantity.Kilogram, "kg"
	}
	if d.Sling.System.String() == "us" {
		return quantity.Pound, "lb"
	}
	return quantity.Kilogram, "kg"
}

// massText spells a mass so that readMasses gives it back exactly: bare in the
// unit asked for, else with its own.
func massText(m, unit quantity.Mass) string {
	if n, whole := m.Whole(unit); whole {
		return itoa(int(n))
	}
	for _, u := range []struct {
		unit quantity.Mass
		name string
	}{{quantity.Kilogram, " kg"}, {quantity.Pound, " lb"}, {quantity.Gram, " g"}} {
		if n, whole := m.Whole(u.unit); whole {
			return itoa(int(n)) + u.name
		}
	}
	return "" // no load is recorded in anything finer
}
