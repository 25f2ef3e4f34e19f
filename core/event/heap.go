package event

import "cribgate/core/strict"

// TakenIn says that the sling came back and nobody has looked at it yet: it is off
// its rigger's name and cannot go out.
type TakenIn struct {
	From PersonID // who had it; zero: the record had it with nobody
}

// Kind is KindTakenIn.
func (TakenIn) Kind() Kind { return KindTakenIn }

func readTakenIn(o *strict.Object) TakenIn { return TakenIn{From: ReadPerson(o, "from")} }

func (t TakenIn) write(w *strict.Writer) { w.Str("from", t.From.String()) }

// Checked is the return check of a sling that was taken in without one. Anything
// but Nothing holds the sling.
type Checked struct {
	Said Said
	Note string

	// With any of these: schema 2.
	Answers []Answered // in the order in which they were asked; Said makes light of none
	Photo   Photo      // of what was seen
}

func (c Checked) schema() int {
	if len(c.Answers) == 0 && c.Photo == (Photo{}) {
		return 1
	}
	return 2
}

// Kind is KindChecked.
func (Checked) Kind() Kind { return KindChecked }

func readChecked(o *strict.Object) Checked {
	c := Checked{Said: readSaid(o), Note: o.Str("note")}
	c.Answers, c.Photo = readAnswers(o, c.Said), readOptPhoto(o, "photo")
	return c
}

func (c Checked) write(w *strict.Writer) {
	w.Str("said", string(c.Said))
	w.Str("note", c.Note)
	writeAnswers(w, c.Answers)
	writeOptPhoto(w, "photo", c.Photo)
}

// Told is what the rigger said afterwards about a sling that was taken in without
// asking. Anything but Nothing holds the sling, wherever it is by then.
type Told struct {
	From PersonID
	Said Said
	Note string

	Answers []Answered // in the order in which they were asked; Said makes light of none; with any: schema 2
}

func (t Told) schema() int {
	if len(t.Answers) == 0 {
		return 1
	}
	return 2
}

// Kind is KindTold.
func (Told) Kind() Kind { return KindTold }

func readTold(o *strict.Object) Told {
	t := Told{From: ReadPerson(o, "from"), Said: readSaid(o), Note: o.Str("note")}
	t.Answers = readAnswers(o, t.Said)
	return t
}

func (t Told) write(w *strict.Writer) {
	w.Str("from", t.From.String())
	w.Str("said", string(t.Said))
	w.Str("note", t.Note)
	writeAnswers(w, t.Answers)
}
