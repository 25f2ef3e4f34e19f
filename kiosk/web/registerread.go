package web

import (
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/tagcode"
)

var (
	systems = map[string]rating.System{"us": rating.US, "en": rating.EN}
	grades  = map[string]rating.Grade{"80": rating.Grade80, "100": rating.Grade100, "120": rating.Grade120}
	yesNos  = map[string]bool{"yes": true, "no": false}
	legsOf  = map[string]int{"1": 1, "2": 2, "3": 3, "4": 4}
	massOf  = map[string]quantity.Mass{"lb": quantity.Pound, "kg": quantity.Kilogram, "t": quantity.Tonne, "g": quantity.Gram}
)

// plateFields are the fields in which the plate's own facts stand, by the name
// that core/rating gives them.
var plateFields = map[string]string{
	"system": "system", "grade": "grade", "legs": "legs", "reach": "reach",
	"chart": "chart", "weakest": "weakest", "master": "master", "stamped": "unit",
}

// A detailsForm gives the value of a field by name: as it was sent, or as it is
// on record.
type detailsForm func(name string) string

// plate reads what is stamped. Complaints say what is missing or wrong; what is
// filled in so far is checked all the same.
func (f detailsForm) plate(c complaints) rating.Plate {
	answers := liftForm{}
	for _, name := range []string{"system", "grade", "legs", "adjustable", "unit"} {
		answers[name] = f(name)
	}
	p := rating.Plate{
		System:     pick(answers, c, "system", "Choose how it is stamped.", systems),
		Grade:      pick(answers, c, "grade", "Choose the grade stamped on the chain.", grades),
		Legs:       pick(answers, c, "legs", "Count the legs and choose.", legsOf),
		Adjustable: pick(answers, c, "adjustable", "Look whether the legs can be shortened, and choose.", yesNos),
	}
	unit := pick(answers, c, "unit", "Choose the unit that is stamped.", massOf)
	if c["system"] == "" {
		name := "size-" + p.System.String()
		size, err := rating.ParseSize(p.System, f(name))
		switch {
		case f(name) == "":
			c.add(name, "Choose the chain size stamped on the plate.")
		case err != nil:
			c.add(name, "This is none of the sizes.")
		}
		p.Size = size
	}
	p.Reach = readReach(c, f("reach"), f("reach-unit"))
	p.Stamped = f.stamps(c, p, unit)
	for _, x := range []struct {
		name string
		to   *quantity.Mass
	}{{"chart", &p.Chart}, {"weakest", &p.Weakest}, {"master", &p.Master}} {
		masses, complaint := readMasses(f(x.name), unit)
		if complaint == "" && len(masses) > 1 {
			complaint = "One figure only."
		}
		c.add(x.name, complaint)
		if len(masses) == 1 {
			*x.to = masses[0]
		}
	}
	return p
}

// stampField is the field of the loads for so many legs at a basis.
func stampField(legs int, b rating.Basis) string {
	return "stamp-" + strconv.Itoa(legs) + "-" + b.String()
}

func (f detailsForm) stamps(c complaints, p rating.Plate, unit quantity.Mass) []rating.Stamp {
	var stamps []rating.Stamp
	for legs := 4; legs >= 1; legs-- {
		for _, basis := range rating.Bases(p.System, legs) {
			name := stampField(legs, basis)
			masses, complaint := readMasses(f(name), unit)
			if complaint == "" && len(masses) > 0 && p.Legs > 0 && legs > p.Legs {
				complaint = "This is for more legs than the sling has: take it out, or look at the number of legs."
			}
			c.add(name, complaint)
			for _, m := range masses {
				stamps = append(stamps, rating.Stamp{Legs: legs, Basis: basis, Load: m})
			}
		}
	}
	return stamps
}

// oneMass is a number, whole or with a point, and perhaps its unit. A "ton" is not
// one: there are three of them.
var oneMass = regexp.MustCompile(`^([0-9][0-9, ]*)(?:\.([0-9]{1,6}))? ?(?:(lb|kg|t|g)s?\.?)?$`)

