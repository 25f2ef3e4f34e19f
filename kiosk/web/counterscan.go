package web

import (
	"net/http"
	"slices"

	"cribgate/core/gate"
	"cribgate/kiosk/counter"
)

// reading is what a form that takes scans sent: what a hand scanner typed or a camera
// read, or a short code that a person typed.
func (v *visit) reading() counter.Reading {
	reading := counter.Reading{Text: v.raw("text"), Way: counter.ShortCode}
	if way := counter.Way(v.raw("way")); way == counter.Scanner || way == counter.Camera || way == counter.Resembles {
		reading.Way = way
	}
	return reading
}

// scanned takes what a hand scanner typed or a camera read, or a short code that a person typed.
// What it leads to decides what the counter asks next.
func (s *Server) scanned(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	reading := v.reading()
	if counter.IsBadge(reading.Text) {
		return s.badged(v, reading.Text, reading.Way, key)
	}
	if isSlip(reading) {
		if done, err := s.liftSlipped(v, reading.Text, key); done || err != nil {
			return err
		}
	}
	return s.take(v, reading, key)
}

// pictured reads a picture of a tag.
func (s *Server) pictured(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	reading, problem, err := s.readTag(v)
	if err != nil {
		return err
	}
	if problem != 0 {
		t := s.turn(v)
		c := t.put(card{Way: counter.Image, Problem: uint8(problem)})
		c.hang(sight{stage: noSling}, v.wordsOf(nil))
		return s.toCard(v, t, c)
	}
	return s.take(v, reading, key)
}

// mistyped says at the field that a short code is none. A slip of the finger is no
// verdict on any sling: nothing is hung on the rail, and nothing sounds. The plate of
// the sling before does not stand there either, or it would be read as the answer.
func (s *Server) mistyped(v *visit, t *turn, text string) error {
	says := v.wordsOf(nil).says(gate.ShortCodeMistyped, gate.Answer{})
	p := &CounterPage{Mistyped: Field{Value: text, Error: says.Sentence + " " + says.Next}}
	if len(text) > maxCode {
		p.Mistyped.Value = ""
	}
	return s.renderCounter(v, http.StatusUnprocessableEntity, t, nil, p)
}

// take hangs what was read on the rail, and asks the counter about it.
func (s *Server) take(v *visit, reading counter.Reading, key string) error {
	t := s.turn(v)
	found, err := s.Counter.Find(v.r.Context(), reading)
	if err != nil {
		return err
	}
	if reading.Way == counter.ShortCode && slices.Equal(found.Codes, []gate.Reason{gate.ShortCodeMistyped}) {
		return s.mistyped(v, t, reading.Text)
	}
	if !found.Known {
		if slices.Contains(found.Codes, gate.RegisterBehind) {
			if err := s.Counter.NoteAhead(v.r.Context(), v.by(reading.Way, key), reading); err != nil {
				return err
			}
		}
		hung := t.put(card{Way: reading.Way, Codes: codeWords(found.Codes)})
		hung.hang(unknownSight(hung), v.wordsOf(nil))
		return s.toCard(v, t, hung)
	}
	if err := s.noteRead(v, found.Sling, reading, key); err != nil {
		return err
	}
	c, again := t.take(card{Sling: found.Sling.ID.String(), Text: reading.Text, Way: reading.Way})
	if err := s.ask(v, t, c, key); err != nil {
		return err
	}
	if again && c.Edge == MayGo {
		s.notice(v, c.Title+" is on the loan already, and counts once.")
	}
	return s.toCard(v, t, c)
}
