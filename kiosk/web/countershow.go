package web

import (
	"slices"
	"strconv"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/state"
	"cribgate/kiosk/scan"
)

// showCard puts a card on the page as it now stands.
func (s *Server) showCard(v *visit, t *turn, c *card, p *CounterPage) (sight, error) {
	names, err := s.names(v)
	if err != nil {
		return sight{}, err
	}
	w := v.wordsOf(names)
	si, err := s.see(v, t, c)
	if err != nil {
		return sight{}, err
	}
	c.hang(si, w) // for this page; what is kept was kept when something was done
	p.Shown = true
	if si.known {
		p.Strip, p.Working = metalStrip(si.sling, w), workingOf(si.answer, w)
		if si.blind {
			p.Strip.Facts = slices.DeleteFunc(p.Strip.Facts, func(f Fact) bool { return f.Value == si.sling.Details.Ident })
		} else {
			p.Story = slingPath(si.sling)
		}
		p.holdForm(v, c, si)
		p.wornTag(v, c, si)
	}
	if si.complete {
		p.showLift(v, si, w)
	}
	switch si.stage {
	case noSling:
		p.showReasons(si, w, "")
		if problem := scan.Problem(c.Problem); problem != 0 {
			p.Plate = Plate{Verdict: StaysHere, Sentence: problem.Sentence()}
			p.Must = problem.Next()
		}
		if nobodys(si.codes) && v.may(actPaper) {
			p.Steps = append(p.Steps, Action{Label: "Keep it apart", Sub: "it gets a number and a picture, and goes to nobody", Path: straysPath})
		}
	case staysHere:
		if err := s.showStays(v, t, c, si, p, w); err != nil {
			return sight{}, err
		}
	case mayGo, asksPlate:
		p.showMay(c, si, w)
	case isOut, isTooLate:
		s.showOut(v, c, si, p, w)
		if si.stage == isOut && v.may(actIssue) {
			p.TakeBack.Over = awayPath(si.sling)
		}
		p.offerHere(t, si)
	case isHandedOver:
		p.showGone(t, c, si, w)
	case isBack:
		p.Says = Says{About: si.sling.Details.Ident, Words: "Back in", Sentence: hangSentence(si)}
		if v.crib.ToCompare(si.sling) && v.may(actCompare) {
			p.Says.Sentence += " Scan it once more to compare it with the record."
		}
		p.Done = true
	case needsWho, needsLift:
		p.Says = Says{About: si.about(w), Words: goingOut, Sentence: hereSentence(si)}
		if si.stage == needsWho && !v.may(actIssue) {
			p.Says.Words = "In the crib"
		}
	case asksSingle, asksShort, asksPart, asksSeat:
		p.showAsks(c, si, w)
	case asksAside:
		if err := s.showAside(v, c, si, p, w); err != nil {
			return sight{}, err
		}
	}
	answered := c.Shortened+c.Carries+c.Seat+c.Aside != ""
	if c.waits() && (c.Edge == MayGo || answered || si.stage == asksPlate || si.stage == asksSeat || si.stage == asksPart || si.stage == asksAside) {
		p.Off = TakeOff{Key: newKey(), Card: c.N, Again: answered}
	}
	return si, nil
}

// goingOut is what the plate says of a sling that waits for its rigger or lift.
const goingOut = "Going out?"

