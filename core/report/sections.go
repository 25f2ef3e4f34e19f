package report

import (
	"fmt"
	"slices"
	"strings"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/removal"
	"cribgate/core/tagcode"
)

// loler names an item of schedule 1.
func loler(item string) string { return "LOLER sch. 1 item " + item }

func (f Facts) who() Section {
	e := f.Crib.Founded.Policy.Employer
	premises := e.Premises
	if premises == "" && e.Address != "" {
		premises = "At that address."
	}
	return Section{"For whom and where", []Item{
		says(loler("1"), "Employer for whom the examination was made", e.Name, e.Address),
		says(loler("2"), "Premises where it was made", premises),
		says("", "Crib", f.Crib.Founded.Name),
	}}
}

func (f Facts) what() Section {
	d := f.Sling.Details
	p := d.Sling.Plate
	made := "Date of manufacture not known."
	if d.Made != "" {
		made = "Made " + string(d.Made) + "."
	}
	legs := rating.LegsFigure(p.Legs)
	if p.Adjustable {
		legs += ", adjustable"
	}
	reach := "Reach not recorded."
	if p.Reach > 0 {
		reach = "Reach " + both(f.Units, p.Reach) + " when registered."
	}
	return Section{"The sling", []Item{
		says(loler("3"), "Identification",
			"Identification "+d.Ident+".", "Maker "+orNot(d.Maker)+".",
			fmt.Sprintf("Alloy chain sling, %s, chain size %s, grade %d, %s.", strings.ToUpper(p.System.String()), p.Size, p.Grade, legs), reach, made),
		says(loler("5"), "Safe working load as stamped on its rating tag", append(stamps(p), f.Metal...)...),
		says("", "Rating tag", tagSays(f.Inspected.RatingTag)),
		says(loler("4"), "Date of the last thorough inspection", dateOr(d.Sling.Inspected, "None recorded before this one.")),
	}}
}

func stamps(p rating.Plate) (list []string) {
	for _, s := range p.Stamped {
		lead := quantity.Metric
		if p.System == rating.US {
			lead = quantity.Imperial
		}
		list = append(list, fmt.Sprintf("%s (%s) at %s, %s.", lead.MassDown(s.Load), lead.Other().MassDown(s.Load), basisSays(s.Basis), rating.LegsFigure(s.Legs)))
	}
	return list
}

// basisSays says for what a load is stamped, the number of legs beside it.
func basisSays(b rating.Basis) string {
	if b == rating.Vertical {
		return b.String()
	}
	return b.Words()
}

func tagSays(t gate.RatingTag) string {
	if t == gate.TagLegible {
		return "Legible."
	}
	return "The maker's rating tag is " + t.String() + ": the sling does not go out."
}

func (f Facts) why() Section {
	i, s := f.Inspected, f.sheet()
	first := none
	switch s.Regime {
	case event.FirstUse:
		first = "Yes, before its first use here."
	case event.Periodic, event.Scheme, event.Circumstance:
		first = "No: it was in use here before."
	}
	kind := none
	switch s.Regime {
	case event.FirstUse:
		kind = "Before first use."
	case event.Periodic:
		kind = fmt.Sprintf("Within the interval of %s that the rules of the crib (%s) give for %s service.", interval(i, f.Crib.Founded.Rules), strings.ToUpper(f.Crib.Founded.Rules.String()), i.Service)
	case event.Scheme:
		kind = "In accordance with a written scheme of examination."
	case event.Circumstance:
		kind = "After exceptional circumstances."
	}
	return Section{"Kind of examination", []Item{
		says(loler("6"), "First examination", first),
		says(loler("7(a)"), "Regime", kind),
		says(loler("8(f)"), "Date of the examination", i.Date.Long()),
	}}
}

// interval names the interval between two inspections.
func interval(i event.Inspected, r due.Rules) string {
	months := i.Months
	for m := 1; months == 0 && m <= 12; m++ {
		if next, err := due.Next(i.Date, i.Service, r, 0); err == nil && next == i.Date.AddMonths(m) {
			months = m
		}
	}
	switch months {
	case 0:
		return "no fixed length"
	case 1:
		return "1 month"
	}
	return fmt.Sprintf("%d months", months)
}

