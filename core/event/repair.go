package event

import "cribgate/core/strict"

// SentOff says that a held sling went to its maker, or a repairer whom the maker
// authorises, to be repaired.
type SentOff struct {
	To  string
	Why string
}

// Kind is KindSentOff.
func (SentOff) Kind() Kind { return KindSentOff }

func readSentOff(o *strict.Object) SentOff { return SentOff{To: o.Str("to"), Why: o.Str("why")} }

func (s SentOff) write(w *strict.Writer) {
	w.Str("to", s.To)
	w.Str("why", s.Why)
}

// CameBack says that the sling came back from repair, with what. It stays held, and
// a thorough inspection and a hand on its new tag come before its next issue.
type CameBack struct {
	From        string
	Certificate string  // of the repairer: number and date, and of the proof test
	Photo       Photo   // of the certificate; zero for none
	Changed     []Piece // put in anew: whatever was known of them when new is no longer so
	Stamp       string  // what is stamped on it now, where it was stamped anew; empty where not
	Note        string
}

// Kind is KindCameBack.
func (CameBack) Kind() Kind { return KindCameBack }

func readCameBack(o *strict.Object) CameBack {
	c := CameBack{From: o.Str("from"), Certificate: o.Str("certificate"), Photo: readPhoto(o, "photo"), Stamp: o.Str("stamp"), Note: o.Str("note")}
	for _, each := range o.Objs("changed") {
		p := readPiece(each)
		if p.whole() {
			each.Fail("what", "names no part")
		}
		c.Changed = append(c.Changed, p)
	}
	return c
}

func (c CameBack) write(w *strict.Writer) {
	w.Str("from", c.From)
	w.Str("certificate", c.Certificate)
	w.Str("photo", c.Photo.String())
	w.Str("stamp", c.Stamp)
	w.Str("note", c.Note)
	writePieces(w, "changed", c.Changed)
}
