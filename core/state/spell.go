package state

import (
	"fmt"
	"time"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/strict"
)

var doubtWords = []struct {
	doubt Doubt
	word  string
}{{Forked, "forked"}, {NotUnderstood, "not-understood"}, {Contradicts, "contradicts"}}

type writer struct{ *strict.Writer }

func (w writer) done(what string) ([]byte, error) {
	w.End()
	text, err := w.Bytes()
	if err != nil {
		return nil, fmt.Errorf("state: encode %s: %w", what, err)
	}
	return text, nil
}

// body writes a part of the state in the words of an event.
func (w writer) body(name string, b event.Body) {
	text, err := event.Encode(b)
	if err != nil {
		w.Fail(err)
		text = []byte("{}")
	}
	w.Raw(name, text)
}

func (w writer) time(name string, t time.Time) {
	text := ""
	if !t.IsZero() {
		text = t.UTC().Format(event.TimeLayout)
	}
	w.Str(name, text)
}

func (w writer) known(heads []event.Hash, doubt Doubt) {
	w.List("heads")
	for _, h := range heads {
		w.ItemStr(h.String())
	}
	w.End()
	w.List("doubt")
	for _, d := range doubtWords {
		if doubt&d.doubt != 0 {
			w.ItemStr(d.word)
		}
	}
	w.End()
}

type reader struct{ *strict.Object }

func (r *reader) object(name string) *reader {
	if o := r.OptObj(name); o != nil {
		return &reader{o}
	}
	return nil
}

func (r *reader) person(name string) event.PersonID { return event.ReadPerson(r.Object, name) }

func (r *reader) date(name string) quantity.Date { return event.ReadDate(r.Object, name) }

func (r *reader) time(name string) time.Time {
	text := r.Str(name)
	if text == "" {
		return time.Time{}
	}
	t, err := time.Parse(event.TimeLayout, text)
	if err != nil {
		r.Fail(name, "not a time")
	}
	return t
}

func (r *reader) known() (heads []event.Hash, doubt Doubt) {
	for _, text := range r.Strs("heads") {
		h, err := event.ParseHash(text)
		if err != nil {
			r.Fail("heads", "not hashes")
		}
		heads = append(heads, h)
	}
	for _, word := range r.Strs("doubt") {
		for _, d := range doubtWords {
			if d.word == word {
				doubt |= d.doubt
			}
		}
	}
	return heads, doubt // a word that is not known is lost, and the bytes are then not the one spelling
}
