package web

import (
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/removal"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
)

// benchPage is one step of an inspection while it is put together.
type benchPage struct {
	s       *Server
	v       *visit
	w       words
	sling   state.Sling
	fields  map[string]string
	wrong   complaints
	last    map[int]wornAt
	read    *sheetRead
	measure []removal.Measure
	bars    map[string][]Bar
	focused bool
}

func (b *benchPage) judge() {
	q, _, err := b.assessed()
	if err == nil {
		b.measure = removal.Measures(q)
		b.bars = b.w.bars(b.read, b.measure)
	}
}

// gauge makes a field for a length.
func (b *benchPage) gauge(name, label, hint string) GaugeField {
	unit := "in"
	if b.w.lead == quantity.Metric {
		unit = "mm"
	}
	return b.ready(GaugeField{Name: name, Label: label, Value: b.fields[name], Unit: unit, Mode: "decimal", Hint: hint, Says: b.says(name)})
}

// diameter is a gauge whose unit stands in its label, so that two fit on a telephone.
func (b *benchPage) diameter(name, label string) GaugeField {
	g := b.gauge(name, label, "")
	g.Label, g.Unit = label+", "+g.Unit, ""
	return g
}

func (b *benchPage) number(name, label, value, unit, hint string) GaugeField {
	return b.ready(GaugeField{Name: name, Label: label, Value: value, Unit: unit, Mode: "numeric", Hint: hint, Says: b.says(name)})
}

func (b *benchPage) says(name string) FieldSays {
	says := b.read.says[name]
	says.Name = name
	if complaint := b.wrong[name]; complaint != "" {
		says.Error = complaint
	}
	return says
}

// ready puts the focus into the first field of the page that is empty.
func (b *benchPage) ready(f GaugeField) GaugeField {
	if f.Value == "" && !b.focused {
		b.focused, f.Focus = true, true
	}
	return f
}

func (b *benchPage) row(name, title string, gauges ...GaugeField) BenchRow {
	return BenchRow{Name: name, Title: title, Gauges: gauges, HasBars: true, Bars: b.bars[name]}
}

func (b *benchPage) rows(st step) []BenchSection {
	switch {
	case st.leg > 0:
		return b.legRows(st.leg)
	case st.name == "start":
		return b.startRows()
	case st.name == "upper":
		return []BenchSection{{Title: "Master link, and what all legs share", Across: true, Hint: "Where it bears, at its thinnest. Leave empty what it has not got.", Rows: b.partRows(sharedParts(b.sling))}}
	case st.name == "seen":
		return b.seenRows()
	}
	return nil
}

// regime is why it is inspected: as was chosen, else because of what it is held for, or
// because it is due.
func (b *benchPage) regime() string {
	switch {
	case b.fields["regime"] != "":
		return b.fields["regime"]
	case b.sling.Details.Sling.State == gate.StateHeld:
		return string(event.Circumstance)
	}
	return string(event.Periodic)
}

func (b *benchPage) startRows() []BenchSection {
	date := b.fields["date"]
	if date == "" {
		date = b.v.today.String()
	}
	regime := b.regime()
	field := func(name, label, hint, kind string) Field {
		return Field{Name: name, Label: label, Hint: hint, Type: kind, Value: b.fields[name], Most: 60, Error: b.wrong[name]}
	}
	more := field("method-more", "What else was done", "", "")
	ticks := make([]Option, len(methods))
	for i, m := range methods {
		ticks[i] = Option{Value: "m-" + m.name, Label: upperFirst(m.says), On: b.fields["m-"+m.name] != ""}
	}
	return []BenchSection{
		{Title: "What it is made for", Rows: []BenchRow{
			{Choice: &Choice{Name: "regime", Legend: "Why is it inspected?", Error: b.wrong["regime"], Options: options(regime, [][3]string{
				{string(event.Periodic), "It is due", "within the interval of its service"}, {string(event.FirstUse), "Before its first use here", ""},
				{string(event.Circumstance), "After something happened", "shock, overload, heat, repair"}, {string(event.Scheme), "By a written scheme", ""}})}},
			{Field: &Field{Name: "date", Label: "Day of the inspection", Type: "date", Value: date, Error: b.wrong["date"], Needed: true}},
		}},
		{Title: "How it is looked at", Hint: "Clean it first: dirt hides cracks. No acid, no flame.", Rows: []BenchRow{
			{Ticks: ticks},
			{Field: &more},
		}},
		{Title: "Measured with", Rows: []BenchRow{
			{Pair: []Field{field("gauge-1", "Gauge", "kind and number, such as caliper 7", ""), field("calibrated-1", "Calibrated on", "empty where not known", "date")}},
			{Pair: []Field{field("gauge-2", "Second gauge", "such as tape 3; empty for none", ""), field("calibrated-2", "Calibrated on", "empty where not known", "date")}},
		}},
		{Title: "The maker’s rating tag", Rows: []BenchRow{{Choice: &Choice{Name: "rating-tag", Legend: "Read every word of it", Error: b.wrong["rating-tag"], Options: ratingTagOptions(b.fields["rating-tag"])}}}},
	}
}

