package state

import (
	"slices"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/strict"
)

// Use is what the lift asked of a sling for which it went out last; it stands until
// it goes out again. The zero value is not known: nobody stated a lift, or it is on a
// record that cannot be read.
type Use struct {
	Stated    bool
	Share     int  // of what it may carry, whole per cent, rounded up; of a leg where that is more; 0 not known
	Hot       bool // the chain was to get warm: see warm
	Edge      bool // what it bore on was sharp enough to lower its rating
	Choked    bool
	Shortened bool
}

// warm is from where on a chain is looked at for heat: half of the 400 °F at which
// B30.9 table 9-1.8.1-1 begins to lower ratings, since what was stated may have been
// exceeded (site policy, no source).
const warm = 200 // °F

// mostShare is where a share is cut off.
const mostShare = 999

// useOf reads what a recorded verdict says of the lift.
func useOf(v event.Verdict) Use {
	if v.Question == "" {
		return Use{}
	}
	q, err := gate.ParseQuestion([]byte(v.Question))
	if err != nil || q.Lift == nil {
		return Use{}
	}
	l := q.Lift
	u := Use{Stated: true, Choked: l.Hitch == gate.Choked, Shortened: l.Shortened != gate.Unshortened}
	u.Hot = l.Heat != nil && *l.Heat >= quantity.Fahrenheit(warm)
	u.Edge = l.Edge != nil && *l.Edge <= 2*q.Sling.Size.Nominal() // EN 818-6 through trade instructions: no reduction above 2 × chain size
	if a, err := strict.Parse([]byte(v.Answer)); err == nil {
		o := strict.Open("answer", a)
		u.Share = max(share(o, "required_g", "allowed_g"), share(o, "leg_g", "leg_allowed_g"))
	}
	return u
}

// share is what is needed of what is allowed, in per cent; 0 where either is missing.
func share(o *strict.Object, needs, may string) int {
	if !o.Has(needs) || !o.Has(may) {
		return 0
	}
	n, m := o.Int(needs, 0, quantity.MaxGrams), o.Int(may, 0, quantity.MaxGrams)
	switch {
	case m <= 0 || n > m*mostShare/100:
		return mostShare
	default:
		return int((n*100 + m - 1) / m)
	}
}

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
	if u := s.Use; u != (Use{}) {
		w.Obj("use")
		w.Bool("stated", u.Stated)
		w.Int("share_pct", int64(u.Share))
		w.Bool("hot", u.Hot)
		w.Bool("edge", u.Edge)
		w.Bool("choked", u.Choked)
		w.Bool("shortened", u.Shortened)
		w.End()
	}
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
	if o := r.object("use"); o != nil {
		s.Use = Use{Stated: o.Bool("stated"), Share: int(o.Int("share_pct", 0, mostShare)), Hot: o.Bool("hot"),
			Edge: o.Bool("edge"), Choked: o.Bool("choked"), Shortened: o.Bool("shortened")}
	}
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
