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

// FiguresPage shows and takes what the parts of a sling measured when new.
type FiguresPage struct {
	Base
	Ident string
	Sub   string
	Back  string
	Act   string
	Heads string
	Whole string
	Rows  []BenchSection
	Basis Choice
	From  Field
}

// A figureField is one dimension of the page.
type figureField struct {
	name, label string
	of          event.FigureOf
}

// figureFields are those of a sling, leg by leg, then what all legs share.
func figureFields(s state.Sling) (legs [][]figureField) {
	for leg := 1; leg <= s.Details.Sling.Legs; leg++ {
		add := []figureField{
			{legField(leg, "new-links"), "Links in the leg", event.FigureOf{Dimension: event.LinkCount, Leg: leg}},
			{legField(leg, "new-reach"), "Reach", event.FigureOf{Dimension: event.Reach, Leg: leg}},
			{legField(leg, "new-run"), "Length over links", event.FigureOf{Dimension: event.RunLength, Leg: leg}},
		}
		if hooked(s, leg) {
			add = append(add, figureField{legField(leg, "new-throat"), "Hook throat", event.FigureOf{Dimension: event.Throat, Leg: leg}},
				figureField{legField(leg, "new-section"), "Hook section", event.FigureOf{Dimension: event.Section, Leg: leg}})
		}
		for _, p := range legParts(s, leg) {
			add = append(add, figureField{legField(leg, "new-"+p.what.String()), p.label, event.FigureOf{Dimension: event.Thickness, What: p.what, Leg: leg}})
		}
		legs = append(legs, add)
	}
	var shared []figureField
	for _, p := range sharedParts(s) {
		shared = append(shared, figureField{"new-" + p.what.String(), p.label, event.FigureOf{Dimension: event.Thickness, What: p.what}})
	}
	return append(legs, shared)
}

var basisWords = map[event.Basis]string{event.FromMaker: "maker’s dimension", event.FromRecord: "record of this part when new", event.FromReference: "measured on a like part known to be sound"}

func (s *Server) figuresPage(v *visit) error {
	sling, err := s.benchSling(v)
	if err != nil {
		return err
	}
	return s.renderFigures(v, http.StatusOK, sling, complaints{}, "")
}

func (s *Server) renderFigures(v *visit, status int, sling state.Sling, c complaints, whole string) error {
	names, err := s.names(v)
	if err != nil {
		return err
	}
	w := v.wordsOf(names)
	p := &FiguresPage{Base: Base{Title: sling.Details.Ident + ": as new"}, Ident: sling.Details.Ident, Sub: w.makeUp(sling.Details.Sling.Plate),
		Back: benchOf(sling), Act: benchOf(sling) + "/new", Heads: headsText(sling.Heads), Whole: whole}
	if !v.may(actInspect) {
		p.Back = slingPath(sling)
	}
	unit := "in"
	if w.lead == quantity.Metric {
		unit = "mm"
	}
	fields := figureFields(sling)
	for i, list := range fields {
		section := BenchSection{Title: "Leg " + itoa(i+1)}
		if i == len(fields)-1 {
			section.Title = "Upper end, shared"
		}
		var row BenchRow
		for _, f := range list {
			g := GaugeField{Name: f.name, Label: f.label, Value: v.raw(f.name), Unit: unit, Mode: "decimal", Hint: w.figureSays(sling, f.of), Says: FieldSays{Name: f.name, Error: c[f.name]}}
			if f.of.Dimension == event.LinkCount {
				g.Unit, g.Mode = "links", "numeric"
			}
			row.Gauges = append(row.Gauges, g)
			if f.of.Dimension == event.RunLength {
				n := f.name + "-n"
				value := v.raw(n)
				if value == "" {
					value = itoa(runLinks)
				}
				row.Gauges = append(row.Gauges, GaugeField{Name: n, Label: "over how many", Value: value, Unit: "links", Mode: "numeric", Says: FieldSays{Name: n, Error: c[n]}})
			}
		}
		section.Rows = []BenchRow{row}
		p.Rows = append(p.Rows, section)
	}
	var rows [][3]string
	for _, basis := range event.Bases() {
		if basis == event.FromReference && !v.may(actInspect) {
			continue
		}
		rows = append(rows, [3]string{string(basis), upperFirst(basisWords[basis]), ""})
	}
	p.Basis = Choice{Name: "basis", Legend: "How are these known?", Hint: "A part that was already worn when it was measured is no reference.", Error: c["basis"], Options: options(v.raw("basis"), rows)}
	p.From = Field{Name: "source", Label: "Which drawing, certificate or part", Hint: "so that somebody else finds it again", Value: v.raw("source"), Most: maxText, Needed: true, Error: c["source"]}
	return s.render(v, status, "figures", p)
}

