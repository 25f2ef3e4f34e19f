package gate

import (
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/source"
)

// RulesEdition names the rules that this package decides by. It is stored with
// every answer, and changes with every change of an answer.
const RulesEdition = "2026-1"

// nothingAllowed holds the reasons after which the sling may carry nothing, so
// that there is nothing to be compared with the load.
var nothingAllowed = SetOf(NoListedRating, NoStampedRating, StampTooHigh, StampsDisagree, HeatScrapped,
	LegsMismatch, HitchNotAllowed, LiftIncomplete, ReachTooShort, LegsUnequal, WouldRoll, WouldTip,
	AngleTooFlat, TooHot, TooCold)

// Decide answers a question. All reasons that can be established are given, not
// only the first. An error is a *[QuestionError]: the question cannot be decided,
// and the Answer holds its ID and refuses.
func Decide(q Question) (a Answer, err error) {
	err = DecideInto(&a, &q)
	return a, err
}

// Explain is [Decide] with the working.
func Explain(q Question) (a Answer, err error) {
	err = decide(&a, &q, true)
	return a, err
}

// DecideInto is [Decide] for who asks about many slings in turn. The answer takes
// the place of what a held, whose memory it uses again, so that an answer about a
// lift allocates nothing the second time; q is only read. After an error a refuses.
func DecideInto(a *Answer, q *Question) error { return decide(a, q, false) }

// Standing gives what stands against a sling apart from its metal and the lift:
// its rating tag, its state and its dates, and the day on which its inspection
// counts as due. They are reasons of [Decide], and no other reason or figure of an
// answer depends on what they look at. The question is not checked.
func Standing(q *Question) (against ReasonSet, due quantity.Date) {
	d := decision{q: q}
	d.state()
	due = d.dates()
	return d.reasons, due
}

// decision is one question being decided.
type decision struct {
	q        *Question
	reasons  ReasonSet
	rating   rating.Rating
	required quantity.Product
	working  bool
	steps    []Step
}

func decide(a *Answer, q *Question, working bool) error {
	reasons := a.Reasons[:0]
	if err := q.check(); err != nil {
		*a = Answer{ID: q.ID}
		return err
	}
	d := decision{q: q, working: working}
	*a = Answer{ID: q.ID, System: q.Sling.System, Grade: q.Sling.Grade}
	d.state()
	a.Due = d.dates()
	d.rate()
	after := d.after()
	if q.Lift == nil {
		a.Scope = SlingAlone
		a.Capacity = d.capacity(after)
	} else {
		d.lift(a, after)
	}
	a.Reasons = d.reasons.Append(reasons)
	a.Working = d.steps
	return nil
}

func (d *decision) state() {
	if d.q.Sling.RatingTag != TagLegible {
		d.reasons.add(RatingTagUnfit)
	}
	switch d.q.Sling.State {
	case StateOut:
		d.reasons.add(AlreadyOut)
	case StateUnchecked:
		d.reasons.add(Unchecked)
	case StateHeld:
		d.reasons.add(Held)
	case StateRetired:
		d.reasons.add(Retired)
	case StateLost:
		d.reasons.add(Lost)
	}
}

// dates judges the inspection and gives the day on which the next one counts as
// due: never later than the policy's months after the last one.
func (d *decision) dates() quantity.Date {
	s, now := &d.q.Sling, d.q.Now
	due := s.Due
	switch {
	case s.Inspected.IsZero():
		d.reasons.add(NeverInspected)
	case due.IsZero():
		d.reasons.add(NoDueDate)
	default:
		last := s.Inspected.AddMonths(d.q.Policy.MaxMonths)
		if !last.IsZero() && due.After(last) {
			due = last
		}
	}
	if s.Inspected.After(now) {
		d.reasons.add(ClockDoubt)
	}
	switch l := d.q.Lift; {
	case due.IsZero():
	case due.Before(now):
		d.reasons.add(Overdue)
	case l != nil && !l.ReturnBy.IsZero() && due.Before(l.ReturnBy):
		d.reasons.add(DueBeforeReturn)
	}
	return due
}

func (d *decision) rate() {
	d.rating = rating.Rate(&d.q.Sling.Plate)
	for _, f := range [...]struct {
		fault  rating.Fault
		reason Reason
	}{
		{rating.NoListedRating, NoListedRating}, {rating.NoStampedRating, NoStampedRating},
		{rating.StampTooHigh, StampTooHigh}, {rating.StampsDisagree, StampsDisagree},
	} {
		if d.rating.Faults&f.fault != 0 {
			d.reasons.add(f.reason)
		}
	}
	if d.rating.Leg.Known() {
		d.mass("single-leg rating listed", d.rating.Single.Exact(), d.rating.SingleSource)
		d.mass("single-leg rating of this sling", d.rating.Leg, d.rating.LegSource)
	}
}

