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
}

// Kind is KindChecked.
func (Checked) Kind() Kind { return KindChecked }

func readChecked(o *strict.Object) Checked { return Checked{Said: readSaid(o), Note: o.Str("note")} }

func (c Checked) write(w *strict.Writer) {
	w.Str("said", string(c.Said))
	w.Str("note", c.Note)
}

// Told is what the rigger said afterwards about a sling that was taken in without
// asking. Anything but Nothing holds the sling, wherever it is by then.
type Told struct {
	From PersonID
	Said Said
	Note string
}

// Kind is KindTold.
func (Told) Kind() Kind { return KindTold }

func readTold(o *strict.Object) Told {
	return Told{From: ReadPerson(o, "from"), Said: readSaid(o), Note: o.Str("note")}
}

func (t Told) write(w *strict.Writer) {
	w.Str("from", t.From.String())
	w.Str("said", string(t.Said))
	w.Str("note", t.Note)
}
