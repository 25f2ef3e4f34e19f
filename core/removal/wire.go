package removal

import (
	"fmt"

	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/strict"
)

// ParseQuestion reads one line of the machine surface, measurements in
// micrometres (_um) and thousandths of a degree (_mdeg):
//
//	{"id":"m1","rules":"us","sling":{"grade":80,"size":"3/8","legs":1},
//	 "found":{"links":[{"leg":1,"at":4,"d1_um":9400,"d2_um":9300}],
//	  "runs":[{"leg":1,"links":11,"new_um":330000,"length_um":331200}],
//	  "hooks":[{"leg":1,"throat_new_um":28000,"throat_um":28600,"twist_mdeg":0,
//	    "section_new_um":20000,"section_um":19400,"latch":"good"}],
//	  "parts":[{"what":"master","leg":null,"new_um":16000,"thinnest_um":15800}],
//	  "seen":["nick"]}}
//
// Every new_um may be null, and the leg of a part that all legs share; all else
// is required, though lists may be empty. The error is a *[strict.Error]; the
// Question then carries nothing but the line's id where [strict.LineID] finds one.
func ParseQuestion(line []byte) (Question, error) {
	q, err := parseQuestion(line)
	if err != nil {
		id, _ := strict.LineID(line)
		return Question{ID: id}, err
	}
	return q, nil
}

func parseQuestion(line []byte) (Question, error) {
	v, err := strict.Parse(line)
	if err != nil {
		return Question{}, err
	}
	o := strict.Open("question", v)
	q := Question{ID: o.Str("id")}
	system, err := rating.ParseSystem(o.Str("rules"))
	if err != nil {
		o.Fail("rules", "not us or en")
	}
	q.Sling = readSling(o.Obj("sling"), system)
	q.Found = readFound(o.Obj("found"), q.Sling.Legs)
	return q, o.Done()
}

func readSling(o *strict.Object, system rating.System) Sling {
	s := Sling{Grade: rating.Grade(o.Int("grade", 0, 255)), Legs: int(o.Int("legs", 1, 4))}
	if !s.Grade.Known() {
		o.Fail("grade", "not 80, 100 or 120")
	}
	var err error
	if s.Size, err = rating.ParseSize(system, o.Str("size")); err != nil {
		o.Fail("size", "not a size of system %q", system)
	}
	return s
}

func readFound(o *strict.Object, legs int) Found {
	var f Found
	for _, l := range o.Objs("links") {
		f.Links = append(f.Links, Link{
			Leg: leg(l, legs), At: l.Int("at", 1, MaxCount), D1: length(l, "d1_um"), D2: length(l, "d2_um"),
		})
	}
	for _, r := range o.Objs("runs") {
		f.Runs = append(f.Runs, Run{
			Leg: leg(r, legs), Links: r.Int("links", 1, MaxCount), New: original(r, "new_um"), Length: length(r, "length_um"),
		})
	}
	for _, h := range o.Objs("hooks") {
		f.Hooks = append(f.Hooks, readHook(h, legs))
	}
	for _, p := range o.Objs("parts") {
		f.Parts = append(f.Parts, readPart(p, legs))
	}
	for i, s := range o.Strs("seen") {
		c, ok := ParseSeen(s)
		if !ok {
			o.Fail("seen", "item %d: %q is not a word of the list", i, s)
		}
		f.Seen = append(f.Seen, c)
	}
	return f
}

func readHook(o *strict.Object, legs int) Hook {
	h := Hook{
		Leg:        leg(o, legs),
		ThroatNew:  original(o, "throat_new_um"),
		Throat:     length(o, "throat_um"),
		Twist:      quantity.Angle(o.Int("twist_mdeg", 0, MaxTwist.MilliDegrees())) * quantity.MilliDegree,
		SectionNew: original(o, "section_new_um"),
		Section:    length(o, "section_um"),
	}
	var ok bool
	if h.Latch, ok = ParseLatch(o.Str("latch")); !ok {
		o.Fail("latch", "not good, none, bent or missing")
	}
	return h
}

func readPart(o *strict.Object, legs int) Part {
	p := Part{Leg: int(o.OptInt("leg", 1, int64(legs), 0)), New: original(o, "new_um"), Thinnest: length(o, "thinnest_um")}
	var ok bool
	if p.What, ok = ParseWhat(o.Str("what")); !ok {
		o.Fail("what", "not master, coupling, coupler, pin, ring or adjuster")
	}
	if p.What == Master && p.Leg != 0 {
		o.Fail("leg", "a master link is shared by all legs")
	}
	return p
}

