package web

import (
	"crypto/sha256"
	"encoding/hex"
	"strings"

	"cribgate/core/gate"
	"cribgate/kiosk/scan"
)

// showCard puts a card on the page as it now stands.
func (s *Server) showCard(v *visit, t *turn, c *card, p *CounterPage) error {
	names, err := s.names(v)
	if err != nil {
		return err
	}
	w := v.wordsOf(names)
	si, err := s.see(v, t, c)
	if err != nil {
		return err
	}
	c.hang(si, w) // for this page; what is kept was kept when something was done
	p.Shown = true
	if si.known {
		p.Strip, p.Story = metalStrip(si.sling, w), slingPath(si.sling)
		p.Working = workingOf(si.answer, w)
		p.holdForm(v, c, si)
	}
	if si.complete {
		p.showLift(si, w)
	}
	switch si.stage {
	case noSling:
		p.showReasons(si, w, "")
		if problem := scan.Problem(c.Problem); problem != 0 {
			p.Plate = Plate{Verdict: StaysHere, Sentence: problem.Sentence()}
			p.Must = problem.Next()
		}
	case staysHere:
		return s.showStays(v, c, si, p, w)
	case mayGo, asksPlate:
		p.showMay(c, si, w)
	case isOut, isTooLate:
		p.showOut(c, si, w)
	case isHandedOver:
		p.Says = Says{About: si.sling.Details.Ident, Words: "Handed over", Done: true,
			Sentence: w.name(si.sling.Loan.Rigger) + " has it since " + w.clock(si.sling.Loan.Since) + "."}
		if back := si.sling.Loan.ReturnBy; !back.IsZero() {
			p.Says.Sentence += " It is needed back by " + back.Long() + "."
		}
		p.Must = "Scan the next one, or let the next rigger come."
	case isBack:
		p.Says = Says{About: si.sling.Details.Ident, Words: "Back in", Done: true, Sentence: hangSentence(si)}
	case needsWho, needsLift:
		p.Says = Says{About: si.sling.Details.Ident, Words: "Going out?", Sentence: hereSentence(si)}
		if si.stage == needsWho && !v.may(actIssue) {
			p.Says.Words = "In the crib"
			break
		}
		_, have := v.lift(t)
		p.Steps = steps(v, si.rigger.ID, have)
	case asksSingle, asksShort:
		p.showAsks(c, si, w)
	}
	return nil
}

func hangSentence(si sight) string {
	if place := si.sling.Details.Place; place != "" {
		return "Look it over and hang it on " + place + "."
	}
	return "Look it over and hang it where it belongs."
}

func hereSentence(si sight) string {
	text := "It is in"
	if due := si.answer.Due; !due.IsZero() {
		text += ", due " + due.Long()
	}
	return text + ". Whether it may go depends on the lift."
}

// showReasons makes the plate of a sling that stays: the first reason large, the
// others below it, and what to do about the first.
func (p *CounterPage) showReasons(si sight, w words, about string) {
	p.Plate = Plate{Verdict: StaysHere, Name: about}
	for i, code := range si.codes {
		text := code.Text(si.answer, w.lead)
		if i == 0 {
			p.Plate.Sentence, p.Plate.Rule, p.Must = text.Sentence, text.Rule, text.Next
			continue
		}
		p.Plate.More = append(p.Plate.More, Reason{Sentence: text.Sentence, Rule: text.Rule})
	}
	if len(si.codes) == 0 { // never a plate without words, and never one that goes
		text := gate.NotDecided.Text(si.answer, w.lead)
		p.Plate.Sentence, p.Plate.Rule, p.Must = text.Sentence, text.Rule, text.Next
	}
}

// showStays adds to the reasons who can help, and what would do instead.
func (s *Server) showStays(v *visit, c *card, si sight, p *CounterPage, w words) error {
	p.showReasons(si, w, si.sling.Details.Ident)
	if si.sling.Details.Sling.State == gate.StateHeld {
		names, err := s.releasers(v)
		if err != nil {
			return err
		}
		p.Plate.Sentence += " " + upperFirst(si.sling.Hold.Reason) + "."
		if len(names) > 0 {
			p.Must = "Lay it apart from the rack. Who may release it: " + strings.Join(names, ", ") + "."
		}
	}
	for _, code := range si.codes {
		if code == gate.PlateMismatch || code == gate.PlateNeeded {
			p.askPlate(c, si)
		}
	}
	other, found, err := s.instead(v, si)
	if err != nil {
		return err
	}
	if found {
		d := other.Details
		a := Action{Label: "Take " + d.Ident + " instead", Path: slingPath(other), First: true,
			Sub: w.makeUp(d.Sling.Plate) + ". Due " + d.Sling.Due.Long()}
		if d.Place != "" {
			a.Label = "Take " + d.Ident + " from " + d.Place + " instead"
		}
		p.Steps = append(p.Steps, a)
	}
	if v.may(actIssue) && si.complete {
		p.Steps = append(p.Steps, Action{Label: "Change the lift", Sub: w.lead.Mass(si.ask.Lift.Load) + ", " + legsWords(si.ask.Lift.Legs), Path: liftPath})
	}
	return nil
}

// showMay makes the plate of a sling that may go, or that asks for the end of its
// plate's identification first, and the black button.
func (p *CounterPage) showMay(c *card, si sight, w words) {
	a := si.answer
	p.Plate = Plate{Verdict: MayGo, Name: si.sling.Details.Ident,
		Sentence: "The lift needs " + w.lead.Mass(a.Required) + ". Rigged like this, the sling may carry " + w.lead.Mass(a.Allowed) + "."}
	if si.stage == asksPlate {
		text := gate.PlateNeeded.Text(a, w.lead)
		p.Plate = Plate{Verdict: LookCloser, Name: si.sling.Details.Ident, Sentence: text.Sentence + " " + text.Next, Rule: text.Rule}
	}
	p.HandOver = HandOver{Key: newKey(), Card: c.N, Seen: si.seen(), Label: "Hand it over to " + si.rigger.Name,
		Sub: "needed back by " + Day(si.ask.Lift.ReturnBy)}
	if si.stage == asksPlate {
		p.askPlate(c, si)
	}
}

