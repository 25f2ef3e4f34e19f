package state

import (
	"bytes"
	"errors"
	"fmt"

	"cribgate/core/event"
	"cribgate/core/strict"
	"cribgate/core/tagcode"
)

// ErrState reports bytes that are not the one spelling of a present state.
var ErrState = errors.New("state: not a present state in its one spelling")

// Encode gives the one spelling of what is known of a sling; DecodeSling reads
// it back exactly. It fails where a text is not UTF-8 or a figure cannot be
// spelled, which no body that was decoded brings about.
func (s Sling) Encode() ([]byte, error) {
	w := writer{new(strict.Writer)}
	w.Begin()
	w.Str("id", s.ID.String())
	if s.Details.Ident != "" {
		w.body("details", event.Registered{Details: s.Details})
	}
	w.Str("passed_by", s.PassedBy.String())
	w.Str("compared_in", s.ComparedIn.String())
	if s.Loan != (Loan{}) {
		w.Obj("loan")
		w.Str("rigger", s.Loan.Rigger.String())
		w.time("since", s.Loan.Since)
		w.Str("day", s.Loan.Day.String())
		w.Str("return_by", s.Loan.ReturnBy.String())
		w.Str("marked", s.Loan.Marked)
		w.loan(s.Loan)
		w.End()
	}
	if s.Hold != (Hold{}) {
		w.Obj("hold")
		w.Str("reason", s.Hold.Reason)
		if s.Hold.Said != "" {
			w.Str("said", string(s.Hold.Said))
		}
		w.Str("by", s.Hold.By.String())
		w.time("since", s.Hold.Since)
		w.End()
	}
	if s.End != (End{}) {
		w.Obj("end")
		w.Str("reason", s.End.Reason)
		w.Str("how", s.End.How)
		w.Str("by", s.End.By.String())
		w.Str("day", s.End.Day.String())
		w.End()
	}
	w.told(s)
	w.bench(s)
	w.List("tags")
	for _, t := range s.Tags {
		w.tag(t)
	}
	w.End()
	w.Int("issues", int64(s.Issues))
	w.known(s.Heads, s.Doubt)
	w.Int("events", int64(s.Events))
	w.time("changed", s.Changed)
	return w.done("sling " + s.ID.String())
}

// DecodeSling reads what Sling.Encode writes and nothing else.
func DecodeSling(text []byte) (Sling, error) {
	return decode(text, "sling", Sling.Encode, func(r *reader) Sling {
		var s Sling
		var err error
		if s.ID, err = event.ParseSlingID(r.Str("id")); err != nil {
			r.Fail("id", "not a sling's id")
		}
		if d := r.OptObj("details"); d != nil {
			s.Details = event.ReadDetails(d)
		}
		s.PassedBy = r.person("passed_by")
		s.ComparedIn = r.log("compared_in")
		if l := r.object("loan"); l != nil {
			s.Loan = Loan{
				Rigger: l.person("rigger"), Since: l.time("since"), Day: l.date("day"),
				ReturnBy: l.date("return_by"), Marked: l.Str("marked"),
			}
			l.loan(&s.Loan)
		}
		if h := r.object("hold"); h != nil {
			s.Hold = Hold{Reason: h.Str("reason"), Said: event.Said(h.OptStr("said", "")), By: h.person("by"), Since: h.time("since")}
		}
		if e := r.object("end"); e != nil {
			s.End = End{Reason: e.Str("reason"), How: e.Str("how"), By: e.person("by"), Day: e.date("day")}
		}
		r.told(&s)
		r.bench(&s)
		for _, o := range r.Objs("tags") {
			s.Tags = append(s.Tags, (&reader{o}).tag())
		}
		s.Issues = int(r.Int("issues", 0, 1<<31))
		s.Heads, s.Doubt = r.known()
		s.Events = int(r.Int("events", 0, 1<<31))
		s.Changed = r.time("changed")
		return s
	})
}

