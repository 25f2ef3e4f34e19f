package web

import (
	"errors"
	"slices"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
	"cribgate/kiosk/scan"
)

// A stage is what the counter does next with a card.
type stage uint8

// The stages. The zero stage refuses.
const (
	staysHere  stage = iota // it may not go, for the codes
	noSling                 // the reading led to none, for the codes
	isOut                   // ask what happened, and take it back
	needsWho                // nobody was chosen who takes it
	needsLift               // no lift was stated
	asksSingle              // is it one of several on one hook?
	asksShort               // will its legs be shortened?
	asksPart                // what does it carry under the beam?
	asksSeat                // does its upper link seat in the crane's hook?
	asksAside               // does it go although it is set aside for somebody else?
	asksPlate               // the end of the plate's identification is needed
	mayGo
	isHandedOver
	isBack
	isTooLate // someone else was faster
)

// A sight is how a card stands now, by the register and the gate.
type sight struct {
	stage    stage
	sling    state.Sling
	known    bool
	codes    []gate.Reason
	answer   gate.Answer // with its working; of the sling alone where ask is not complete
	ask      counter.Ask
	complete bool // ask was put to the gate
	lifted   bool // rigger and lift are known
	stated   statedLift
	rigger   state.Person
	blind    bool // the page must not show the identification
}

// see looks at a card without writing anything.
func (s *Server) see(v *visit, t *turn, c *card) (sight, error) {
	si, err := s.look(v, t, c)
	si.blind = err == nil && (v.may(actIssue) && si.asksForPlate(c) || v.may(actCompare) && si.comparable())
	return si, err
}

// asksForPlate tells whether the end of the identification is asked for, now or
// once rigger and lift are known. What stands on the screen would be typed off
// the screen and not off the metal.
func (si sight) asksForPlate(c *card) bool {
	switch si.stage {
	case asksPlate:
		return true
	case staysHere:
		return slices.ContainsFunc(si.codes, ofPlate)
	case needsWho, needsLift, asksSingle, asksShort, asksPart, asksSeat, asksAside:
		return c.Way.AsksPlate()
	}
	return false
}

// comparable tells whether the plate is to be compared with tag and record: what
// stands on it is read off the metal, and not off the screen.
func (si sight) comparable() bool {
	st := si.sling.Details.Sling.State
	return si.stage == staysHere && slices.Contains(si.codes, gate.NotCompared) && (st == gate.StateIn || st == gate.StateHeld)
}

func ofPlate(r gate.Reason) bool { return r == gate.PlateMismatch || r == gate.PlateNeeded }

func (s *Server) look(v *visit, t *turn, c *card) (sight, error) {
	if c.Sling == "" {
		return unknownSight(c), nil
	}
	ctx := v.r.Context()
	found, err := s.Counter.Find(ctx, t.reading(v, c))
	if err != nil {
		return sight{}, err
	}
	if !found.Known || found.Sling.ID.String() != c.Sling {
		// Between two looks the tag has become another sling's, or nobody's.
		if len(found.Codes) == 0 {
			found.Codes = []gate.Reason{gate.ChangedMeanwhile}
		}
		return sight{stage: noSling, codes: found.Codes}, nil
	}
	si := sight{known: true, sling: found.Sling, codes: found.Codes}
	if done, err := s.seeDone(v, t, c, &si); done || err != nil {
		return si, err
	}
	missing, err := s.askOf(v, t, c, &si)
	switch {
	case err != nil:
		return sight{}, err
	case missing != mayGo:
		return si, seeAlone(v, &si, missing)
	}
	return si, s.seeLift(v, c, &si)
}

