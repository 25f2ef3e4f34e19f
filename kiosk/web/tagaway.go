package web

import (
	"net/http"
	"strconv"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/kiosk/counter"
)

// An AwayForm throws a printed tag away. The zero value is none.
type AwayForm struct {
	Serial string
	Open   bool
	First  bool // it is what comes next
	Why    Choice
	Note   Area
}

// fillAway offers to throw the tag away, opened where a form of it was sent or its
// picture was graded too low.
func (p *TagPage) fillAway(t state.Tag) {
	a := &p.Away
	a.Serial = itoa(int(t.Serial))
	if p.Print.Away != "" {
		a.Open, a.First = true, true
		a.Why.Options = spoiltOptions(string(p.Print.Away))
		a.Note.Value = p.Print.Summary
	}
	if a.Why.Options == nil {
		a.Why.Options = spoiltOptions("")
	}
	a.Why.Name, a.Why.Legend = "why", "Why is it thrown away?"
	a.Note.Name, a.Note.Label, a.Note.Most = "away-note", "Note", maxText
	a.Note.Hint = "What happened, in words; needed for something else."
}

func spoiltOptions(on string) []Option {
	list := make([]Option, len(spoiltReasons))
	for i, r := range spoiltReasons {
		list[i] = Option{Value: string(r.why), Label: r.label, Sub: r.sub, On: string(r.why) == on}
	}
	return list
}

// throwTag throws a printed tag away that is on no sling.
func (s *Server) throwTag(v *visit) error {
	sling, key, heads, err := s.slingForm(v)
	if err != nil {
		return err
	}
	serial, err := strconv.Atoi(v.raw("serial"))
	if err != nil || serial < 1 || serial > int(tagcode.MaxSerial) {
		return &Visible{Code: BadInput, Cause: err, Sentence: "The form was sent without the tag’s number.", Next: "Go back, load the page again and repeat what you did."}
	}
	note, complaint := v.text("away-note", maxText)
	why, known := event.ParseSpoilt(v.raw("why"))
	p := &TagPage{Away: AwayForm{Open: true, Why: Choice{Options: spoiltOptions(v.raw("why"))}, Note: Area{Value: note, Error: complaint}}}
	if !known {
		p.Away.Why.Error = "Choose why."
	}
	if known && why == event.SpoiltOther && note == "" && complaint == "" {
		p.Away.Note.Error = "Write what happened to it."
	}
	if p.Away.Why.Error != "" || p.Away.Note.Error != "" {
		return s.renderTag(v, http.StatusUnprocessableEntity, sling, p)
	}
	seen := counter.Seen{Sling: sling.ID, Heads: heads}
	outcome, err := s.Counter.Spoil(v.r.Context(), v.by(counter.Hand, key), seen, tagcode.Serial(serial), why, note)
	if err != nil {
		return registerError(err)
	}
	if outcome.May {
		s.notice(v, "Tag "+strconv.Itoa(serial)+" is thrown away. Cut it up, so that nobody hangs it on. The next one has the next number.")
		return v.redirect(slingPath(sling) + "/tag")
	}
	for _, code := range outcome.Codes {
		text := v.wordsOf(nil).says(code, gate.Answer{})
		if code == gate.ChangedMeanwhile {
			p.Changed = "Changed meanwhile: something happened to the sling after this page was loaded, and no tag was thrown away. Look at it again."
			break
		}
		p.Changed += text.Sentence + " " + text.Next + " "
	}
	if sling, err = s.findSling(v); err != nil {
		return err
	}
	return s.renderTag(v, http.StatusConflict, sling, p)
}
