package state

import (
	"slices"
	"strings"

	"cribgate/core/event"
	"cribgate/core/quantity"
)

// Check is what was answered when a sling that came back was looked at last, and its
// rigger asked. The zero value is one of which nothing was answered since it was last
// found fit by a thorough inspection.
type Check struct {
	Day   quantity.Date
	By    event.PersonID // who wrote it down
	Worst event.Is
	Open  []event.Answered // those that are not good, in the order in which they were asked
}

// checked gives what was answered as the newest check. What a rigger says afterwards
// is added to it.
func (s Sling) checked(said event.Said, answers []event.Answered, e Event, added bool) Sling {
	c := Check{Day: e.Day, By: e.By, Worst: said.Is()}
	if added && s.Check.Worst != "" {
		c = s.Check
		c.Worst = event.Worst([]event.Answered{{Is: c.Worst}, {Is: said.Is()}})
	}
	c.Open = slices.Clone(c.Open)
	for _, a := range answers {
		c.Open = slices.DeleteFunc(c.Open, func(b event.Answered) bool { return b.Question == a.Question })
		if a.Is != event.IsWell {
			c.Open = append(c.Open, a)
		}
	}
	if len(c.Open) == 0 {
		c.Open = nil
	}
	s.Check = c
	return s
}

// whys gives the answers that are not good in a few words: "legs (wrong), couplers (in
// doubt)"; empty where all are.
func whys(answers []event.Answered) string {
	var list []string
	for _, a := range answers {
		switch word := strings.ReplaceAll(a.Question, "-", " "); a.Is {
		case event.IsWrong:
			list = append(list, word+" (wrong)")
		case event.IsDoubt:
			list = append(list, word+" (in doubt)")
		}
	}
	return strings.Join(list, ", ")
}

func (w writer) check(s Sling) {
	s.Use.Write(w.Writer)
	if c := s.Check; c.Worst != "" {
		w.Obj("check")
		w.Str("day", c.Day.String())
		w.Str("by", c.By.String())
		w.Str("worst", string(c.Worst))
		w.List("open")
		for _, a := range c.Open {
			w.Begin()
			w.Str("question", a.Question)
			w.Str("is", string(a.Is))
			w.End()
		}
		w.End()
		w.End()
	}
	if s.Remark != "" {
		w.Str("remark", s.Remark)
	}
}

func (r *reader) check(s *Sling) {
	s.Use = event.ReadUse(r.OptObj("use"))
	if o := r.object("check"); o != nil {
		s.Check = Check{Day: o.date("day"), By: o.person("by"), Worst: o.is("worst")}
		for _, each := range o.Objs("open") {
			a := &reader{each}
			s.Check.Open = append(s.Check.Open, event.Answered{Question: a.Str("question"), Is: a.is("is")})
		}
	}
	s.Remark = r.OptStr("remark", "")
}

func (r *reader) is(name string) event.Is {
	is, known := event.ParseIs(r.Str(name))
	if !known {
		r.Fail(name, "not ok, wrong or doubt")
	}
	return is
}
