package event

import (
	"cribgate/core/quantity"
	"cribgate/core/strict"
	"cribgate/core/tagcode"
)

// Verdict is a question put to the gate and what it answered, both in the
// words of the machine surface, so that an accident can be read years later.
type Verdict struct {
	Question string // one line of the machine surface; empty where nothing could be asked
	Answer   string // the line that answered it
	Edition  string // of the rules
}

func readVerdict(o *strict.Object) Verdict {
	return Verdict{Question: o.Str("question"), Answer: o.Str("answer"), Edition: o.Str("edition")}
}

func (v Verdict) write(w *strict.Writer) {
	w.Str("question", v.Question)
	w.Str("answer", v.Answer)
	w.Str("edition", v.Edition)
}

// Issued says that the sling went out.
type Issued struct {
	Rigger   PersonID
	ReturnBy quantity.Date // zero where none was stated
	Serial   tagcode.Serial
	Typed    string // characters of the plate, where they were asked
	Marked   string // why the keeper is to see it; empty for most
	Verdict  Verdict
	Line     Line // of a loan; with any: schema 2, with a span 4
	Use      Use  // with any: schema 3
}

func (i Issued) schema() int {
	switch {
	case i.Line.Span != 0 || i.Line.Headroom != 0:
		return 4
	case i.Use != Use{}:
		return 3
	case i.Line != Line{}:
		return 2
	}
	return 1
}

// Kind is KindIssued.
func (Issued) Kind() Kind { return KindIssued }

func readIssued(o *strict.Object) Issued {
	return Issued{
		Rigger: ReadPerson(o, "rigger"), ReturnBy: ReadDate(o, "return_by"), Serial: readSerial(o),
		Typed: o.Str("typed"), Marked: o.Str("marked"), Verdict: readVerdict(o),
		Line: ReadLine(o.OptObj("line")), Use: ReadUse(o.OptObj("use")),
	}
}

func (i Issued) write(w *strict.Writer) {
	w.Str("rigger", i.Rigger.String())
	w.Str("return_by", i.ReturnBy.String())
	w.Int("serial", int64(i.Serial))
	w.Str("typed", i.Typed)
	w.Str("marked", i.Marked)
	i.Verdict.write(w)
	i.Line.Write(w)
	i.Use.Write(w)
}

// Refused says that the sling was asked for and stays. It changes nothing.
type Refused struct {
	Rigger  PersonID // zero where none was named
	Reasons []string // codes of the closed lists, in the order in which they were told
	Verdict Verdict
}

// Kind is KindRefused.
func (Refused) Kind() Kind { return KindRefused }

func readRefused(o *strict.Object) Refused {
	r := Refused{Rigger: ReadPerson(o, "rigger")}
	r.Reasons = o.Strs("reasons")
	r.Verdict = readVerdict(o)
	return r
}

func (r Refused) write(w *strict.Writer) {
	w.Str("rigger", r.Rigger.String())
	w.Strs("reasons", r.Reasons)
	r.Verdict.write(w)
}

// ReadPerson reads a person's id as bodies spell it; zeros are nobody.
func ReadPerson(o *strict.Object, name string) PersonID {
	p, err := ParsePersonID(o.Str(name))
	if err != nil {
		o.Fail(name, "not a person's id")
	}
	return p
}

// Said is what was answered at return to "what happened?".
type Said string

// The answers. Anything but Nothing holds the sling.
const (
	Nothing   Said = "nothing"   // nothing happened
	Something Said = "something" // shock, overload, snag, heat, or it looks wrong
	NotKnown  Said = "not-known" // nobody here can say
)

func readSaid(o *strict.Object) Said {
	said := Said(o.Str("said"))
	if said != Nothing && said != Something && said != NotKnown {
		o.Fail("said", "not nothing, something or not-known")
	}
	return said
}

// Returned says that the sling came back, from whom, and what was said.
type Returned struct {
	From PersonID
	Said Said
	Note string

	// With any of these: schema 2.
	Late    Late // it came back earlier, and paper was kept
	Doubled bool // it lay in the crib while the record had it out: something else may be out under its name

	// With any of these: schema 3.
	Answers []Answered // of the return check, in the order in which they were asked; Said makes light of none
	Owes    bool       // whoever had it was not there, and is still to be asked what happened
	Photo   Photo      // of what was seen
}

func (r Returned) schema() int {
	switch {
	case len(r.Answers) > 0 || r.Owes || r.Photo != (Photo{}):
		return 3
	case r.Late != (Late{}) || r.Doubled:
		return 2
	}
	return 1
}

// Kind is KindReturned.
func (Returned) Kind() Kind { return KindReturned }

func readReturned(o *strict.Object) Returned {
	r := Returned{
		From: ReadPerson(o, "from"), Said: readSaid(o), Note: o.Str("note"),
		Late: readLate(o.OptObj("late")), Doubled: o.OptBool("doubled", false),
	}
	r.Answers = readAnswers(o, r.Said)
	r.Owes, r.Photo = o.OptBool("owes", false), readOptPhoto(o, "photo")
	if r.Owes && r.From.IsZero() {
		o.Fail("owes", "nobody had it")
	}
	return r
}

func (r Returned) write(w *strict.Writer) {
	w.Str("from", r.From.String())
	w.Str("said", string(r.Said))
	w.Str("note", r.Note)
	r.Late.write(w)
	if r.Doubled {
		w.Bool("doubled", true)
	}
	writeAnswers(w, r.Answers)
	if r.Owes {
		w.Bool("owes", true)
	}
	writeOptPhoto(w, "photo", r.Photo)
}
