package event

import (
	"cribgate/core/due"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/strict"
	"cribgate/core/tagcode"
)

// Details is what is recorded of a sling when it is registered or corrected:
// what is stamped on it, where it hangs, and its last thorough inspection.
type Details struct {
	Ident   string     // the owner's identification, as on the plate
	Sling   gate.Sling // plate, rating tag, heat, state (in or held), dates
	Maker   string     // as stamped; empty where it is not
	Place   string     // rack place
	Outcome tagcode.Outcome
	Service due.Service
	Months  int // interval set by site policy or a qualified person; 0 for the rule's own
	Note    string

	ChartSource string // of Sling.Chart: which maker's chart, which edition; empty where there is none

	Fittings Fittings // with any: schema 2
	Made     Made     // with any: schema 3
}

func (d Details) schema() int {
	switch {
	case d.Made != "":
		return 3
	case d.Fittings != Fittings{}:
		return 2
	}
	return 1
}

// Made says when a sling was made, as far as it is known: a year, or a year and a
// month, 2019 or 2019-04. A report of thorough examination names it where it is known
// (LOLER 1998 schedule 1 item 3). The zero value is not known.
type Made string

// ParseMade reads a year or a month; known is false for any other text but an empty
// one.
func ParseMade(text string) (m Made, known bool) {
	full := text
	if len(text) == len("2019") {
		full += "-01"
	}
	if _, err := quantity.ParseDate(full + "-01"); err != nil && text != "" {
		return "", false
	}
	return Made(text), true
}

func readMade(o *strict.Object) Made {
	if !o.Has("made") {
		return ""
	}
	m, known := ParseMade(o.Str("made"))
	if !known {
		o.Fail("made", "not a year or a month")
	}
	return m
}

// ReadDetails reads what a Registered body is made of. o may hold other names
// for its caller, who also calls o.Done.
func ReadDetails(o *strict.Object) Details {
	d := Details{Ident: o.Str("ident"), Maker: o.Str("maker"), Place: o.Str("place")}
	if tagcode.CheckIdent(d.Ident) != nil {
		o.Fail("ident", "not an identification")
	}
	d.Sling = gate.ReadSling(o.Obj("sling"))
	d.Outcome = readOutcome(o)
	d.Service = readService(o)
	d.Months = int(o.Int("months", 0, 12))
	d.Note = o.Str("note")
	d.ChartSource = o.Str("chart_source")
	d.Fittings = readFittings(o.OptObj("fittings"))
	d.Made = readMade(o)
	return d
}

func (d Details) write(w *strict.Writer) {
	w.Str("ident", d.Ident)
	w.Str("maker", d.Maker)
	w.Str("place", d.Place)
	d.Sling.Write(w, "sling")
	w.Str("outcome", d.Outcome.String())
	w.Str("service", d.Service.String())
	w.Int("months", int64(d.Months))
	w.Str("note", d.Note)
	w.Str("chart_source", d.ChartSource)
	d.Fittings.write(w)
	if d.Made != "" {
		w.Str("made", string(d.Made))
	}
}

func readService(o *strict.Object) due.Service {
	s, known := due.ParseService(o.Str("service"))
	if !known {
		o.Fail("service", "not normal, severe or special")
	}
	return s
}

func readOutcome(o *strict.Object) tagcode.Outcome {
	outcome, err := tagcode.ParseOutcome(o.Str("outcome"))
	if err != nil {
		o.Fail("outcome", "not none, fit, hold or out")
	}
	return outcome
}

func readRegistered(o *strict.Object) Registered {
	d := ReadDetails(o)
	if st := d.Sling.State; st != gate.StateIn && st != gate.StateHeld {
		o.Fail("sling", "registered neither in nor held")
	}
	return Registered{Details: d}
}

// Registered enters a sling, in or held.
type Registered struct{ Details Details }

// Kind is KindRegistered.
func (Registered) Kind() Kind { return KindRegistered }

func (r Registered) schema() int { return r.Details.schema() }

func (r Registered) write(w *strict.Writer) { r.Details.write(w) }

// Corrected replaces what was registered, with the reason. The identification
// cannot be corrected: another identification is another sling.
type Corrected struct {
	Details Details
	Reason  string

	// Restamped says that the details have what was stamped on the sling anew when it
	// was repaired. With it: schema 4.
	Restamped bool
}

// Kind is KindCorrected.
func (Corrected) Kind() Kind { return KindCorrected }

func (c Corrected) schema() int {
	if c.Restamped {
		return 4
	}
	return c.Details.schema()
}