// figureSays is what is on record of a dimension.
func (w words) figureSays(s state.Sling, of event.FigureOf) string {
	n := counter.NewOf(s, of)
	if n.Basis == "" {
		return "not on record"
	}
	value := itoa(int(n.Links)) + " links"
	if of.Dimension != event.LinkCount {
		value = w.lead.Measured(n.Value)
		if n.Links > 0 {
			value += " over " + itoa(int(n.Links))
		}
	}
	return value + ": " + basisWords[n.Basis] + ", " + n.Source + "; " + w.name(n.By) + ", " + n.Day.Long()
}

// setFigures records what was typed of new parts.
func (s *Server) setFigures(v *visit) error {
	sling, key, heads, err := s.slingForm(v)
	if err != nil {
		return err
	}
	c := complaints{}
	w := v.wordsOf(nil)
	basis, known := event.ParseBasis(v.raw("basis"))
	if !known {
		c.add("basis", "Say how they are known.")
	}
	source := v.reason(c, "source", "Write which drawing, certificate or part.")
	var list []event.Figure
	for _, fields := range figureFields(sling) {
		for _, f := range fields {
			if text := strings.TrimSpace(v.raw(f.name)); text != "" {
				figure := event.Figure{Of: f.of, Basis: basis, Source: source}
				s.readFigure(v, c, f, text, sling, w, &figure)
				list = append(list, figure)
			}
		}
	}
	if len(list) == 0 && len(c) == 0 {
		return s.renderFigures(v, http.StatusUnprocessableEntity, sling, c, "Type at least one dimension.")
	}
	if len(c) > 0 {
		return s.renderFigures(v, http.StatusUnprocessableEntity, sling, c, "Nothing was saved yet: see below.")
	}
	o, err := s.Counter.SetFigures(v.r.Context(), v.by(counter.Hand, key), counter.Seen{Sling: sling.ID, Heads: heads}, list)
	switch {
	case errors.Is(err, counter.ErrFigures):
		return s.renderFigures(v, http.StatusUnprocessableEntity, sling, c, "These cannot be figures of new parts of this sling.")
	case err != nil:
		return registerError(err)
	case !o.May:
		return s.renderFigures(v, http.StatusConflict, sling, c, v.why(o.Codes))
	}
	s.notice(v, plural(len(list), "dimension")+" of new parts on record, signed with your name.")
	if v.may(actInspect) {
		return v.redirect(benchOf(sling))
	}
	return v.redirect(slingPath(sling))
}

// readFigure reads one dimension; what cannot be of a new part of this chain is
// refused: it is what everything measured later is held against.
func (s *Server) readFigure(v *visit, c complaints, f figureField, text string, sling state.Sling, w words, to *event.Figure) {
	var complaint string
	if f.of.Dimension == event.LinkCount {
		to.Links, complaint = readCount(text)
		c.add(f.name, complaint)
		return
	}
	wears := f.of.Dimension == event.Section || f.of.Dimension == event.Thickness // what is finer than a micrometre makes the limit stricter
	if to.Value, complaint = readGauge(text, w.lead, wears); complaint != "" {
		c.add(f.name, complaint)
		return
	}
	var near ought
	switch f.of.Dimension {
	case event.RunLength:
		if to.Links, complaint = readCount(v.raw(f.name + "-n")); complaint != "" {
			c.add(f.name+"-n", complaint)
			return
		}
		near = byPitch(sling, to.Links)
	case event.Reach:
		near = ought{sling.Details.Sling.Reach, "what is on record"}
	}
	c.add(f.name, strange(to.Value, near, w.lead))
}