// readMasses reads the loads stamped in one place: one as a rule, more with a
// semicolon between them. A load without a unit is in the plate's; a fraction
// must come to whole grams, which are the finest that is recorded.
func readMasses(text string, unit quantity.Mass) (masses []quantity.Mass, complaint string) {
	text = strings.TrimSpace(text)
	if text == "" {
		return nil, ""
	}
	for part := range strings.SplitSeq(text, ";") {
		m, complaint := readMass(strings.ToLower(strings.TrimSpace(part)), unit)
		if complaint != "" {
			return nil, complaint
		}
		masses = append(masses, m)
	}
	return masses, ""
}

func readMass(text string, unit quantity.Mass) (quantity.Mass, string) {
	if strings.HasPrefix(text, "-") || strings.HasPrefix(text, "−") {
		return 0, "A rated load is more than nothing: type it without a minus sign."
	}
	m := oneMass.FindStringSubmatch(text)
	if m == nil || !wholeNumber.MatchString(strings.TrimSpace(m[1])) {
		return 0, "Type it in digits, like 12300 or 3.15, with a point for the fraction."
	}
	if own, given := massOf[m[3]]; given {
		unit = own
	}
	if unit == 0 {
		return 0, "Choose the unit that is stamped."
	}
	digits := strings.NewReplacer(",", "", " ", "").Replace(m[1])
	if len(digits) > 13 {
		return 0, "This is more than a million tonnes: count the digits again."
	}
	whole, err := strconv.ParseInt(digits, 10, 64)
	if err != nil {
		return 0, "Type it in digits, like 12300 or 3.15."
	}
	parts := int64(0)
	if m[2] != "" {
		if unit == quantity.Pound {
			return 0, "Type whole pounds."
		}
		parts, err = strconv.ParseInt((m[2] + "000000")[:6], 10, 64)
		if err != nil {
			return 0, "Type it in digits, like 12300 or 3.15."
		}
	}
	part := unit / 1_000_000 * quantity.Mass(parts)
	if parts != 0 && (unit == quantity.Gram || part%quantity.Gram != 0) {
		return 0, "That is finer than a gram: type no more digits than are stamped."
	}
	if whole == 0 && part == 0 {
		return 0, "A rated load of 0 rates nothing: leave it empty if none is stamped."
	}
	if whole > int64(quantity.MaxMass/unit) {
		return 0, "This is more than a million tonnes: count the digits again."
	}
	total := quantity.Mass(whole)*unit + part
	if total < quantity.MinMass || total > quantity.MaxMass {
		return 0, "This is no load that a sling can have: look at the number and the unit again."
	}
	return total, ""
}

// details reads the whole form.
func (s *Server) readDetails(v *visit, c complaints) event.Details {
	f := detailsForm(v.raw)
	line := func(name string, most int) string {
		text, complaint := v.line(name, most)
		c.add(name, complaint)
		return text
	}
	d := event.Details{
		Ident: strings.ToUpper(line("ident", tagcode.MaxIdent)),
		Maker: line("maker", 60), Place: line("place", 20), Note: v.note(c, "note"),
		Sling:    gate.Sling{Plate: f.plate(c), Hottest: readHottest(c, f)},
		Fittings: readFittings(c, f, v.crib.Founded.Units),
	}
	var known bool
	if d.Made, known = event.ParseMade(line("made", 7)); !known {
		c.add("made", "Type a year, or a year and a month, like 2019 or 2019-04.")
	}
	if c["ident"] == "" && tagcode.CheckIdent(d.Ident) != nil {
		c.add("ident", "Type it as it is stamped: 1 to 16 of A to Z, 0 to 9, hyphen, full stop, slash, and single spaces inside.")
	}
	answers := liftForm{}
	for _, name := range []string{"rating-tag", "service", "when", "outcome", "hang"} {
		answers[name] = f(name)
	}
	d.Sling.RatingTag = pick(answers, c, "rating-tag", "Look at the maker’s rating tag and choose.", ratingTags)
	d.Service = pick(answers, c, "service", "Choose how hard it is used.", services)
	d.Sling.State = pick(answers, c, "hang", "Choose where it goes now.", map[string]gate.State{"in": gate.StateIn, "held": gate.StateHeld})
	d.ChartSource = line("chart-source", 120)
	switch {
	case d.Sling.Chart != 0 && d.ChartSource == "" && c["chart-source"] == "":
		c.add("chart-source", "Write which chart it is from: maker, title, edition.")
	case d.Sling.Chart == 0 && d.ChartSource != "" && c["chart"] == "":
		c.add("chart", "Type the single-leg rating that the chart gives.")
	}
	s.readLast(v, c, answers, &d)
	if _, err := rating.CheckStamps(d.Sling.Plate); err != nil && len(c) == 0 {
		c.addPlate(err)
	}
	return d
}