func (b *benchPage) legRows(leg int) []BenchSection {
	of := func(name string) string { return legField(leg, name) }
	counted := ""
	if n, recorded := linksOf(b.sling, leg); recorded {
		counted = "on record: " + itoa(int(n))
	}
	reach := "bearing point to bearing point, pulled straight, unloaded"
	whole := BenchSection{Title: "The whole leg", Rows: []BenchRow{{Gauges: []GaugeField{
		b.number(of("links"), "Links counted", b.fields[of("links")], "links", counted), b.gauge(of("reach"), "Reach", reach)}}}}
	chain := failedHint(b.sling, event.Piece{Chain: true, Leg: leg})
	links := BenchSection{Title: "Links", Hint: joined(chain, "The seat of the link, twice, at right angles. Places are counted from the ring.")}
	at := linksToMeasure(b.sling, leg, b.last[leg])
	for i := 1; i <= places; i++ {
		k := of("k" + itoa(i))
		place := b.fields[k+"-at"]
		if place == "" {
			place = itoa(int(at[i-1]))
		}
		title := "Link " + itoa(i) + " of " + itoa(places)
		if last := b.last[leg]; last.at == at[i-1] {
			title += ": thinnest last time, " + b.w.lead.Measured(last.d) + " on " + last.when.Long()
		}
		row := b.row(k, title, b.number(k+"-at", "Place", place, "", "from ring"), b.diameter(k+"-d1", "One way"), b.diameter(k+"-d2", "Across"))
		row.Place = true
		links.Rows = append(links.Rows, row)
	}
	runs := BenchSection{Title: "Length over links", Across: true, Hint: joined(chain, "Pulled straight, over the same number of links at three places. The worst counts.")}
	n := b.fields[of("n")]
	if n == "" {
		n = itoa(runLinks)
	}
	runs.Rows = append(runs.Rows, BenchRow{Gauges: []GaugeField{b.number(of("n"), "Over how many links?", n, "links", "")}})
	for i, where := range [places]string{"Upper end", "Middle", "Lower end"} {
		name := of("r" + itoa(i+1))
		runs.Rows = append(runs.Rows, b.row(name, "", b.gauge(name, where, "")))
	}
	sections := []BenchSection{whole, links, runs}
	if hooked(b.sling, leg) {
		sections = append(sections, b.hookRows(leg))
	}
	return append(sections, BenchSection{Title: "Other parts of this leg", Across: true, Hint: "Where they bear, at their thinnest. Leave empty what it has not got.", Rows: b.partRows(legParts(b.sling, leg))})
}

func (b *benchPage) hookRows(leg int) BenchSection {
	of := func(name string) string { return legField(leg, name) }
	hook := b.row(of("hook"), "", b.gauge(of("throat"), "Throat", "narrowest opening"), b.gauge(of("section"), "Section", "where it bears"),
		b.ready(GaugeField{Name: of("twist"), Label: "Twist of the tip", Value: b.fields[of("twist")], Unit: "°", Mode: "decimal", Hint: "Out of the plane of the hook; 0 for none", Says: b.says(of("twist"))}))
	latch := Choice{Name: of("latch"), Legend: "Latch", Options: options(b.fields[of("latch")], [][3]string{
		{"good", "Good", "closes the throat by itself"}, {"bent", "Bent", ""}, {"missing", "Missing", ""}, {"none", "Made without", ""}})}
	return BenchSection{Title: "Hook", Hint: failedHint(b.sling, event.Piece{Hook: true, Leg: leg}), Rows: []BenchRow{hook, {Choice: &latch}}}
}

func (b *benchPage) partRows(parts []part) (rows []BenchRow) {
	for _, p := range parts {
		hint := failedHint(b.sling, event.Piece{What: p.what, Leg: p.leg})
		if hint == "" && !p.asked {
			hint = "where it has one"
		}
		rows = append(rows, b.row(p.name, "", b.gauge(p.name, p.label, hint)))
	}
	return rows
}