// askOf puts together what the counter is asked about a card's sling. Unless the
// stage is mayGo, something has to be said first.
func (s *Server) askOf(v *visit, t *turn, c *card, si *sight) (missing stage, err error) {
	if si.rigger, err = s.rigger(v, t); err != nil {
		return staysHere, err
	}
	purpose := t.of(c)
	stated, have := v.stated(purpose)
	si.stated = stated
	sling := si.sling.Details.Sling
	_, answered := c.shortening()
	switch {
	case !v.may(actIssue), si.rigger.ID.IsZero():
		return needsWho, nil // whoever may not hand over sees how the sling stands
	case !have:
		return needsLift, nil
	}
	si.lifted = true
	if c.For == 0 {
		c.For = t.Now
	}
	si.ask = counter.Ask{Reading: t.reading(v, c), Rigger: si.rigger.ID, Shift: stated.Shift, Lift: stated.Lift, Aside: c.aside()}
	if stated.Shift {
		return mayGo, nil
	}
	part := c.part(stated.Unit)
	switch {
	case purpose.Plan == "" && purpose.Lift["together"] == "" && asksSingles(stated.Lift, sling):
		return asksSingle, nil
	case !answered && sling.Adjustable:
		return asksShort, nil
	case stated.Share == event.Beam && stated.Stated && part.Carries == 0:
		return asksPart, nil
	}
	si.ask.Lift, si.ask.Against = counter.Of(stated.StatedLift, sling, part, v.crib.Founded.Units)
	si.ask.Ends = counter.Ends{Crane: stated.Crane, Lower: stated.Lower, Seat: c.seat()}
	si.ask.Beside, err = s.beside(v, t, c, stated, sling, part)
	return mayGo, err
}

// beside gives what stands against a sling beside those that were scanned for the
// same lift before it.
func (s *Server) beside(v *visit, t *turn, c *card, stated statedLift, sling gate.Sling, part counter.Part) ([]gate.Reason, error) {
	if stated.Many() == 0 {
		return nil, nil
	}
	var first *counter.Placed
	already := 0
	for _, other := range t.lines() {
		if other.For != c.For || other.N >= c.N {
			continue
		}
		if already++; first != nil {
			continue
		}
		id, err := event.ParseSlingID(other.Sling)
		if err != nil {
			return nil, err
		}
		placed, err := s.Store.Sling(v.r.Context(), id)
		if err != nil {
			return nil, err
		}
		first = &counter.Placed{Plate: placed.Details.Sling.Plate, Shortened: other.part(stated.Unit).Shortened}
	}
	return counter.Beside(stated.StatedLift, sling, part.Shortened, first, already), nil
}

func unknownSight(c *card) sight {
	si := sight{stage: noSling}
	for _, code := range c.Codes {
		if r, err := gate.ParseReason(code); err == nil {
			si.codes = append(si.codes, r)
		}
	}
	return si
}

// seeDone recognises what was done in this turn, as long as the register still
// says so, and a sling that is out.
func (s *Server) seeDone(v *visit, t *turn, c *card, si *sight) (bool, error) {
	stands := si.sling.Details.Sling.State
	switch {
	case stands == gate.StateOut && c.Done == notDone && c.goes() && si.sling.Loan.Rigger.String() == t.Rigger:
		own, err := s.issuedBy(v, si.sling)
		if err != nil {
			return false, err
		}
		si.stage = isTooLate
		if own {
			si.stage = isHandedOver // from here, and the answer was lost
		}
	case stands == gate.StateOut && c.Done == handedOver && si.sling.Loan.Rigger.String() == t.Rigger:
		si.stage = isHandedOver
	case stands == gate.StateOut && (c.Done == tooLate || c.Done == notDone && c.goes()):
		si.stage = isTooLate // it was about to go from here
	case stands == gate.StateOut:
		si.stage = isOut
	case stands == gate.StateIn && c.Done == tookBack:
		si.stage = isBack
	default:
		return false, nil
	}
	return true, explainAlone(v, si)
}

// issuedBy tells whether who asks is who handed a sling over that is out.
func (s *Server) issuedBy(v *visit, sling state.Sling) (bool, error) {
	story, err := s.Store.Story(v.r.Context(), event.Sling(sling.ID))
	if err != nil {
		return false, err
	}
	for _, r := range slices.Backward(story) {
		if r.Envelope.Kind == event.KindIssued {
			return r.Envelope.By == v.who.ID, nil
		}
	}
	return false, nil
}

// seeAlone judges the sling whatever the lift; what is missing is asked only of
// one that could go at all.
func seeAlone(v *visit, si *sight, missing stage) error {
	if err := explainAlone(v, si); err != nil {
		return err
	}
	si.codes = append(si.codes, counter.Doubts(si.sling.Doubt|v.crib.Doubt)...)
	si.codes = append(si.codes, counter.Uncompared(v.crib, si.sling)...)
	si.codes = append(si.codes, si.answer.Reasons...)
	si.stage = staysHere
	if len(si.codes) == 0 && si.answer.May() {
		si.stage = missing
	}
	return nil
}

