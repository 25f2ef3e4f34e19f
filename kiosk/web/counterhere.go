package web

import (
	"cribgate/core/event"
	"cribgate/core/state"
)

// HereForm takes back a sling that lies on the counter while the record has it out
// with somebody, and puts it on the loan that is going on: another button of its
// return check.
type HereForm struct {
	Offered bool
	Open    bool
	Plate   Field
}

// offerHere offers that where a rigger takes slings now. One that was just handed
// over on another counter is not offered: two people have it in their hands. Nor is
// one that is recalled: it is taken back, and why it was is looked into first.
func (p *CounterPage) offerHere(t *turn, si sight) {
	if si.stage != isOut || t.Rigger == "" || si.sling.Loan.Recall != (state.Recall{}) {
		return
	}
	h := &p.TakeBack.Here
	h.Offered, h.Plate = true, Field{Name: "typed", Label: "Last characters of the identification on the metal plate",
		Hint: "At least three, off the sling in your hand: a picture of its tag would read as well", Most: 16, Value: h.Plate.Value}
}

// here books such a sling back by its return check, and asks about it for the loan
// where all is well.
func (s *Server) here(v *visit) error {
	t, c, key, err := s.onCard(v)
	if err != nil {
		return err
	}
	typed, complaint := v.line("typed", 16)
	if complaint != "" {
		s.notice(v, complaint)
		return s.toCard(v, t, c)
	}
	si, err := s.see(v, t, c)
	if err != nil {
		return err
	}
	found, missing, err := s.lookedAt(v, t, c, si)
	if missing || err != nil {
		return err
	}
	reading := t.reading(v, c)
	reading.Typed = typed
	o, err := s.Counter.Here(v.r.Context(), v.by(c.Way, key), reading, found)
	if err != nil {
		return err
	}
	if !o.May {
		s.tellRefused(v, o.Codes)
		return s.toCard(v, t, c)
	}
	if found.Said != event.Nothing {
		t.tookBack(v, c)
		return s.seeAgain(v, t, c)
	}
	c.Done, c.Typed = notDone, typed
	s.notice(v, o.Sling.Details.Ident+" is booked back, and marked for the keeper: something else may be out under its name.")
	if err := s.ask(v, t, c, key+" again"); err != nil { // the key is the return's
		return err
	}
	return s.toCard(v, t, c)
}
