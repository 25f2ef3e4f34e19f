package event

import (
	"encoding/hex"
	"slices"
	"strings"

	"cribgate/core/strict"
	"cribgate/core/tagcode"
)

// TagPrinted records a QR tag that left the printer: what was printed, so that
// the register can accept its own tags by equality and draw the symbol again.
type TagPrinted struct {
	Serial  tagcode.Serial
	Key     tagcode.Fingerprint
	Digest  [32]byte // SHA-256 of the tag's text
	Version int      // of the symbol, 1 to 40
	Level   string   // of its error correction: L, M, Q or H
	Mask    int      // 0 to 7
	Stock   string   // name of the tag stock
}

// Kind is KindTagPrinted.
func (TagPrinted) Kind() Kind { return KindTagPrinted }

// ReadTagPrinted reads a TagPrinted body. o may hold other names for its caller,
// who also calls o.Done.
func ReadTagPrinted(o *strict.Object) TagPrinted {
	t := TagPrinted{Serial: readSerial(o), Key: readFingerprint(o, "key"), Digest: readDigest(o)}
	t.Version = int(o.Int("version", 1, 40))
	if t.Level = o.Str("level"); len(t.Level) != 1 || !strings.Contains("LMQH", t.Level) {
		o.Fail("level", "not L, M, Q or H")
	}
	t.Mask = int(o.Int("mask", 0, 7))
	t.Stock = o.Str("stock")
	return t
}

func (t TagPrinted) write(w *strict.Writer) {
	w.Int("serial", int64(t.Serial))
	w.Str("key", t.Key.String())
	w.Str("digest", hex.EncodeToString(t.Digest[:]))
	w.Int("version", int64(t.Version))
	w.Str("level", t.Level)
	w.Int("mask", int64(t.Mask))
	w.Str("stock", t.Stock)
}

func readSerial(o *strict.Object) tagcode.Serial {
	return tagcode.Serial(o.Int("serial", 1, int64(tagcode.MaxSerial)))
}

// TagConfirmed makes a printed tag the live one: it was scanned on the sling
// and the last characters of the plate's own identification were typed.
type TagConfirmed struct {
	Serial tagcode.Serial
	Typed  string
	Graded *Graded // the print, off a picture; nil where it was not graded: schema 1
}

// Kind is KindTagConfirmed.
func (TagConfirmed) Kind() Kind { return KindTagConfirmed }

func (t TagConfirmed) schema() int {
	if t.Graded == nil {
		return 1
	}
	return 2
}

func readTagConfirmed(o *strict.Object) TagConfirmed {
	return TagConfirmed{Serial: readSerial(o), Typed: o.Str("typed")}
}

func readTagGraded(o *strict.Object) TagConfirmed {
	t := readTagConfirmed(o)
	g := readGraded(o.Obj("graded"))
	t.Graded = &g
	return t
}

func (t TagConfirmed) write(w *strict.Writer) {
	w.Int("serial", int64(t.Serial))
	w.Str("typed", t.Typed)
	if t.Graded != nil {
		t.Graded.write(w, "graded")
	}
}

// Graded is what a picture of a print came to by the parameters of
// ISO/IEC 15415 that a picture can give.
type Graded struct {
	Letter string // of the whole: A, B, C, D or F
	Parts  []GradedPart
}

// A GradedPart is one parameter of a print.
type GradedPart struct {
	What     string // its name
	Letter   string // A, B, C, D or F; empty where it is measured and not graded
	Measured string // what was measured, with its unit, as it was shown
}

// letters are the grades of ISO/IEC 15415, the best first; there is no E.
var letters = []string{"A", "B", "C", "D", "F"}

// Under reports whether the grade is worse than least. A letter that is none is
// worse than every grade.
func (g Graded) Under(least string) bool {
	at := slices.Index(letters, g.Letter)
	return at < 0 || at > slices.Index(letters, least)
}

func readLetter(o *strict.Object) string {
	letter := o.Str("letter")
	if !slices.Contains(letters, letter) {
		o.Fail("letter", "not A, B, C, D or F")
	}
	return letter
}

func readGraded(o *strict.Object) Graded {
	g := Graded{Letter: readLetter(o)}
	for _, p := range o.Objs("parts") {
		part := GradedPart{What: p.Str("what"), Measured: p.Str("measured")}
		if p.Str("letter") != "" {
			part.Letter = readLetter(p)
		}
		g.Parts = append(g.Parts, part)
	}
	return g
}

func (g Graded) write(w *strict.Writer, name string) {
	w.Obj(name)
	w.Str("letter", g.Letter)
	w.List("parts")
	for _, p := range g.Parts {
		w.Begin()
		w.Str("what", p.What)
		w.Str("letter", p.Letter)
		w.Str("measured", p.Measured)
		w.End()
	}
	w.End()
	w.End()
}

// Spoilt says why a printed tag will never hang on a sling.
type Spoilt string

// The reasons; the words beside them say more.
const (
	SpoiltPrint   Spoilt = "print"   // the print came out badly
	SpoiltPrinter Spoilt = "printer" // the printer stopped, so that there is none or half of it
	SpoiltBlank   Spoilt = "blank"   // the blank is damaged, or the wrong one
	SpoiltGrade   Spoilt = "grade"   // a picture of it was graded too low
	SpoiltLost    Spoilt = "lost"    // nobody knows where it is
	SpoiltOther   Spoilt = "other"   // the words say what
)

var spoilt = []Spoilt{SpoiltPrint, SpoiltPrinter, SpoiltBlank, SpoiltGrade, SpoiltLost, SpoiltOther}

// ParseSpoilt reads a reason; known is false for any other word.
func ParseSpoilt(word string) (why Spoilt, known bool) {
	return Spoilt(word), slices.Contains(spoilt, Spoilt(word))
}

// ReadSpoilt reads a reason in a body.
func ReadSpoilt(o *strict.Object, name string) Spoilt {
	why, known := ParseSpoilt(o.Str(name))
	if !known {
		o.Fail(name, "not print, printer, blank, grade, lost or other")
	}
	return why
}

// TagSpoiled throws a printed tag away that is not on a sling: it will never be
// confirmed, and what shows it is not to be trusted.
type TagSpoiled struct {
	Serial tagcode.Serial
	Why    Spoilt
	Note   string
}

// Kind is KindTagSpoiled.
func (TagSpoiled) Kind() Kind { return KindTagSpoiled }

func readTagSpoiled(o *strict.Object) TagSpoiled {
	return TagSpoiled{Serial: readSerial(o), Why: ReadSpoilt(o, "why"), Note: o.Str("note")}
}

func (t TagSpoiled) write(w *strict.Writer) {
	w.Int("serial", int64(t.Serial))
	w.Str("why", string(t.Why))
	w.Str("note", t.Note)
}