// askPlate asks for the end of the identification on the metal.
func (p *CounterPage) askPlate(c *card, si sight) {
	p.HandOver = HandOver{Key: newKey(), Card: c.N, Seen: si.seen(), Label: "Hand it over to " + si.rigger.Name,
		Sub: "needed back by " + Day(si.ask.Lift.ReturnBy), Asks: true,
		Plate: Field{Name: "typed", Label: "Last characters of the identification on the metal plate", Hint: "At least three; read them off the sling in your hand",
			Most: 16, Needed: true, Focus: true}}
}

// seen marks what a page showed, so that a button pressed on an old page does not
// do something else.
func (si sight) seen() string {
	line, err := gate.Question{Lift: &si.ask.Lift}.MarshalJSON()
	if err != nil {
		return "" // never equal to a mark that was made
	}
	sum := sha256.Sum256([]byte(si.ask.Rigger.String() + "\x00" + si.sling.ID.String() + "\x00" + string(line)))
	return hex.EncodeToString(sum[:12])
}

// showOut makes the plate of a sling that is out, with the one question.
func (p *CounterPage) showOut(c *card, si sight, w words) {
	who, since := w.name(si.sling.Loan.Rigger), w.clock(si.sling.Loan.Since)
	if si.stage == isTooLate {
		text := gate.AlreadyOut.Text(si.answer, w.lead)
		p.Plate = Plate{Verdict: StaysHere, Name: si.sling.Details.Ident, Sentence: who + " has it since " + since + ".", Rule: text.Rule}
		p.Must = text.Next
	} else {
		p.Plate = Plate{Verdict: LookCloser, Name: si.sling.Details.Ident, Sentence: "Back from " + who + ", out since " + since + "."}
	}
	more := p.TakeBack.More
	what, note := p.TakeBack.What, p.TakeBack.Note
	p.TakeBack = TakeBack{Key: newKey(), Card: c.N, More: more, What: what, Note: note, Fold: si.stage == isTooLate && !more}
}

// showAsks asks what only this sling needs to have answered.
func (p *CounterPage) showAsks(c *card, si sight, w words) {
	p.Plate = Plate{Verdict: LookCloser, Name: si.sling.Details.Ident}
	p.Asks = Asks{Key: newKey(), Card: c.N}
	if si.stage == asksSingle {
		n := legsWords(si.stated.Lift.Legs)
		p.Plate.Sentence = "This sling has one leg, and " + n + " are to carry."
		p.Asks.Legend, p.Asks.Name = "Is it one of several like slings on one hook?", "singles"
		p.Asks.Answers = []Action{
			{Label: "Yes, all alike", Sub: "same size, grade and reach, on one hook", Name: "singles", Value: "yes", First: true},
			{Label: "No, it is alone", Name: "singles", Value: "no"},
		}
		return
	}
	p.Plate.Sentence = "The legs of this sling can be shortened."
	p.Asks.Legend, p.Asks.Name = "Will its legs be shortened for this lift?", "shortened"
	p.Asks.Answers = []Action{
		{Label: "No", Sub: "used at full length", Name: "shortened", Value: "no", First: true},
		{Label: "Yes, in a hook that supports the chain", Sub: "the links lie in a cradle", Name: "shortened", Value: "cradled"},
		{Label: "Yes, in a plain hook", Sub: "the chain hangs over the hook’s edge", Name: "shortened", Value: "plain"},
	}
}

// holdForm lets anyone at the counter put a sling on hold.
func (p *CounterPage) holdForm(v *visit, c *card, si sight) {
	stands := si.sling.Details.Sling.State
	if !v.may(actHold) || stands != gate.StateIn && stands != gate.StateHeld {
		return
	}
	reason := p.Hold.Reason
	if reason.Name == "" {
		reason = holdReason("", "")
	}
	p.Hold = HoldForm{Key: newKey(), Card: c.N, Heads: headsText(si.sling.Heads), Reason: reason, Open: p.Hold.Open}
}

func holdReason(value, complaint string) Field {
	return Field{Name: "reason", Label: "What is wrong with it?", Hint: "The inspector starts from it",
		Value: value, Error: complaint, Most: maxText, Needed: true}
}

// showLift draws the lift as it was asked of this sling.
func (p *CounterPage) showLift(si sight, w words) {
	over := false
	for _, code := range si.codes {
		over = over || code == gate.UnderRated || code == gate.AngleTooFlat
	}
	p.Lift.Drawing = drawLift(si.ask.Lift, w.lead.Mass(si.ask.Lift.Load), over)
	p.Lift.Facts = si.stated.facts(w.lead)
	a := si.answer
	if a.Scope != gate.ByAngle {
		return
	}
	p.Lift.Facts = append(p.Lift.Facts,
		Fact{Label: "The lift needs", Value: w.lead.Mass(a.Required), Small: w.other.Mass(a.Required)},
		Fact{Label: "This sling may carry", Value: w.lead.Mass(a.Allowed), Small: w.other.Mass(a.Allowed), Over: a.Required > a.Allowed})
}

// workingOf is how the answer came about, step by step.
func workingOf(a gate.Answer, w words) Working {
	var out Working
	for _, step := range a.Working {
		out.Steps = append(out.Steps, Step{Label: step.What, Value: step.Figure.Text(w.lead), Rule: step.Source.String()})
	}
	return out
}
