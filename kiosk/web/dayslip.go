package web

import (
	"encoding/binary"
	"errors"
	"net/http"

	"cribgate/core/event"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/kiosk/counter"
	"cribgate/store"
)

// LiftSlipPage is the slip that hangs on what is set aside for a lift.
type LiftSlipPage struct {
	Base
	Who    string
	What   string
	Day    string
	Kept   []KeptSling
	Facts  []Fact
	Symbol Drawing
	Back   string
}

// liftSlip shows the slip of a lift, with a symbol that leads to it at the counter.
func (s *Server) liftSlip(v *visit) error {
	p, err := s.liftOfPath(v)
	if err != nil {
		return err
	}
	names, err := s.names(v)
	if err != nil {
		return err
	}
	w := v.wordsOf(names)
	slings, err := s.Store.SetAsideFor(v.r.Context(), p.Day, p.Lift)
	if err != nil {
		return err
	}
	if !p.Open() || len(slings) == 0 || p.Day.Before(v.today) {
		return &Visible{Code: NoPage, Sentence: "Nothing is set aside for this lift, so there is no slip for it.", Next: "Look at the day sheet."}
	}
	page := &LiftSlipPage{Base: Base{Title: "Lift slip for " + w.name(p.Rigger)}, Who: w.name(p.Rigger), What: p.What, Day: Day(p.Day),
		Facts: v.planned(p).facts(w.lead), Back: dayAt(p.Day)}
	if page.Kept, _, err = s.keptFor(v, p, w); err != nil {
		return err
	}
	text, err := s.slipText(p, slings[0])
	if err != nil {
		return err
	}
	if page.Symbol, err = drawSymbol(text, "The symbol of the slip: scanned at the counter, it names the lift"); err != nil {
		return err
	}
	return s.render(v, http.StatusOK, "liftslip", page)
}

// slipNo is the number of a lift's slip: with the sling and the day it is one slip.
func slipNo(id event.LiftID) uint32 { return max(1, binary.BigEndian.Uint32(id[:4])) }

// slipText is what the symbol of a lift's slip says. It permits nothing.
func (s *Server) slipText(p state.Planned, sling state.Sling) (string, error) {
	key, err := s.Keys.Current(sling.ID.Key)
	if err != nil {
		return "", &Visible{Code: Unusable, Cause: err, Sentence: "The key that seals slips is not on this machine.", Next: "Bring the key file back, or take the slings by name."}
	}
	says := tagcode.Slip{Key: key.Fingerprint(), Sling: sling.ID.Number, No: slipNo(p.Lift), Until: p.Day}
	sealed, err := says.Seal(key)
	if err != nil {
		return "", err
	}
	return sealed.Text(), nil
}

// liftSlipped takes a lift slip that was scanned: it names for which lift slings are taken,
// and permits nothing. False where it is none that is good.
func (s *Server) liftSlipped(v *visit, text string, key string) (done bool, err error) {
	says, err := tagcode.ParseSlip(text)
	if err != nil {
		return false, nil
	}
	seal, err := s.Keys.Current(says.Key)
	if err != nil || says.Verify(seal) != nil {
		return false, nil
	}
	sling, err := s.Store.Sling(v.r.Context(), event.SlingID{Key: says.Key, Number: says.Sling})
	if errors.Is(err, store.ErrNotFound) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	if a := sling.Aside; !a.On(v.today) || a.Day != says.Until || slipNo(a.Lift) != says.No || !v.may(actIssue) {
		return false, nil
	}
	p, err := s.Store.Planned(v.r.Context(), sling.Aside.Lift)
	if err != nil {
		return false, err
	}
	rigger, err := s.Store.Person(v.r.Context(), p.Rigger)
	if err != nil {
		return false, err
	}
	if !p.Open() || !rigger.May(event.Rigger, v.today) {
		return false, nil
	}
	s.notice(v, "The slip is of a lift of "+rigger.Name+" on "+Day(p.Day)+". Ask for the badge, or look who takes the slings.")
	return true, s.riggerComes(v, s.turn(v), rigger, key)
}

// isSlip tells whether a text is a lift slip, whoever made it.
func isSlip(r counter.Reading) bool {
	kind, _ := tagcode.KindOf(r.Text) // what is none is no slip
	return kind == tagcode.KindSlip
}
