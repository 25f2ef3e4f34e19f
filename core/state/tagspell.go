package state

import (
	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
)

var tagStatusWords = []string{TagPrinted: "printed", TagLive: "live", TagReplaced: "replaced", TagSpoiled: "spoiled"}

func (w writer) tag(t Tag) {
	w.Begin()
	w.body("printed", event.TagPrinted{
		Serial: t.Serial, Key: t.Key, Digest: t.Digest, Version: t.Version, Level: t.Level, Mask: t.Mask, Stock: t.Stock,
	})
	w.Str("day", t.Printed.String())
	w.Str("by", t.By.String())
	if t.Says != (Says{}) {
		w.says(t.Says)
	}
	w.Str("status", tagStatusWords[t.Status])
	w.Str("graded", t.Graded)
	if t.Spoiled != (Spoiled{}) {
		w.Obj("spoiled")
		w.Str("why", string(t.Spoiled.Why))
		w.Str("note", t.Spoiled.Note)
		w.Str("by", t.Spoiled.By.String())
		w.Str("day", t.Spoiled.Day.String())
		w.End()
	}
	if t.Wear != (Wear{}) {
		w.reading("first_read", t.Wear.First)
		w.reading("last_read", t.Wear.Last)
	}
	w.End()
}

func (w writer) reading(name string, r Reading) {
	w.Obj(name)
	w.Str("day", r.Day.String())
	w.Int("left_pct", int64(r.Left))
	w.Bool("resembled", r.Resembled)
	w.End()
}

func (r *reader) reading(name string) (was Reading) {
	if o := r.object(name); o != nil {
		was = Reading{Day: o.date("day"), Left: int(o.Int("left_pct", 0, 100)), Resembled: o.Bool("resembled")}
	}
	return was
}

func (w writer) says(t Says) {
	w.Obj("says")
	w.Str("inspected", t.Inspected.String())
	w.Str("due", t.Due.String())
	w.Str("outcome", t.Outcome.String())
	w.Bool("en", t.Facts.EN)
	w.Int("grade", int64(t.Facts.Grade))
	w.Int("size", int64(t.Facts.Size))
	w.Int("legs", int64(t.Facts.Legs))
	w.Bool("adjustable", t.Facts.Adjustable)
	w.Int("reach_mm", int64(t.Facts.Reach/quantity.Millimetre))
	w.Int("basis", int64(t.Facts.Basis))
	w.Bool("kilograms", t.Facts.Kilograms)
	w.Int("load", int64(t.Facts.Load))
	w.Bool("more", t.Facts.More)
	w.End()
}

func (r *reader) tag() Tag {
	b := event.ReadTagPrinted(r.Obj("printed"))
	t := Tag{
		Serial: b.Serial, Key: b.Key, Digest: b.Digest, Version: b.Version, Level: b.Level, Mask: b.Mask, Stock: b.Stock,
		Printed: r.date("day"), By: r.person("by"),
	}
	if s := r.object("says"); s != nil {
		t.Says = s.says()
	}
	word := r.Str("status")
	for status, w := range tagStatusWords {
		if w == word && w != "" {
			t.Status = TagStatus(status)
		}
	}
	if t.Status == 0 {
		r.Fail("status", "not printed, live, replaced or spoiled")
	}
	t.Graded = r.Str("graded")
	if s := r.object("spoiled"); s != nil {
		t.Spoiled = Spoiled{Why: event.ReadSpoilt(s.Object, "why"), Note: s.Str("note"), By: s.person("by"), Day: s.date("day")}
	}
	t.Wear = Wear{First: r.reading("first_read"), Last: r.reading("last_read")}
	return t
}

func (r *reader) says() Says {
	t := Says{Inspected: r.date("inspected"), Due: r.date("due")}
	var err error
	if t.Outcome, err = tagcode.ParseOutcome(r.Str("outcome")); err != nil {
		r.Fail("outcome", "not none, fit, hold or out")
	}
	t.Facts = tagcode.Facts{
		EN: r.Bool("en"), Grade: uint8(r.Int("grade", 1, 3)), Size: uint8(r.Int("size", 0, 15)), Legs: uint8(r.Int("legs", 1, 4)),
		Adjustable: r.Bool("adjustable"), Reach: quantity.Length(r.Int("reach_mm", 0, 1<<17-1)) * quantity.Millimetre,
		Basis: uint8(r.Int("basis", 0, 7)), Kilograms: r.Bool("kilograms"), Load: uint32(r.Int("load", 0, 1<<18-1)), More: r.Bool("more"),
	}
	return t
}
