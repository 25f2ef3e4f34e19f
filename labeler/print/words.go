package print

import (
	"strconv"

	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/tagcode"
	"cribgate/labeler/sheet"
	"cribgate/labeler/symbol"
	"cribgate/printtemplates"
)

// content is what is printed: the symbol, and for people what it says.
func (t Tag) content(s symbol.Symbol, period printtemplates.Colour) sheet.Content {
	c := sheet.Content{Symbol: s, Period: period, Facts: Facts(t.Sealed.Tag)}
	c.Facts[printtemplates.ID] = t.Ident
	correct(c.Facts, t.doubt)
	if t.doubt == rating.PlateInDoubt && c.Facts[printtemplates.Status] == "" {
		c.Facts[printtemplates.Status] = plateInDoubt
	}
	if !t.Sealed.Inspected.IsZero() {
		c.FirstYear, _, _ = t.Sealed.Inspected.YMD()
	}
	if c.Facts[printtemplates.Status] == "" {
		c.Due = t.Sealed.Due
	}
	return c
}

// Facts are the words that stand under a symbol for what the tag says, all but the
// identification, which is not in a tag. What only a record knows is not in them. Status is empty where the inspection
// passed the sling, a date is due, and no table speaks against its plate.
func Facts(t tagcode.Tag) map[printtemplates.Word]string {
	plate := rating.FromTag(t.Facts)
	facts := plateFacts(plate)
	facts[printtemplates.Inspected] = "not recorded"
	if !t.Inspected.IsZero() {
		facts[printtemplates.Inspected] = t.Inspected.Month()
	}
	facts[printtemplates.Status] = status(t, &plate)
	facts[printtemplates.Code] = tagcode.ShortOf(t.Number, t.Serial).String()
	return facts
}

// plateFacts are the words of what a tag says of the metal.
func plateFacts(p rating.Plate) map[printtemplates.Word]string {
	facts := map[printtemplates.Word]string{
		printtemplates.Size:     p.Size.Words(),
		printtemplates.Grade:    "Grade " + strconv.Itoa(int(p.Grade)),
		printtemplates.Legs:     rating.LegsFigure(p.Legs),
		printtemplates.Reach:    reach(p),
		printtemplates.LoadName: loadName(p.System),
	}
	facts[printtemplates.Load], facts[printtemplates.Angle] = load(p)
	return facts
}

// status says why the sling stays in; empty where its inspection passed it, a
// date is due, and no table speaks against its plate.
func status(t tagcode.Tag, plate *rating.Plate) string {
	switch {
	case t.Outcome == tagcode.NoOutcome:
		return "NOT INSPECTED"
	case t.Outcome == tagcode.Hold:
		return "HELD: not for use"
	case t.Outcome != tagcode.Fit:
		return "OUT OF SERVICE"
	case t.Due.IsZero():
		return "NO DUE DATE"
	case tooHigh(plate):
		return plateInDoubt
	}
	return ""
}

const plateInDoubt = "PLATE IN DOUBT"

// correct takes the load away where the record knows better than the tag, so that
// nobody rigs by it.
func correct(facts map[printtemplates.Word]string, d rating.TagDoubt) {
	switch d {
	case rating.LoadHigh:
		facts[printtemplates.Load], facts[printtemplates.Angle] = "see record", ""
	case rating.PlateInDoubt:
		facts[printtemplates.Load], facts[printtemplates.Angle] = "in doubt", ""
	}
}

// tooHigh tells whether the load on the tag is more than the tables allow, so that
// it must not stand there for people to rig by.
func tooHigh(plate *rating.Plate) bool { return rating.Rate(plate).Faults&rating.StampTooHigh != 0 }

// reach is given to half an inch or in millimetres; nothing is decided by it.
func reach(p rating.Plate) string {
	switch {
	case p.Reach == 0:
		return "not known"
	case p.System == rating.US:
		return p.Reach.HalfInch().InFeet()
	default:
		return p.Reach.InMetres()
	}
}

// loadName is what each system calls the stamped load.
func loadName(s rating.System) string {
	if s == rating.EN {
		return "WLL"
	}
	return "Rated load"
}

// load gives the stamped load and its angle. A plate without a load that fits
// the tag sends people to the metal; one that is too high is not repeated.
func load(p rating.Plate) (load, angle string) {
	switch {
	case len(p.Stamped) == 0:
		return "see rating tag", ""
	case tooHigh(&p):
		return "in doubt", ""
	}
	s := p.Stamped[0]
	switch pounds, whole := s.Load.Whole(quantity.Pound); {
	case p.System == rating.EN && s.Load >= quantity.Tonne:
		load = s.Load.InTonnes()
	case p.System == rating.US && whole && pounds > 0:
		load = s.Load.InPounds()
	default:
		load = s.Load.InKilograms()
	}
	switch s.Basis {
	case rating.H60, rating.H45, rating.H30:
		return load, "at " + s.Basis.Words()
	default:
		return load, s.Basis.Words()
	}
}