func leg(o *strict.Object, legs int) int { return int(o.Int("leg", 1, int64(legs))) }

func length(o *strict.Object, name string) quantity.Length {
	return quantity.Length(o.Int(name, int64(MinLength), int64(MaxLength))) * quantity.Micrometre
}

// original reads the dimension of a new part; 0 where it is not known.
func original(o *strict.Object, name string) quantity.Length {
	return quantity.Length(o.OptInt(name, int64(MinLength), int64(MaxLength), 0)) * quantity.Micrometre
}

// MarshalJSON is the question as one line of the machine surface; [ParseQuestion]
// reads it back exactly. It fails where a twist is no whole thousandth of a degree,
// and otherwise does not judge the question.
func (q Question) MarshalJSON() ([]byte, error) {
	var w strict.Writer
	w.Begin()
	w.Str("id", q.ID)
	w.Str("rules", q.Sling.Size.System().String())
	w.Obj("sling")
	w.Int("grade", int64(q.Sling.Grade))
	w.Str("size", q.Sling.Size.String())
	w.Int("legs", int64(q.Sling.Legs))
	w.End()
	w.Obj("found")
	w.List("links")
	for _, l := range q.Found.Links {
		w.Begin()
		w.Int("leg", int64(l.Leg))
		w.Int("at", l.At)
		w.Int("d1_um", l.D1.Micrometres())
		w.Int("d2_um", l.D2.Micrometres())
		w.End()
	}
	w.End()
	w.List("runs")
	for _, r := range q.Found.Runs {
		w.Begin()
		w.Int("leg", int64(r.Leg))
		w.Int("links", r.Links)
		writeOriginal(&w, "new_um", r.New)
		w.Int("length_um", r.Length.Micrometres())
		w.End()
	}
	w.End()
	w.List("hooks")
	for _, h := range q.Found.Hooks {
		writeHook(&w, h)
	}
	w.End()
	w.List("parts")
	for _, p := range q.Found.Parts {
		w.Begin()
		w.Str("what", p.What.String())
		if p.Leg != 0 {
			w.Int("leg", int64(p.Leg))
		}
		writeOriginal(&w, "new_um", p.New)
		w.Int("thinnest_um", p.Thinnest.Micrometres())
		w.End()
	}
	w.End()
	w.List("seen")
	for _, c := range q.Found.Seen {
		w.ItemStr(c.String())
	}
	w.End()
	w.End()
	w.End()
	return w.Bytes()
}

func writeHook(w *strict.Writer, h Hook) {
	if h.Twist%quantity.MilliDegree != 0 {
		w.Fail(fmt.Errorf("removal: write a question: a twist of %s is no whole thousandth of a degree", h.Twist))
	}
	w.Begin()
	w.Int("leg", int64(h.Leg))
	writeOriginal(w, "throat_new_um", h.ThroatNew)
	w.Int("throat_um", h.Throat.Micrometres())
	w.Int("twist_mdeg", h.Twist.MilliDegrees())
	writeOriginal(w, "section_new_um", h.SectionNew)
	w.Int("section_um", h.Section.Micrometres())
	w.Str("latch", h.Latch.String())
	w.End()
}

// writeOriginal writes the dimension of a new part, where it is known.
func writeOriginal(w *strict.Writer, name string, l quantity.Length) {
	if l != 0 {
		w.Int(name, l.Micrometres())
	}
}

// MarshalJSON writes {"id":"m1","verdict":"fit","findings":[…]}; leg, at, what,
// value_um and limit_um stand where they apply.
func (a Answer) MarshalJSON() ([]byte, error) {
	var w strict.Writer
	w.Begin()
	w.Str("id", a.ID)
	w.Str("verdict", a.Verdict.String())
	w.List("findings")
	for _, f := range a.Findings {
		w.Begin()
		w.Str("code", f.Code.String())
		w.Str("grade", f.Grade.String())
		if f.Leg != 0 {
			w.Int("leg", int64(f.Leg))
		}
		if f.At != 0 {
			w.Int("at", f.At)
		}
		if f.What != 0 {
			w.Str("what", f.What.String())
		}
		if f.HasFigures() {
			w.Int("value_um", f.Value.Micrometres())
			w.Int("limit_um", f.Limit.Micrometres())
		}
		w.End()
	}
	w.End()
	w.End()
	return w.Bytes()
}