// readLast reads the last thorough inspection.
func (s *Server) readLast(v *visit, c complaints, answers liftForm, d *event.Details) {
	when := pick(answers, c, "when", "Choose what is known of it.", map[string]string{"day": "day", "month": "month", "never": "never"})
	d.Months = readMonths(c, v.raw("months"))
	if c["service"] == "" && c["months"] == "" {
		// Whether a day follows depends on the service only; the day comes next.
		_, err := due.Next(s.today(v), d.Service, v.crib.Founded.Rules, d.Months)
		c.addDue(err, d.Service, v.crib.Founded.Rules)
	}
	switch when {
	case "day":
		d.Sling.Inspected = readPastDate(c, "date", v.raw("date"), s.today(v), "Choose the day of the inspection.")
	case "month":
		d.Sling.Inspected = readMonth(c, v.raw("month"), s.today(v))
	default:
		return
	}
	d.Outcome = pick(answers, c, "outcome", "Choose what the inspection came to.", outcomes)
	if text := v.raw("paper-due"); text != "" {
		due, err := quantity.ParseDate(text)
		switch {
		case err != nil:
			c.add("paper-due", "This is no day of the calendar. Type it as year, month and day, like 2026-03-02.")
		case due.Before(d.Sling.Inspected):
			c.add("paper-due", "This is before the inspection.")
		}
		d.Sling.Due = due
	}
}

var yearMonth = regexp.MustCompile(`^[0-9]{4}-[0-9]{2}$`)

// readMonth reads a month, which counts as its first day.
func readMonth(c complaints, text string, today quantity.Date) quantity.Date {
	d, err := quantity.ParseDate(text + "-01")
	switch {
	case text == "":
		c.add("month", "Choose the month of the inspection.")
	case err != nil || !yearMonth.MatchString(text):
		c.add("month", "This is no month. Type it as year and month, like 2026-03.")
		return quantity.Date{}
	case d.After(today):
		c.add("month", "This month has not come yet; today is "+today.Long()+".")
	}
	return d
}

// readHottest reads the hottest that the sling is known to have been.
func readHottest(c complaints, f detailsForm) *quantity.Temperature {
	switch f("heat") {
	case "no":
		return nil
	case "yes":
		t, complaint := readTemperature(strings.TrimSpace(f("hottest")), f("scale") == "F")
		if f("hottest") == "" {
			complaint = "Type how hot it has been."
		}
		if f("scale") != "F" && f("scale") != "C" {
			c.add("scale", "Choose the scale.")
		}
		c.add("hottest", complaint)
		return &t
	}
	c.add("heat", "Ask and look, then choose.")
	return nil
}

// addPlate puts a complaint about the plate at its field.
func (c complaints) addPlate(err error) {
	plate, ok := errors.AsType[*rating.PlateError](err)
	if !ok {
		c.add("whole", fmt.Sprintf("These facts cannot stand together: %v.", err))
		return
	}
	name, known := plateFields[plate.Field]
	if !known {
		name = "whole"
	}
	c.add(name, "This cannot be: "+plate.Reason+".")
}