// Encode gives the one spelling of what is known of a person; DecodePerson reads
// it back exactly.
func (p Person) Encode() ([]byte, error) {
	w := writer{new(strict.Writer)}
	w.Begin()
	w.Str("id", p.ID.String())
	if p.Name != "" {
		w.body("is", event.PersonChanged{Name: p.Name, Roles: p.Roles, Here: p.Here, Terms: p.Terms})
	}
	if p.Badge != (event.BadgePrinted{}) {
		w.body("badge", p.Badge)
	}
	if p.Erased {
		w.Bool("erased", true)
	}
	w.known(p.Heads, p.Doubt)
	return w.done("person " + p.ID.String())
}

// DecodePerson reads what Person.Encode writes and nothing else.
func DecodePerson(text []byte) (Person, error) {
	return decode(text, "person", Person.Encode, func(r *reader) Person {
		p := Person{ID: r.person("id")}
		if o := r.OptObj("is"); o != nil {
			is := event.ReadPersonChanged(o)
			p.Name, p.Roles, p.Here, p.Terms = is.Name, is.Roles, is.Here, is.Terms
		}
		if o := r.OptObj("badge"); o != nil {
			p.Badge = event.ReadBadgePrinted(o)
		}
		p.Erased = r.OptBool("erased", false)
		p.Heads, p.Doubt = r.known()
		return p
	})
}

// Encode gives the one spelling of what is known of the crib; DecodeCrib reads
// it back exactly.
func (c Crib) Encode() ([]byte, error) {
	w := writer{new(strict.Writer)}
	w.Begin()
	if c.Founded.Name != "" {
		w.body("founded", c.Founded)
	}
	w.List("keys")
	for _, k := range c.Keys {
		w.ItemStr(k.String())
	}
	w.End()
	if c.Restored != (Restoration{}) {
		w.restored(c.Restored)
	}
	if len(c.Ahead) > 0 {
		w.List("ahead")
		for _, a := range c.Ahead {
			w.ahead(a)
		}
		w.End()
	}
	if c.Vouched != (Vouched{}) {
		w.vouched(c.Vouched)
	}
	w.counting(c)
	w.known(c.Heads, c.Doubt)
	return w.done("crib")
}

// DecodeCrib reads what Crib.Encode writes and nothing else.
func DecodeCrib(text []byte) (Crib, error) {
	return decode(text, "crib", Crib.Encode, func(r *reader) Crib {
		var c Crib
		if o := r.OptObj("founded"); o != nil {
			c.Founded = event.ReadFounded(o)
		}
		for _, text := range r.Strs("keys") {
			k, err := tagcode.ParseFingerprint(text)
			if err != nil {
				r.Fail("keys", "not key fingerprints")
			}
			c.Keys = append(c.Keys, k)
		}
		if o := r.object("restored"); o != nil {
			c.Restored = o.restored()
		}
		for _, o := range r.OptObjs("ahead") {
			c.Ahead = append(c.Ahead, (&reader{o}).ahead())
		}
		if o := r.object("vouched"); o != nil {
			c.Vouched = o.vouched()
		}
		r.counting(&c)
		c.Heads, c.Doubt = r.known()
		return c
	})
}

func decode[T any](text []byte, what string, encode func(T) ([]byte, error), read func(*reader) T) (T, error) {
	var zero T
	v, err := strict.Parse(text)
	if err != nil {
		return zero, fmt.Errorf("%w: %s: %w", ErrState, what, err)
	}
	o := strict.Open(what, v)
	out := read(&reader{o})
	if err := o.Done(); err != nil {
		return zero, fmt.Errorf("%w: %w", ErrState, err)
	}
	if again, err := encode(out); err != nil || !bytes.Equal(again, text) {
		return zero, fmt.Errorf("%w: %s", ErrState, what)
	}
	return out, nil
}
