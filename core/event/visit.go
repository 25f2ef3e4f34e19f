package event

import (
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/strict"
)

// VisitID names one visit of an examiner from outside. The zero value names none.
type VisitID [16]byte

// ParseVisitID reads 32 lower-case hex digits.
func ParseVisitID(text string) (VisitID, error) {
	b, err := parse16(text)
	return VisitID(b), err
}

// String gives 32 lower-case hex digits.
func (v VisitID) String() string { return PersonID(v).String() }

// IsZero reports whether v names no visit.
func (v VisitID) IsZero() bool { return v == VisitID{} }

// ReadVisit reads a visit's id as bodies spell it; zeros are none.
func ReadVisit(o *strict.Object, name string) VisitID {
	v, err := ParseVisitID(o.Str(name))
	if err != nil {
		o.Fail(name, "not a visit's id")
	}
	return v
}

// VisitBegun says that an examiner from outside is here, and which slings are to be
// presented: those in use that are due before a day, at some rack places.
type VisitBegun struct {
	Visit         VisitID
	Examiner      string
	Firm          string
	Qualification string
	DueBefore     quantity.Date // zero: whatever is in use
	Places        []string      // begin the rack places; none: all
}

// Kind is KindVisitBegun.
func (VisitBegun) Kind() Kind { return KindVisitBegun }

// ReadVisitBegun reads a VisitBegun body. o may hold other names for its caller, who
// also calls o.Done.
func ReadVisitBegun(o *strict.Object) VisitBegun {
	return VisitBegun{
		Visit: ReadVisit(o, "visit"), Examiner: o.Str("examiner"), Firm: o.Str("firm"), Qualification: o.Str("qualification"),
		DueBefore: ReadDate(o, "due_before"), Places: o.Strs("places"),
	}
}

func (v VisitBegun) write(w *strict.Writer) {
	w.Str("visit", v.Visit.String())
	w.Str("examiner", v.Examiner)
	w.Str("firm", v.Firm)
	w.Str("qualification", v.Qualification)
	w.Str("due_before", v.DueBefore.String())
	w.Strs("places", v.Places)
}

// A Defect is what an examiner found wrong.
type Defect struct {
	What string
	By   quantity.Date // by when it is to be remedied: it becomes dangerous then; zero: it is dangerous now
}

// Examined is what an examiner from outside said of one sling.
type Examined struct {
	Visit     VisitID
	Date      quantity.Date
	Due       quantity.Date // when it is next due by the examiner's report, never later than the crib's rules; zero with a Defect that is dangerous now
	RatingTag gate.RatingTag
	Defects   []Defect // none: passed
	Note      string
}

// Kind is KindExamined.
func (Examined) Kind() Kind { return KindExamined }

// Dangerous reports whether one of the defects is dangerous now.
func (e Examined) Dangerous() bool {
	for _, d := range e.Defects {
		if d.By.IsZero() {
			return true
		}
	}
	return false
}

func readExamined(o *strict.Object) Examined {
	e := Examined{Visit: ReadVisit(o, "visit"), Date: ReadDate(o, "date"), Due: ReadDate(o, "due"), Note: o.Str("note")}
	var err error
	if e.RatingTag, err = gate.ParseRatingTag(o.Str("rating_tag")); err != nil {
		o.Fail("rating_tag", "not legible, partial, illegible or missing")
	}
	for _, each := range o.Objs("defects") {
		e.Defects = append(e.Defects, Defect{What: each.Str("what"), By: ReadDate(each, "by")})
	}
	return e
}

func (e Examined) write(w *strict.Writer) {
	w.Str("visit", e.Visit.String())
	w.Str("date", e.Date.String())
	w.Str("due", e.Due.String())
	w.Str("rating_tag", e.RatingTag.String())
	w.List("defects")
	for _, d := range e.Defects {
		w.Begin()
		w.Str("what", d.What)
		w.Str("by", d.By.String())
		w.End()
	}
	w.End()
	w.Str("note", e.Note)
}

// Remedied says that a defect of an examiner's is no more.
type Remedied struct {
	No  int // of the defect, as the sling's story counts them, from 1
	How string
}

// Kind is KindRemedied.
func (Remedied) Kind() Kind { return KindRemedied }

func readRemedied(o *strict.Object) Remedied {
	return Remedied{No: int(o.Int("no", 1, 1<<31)), How: o.Str("how")}
}

func (r Remedied) write(w *strict.Writer) {
	w.Int("no", int64(r.No))
	w.Str("how", r.How)
}

// VisitEnded says what a visit came to. Which slings they were, their own stories
// say.
type VisitEnded struct {
	Visit        VisitID
	Report       string  // number of the examiner's report
	Pages        []Photo // of that report
	Passed       int     // slings
	Defect       int
	NotPresented int
	Note         string
}

// Kind is KindVisitEnded.
func (VisitEnded) Kind() Kind { return KindVisitEnded }

func readVisitEnded(o *strict.Object) VisitEnded {
	const most = 1 << 31
	v := VisitEnded{
		Visit: ReadVisit(o, "visit"), Report: o.Str("report"), Note: o.Str("note"),
		Passed: int(o.Int("passed", 0, most)), Defect: int(o.Int("defect", 0, most)), NotPresented: int(o.Int("not_presented", 0, most)),
	}
	v.Pages = readPhotos(o, "pages")
	return v
}

func (v VisitEnded) write(w *strict.Writer) {
	w.Str("visit", v.Visit.String())
	w.Str("report", v.Report)
	writePhotos(w, "pages", v.Pages)
	w.Int("passed", int64(v.Passed))
	w.Int("defect", int64(v.Defect))
	w.Int("not_presented", int64(v.NotPresented))
	w.Str("note", v.Note)
}