// about is what the plate calls the sling.
func (si sight) about(w words) string {
	if si.blind {
		return w.makeUp(si.sling.Details.Sling.Plate)
	}
	return si.sling.Details.Ident
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

// showMay makes the plate of a sling that may go, or that asks for the end of its
// plate's identification first, and the black button.
func (p *CounterPage) showMay(c *card, si sight, w words) {
	a := si.answer
	p.Plate = Plate{Verdict: MayGo, Name: si.sling.Details.Ident, Sentence: si.carries(w)}
	if apart, known := si.apart(w); known {
		where := " apart."
		if si.ask.Lift.Legs > 2 {
			where = " from their middle."
		}
		p.Plate.Sentence += " This holds for pick points no more than " + apart.Value + where
	}
	if si.stage == asksPlate {
		text := w.says(gate.PlateNeeded, a)
		p.Plate = Plate{Verdict: LookCloser, Name: si.about(w), Sentence: text.Sentence + " " + text.Next, Rule: text.Rule, InFull: text.InFull}
	}
	if si.stage == asksPlate {
		p.askPlate(c, si)
	}
}

// carries says what the sling may carry, for its lift or, for a shift, at all.
func (si sight) carries(w words) string {
	if si.stated.Shift {
		text := "Gear for a shift, without a stated lift. Straight, with the load in the middle, it may carry"
		return text + " " + capacities(si.answer, w)
	}
	needs, may := w.held(si.answer)
	lead := "The lift needs "
	if si.stated.Many() > 0 {
		lead = "Its part of the lift is "
	}
	if si.stated.Share == event.OneHook || si.ask.Lift.Singles {
		return "The lift needs " + needs.Value + ". Rigged like this, " + rating.LegsWords(si.ask.Lift.Legs) + " like this one may carry " + may.Value + "."
	}
	return lead + needs.Value + ". Rigged like this, the sling may carry " + may.Value + "."
}

// capacityWords say how a capacity is meant.
func capacityWords(c gate.Capacity) string {
	switch {
	case c.Choked:
		return "choked, left to pull tight"
	case c.Basis == rating.Vertical:
		return "straight down"
	}
	return "at " + c.Basis.Words()
}

// askPlate asks for the end of the identification on the metal.
func (p *CounterPage) askPlate(c *card, si sight) {
	p.Plated = PlateForm{HandOver: HandOver{Key: newKey(), Card: c.N, Lines: strconv.Itoa(c.N), Seen: seenOf([]sight{si}), Label: "Hand it over to " + si.rigger.Name,
		Sub: "needed back by " + Day(si.ask.Lift.ReturnBy)}, Action: "/counter/issue",
		Plate: Field{Name: "typed", Label: "Last characters of the identification on the metal plate", Hint: "At least three; read them off the sling in your hand",
			Most: 16, Focus: true}}
}

// showOut makes the plate of a sling that is out, with its return check.
func (s *Server) showOut(v *visit, c *card, si sight, p *CounterPage, w words) {
	who, since := w.name(si.sling.Loan.Rigger), w.clock(si.sling.Loan.Since)
	if si.stage == isTooLate {
		text := w.says(gate.AlreadyOut, si.answer)
		p.Plate = Plate{Verdict: StaysHere, Name: si.sling.Details.Ident, Sentence: who + " has it since " + since + ".", Rule: text.Rule, InFull: text.InFull}
		p.Must = text.Next
	} else {
		p.Plate = Plate{Verdict: LookCloser, Name: si.sling.Details.Ident, Sentence: "Back from " + who + ", out since " + since + "."}
		if back := si.sling.Loan.ReturnBy; !back.IsZero() && back.Before(v.today) {
			p.Plate.Sentence += " It was needed back by " + back.Long() + "."
		}
		if recall := si.sling.Loan.Recall; recall != (state.Recall{}) {
			p.Plate.More = append(p.Plate.More, Reason{Sentence: sentenceEnd(recallSays(recall))})
		}
	}
	if p.TakeBack.Kept == "" { // else it was sent, and is asked again
		p.TakeBack.ReturnCheck = s.returnCheck(v, si.sling, askedOf(si, w))
		p.TakeBack.Later = si.later()
	}
	p.TakeBack.Key, p.TakeBack.Card, p.TakeBack.Fold = newKey(), c.N, si.stage == isTooLate
}

// askedOf is who is asked what happened out there.
func askedOf(si sight, w words) string {
	if !si.later() {
		return "whoever brings it"
	}
	return w.name(si.sling.Loan.Rigger)
}

// showAsks asks what only this sling needs to have answered.
func (p *CounterPage) showAsks(c *card, si sight, w words) {
	p.Plate = Plate{Verdict: LookCloser, Name: si.about(w)}
	p.Asks = Asks{Key: newKey(), Card: c.N}
	if si.stage == asksSingle {
		n := rating.LegsWords(si.stated.Lift.Legs)
		p.Plate.Sentence = "This sling has one leg, and " + n + " are to carry."
		p.Asks.Legend, p.Asks.Name = "Is it one of several like slings on one hook?", "singles"
		p.Asks.Answers = []Action{
			{Label: "Yes, all alike", Sub: w.say("same size, grade and reach, on one hook"), Name: "singles", Value: "yes"},
			{Label: "No, it is alone", Name: "singles", Value: "no"},
		}
		return
	}
	if si.stage == asksPart {
		p.Plate.Sentence = "This sling carries a part of " + w.lead.Mass(si.stated.Lift.Load+si.stated.Beam) + ", with the beam."
		unit := "kilograms"
		if si.stated.Unit == quantity.Pound {
			unit = "pounds"
		}
		p.Asks.Legend, p.Asks.Name = "What does it carry?", "carries"
		p.Asks.Field = Field{Name: "carries", Label: "Its part, in " + unit, Hint: "Rounded up, beam included; the parts of all slings together are no less than the whole", Mode: "decimal", Most: 12, Focus: true, Value: c.Carries}
		return
	}
	if si.stage == asksSeat {
		p.Plate.Sentence = w.says(gate.SeatUnknown, si.answer).Sentence
		p.Asks.Legend, p.Asks.Name = "Does the link seat in the bowl of the hook of "+si.stated.Crane+"?", "seat"
		p.Asks.Answers = []Action{
			{Label: "Yes, it lies in the bowl", Sub: "free, and not on the tip", Name: "seat", Value: "yes"},
			{Label: "No, or nobody can look", Name: "seat", Value: "no"},
		}
		return
	}
	p.Plate.Sentence = "The legs of this sling can be shortened."
	p.Asks.Legend, p.Asks.Name = "Will its legs be shortened for this lift?", "shortened"
	p.Asks.Answers = []Action{
		{Label: "No", Sub: "used at full length", Name: "shortened", Value: "no"},
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
	if !p.Hold.Open {
		p.Hold = holdAsks(faults(), "", "")
		p.Hold.Lies = liesAsks("", "")
	}
	p.Hold.Key, p.Hold.Card, p.Hold.Heads = newKey(), c.N, headsText(si.sling.Heads)
}

func liesAsks(lies, complaint string) Field {
	return Field{Name: "lies", Label: "Where will it lie?", Hint: "Apart from what may go out; empty: at its own place", Value: lies, Error: complaint, Most: maxPlace}
}

func holdAsks(options []Option, reason, complaint string) HoldForm {
	return HoldForm{
		What: Choice{Name: "what", Legend: "What is wrong with it?", Hint: "One or more; the inspector starts from it", Many: true, Options: options},
		Reason: Field{Name: "reason", Label: "In a few words", Hint: "Where it is, and what else the inspector should know",
			Value: reason, Error: complaint, Most: maxText},
	}
}

// showLift draws the lift as it was asked of this sling.
func (p *CounterPage) showLift(v *visit, si sight, w words) {
	if si.stated.Shift {
		for _, c := range si.answer.Capacity {
			p.Lift.Facts = append(p.Lift.Facts, w.may("May carry, "+capacityWords(c), c.Load))
		}
		return
	}
	over := false
	for _, code := range si.codes {
		over = over || code == gate.UnderRated || code == gate.AngleTooFlat
	}
	p.Lift.Facts = si.stated.facts(w.lead)
	if si.stated.Share == event.Beam && si.stated.Stated {
		p.Lift.Facts = append(p.Lift.Facts, w.needs("This one carries", si.ask.Lift.Load))
	}
	if apart, known := si.apart(w); known {
		p.Lift.Facts = append(p.Lift.Facts, apart)
	}
	atLeg := ""
	if a := si.answer; a.Scope == gate.ByAngle || a.Scope == gate.ByGeometry {
		needs, may := w.held(a)
		switch {
		case si.stated.Share == event.Beam:
			needs.Label = "Its part of the lift"
		case si.ask.Lift.Singles:
			may.Label = upperFirst(rating.LegsWords(si.ask.Lift.Legs)) + " like it may carry"
		}
		if st := si.sling.Details.Sling.State; st != gate.StateIn && st != gate.StateOut {
			may.Label = "Rated for this, and does not go out"
		}
		p.Lift.Facts = append(p.Lift.Facts, needs)
		if m, known := eachLeg(si.ask.Lift, a.Required); known {
			leg := w.needs("Each leg carries", m)
			if si.stated.Drawn {
				leg.Label += ", at most"
			}
			atLeg = leg.Value
			p.Lift.Facts = append(p.Lift.Facts, leg)
		}
		if a.Leg > 0 {
			p.Lift.Facts = append(p.Lift.Facts, w.needs("The heaviest leg carries", a.Leg))
		}
		p.Lift.Facts = append(p.Lift.Facts, may)
	}
	if si.stated.hangs() {
		p.Lift.Drawing = v.drawHung(si)
		return
	}
	p.Lift.Drawing = drawLift(si.ask.Lift, w.lead.Mass(si.ask.Lift.Load), atLeg, over)
}

// apart is how far apart the pick points may be with this sling, where the angle
// was answered by the drawing; false where it was not, or where it is not known how
// long the legs are from the hook to the load: round a choked load or under one in
// a basket goes a part of them that nobody has measured.
func (si sight) apart(w words) (Fact, bool) {
	reach := si.sling.Details.Sling.Reach
	if !si.stated.Drawn || reach == 0 || si.ask.Lift.Hitch != gate.Straight || si.ask.Lift.Shortened != gate.Unshortened {
		return Fact{}, false
	}
	for _, s := range spreads {
		if si.stated.Lift.Angle.Size == s.degrees*quantity.Degree {
			return w.apart(reach, s.tenths, si.ask.Lift.Legs), true
		}
	}
	return Fact{}, false
}

// workingOf is how the answer came about, step by step.
func workingOf(a gate.Answer, w words) Working {
	var out Working
	for _, step := range a.Working {
		out.Steps = append(out.Steps, Step{Label: step.What, Value: step.Figure.Text(w.lead), Rule: w.cites(step.Source)})
	}
	return out
}
