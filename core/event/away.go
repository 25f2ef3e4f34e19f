package event

import (
	"cribgate/core/quantity"
	"cribgate/core/strict"
)

// Taken says that a sling is out that nobody issued here: written on the pad while
// the program could not be asked, or simply taken. Whether it may have gone is
// judged when that is entered, for the keeper to read; it is out either way.
type Taken struct {
	Rigger   PersonID // zero: nobody knows who
	ReturnBy quantity.Date
	Late     Late
	Note     string
	Verdict  Verdict // of the day on which it was entered; empty where no lift is known
}

// Kind is KindTaken.
func (Taken) Kind() Kind { return KindTaken }

func readTaken(o *strict.Object) Taken {
	return Taken{
		Rigger: ReadPerson(o, "rigger"), ReturnBy: ReadDate(o, "return_by"), Late: readLate(o.OptObj("late")),
		Note: o.Str("note"), Verdict: readVerdict(o),
	}
}

func (t Taken) write(w *strict.Writer) {
	w.Str("rigger", t.Rigger.String())
	w.Str("return_by", t.ReturnBy.String())
	t.Late.write(w)
	w.Str("note", t.Note)
	t.Verdict.write(w)
}

// HandedOn says that a sling that is out went from its rigger to another, for the
// same use.
type HandedOn struct {
	From, To PersonID
	Note     string
}

// Kind is KindHandedOn.
func (HandedOn) Kind() Kind { return KindHandedOn }

func readHandedOn(o *strict.Object) HandedOn {
	return HandedOn{From: ReadPerson(o, "from"), To: ReadPerson(o, "to"), Note: o.Str("note")}
}

func (h HandedOn) write(w *strict.Writer) {
	w.Str("from", h.From.String())
	w.Str("to", h.To.String())
	w.Str("note", h.Note)
}

// Placed says at which machine, or in which area, a sling that is out is kept.
type Placed struct {
	Area string // empty: it is kept nowhere in particular any more
	Note string
}

// Kind is KindPlaced.
func (Placed) Kind() Kind { return KindPlaced }

func readPlaced(o *strict.Object) Placed { return Placed{Area: o.Str("area"), Note: o.Str("note")} }

func (p Placed) write(w *strict.Writer) {
	w.Str("area", p.Area)
	w.Str("note", p.Note)
}

// Recalled asks for a sling that is out to be brought back.
type Recalled struct {
	Reason string
	By     quantity.Date // zero: at once
}

// Kind is KindRecalled.
func (Recalled) Kind() Kind { return KindRecalled }

func readRecalled(o *strict.Object) Recalled {
	return Recalled{Reason: o.Str("reason"), By: ReadDate(o, "by")}
}

func (r Recalled) write(w *strict.Writer) {
	w.Str("reason", r.Reason)
	w.Str("by", r.By.String())
}