// after is what the hottest that the chain has been leaves of its rating.
func (d *decision) after() quantity.Ratio {
	s := &d.q.Sling
	if s.Hottest == nil {
		return whole
	}
	left, rule, scrapped := afterHeat(s.System, s.Grade, *s.Hottest)
	if scrapped {
		d.reasons.add(HeatScrapped)
	}
	d.factor("left after heat", left, rule)
	return left
}

// heat is the smaller of what present and past heat leave of the rating.
func (d *decision) heat(after quantity.Ratio) quantity.Ratio {
	s, l := &d.q.Sling, d.q.Lift
	if l.Heat == nil {
		return after
	}
	left, rule, reason := whileHot(s.System, s.Grade, *l.Heat)
	if reason != NotDecided {
		d.reasons.add(reason)
	}
	d.factor("left while hot", left, rule)
	return smaller(left, after)
}

// lift judges the sling for the lift.
func (d *decision) lift(a *Answer, after quantity.Ratio) {
	l := d.q.Lift
	if l.Use != UseOrdinary {
		d.reasons.add(SpecialLift)
	}
	if l.Legs > d.q.Sling.Legs && !l.Singles {
		d.reasons.add(LegsMismatch)
	}
	d.required = l.Load.Times(percent(100 + int64(l.Margin)))
	a.Required = d.required.Floor()
	d.mass("load to be lifted, with margin", d.required, source.LoadMargin)
	f := factors{choke: whole, edge: whole, short: whole, balance: whole, heat: d.heat(after)}
	if l.Shortened == Plain {
		f.short = percent(80)
		d.factor("shortened without support", f.short, source.PlainShortening)
	}
	if l.Picks != nil {
		a.Scope = ByGeometry
		d.byGeometry(a, f)
		return
	}
	a.Scope = ByAngle
	d.byAngle(a, f)
}

func (d *decision) byAngle(a *Answer, f factors) {
	l := d.q.Lift
	legs := ratedLegs(l)
	if legs == 0 {
		d.reasons.add(HitchNotAllowed)
	}
	band := d.band(a)
	d.hitch(&f)
	if l.Legs > 1 && !l.Centred {
		f.balance = percent(50)
		d.factor("balance not stated", f.balance, source.HalfWhenOff)
	}
	if d.reasons.any(nothingAllowed) {
		return
	}
	allowed, rule := d.allowed(legs, band, f)
	a.Allowed = allowed.Floor()
	if d.required.More(allowed) {
		d.reasons.add(UnderRated)
		a.Over = a.over(legs, band, rule)
	}
}

// ratedLegs is the number of legs that a lift is rated for. A basket of one leg
// counts as two legs, of two as three or four (US OSHA, Guidance on Safe Sling
// Use, tables 1 and 2); 0 where a basket is not allowed.
func ratedLegs(l *Lift) int {
	switch {
	case l.Hitch != Basket:
		return l.Legs
	case l.Legs <= 2:
		return l.Legs + 1
	}
	return 0
}

// band is the basis that the stated angle falls in.
func (d *decision) band(a *Answer) rating.Basis {
	l := d.q.Lift
	switch {
	case l.Hitch != Basket && l.Legs == 1:
		return rating.Vertical
	case l.Angle == nil:
		d.reasons.add(LiftIncomplete)
		return 0
	}
	h := l.Angle.FromHorizontal()
	a.Flattest = h
	band, ok := bandAt(d.q.Sling.System, func(degrees int64) bool { return h >= quantity.Angle(degrees)*quantity.Degree })
	d.banded(h, band, ok)
	return band
}

func (d *decision) banded(h quantity.Angle, band rating.Basis, ok bool) {
	d.angle("angle of the legs from horizontal", h, source.LowerAngle)
	if !ok {
		d.reasons.add(AngleTooFlat)
		d.note("band", "flatter than any", AngleTooFlat.Rule(Answer{System: d.q.Sling.System}))
		return
	}
	d.note("band", band.Words(), source.LowerAngle)
}

// hitch finds what choke and edge leave of the rating.
func (d *decision) hitch(f *factors) {
	l := d.q.Lift
	if l.Hitch == Choked {
		if l.Choke == nil {
			d.reasons.add(LiftIncomplete)
		} else {
			left, rule, ok := chokeFactor(d.q.Policy.Choke, *l.Choke)
			if !ok {
				d.reasons.add(HitchNotAllowed)
			}
			f.choke = left
			d.factor("choked", left, rule)
		}
	}
	if l.Edge == nil {
		if l.Hitch != Straight { // something always bears on the chain
			d.reasons.add(LiftIncomplete)
		}
		return
	}
	size := d.q.Sling.Size.Nominal()
	f.edge = edgeFactor(*l.Edge, size)
	d.factor("edge", f.edge, source.EdgeRadius)
	if l.Hitch == Basket {
		bend, ok := bendFactor(*l.Edge, size)
		if !ok {
			d.reasons.add(HitchNotAllowed)
		}
		f.edge = smaller(f.edge, bend)
		d.factor("bend", bend, source.BendRatio)
	}
}