func (f Facts) found(a removal.Answer) Section {
	i, s := f.Inspected, f.sheet()
	safe := "Yes."
	if i.Outcome != tagcode.Fit {
		safe = "No."
	}
	var defects, notes []string
	for _, found := range a.Findings {
		if found.Grade == removal.Note {
			notes = append(notes, findingSays(f.Units, found))
		} else {
			defects = append(defects, findingSays(f.Units, found))
		}
	}
	condition := decisionSays(s.Decision)
	if f.Inspected.Sheet == nil {
		condition = "Only the result was written down: " + i.Outcome.String() + "."
	}
	return Section{"What was found", []Item{
		says(loler("6(b) and 7(b)"), "Safe to operate", safe),
		says("B30.9 9-1.9", "Condition", condition, s.Why, i.Note),
		says(loler("8(a)"), "Parts with a defect that is or could become a danger", orNone(slices.Concat(f.Metal, defects), f.Inspected.Sheet != nil)...),
		says(loler("8(b)"), "Repair, renewal or alteration needed", orNone(texts(s.Repair), i.Outcome == tagcode.Fit)...),
		says(loler("8(c)"), "Time by which a defect could become a danger", orNone(texts(dateOr(s.Danger, "")), f.Inspected.Sheet != nil)...),
		says("", "To be watched", orNone(notes, f.Inspected.Sheet != nil)...),
		says("", "What could not be seen", orNone(texts(s.Unseen), f.Inspected.Sheet != nil)...),
	}}
}

func texts(list ...string) (kept []string) {
	for _, t := range list {
		if t != "" {
			kept = append(kept, t)
		}
	}
	return kept
}

// orNone says that there is none where nothing is listed and that is known.
func orNone(list []string, known bool) []string {
	if len(list) == 0 && known {
		return []string{"None."}
	}
	return list
}

func decisionSays(d event.Decision) string {
	switch d {
	case event.DecidedFit:
		return "Fit for service."
	case event.DecidedShorter:
		return "Fit for service, with a shorter interval."
	case event.DecidedHold:
		return "Held: a qualified person decides."
	case event.DecidedRepair:
		return "Held: to its maker, or a repairer whom the maker authorises."
	case event.DecidedOut:
		return "Out of service."
	}
	return ""
}

func (f Facts) after() Section {
	i, s := f.Inspected, f.sheet()
	next := "None: the sling is not to be used."
	if i.Outcome == tagcode.Fit {
		next = i.Due.Long()
	}
	items := []Item{
		says(loler("8(d)"), "Latest date of the next thorough inspection", next),
		says(loler("8(e)"), "Tests that were part of it", orNone(texts(s.Tests), f.Inspected.Sheet != nil)...),
	}
	if i.Outcome == tagcode.Out || s.Salvage != "" {
		items = append(items, says("", "What may be saved, for the repair shop to decide", orNone(texts(s.Salvage), true)...))
	}
	return Section{"What follows", items}
}

func (f Facts) how() Section {
	s := f.sheet()
	var with, legs []string
	for _, i := range s.Instruments {
		with = append(with, i.Name+", "+dateOr(i.Calibrated, "calibration not recorded", "calibrated ")+".")
	}
	for n, l := range s.Legs {
		if text := legSays(f.Units, l); text != "" {
			legs = append(legs, fmt.Sprintf("Leg %d: %s.", n+1, text))
		}
	}
	photos := "No pictures."
	if n := len(s.Photos); n == 1 {
		photos = "1 picture kept with the record."
	} else if n > 1 {
		photos = fmt.Sprintf("%d pictures kept with the record.", n)
	}
	return Section{"How it was examined", []Item{
		says("", "Method", s.Method),
		says("", "Instruments and their calibration", with...),
		says("DOE-STD-1090 11.3.3.2", "Reach of each leg, unloaded", legs...),
		says("", "Pictures", photos),
	}}
}

func legSays(u quantity.Units, l event.LegFound) string {
	var parts []string
	if l.Reach > 0 {
		parts = append(parts, "reach "+both(u, l.Reach))
	}
	if l.Links > 0 {
		parts = append(parts, fmt.Sprintf("%d links", l.Links))
	}
	return strings.Join(parts, ", ")
}

func (f Facts) signed() Section {
	s := f.sheet()
	employer := strings.Join(texts(s.Employer, s.Address), ", ")
	if employer == "" && s.Qualification != "" {
		employer = "Employed by the employer named above."
	}
	return Section{"Who made this report", []Item{
		says(loler("9"), "Name, qualification and employer", f.Examiner, s.Qualification, employer),
		says(loler("10"), "Signed by", f.Examiner+", signed in with a PIN of their own."),
		says(loler("11"), "Date of the report", f.Signed.Long()),
		says("", "Where the register keeps it", fmt.Sprintf("Position %d, envelope %s", f.At, f.Hash)),
	}}
}

func orNot(text string) string {
	if text == "" {
		return "not stamped"
	}
	return text
}

// dateOr gives a date, with a text before it, or another text where there is none.
func dateOr(d quantity.Date, without string, before ...string) string {
	if d.IsZero() {
		return without
	}
	return strings.Join(before, "") + d.Long()
}