func readCorrected(o *strict.Object) Corrected {
	return Corrected{Details: ReadDetails(o.Obj("details")), Reason: o.Str("reason"), Restamped: o.OptBool("restamped", false)}
}

func (c Corrected) write(w *strict.Writer) {
	w.Obj("details")
	c.Details.write(w)
	w.End()
	w.Str("reason", c.Reason)
	if c.Restamped {
		w.Bool("restamped", true)
	}
}

// Held keeps the sling in until an inspector releases it.
type Held struct{ Reason string }

// Kind is KindHeld.
func (Held) Kind() Kind { return KindHeld }

func (h Held) write(w *strict.Writer) { w.Str("reason", h.Reason) }

// Released ends a hold.
type Released struct{ Reason string }

// Kind is KindReleased.
func (Released) Kind() Kind { return KindReleased }

func (r Released) write(w *strict.Writer) { w.Str("reason", r.Reason) }

// Inspected records a thorough inspection and what follows from it.
type Inspected struct {
	Date      quantity.Date
	Outcome   tagcode.Outcome // fit, hold or out
	Service   due.Service
	Months    int // 0 for the rule's own
	Due       quantity.Date
	RatingTag gate.RatingTag
	Note      string
	Sheet     *Sheet // what it rests on; nil where only the result was written down: schema 1
}

// Kind is KindInspected.
func (Inspected) Kind() Kind { return KindInspected }

func (i Inspected) schema() int {
	switch {
	case i.Sheet == nil:
		return 1
	case len(i.Sheet.Failed) > 0:
		return 3
	}
	return 2
}

func readInspected(o *strict.Object) Inspected {
	i := Inspected{Date: ReadDate(o, "date"), Outcome: readOutcome(o), Service: readService(o)}
	i.Months = int(o.Int("months", 0, 12))
	i.Due = ReadDate(o, "due")
	var err error
	if i.RatingTag, err = gate.ParseRatingTag(o.Str("rating_tag")); err != nil {
		o.Fail("rating_tag", "not legible, partial, illegible or missing")
	}
	i.Note = o.Str("note")
	if sheet := o.OptObj("sheet"); sheet != nil {
		i.Sheet = readSheet(sheet)
	}
	return i
}

func (i Inspected) write(w *strict.Writer) {
	w.Str("date", i.Date.String())
	w.Str("outcome", i.Outcome.String())
	w.Str("service", i.Service.String())
	w.Int("months", int64(i.Months))
	w.Str("due", i.Due.String())
	w.Str("rating_tag", i.RatingTag.String())
	w.Str("note", i.Note)
	if i.Sheet != nil {
		i.Sheet.write(w)
	}
}

// ReadDate reads a date as bodies spell it, an empty text for none.
func ReadDate(o *strict.Object, name string) quantity.Date {
	text := o.Str(name)
	if text == "" {
		return quantity.Date{}
	}
	d, err := quantity.ParseDate(text)
	if err != nil {
		o.Fail(name, "not a date")
	}
	return d
}

// Retired takes the sling out of service for good: why, and how it was made
// unusable.
type Retired struct {
	Reason, How string

	// With any of these: schema 2.
	Witness string // who saw it made unusable
	Salvage string // what was kept of it, for the repair shop to decide
	Photo   Photo  // of what was left
}

// Kind is KindRetired.
func (Retired) Kind() Kind { return KindRetired }

func (r Retired) schema() int {
	if r.Witness == "" && r.Salvage == "" && r.Photo == (Photo{}) {
		return 1
	}
	return 2
}

func readRetired(o *strict.Object) Retired {
	r := Retired{Reason: o.Str("reason"), How: o.Str("how"), Witness: o.OptStr("witness", ""), Salvage: o.OptStr("salvage", "")}
	if o.Has("photo") {
		r.Photo = readPhoto(o, "photo")
	}
	return r
}

func (r Retired) write(w *strict.Writer) {
	w.Str("reason", r.Reason)
	w.Str("how", r.How)
	if r.schema() == 2 {
		w.Str("witness", r.Witness)
		w.Str("salvage", r.Salvage)
		w.Str("photo", r.Photo.String())
	}
}

// Lost says that nobody knows where the sling is.
type Lost struct{ Note string }

// Kind is KindLost.
func (Lost) Kind() Kind { return KindLost }

func (l Lost) write(w *strict.Writer) { w.Str("note", l.Note) }

// Found says that a lost sling turned up; it is held until looked at.
type Found struct{ Note string }

// Kind is KindFound.
func (Found) Kind() Kind { return KindFound }

func (f Found) write(w *strict.Writer) { w.Str("note", f.Note) }
