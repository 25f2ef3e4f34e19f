package state

import (
	"cribgate/core/event"
	"cribgate/core/quantity"
)

// loan writes what only some loans have.
func (w writer) loan(l Loan) {
	l.Line.Write(w.Writer)
	if l.Area != "" {
		w.Str("area", l.Area)
	}
	if l.Recall != (Recall{}) {
		w.Obj("recall")
		w.Str("reason", l.Recall.Reason)
		w.Str("by", l.Recall.By.String())
		w.Str("day", l.Recall.Day.String())
		w.End()
	}
}

func (r *reader) loan(l *Loan) {
	l.Line = event.ReadLine(r.OptObj("line"))
	l.Area = r.OptStr("area", "")
	if o := r.object("recall"); o != nil {
		l.Recall = Recall{Reason: o.Str("reason"), By: o.date("by"), Day: o.date("day")}
	}
}

// told writes what only some slings have.
func (w writer) told(s Sling) {
	if len(s.Owes) > 0 {
		w.List("owes")
		for _, o := range s.Owes {
			w.Begin()
			w.Str("rigger", o.Rigger.String())
			w.Str("day", o.Day.String())
			w.End()
		}
		w.End()
	}
	if s.Doubled != (quantity.Date{}) {
		w.Str("doubled", s.Doubled.String())
	}
	if s.Aside != (Aside{}) {
		w.Obj("aside")
		w.body("for", s.Aside.SetAside)
		w.Str("by", s.Aside.By.String())
		w.End()
	}
	if s.Seen != (Sighting{}) {
		w.Obj("seen")
		w.Str("count", s.Seen.Count.String())
		w.Str("place", s.Seen.Place)
		w.time("at", s.Seen.At)
		w.End()
	}
	w.check(s)
}

func (r *reader) told(s *Sling) {
	for _, each := range r.OptObjs("owes") {
		o := &reader{each}
		s.Owes = append(s.Owes, Owed{Rigger: o.person("rigger"), Day: o.date("day")})
	}
	if r.Has("doubled") {
		s.Doubled = r.date("doubled")
	}
	if o := r.object("aside"); o != nil {
		s.Aside = Aside{SetAside: event.ReadSetAside(o.Obj("for")), By: o.person("by")}
	}
	if o := r.object("seen"); o != nil {
		s.Seen = Sighting{Count: event.ReadCount(o.Object, "count"), Place: o.Str("place"), At: o.time("at")}
	}
	r.check(s)
}

// counting writes the count that is going on and the strays.
func (w writer) counting(c Crib) {
	if !c.Count.ID.IsZero() {
		w.Obj("counting")
		w.body("begun", event.CountBegun{Count: c.Count.ID, Places: c.Count.Places})
		w.Str("by", c.Count.By.String())
		w.time("since", c.Count.Since)
		w.End()
	}
	if !c.Visit.Visit.IsZero() {
		w.Obj("visit")
		w.body("begun", c.Visit.VisitBegun)
		w.Str("by", c.Visit.By.String())
		w.time("since", c.Visit.Since)
		w.End()
	}
	if len(c.Strays) > 0 {
		w.List("strays")
		for _, s := range c.Strays {
			w.Begin()
			w.body("stray", s.Stray)
			w.Str("by", s.By.String())
			w.Str("day", s.Day.String())
			w.End()
		}
		w.End()
	}
	if c.LastNo != 0 {
		w.Int("last_stray", int64(c.LastNo))
	}
	if c.LastPad != 0 {
		w.Int("last_pad", int64(c.LastPad))
	}
}

func (r *reader) counting(c *Crib) {
	if o := r.object("counting"); o != nil {
		begun := event.ReadCountBegun(o.Obj("begun"))
		c.Count = Count{ID: begun.Count, Places: begun.Places, By: o.person("by"), Since: o.time("since")}
	}
	if o := r.object("visit"); o != nil {
		c.Visit = Visit{VisitBegun: event.ReadVisitBegun(o.Obj("begun")), By: o.person("by"), Since: o.time("since")}
	}
	for _, each := range r.OptObjs("strays") {
		o := &reader{each}
		c.Strays = append(c.Strays, Stray{Stray: event.ReadStray(o.Obj("stray")), By: o.person("by"), Day: o.date("day")})
	}
	c.LastNo = int(r.OptInt("last_stray", 0, 1<<31, 0))
	c.LastPad = int(r.OptInt("last_pad", 0, 1<<31, 0))
}
