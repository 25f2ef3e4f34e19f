package web

import (
	"strconv"

	"cribgate/core/rating"
	"cribgate/core/tagcode"
)

// A DetailsForm asks for everything that is recorded of a sling. Both systems
// and all numbers of legs are in it; the style sheet shows what has been chosen.
type DetailsForm struct {
	Path  string
	Check string // where it is checked while it is filled in
	Back  string // where a correction leads back to; empty for none
	Fixed string // the identification, where it cannot be changed
	Whole string // what is wrong with all of it
	Wrong int    // how many fields have a complaint

	Ident, Maker, Made, Place   Field
	System, Grade, Legs, Adjust Choice
	SizeUS, SizeEN              Choice
	Reach                       Field
	ReachUnit                   Choice
	Unit                        Choice
	Stamps                      []StampRow
	Chart, ChartSource          Field
	Weakest, Master             Field
	Heat                        Choice
	Hottest                     Field
	Scale                       Choice
	RatingTag                   Choice
	Lower                       Choice
	Inside                      Field
	When                        Choice
	Date, Month                 Field
	Outcome, Service            Choice
	Months                      Field
	PaperDue                    Field
	Hang                        Choice
	Note                        Area
	Found                       DetailsFound
}

// A StampRow is the loads for one number of legs, as a plate gives them: one for
// each angle.
type StampRow struct {
	Legs   string
	System string // "us" or "en"; empty for one leg, which both have
	Class  string // "legs-2": how many legs a sling needs for it
	Cells  []StampCell
}

// A StampCell is one load with what the tables say of it.
type StampCell struct {
	Field Field
	Found StampFound
}

// A StampFound is what the tables say of the loads typed in one cell. The zero
// value says nothing.
type StampFound struct {
	Name  string // of the field
	Lines []StampLine
}

// A StampLine is one sentence about one load. Verdict is its shape.
type StampLine struct {
	Verdict Verdict
	Word    string // Agrees, Lower, Too high
	Text    string
	Rule    string
}

// DetailsFound is what follows from what is typed so far.
type DetailsFound struct {
	Stamps []StampFound
	Leg    Fact   // rating of a single leg
	Rule   string // where it comes from
	Faults []string
	Wait   string // what is still needed, where nothing follows yet
	Due    DueSays
}

