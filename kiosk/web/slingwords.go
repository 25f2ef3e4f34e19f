package web

import (
	"strconv"
	"strings"
	"time"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/source"
	"cribgate/core/tagcode"
	"cribgate/core/trade"
)

// words puts what the register knows into the words and units of one crib. It
// leads with the crib's units and gives the other ones in small print.
type words struct {
	lead  quantity.Units
	other quantity.Units
	rules due.Rules
	list  trade.List
	zone  *time.Location
	names map[event.PersonID]string
}

// wordsOf are the words of the crib that is visited. A person who is not in
// names is called by what is left of them: nobody's name is guessed.
func (v *visit) wordsOf(names map[event.PersonID]string) words {
	lead := v.crib.Founded.Units
	w := words{lead: lead, other: lead.Other(), rules: v.crib.Founded.Rules, list: v.list(), zone: time.UTC, names: names}
	if zone, err := time.LoadLocation(v.crib.Founded.Zone); err == nil {
		w.zone = zone // any other was refused when the register was founded
	}
	return w
}

// says puts a reason into the crib's words, with the figures of the answer that it
// stands in.
func (w words) says(r gate.Reason, a gate.Answer) gate.Text {
	return r.Text(a, gate.Speech{Units: w.lead, Words: w.list, Rules: w.rules})
}

// say puts a sentence of ours into the crib's words; see package trade. Labels,
// hints and complaints are put into them by the templates.
func (w words) say(text string) string { return w.list.Say(text) }

// cites names a clause as the crib's own law has it.
func (w words) cites(c source.Clause) string {
	return w.say(gate.Speech{Rules: w.rules}.Under(c).String())
}

// reason puts a reason into words, as says does. How long an inspection lasts is cited from the
// rules that the crib goes by, for the service of the sling.
func (w words) reason(r gate.Reason, a gate.Answer, service due.Service) gate.Text {
	text := w.says(r, a)
	switch r {
	case gate.Overdue, gate.NoDueDate:
		if row, ok := due.Find(service, w.rules); ok {
			text.Rule, text.InFull = row.Clause.Short(), row.Clause.String()
		}
	}
	return text
}

// may is a load that may be lifted, rounded down in either unit: nobody is told
// that a sling may carry more than it does.
func (w words) may(label string, m quantity.Mass) Fact {
	return Fact{Label: label, Value: w.lead.MassDown(m), Small: w.other.MassDown(m)}
}

// needs is a load that is to be lifted, rounded up in either unit.
func (w words) needs(label string, m quantity.Mass) Fact {
	in := func(u quantity.Units) string { return u.Mass(m.Ceil(u.MassUnit())) }
	return Fact{Label: label, Value: in(w.lead), Small: in(w.other)}
}

// stampedIn gives the units that a load is stamped in: pounds where it comes to
// whole ones, which no load in kilograms or tonnes does.
func stampedIn(m quantity.Mass) (lead, other quantity.Units) {
	if _, pounds := m.Whole(quantity.Pound); pounds {
		return quantity.Imperial, quantity.Metric
	}
	return quantity.Metric, quantity.Imperial
}

// stamped leads with the unit that is on the metal. The other one is rounded
// down, as everything that may be lifted is.
func (w words) stamped(label string, m quantity.Mass) Fact {
	lead, other := stampedIn(m)
	f := Fact{Label: label, Value: lead.Mass(m), Small: other.MassDown(m)}
	if _, whole := m.Whole(lead.MassUnit()); !whole {
		f.Value = m.String()
	}
	return f
}

// reach is given to half an inch or to the millimetre; nothing is decided by it.
func (w words) reach(l quantity.Length) Fact {
	if l == 0 {
		return Fact{Label: "Reach", Value: "not known"}
	}
	inches, metric := l.HalfInch().InFeet(), l.InMetres()
	if w.lead == quantity.Metric {
		return Fact{Label: "Reach", Value: metric, Small: inches}
	}
	return Fact{Label: "Reach", Value: inches, Small: metric}
}

func (w words) temperature(t quantity.Temperature) Fact {
	return Fact{Value: w.lead.Temperature(t), Small: w.other.Temperature(t)}
}

// clock is a moment in the crib's local time.
func (w words) clock(t time.Time) string { return t.In(w.zone).Format("2 Jan 2006, 15:04") }

func (w words) name(p event.PersonID) string {
	switch name := w.names[p]; {
	case name != "":
		return name
	case p.IsZero():
		return "the program"
	}
	return "someone who is not in the register"
}

// makeUp is a sling in one line: "3/8 in, grade 80, 2 legs, 6 ft". No line ends
// between a number and what it counts.
func (w words) makeUp(p rating.Plate) string {
	parts := []string{p.Size.Words(), "grade " + strconv.Itoa(int(p.Grade)), rating.LegsFigure(p.Legs)}
	if p.Reach > 0 {
		parts = append(parts, w.reach(p.Reach).Value)
	}
	for i := range parts {
		parts[i] = strings.ReplaceAll(parts[i], " ", "\u00a0")
	}
	if p.Adjustable {
		parts = append(parts, "can be shortened")
	}
	return strings.Join(parts, ", ")
}

var legNames = [...]string{"no leg", "One leg", "Two legs", "Three legs", "Four legs"}

// stampName says what a stamped load is for: "Two legs, 60° from horizontal".
func stampName(n int, b rating.Basis) string {
	if b == rating.Vertical {
		return "One leg straight down"
	}
	return legNames[n] + ", " + b.Words()
}

func ratingTagWords(t gate.RatingTag) string {
	switch t {
	case gate.TagLegible:
		return "legible"
	case gate.TagPartial:
		return "partly legible"
	case gate.TagIllegible:
		return "cannot be read"
	case gate.TagMissing:
		return "missing"
	}
	return "not known"
}

func outcomeWords(o tagcode.Outcome) string {
	switch o {
	case tagcode.Fit:
		return "fit"
	case tagcode.Hold:
		return "to be held"
	case tagcode.Out:
		return "out of service"
	}
	return "none"
}

// serviceWords says how hard a sling is used, with the months where they were
// set: "severe service, every 2 months".
func serviceWords(s due.Service, months int) string {
	text := s.String() + " service"
	switch months {
	case 0:
	case 1:
		text += ", every month"
	default:
		text += ", every " + strconv.Itoa(months) + " months"
	}
	return text
}

func wayWords(way string) string {
	switch way {
	case "scanner":
		return "scanned"
	case "camera":
		return "read by the camera"
	case "image":
		return "read from a picture"
	case "resembles":
		return "told by what its worn tag resembles"
	case "short-code":
		return "short code typed"
	case "hand":
		return "picked on a page"
	case "program":
		return "by the program"
	}
	return way
}

func rulesWords(r due.Rules) string {
	switch r {
	case due.US:
		return "US: 29 CFR 1910.184, 1926.251 and ASME B30.9"
	case due.EN:
		return "EN 818-6"
	case due.UK:
		return "UK: LOLER regulation 9"
	case due.Yard:
		return "US shipyards: 29 CFR 1915.112"
	}
	return "none"
}

// plural is "1 day", "27 days".
func plural(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + one + "s"
}
