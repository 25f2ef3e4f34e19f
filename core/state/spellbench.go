package state

import (
	"cribgate/core/event"
)

// bench writes what only slings have that an inspector knows more of.
func (w writer) bench(s Sling) {
	if s.Impound != (Impound{}) {
		w.Obj("impound")
		w.body("as", s.Impound.Impounded)
		w.Str("by", s.Impound.By.String())
		w.time("since", s.Impound.Since)
		w.End()
	}
	if len(s.New) > 0 {
		w.List("new")
		for _, n := range s.New {
			w.Begin()
			n.Figure.Write(w.Writer)
			w.Str("by", n.By.String())
			w.Str("day", n.Day.String())
			w.End()
		}
		w.End()
	}
	if s.Repair != (Repair{}) {
		w.Obj("repair")
		w.Str("to", s.Repair.To)
		w.Str("why", s.Repair.Why)
		w.Str("day", s.Repair.Day.String())
		w.End()
	}
	if len(s.Defects) > 0 {
		w.List("defects")
		for _, d := range s.Defects {
			w.Begin()
			w.Int("no", int64(d.No))
			w.Str("what", d.What)
			w.Str("remedy_by", d.By.String())
			w.Str("visit", d.Visit.String())
			w.Str("day", d.Day.String())
			w.End()
		}
		w.End()
	}
	if s.LastDefect != 0 {
		w.Int("last_defect", int64(s.LastDefect))
	}
	if len(s.Wear) > 0 {
		w.List("wear")
		for _, p := range s.Wear {
			w.Begin()
			w.Str("day", p.Day.String())
			w.Int("used", int64(p.Used))
			w.End()
		}
		w.End()
	}
	event.WritePieces(w.Writer, "failed", s.Failed)
	if !s.Word.none() {
		w.Obj("word")
		w.Str("visit", s.Word.Visit.String())
		w.Str("inspected", s.Word.Inspected.String())
		w.Str("due", s.Word.Due.String())
		event.WritePieces(w.Writer, "failed", s.Word.Failed)
		w.End()
	}
	if s.Mended != (Mended{}) {
		w.Obj("mended")
		w.Str("day", s.Mended.Day.String())
		w.Str("stamp", s.Mended.Stamp)
		w.End()
	}
}

func (r *reader) bench(s *Sling) {
	if o := r.object("impound"); o != nil {
		s.Impound = Impound{Impounded: event.ReadImpounded(o.Obj("as")), By: o.person("by"), Since: o.time("since")}
	}
	for _, each := range r.OptObjs("new") {
		o := &reader{each}
		s.New = append(s.New, NewFigure{Figure: event.ReadFigure(each), By: o.person("by"), Day: o.date("day")})
	}
	if o := r.object("repair"); o != nil {
		s.Repair = Repair{To: o.Str("to"), Why: o.Str("why"), Day: o.date("day")}
	}
	for _, each := range r.OptObjs("defects") {
		o := &reader{each}
		s.Defects = append(s.Defects, OpenDefect{
			No: int(o.Int("no", 1, 1<<31)), Defect: event.Defect{What: o.Str("what"), By: o.date("remedy_by")},
			Visit: event.ReadVisit(each, "visit"), Day: o.date("day"),
		})
	}
	s.LastDefect = int(r.OptInt("last_defect", 0, 1<<31, 0))
	for _, each := range r.OptObjs("wear") {
		o := &reader{each}
		s.Wear = append(s.Wear, Worn{Day: o.date("day"), Used: int(o.Int("used", 0, 1_000_000))})
	}
	s.Failed = event.ReadPieces(r.Object, "failed")
	if o := r.object("word"); o != nil {
		s.Word = Word{Visit: event.ReadVisit(o.Object, "visit"), Inspected: o.date("inspected"), Due: o.date("due"), Failed: event.ReadPieces(o.Object, "failed")}
	}
	if o := r.object("mended"); o != nil {
		s.Mended = Mended{Day: o.date("day"), Stamp: o.Str("stamp")}
	}
}