func explainAlone(v *visit, si *sight) error {
	var err error
	if si.answer, err = gate.Explain(counter.Question(si.sling, v.crib.Founded.Policy, v.today, nil)); err != nil {
		return cannotAsk(err)
	}
	return nil
}

// seeLift asks the counter about sling, rigger and lift.
func (s *Server) seeLift(v *visit, c *card, si *sight) error {
	o, err := s.Counter.Look(v.r.Context(), v.by(c.Way, ""), si.ask)
	if err != nil {
		return cannotAsk(err)
	}
	si.complete = true
	si.codes = o.Codes
	if o.Asked {
		if si.answer, err = gate.Explain(o.Question); err != nil {
			return cannotAsk(err)
		}
	}
	switch {
	case o.May:
		si.stage = mayGo
	case o.AskSeat:
		si.stage = asksSeat
	case o.AskAside:
		si.stage = asksAside
	case o.AskPlate:
		si.stage = asksPlate
	default:
		si.stage = staysHere
	}
	return nil
}

// cannotAsk says why the gate could not be asked. Nothing was decided, so nothing
// may go.
func cannotAsk(err error) error {
	if q, ok := errors.AsType[*gate.QuestionError](err); ok {
		return &Visible{Code: BadInput, Cause: err,
			Sentence: "This lift cannot be asked of this sling: " + q.Reason + ".",
			Next:     "It stays here. State the lift again, or have an inspector look at the sling’s details."}
	}
	return err
}

// ask records a refusal where everything is known and the sling stays, and hangs
// the card on the rail as it now stands.
func (s *Server) ask(v *visit, t *turn, c *card, key string) error {
	si, err := s.see(v, t, c)
	if err != nil {
		return err
	}
	if si.complete && si.stage == staysHere && v.may(actIssue) {
		if _, err := s.Counter.Refuse(v.r.Context(), v.by(c.Way, key), si.ask); err != nil {
			return err
		}
	}
	c.hang(si, v.wordsOf(nil))
	return nil
}

// hang keeps on the rail how a card was last seen.
func (c *card) hang(si sight, w words) {
	c.Edge, c.Note, c.Plated = si.verdict(), si.note(), si.stage == asksPlate
	switch problem := scan.Problem(c.Problem); {
	case si.blind:
		c.Title, c.Sub = w.makeUp(si.sling.Details.Sling.Plate), ""
	case si.known:
		c.Title, c.Sub = si.sling.Details.Ident, w.makeUp(si.sling.Details.Sling.Plate)
	case problem != 0:
		c.Title, c.Sub = "No sling", problem.Sentence()
	case c.Badge:
		c.Title, c.Sub = "No rigger", w.says(si.first(), si.answer).Sentence
	default:
		c.Title, c.Sub = "No sling", w.says(si.first(), si.answer).Sentence
	}
}

// first is the reason that is said first.
func (si sight) first() gate.Reason {
	if len(si.codes) == 0 {
		return gate.NotDecided
	}
	return si.codes[0]
}

// verdict is the edge of the card.
func (si sight) verdict() Verdict {
	switch si.stage {
	case mayGo:
		return MayGo
	case isHandedOver:
		return Away
	case asksPlate, asksSingle, asksShort, asksPart, asksSeat, asksAside, isOut:
		return LookCloser
	case staysHere, noSling, isTooLate:
		return StaysHere
	}
	return ""
}

// note is what the card says of itself on the rail.
func (si sight) note() string {
	switch si.stage {
	case mayGo:
		return "may go"
	case isHandedOver:
		return "handed over"
	case isBack:
		return "back in"
	case asksPlate, asksSingle, asksShort, asksPart, asksSeat, asksAside:
		return "look closer"
	case isOut:
		return "is out: take it back?"
	case needsWho:
		return "for nobody yet"
	case needsLift:
		return "no lift stated yet"
	case isTooLate:
		return "someone else has it"
	}
	if si.known && si.sling.Details.Sling.State == gate.StateHeld {
		return "held"
	}
	return "stays here"
}

// releasers are the people here who may release a held sling.
func (s *Server) releasers(v *visit) ([]string, error) {
	people, err := s.Store.People(v.r.Context())
	if err != nil {
		return nil, err
	}
	var names []string
	for _, p := range people {
		if p.May(event.Inspector, v.today) {
			names = append(names, p.Name)
		}
	}
	return names, nil
}
