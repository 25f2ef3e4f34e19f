package event

import (
	"cribgate/core/removal"
	"cribgate/core/strict"
)

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

// A Changed names parts that were put in anew: the chain of a leg, its hook, or
// another part. Whatever was known of them when new is no longer so.
type Changed struct {
	Chain bool         // of leg Leg
	Hook  bool         // of leg Leg
	What  removal.What // any other part; of leg Leg, or shared where that is 0
	Leg   int          // 0 to 4
}

// Covers reports whether a figure is of what was changed.
func (c Changed) Covers(f FigureOf) bool {
	if c.Leg == 0 && f.Dimension == Reach {
		return true // what all legs share is part of the reach of each
	}
	if f.Leg != c.Leg {
		return false
	}
	switch f.Dimension {
	case RunLength, LinkCount:
		return c.Chain
	case Reach:
		return c.Chain || c.Hook || c.What != 0
	case Throat, Section:
		return c.Hook
	}
	return c.What != 0 && f.What == c.What
}

// CameBack says that the sling came back from repair, with what. It stays held, and
// a thorough inspection and a hand on its new tag come before its next issue.
type CameBack struct {
	From        string
	Certificate string // of the repairer: number and date, and of the proof test
	Photo       Photo  // of the certificate; zero for none
	Changed     []Changed
	Stamp       string // what is stamped on it now, where it was stamped anew; empty where not
	Note        string
}

// Kind is KindCameBack.
func (CameBack) Kind() Kind { return KindCameBack }

func readCameBack(o *strict.Object) CameBack {
	c := CameBack{From: o.Str("from"), Certificate: o.Str("certificate"), Photo: readPhoto(o, "photo"), Stamp: o.Str("stamp"), Note: o.Str("note")}
	for _, each := range o.Objs("changed") {
		part := Changed{Chain: each.Bool("chain"), Hook: each.Bool("hook"), Leg: int(each.Int("leg", 0, 4))}
		if word := each.Str("what"); word != "" {
			var known bool
			if part.What, known = removal.ParseWhat(word); !known {
				each.Fail("what", "not a part")
			}
		}
		if !part.Chain && !part.Hook && part.What == 0 || (part.Chain || part.Hook) && part.Leg == 0 {
			each.Fail("what", "names no part")
		}
		c.Changed = append(c.Changed, part)
	}
	return c
}

func (c CameBack) write(w *strict.Writer) {
	w.Str("from", c.From)
	w.Str("certificate", c.Certificate)
	w.Str("photo", c.Photo.String())
	w.Str("stamp", c.Stamp)
	w.Str("note", c.Note)
	w.List("changed")
	for _, part := range c.Changed {
		w.Begin()
		w.Bool("chain", part.Chain)
		w.Bool("hook", part.Hook)
		w.Str("what", part.What.String())
		w.Int("leg", int64(part.Leg))
		w.End()
	}
	w.End()
}