func (s *Server) form(v *visit, f detailsForm, c complaints) DetailsForm {
	field := func(name, label, hint string) Field {
		return Field{Name: name, Label: label, Hint: hint, Value: f(name), Error: c[name]}
	}
	choice := func(name, legend, hint string, rows [][3]string) Choice {
		return Choice{Name: name, Legend: legend, Hint: hint, Error: c[name], Options: options(f(name), rows)}
	}
	p := DetailsForm{
		Whole: c["whole"], Wrong: len(c), Found: s.found(v, f),
		Ident: field("ident", "Identification", "The owner’s, as on the plate: A to Z, 0 to 9, hyphen, full stop, slash"),
		Maker: field("maker", "Maker", "As stamped; leave it empty if it is not"),
		Made:  field("made", "Made", "Year, or year and month, as stamped or on the maker’s papers: 2019 or 2019-04; empty if not known"),
		Place: field("place", "Place in the rack", "Peg or shelf"),
		System: choice("system", "How is it stamped?", "", [][3]string{
			{"us", "Inches", "loads by the angle from horizontal"}, {"en", "Millimetres", "loads by the angle from vertical"}}),
		Grade:  choice("grade", "Grade", "Stamped on the links", [][3]string{{"80", "80", "or 8"}, {"100", "100", "or 10"}, {"120", "120", "or 12"}}),
		Legs:   choice("legs", "Legs", "", [][3]string{{"1", "1", ""}, {"2", "2", ""}, {"3", "3", ""}, {"4", "4", ""}}),
		Adjust: choice("adjustable", "Can the legs be shortened?", "Has it hooks or clutches for that?", [][3]string{{"no", "No", ""}, {"yes", "Yes", ""}}),
		SizeUS: sizeChoice(rating.US, f, c), SizeEN: sizeChoice(rating.EN, f, c),
		Reach:       field("reach", "Reach", "From bearing point to bearing point, like 6, 6 1/2 or 6 ft 6 in; empty if not known"),
		ReachUnit:   choice("reach-unit", "Unit of the reach", "", [][3]string{{"ft", "ft", ""}, {"in", "in", ""}, {"m", "m", ""}, {"mm", "mm", ""}}),
		Unit:        choice("unit", "Unit of the loads", "As stamped", [][3]string{{"lb", "lb", ""}, {"kg", "kg", ""}, {"t", "t", ""}}),
		Chart:       field("chart", "Single leg by the maker’s chart", "Only where no table has the size and grade; for one leg straight down"),
		ChartSource: field("chart-source", "Which chart", "Maker, title, edition"),
		Weakest:     field("weakest", "Weakest component, for one leg", "Only where a fitting is rated below the chain"),
		Master:      field("master", "Upper fitting", "Its rated load, only where it is below what the legs bring"),
		Heat: choice("heat", "Has it been hot?", "Fire, furnace, welding: heat can lower for good what it may carry. If nobody knows how hot, register it as held", [][3]string{
			{"no", "No heat is known of", ""}, {"yes", "Yes", "and how hot is known"}}),
		Hottest:   field("hottest", "Hottest it has been", "If in doubt, the higher figure"),
		Scale:     choice("scale", "Scale", "", [][3]string{{"F", "°F", ""}, {"C", "°C", ""}}),
		RatingTag: Choice{Name: "rating-tag", Legend: "The maker’s rating tag", Error: c["rating-tag"], Options: ratingTagOptions(f("rating-tag"))},
		Lower:     lowerChoice(f("lower"), c["lower"]),
		Inside:    field("inside", "Clear width inside the upper link", insideHint(v.crib.Founded.Units)),
		When: choice("when", "Last thorough inspection", "", [][3]string{
			{"day", "The day is known", ""}, {"month", "Only the month", "counts as its first day"}, {"never", "None on record", "it stays here until there is one"}}),
		Date:  field("date", "Day", ""),
		Month: field("month", "Month", ""),
		Outcome: choice("outcome", "What did it come to?", "", [][3]string{
			{"fit", "Fit", ""}, {"hold", "To be held", ""}, {"out", "Out of service", ""}}),
		Service:  Choice{Name: "service", Legend: "How hard is it used?", Error: c["service"], Options: serviceOptions(v.crib.Founded.Rules, f("service"))},
		Months:   field("months", "Months to the next one", "Only where site policy or a "+v.crib.Founded.Rules.Judge()+" has set them"),
		PaperDue: field("paper-due", "Due by the paper record", "Only where it is earlier than the rule’s day"),
		Hang: choice("hang", "Where does it go now?", "", [][3]string{
			{"in", "Into the rack", ""}, {"held", "Held", "an inspector looks at it first"}}),
		Note: Area{Name: "note", Label: "Note", Hint: "Who made the last inspection, and where the paper is", Value: f("note"), Error: c["note"], Most: maxText},
	}
	p.Ident.Most, p.Ident.Needed = tagcode.MaxIdent, true
	p.Maker.Most, p.Made.Most, p.Place.Most, p.ChartSource.Most = 60, 7, 20, 120
	for _, x := range []*Field{&p.Reach, &p.Chart, &p.Weakest, &p.Master} {
		x.Mode, x.Most = "decimal", 20
	}
	p.Inside.Most = 12
	p.Hottest.Most, p.Months.Most, p.Months.Mode, p.Months.Unit = 5, 2, "numeric", "months"
	p.Date.Type, p.Month.Type, p.PaperDue.Type = "date", "month", "date"
	p.Stamps = stampRows(f, c, p.Found)
	return p
}

func sizeChoice(system rating.System, f detailsForm, c complaints) Choice {
	name := "size-" + system.String()
	choice := Choice{Name: name, Legend: "Chain size", Hint: "As stamped", Error: c[name]}
	for _, size := range rating.Sizes(system) {
		choice.Options = append(choice.Options, Option{Value: size.String(), Label: size.Words(), On: f(name) == size.String()})
	}
	return choice
}