func (b *benchPage) seenRows() []BenchSection {
	var list []BenchSection
	for _, g := range seenGroups {
		row := BenchRow{Drawn: true}
		for _, c := range g.codes {
			grade := "held"
			if c.SeenGrade() == removal.Out {
				grade = "out of service"
			}
			row.Ticks = append(row.Ticks, Option{Value: "seen-" + c.String(), Label: upperFirst(c.Says()), Sub: grade, On: b.fields["seen-"+c.String()] != ""})
		}
		list = append(list, BenchSection{Title: g.title, Rows: []BenchRow{row}})
	}
	area := func(name, label, hint string) BenchRow {
		return BenchRow{Area: &Area{Name: name, Label: label, Hint: hint, Value: b.fields[name], Most: maxText, Error: b.wrong[name]}}
	}
	all := BenchRow{Ticks: []Option{{Value: "all-seen", Label: "All of it could be seen", Sub: "each link, each fitting, all sides", On: b.fields["all-seen"] != ""}}}
	return append(list, BenchSection{Title: "Where, and what could not be seen", Rows: []BenchRow{
		area("where", "Where it is", "Leg, and which link from the ring. Mark it with paint, so that the next person finds it."), all,
		area("unseen", "What could not be seen, and why", "Such as a sleeve that was not taken off")}})
}

// done says how much of a step there is.
func (b *benchPage) done(st step) string {
	if st.leg == 0 {
		return ""
	}
	n, of := 0, 2*places+1
	for i := 1; i <= places; i++ {
		if b.fields[legField(st.leg, "k"+itoa(i)+"-d1")] != "" && b.fields[legField(st.leg, "k"+itoa(i)+"-d2")] != "" {
			n++
		}
		if b.fields[legField(st.leg, "r"+itoa(i))] != "" {
			n++
		}
	}
	for _, end := range []string{"throat", "ring", "pin"} {
		if b.fields[legField(st.leg, end)] != "" {
			n++
			break
		}
	}
	return itoa(n) + " of " + itoa(of)
}

// todo lists what is still to be measured or answered before it can be fit.
func (b *benchPage) todo() (list []string) {
	r := b.read
	for _, leg := range stepsOf(b.sling) {
		if leg.leg == 0 {
			continue
		}
		var missing []string
		lack := func(missed bool, what string) {
			if missed {
				missing = append(missing, what)
			}
		}
		links, runs, end := 0, 0, false
		for _, l := range r.found.Links {
			if l.Leg == leg.leg {
				links++
			}
		}
		for _, run := range r.found.Runs {
			if run.Leg == leg.leg {
				runs++
			}
		}
		for _, h := range r.found.Hooks {
			end = end || h.Leg == leg.leg
		}
		for _, p := range r.found.Parts {
			end = end || p.Leg == leg.leg
		}
		lack(r.legs[leg.leg-1].Links == 0, "links counted")
		lack(r.legs[leg.leg-1].Reach == 0, "reach")
		lack(links < places, itoa(places-min(links, places))+" more links")
		lack(runs < places, itoa(places-min(runs, places))+" more lengths")
		lack(!end, "its lower end")
		if len(missing) > 0 {
			list = append(list, leg.title+": "+strings.Join(missing, ", "))
		}
	}
	master := false
	for _, p := range r.found.Parts {
		master = master || p.What == removal.Master
	}
	if !master {
		list = append(list, "Upper end: master link")
	}
	if q, _, err := b.assessed(); err == nil {
		if left := event.Unmeasured(b.sling.Failed, q); len(pieceWords(left)) > 0 {
			list = append(list, unmeasuredSays(left))
		}
	}
	if b.fields["rating-tag"] == "" {
		list = append(list, "Begin: the maker’s rating tag")
	}
	if b.fields["all-seen"] == "" && b.fields["unseen"] == "" {
		list = append(list, "Seen: whether all of it could be seen")
	}
	if n := r.wrong(); n > 0 {
		list = append(list, plural(n, "field")+" to look at again")
	}
	return list
}

// unknownFigures says what of the new parts is not on record.
func unknownFigures(s state.Sling) string {
	var list []string
	lack := func(f event.FigureOf, what string) {
		if counter.NewOf(s, f).Basis == "" {
			list = append(list, what)
		}
	}
	for leg := 1; leg <= s.Details.Sling.Legs; leg++ {
		of := " of leg " + itoa(leg)
		lack(event.FigureOf{Dimension: event.RunLength, Leg: leg}, "length over links"+of)
		if hooked(s, leg) {
			lack(event.FigureOf{Dimension: event.Throat, Leg: leg}, "throat"+of)
			lack(event.FigureOf{Dimension: event.Section, Leg: leg}, "hook section"+of)
		}
	}
	lack(event.FigureOf{Dimension: event.Thickness, What: removal.Master}, "master link")
	if len(list) == 0 {
		return ""
	}
	return "Not on record as new: " + strings.Join(list, ", ") + ". Without it hooks and parts are held."
}