// stampRows lay the loads out as a plate does: a row for each number of legs, a
// column for each angle.
func stampRows(f detailsForm, c complaints, found DetailsFound) []StampRow {
	var rows []StampRow
	row := func(system string, legs int, bases []rating.Basis) {
		r := StampRow{Legs: legNames[legs], System: system, Class: "legs-" + strconv.Itoa(legs)}
		for _, basis := range bases {
			name := stampField(legs, basis)
			cell := StampCell{Found: StampFound{Name: name}, Field: Field{Name: name, Label: upperFirst(basis.Words()), Value: f(name), Error: c[name], Mode: "decimal", Most: 40}}
			if basis == rating.Vertical {
				cell.Field.Label = "Straight down"
			}
			for _, x := range found.Stamps {
				if x.Name == name {
					cell.Found = x
				}
			}
			r.Cells = append(r.Cells, cell)
		}
		rows = append(rows, r)
	}
	for legs := 4; legs >= 2; legs-- {
		row("us", legs, rating.Bases(rating.US, legs))
		row("en", legs, rating.Bases(rating.EN, legs))
	}
	row("", 1, []rating.Basis{rating.Vertical})
	return rows
}

// found is what the tables say of the plate as it is typed so far. Nothing is
// said of what has not been typed: a load is read off the metal, not off a table.
func (s *Server) found(v *visit, f detailsForm) DetailsFound {
	c := complaints{}
	p := f.plate(c)
	found := DetailsFound{Due: s.dueSays(v, f)}
	for _, name := range allStampFields() {
		found.Stamps = append(found.Stamps, StampFound{Name: name})
		if c[name] != "" {
			found.Stamps[len(found.Stamps)-1].Lines = []StampLine{{Verdict: LookCloser, Text: c[name]}}
		}
	}
	size := "size-" + p.System.String()
	if p.System == 0 || c["grade"] != "" || c[size] != "" || c["legs"] != "" {
		found.Wait = "Choose how it is stamped, the grade, the size and the legs; then each load is held against the table while you type."
		return found
	}
	w := v.wordsOf(nil)
	check, err := rating.CheckStamps(p)
	if err != nil {
		c.addPlate(err)
		for _, sentence := range c {
			found.Wait = sentence
		}
		return found
	}
	for _, x := range check.Stamps {
		found.add(stampField(x.Stamp.Legs, x.Stamp.Basis), stampLine(x))
	}
	if check.Rating.Leg.Known() {
		found.Leg = w.may("One leg of it may carry", check.Rating.Leg.Floor())
		found.Rule = check.Rating.LegSource.String()
	}
	found.Faults = check.Words()
	return found
}

func (d *DetailsFound) add(name string, line StampLine) {
	for i := range d.Stamps {
		if d.Stamps[i].Name == name {
			d.Stamps[i].Lines = append(d.Stamps[i].Lines, line)
		}
	}
}

// stampLine speaks in the unit that is stamped, whatever the crib leads with: it
// is read with the plate in the hand.
func stampLine(x rating.StampFinding) StampLine {
	lead, _ := stampedIn(x.Stamp.Load)
	line := StampLine{Text: x.Words(lead), Rule: x.Source.String(), Verdict: LookCloser}
	switch x.Fit {
	case rating.Agrees:
		line.Verdict, line.Word = MayGo, "Agrees"
	case rating.Lower:
		line.Word = "Lower"
	case rating.TooHigh:
		line.Verdict, line.Word = StaysHere, "Too high"
	}
	return line
}

// allStampFields are the cells of both systems.
func allStampFields() []string {
	var names []string
	for legs := 4; legs >= 2; legs-- {
		for _, system := range []rating.System{rating.US, rating.EN} {
			for _, basis := range rating.Bases(system, legs) {
				names = append(names, stampField(legs, basis))
			}
		}
	}
	return append(names, stampField(1, rating.Vertical))
}

func itoa(n int) string { return strconv.Itoa(n) }
