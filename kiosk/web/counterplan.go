package web

import (
	"cmp"
	"slices"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
)

// A PlannedOffer is a lift that the rigger who came has planned, with what is set
// aside for it.
type PlannedOffer struct {
	Lift    string // by id
	Title   string // "Today: pump, bay 3"
	Drawing Drawing
	Facts   []Fact
	Kept    []KeptSling
	Wants   string // how many more slings it takes; empty for none
	Take    Action
}

// A KeptSling is one that is set aside.
type KeptSling struct {
	Ident string
	Path  string
	Place string
	Is    string // what it is made of
	Stays string // why it would not go now; empty where nothing stands against it
}

// mostOffered is how many planned lifts stand at the counter at once (site policy, no
// source).
const mostOffered = 6

// plannedOffers are the lifts that a rigger has planned for today and later and that
// nothing went out for yet.
func (s *Server) plannedOffers(v *visit, rigger event.PersonID) (list []PlannedOffer, err error) {
	plans, err := s.Store.PlannedBy(v.r.Context(), rigger, v.today)
	if err != nil {
		return nil, err
	}
	w := v.wordsOf(nil)
	for _, p := range plans {
		if !p.Open() || len(list) == mostOffered {
			continue
		}
		stated := v.planned(p)
		o := PlannedOffer{Lift: p.Lift.String(), Title: w.dayWord(p.Day, v.today), Facts: stated.facts(w.lead),
			Drawing: v.drawStated(stated),
			Take:    Action{Label: "Take slings for this lift", Sub: "then scan them", Name: "lift", Value: p.Lift.String(), First: len(list) == 0 && p.Day == v.today}}
		if p.What != "" {
			o.Title += ": " + p.What
		}
		if o.Kept, o.Wants, err = s.keptFor(v, p, w); err != nil {
			return nil, err
		}
		list = append(list, o)
	}
	return list, nil
}

// dayWord calls a day by how near it is.
func (w words) dayWord(day, today quantity.Date) string {
	switch day.DaysSince(today) {
	case 0:
		return "Today"
	case 1:
		return "Tomorrow, " + Day(day)
	}
	return weekday(day).String() + ", " + Day(day)
}

// keptFor gives the slings that are set aside for a planned lift, and how many more it
// takes.
func (s *Server) keptFor(v *visit, p state.Planned, w words) (list []KeptSling, wants string, err error) {
	slings, err := s.Store.SetAsideFor(v.r.Context(), p.Day, p.Lift)
	if err != nil {
		return nil, "", err
	}
	return v.keptOf(p, slings, w)
}

// keptOf puts slings that are set aside for a planned lift into words.
func (v *visit) keptOf(p state.Planned, slings []state.Sling, w words) (list []KeptSling, wants string, err error) {
	ask := counter.AskFor(v.crib, p.Stated, v.today)
	for _, sling := range slings {
		k := KeptSling{Ident: sling.Details.Ident, Path: slingPath(sling), Place: sling.Details.Place, Is: w.makeUp(sling.Details.Sling.Plate)}
		codes, err := counter.Unfit(v.crib, sling, ask)
		if err != nil {
			return nil, "", cannotAsk(err)
		}
		if len(codes) > 0 {
			k.Stays = w.says(codes[0], sight{}.answer).Sentence
		}
		list = append(list, k)
	}
	if more := ask.Lift.Takes() - len(slings); more > 0 && len(slings) > 0 {
		wants = "It takes " + plural(more, "sling") + " more."
	}
	return list, wants, nil
}

// planned is a planned lift as it is stated at the counter, under the policy of now.
func (v *visit) planned(p state.Planned) statedLift {
	s := statedLift{StatedLift: p.Stated.Under(v.crib.Founded.Policy), Plan: p.Lift}
	s.Unit, _ = unitOf(v.crib.Founded.Units, s.Lift.Load, s.Beam)
	s.Unit = cmp.Or(s.Unit, v.crib.Founded.Units.MassUnit())
	if s.Lift.Edge != nil {
		s.Radius = s.Lift.Edge.String()
	}
	return s
}

// statedPlan is the lift of a purpose that was planned; false where its day of return is
// over, or its crane is gone.
func (v *visit) statedPlan(p *purpose) (statedLift, bool) {
	id, err := event.ParseLiftID(p.Plan)
	if err != nil {
		return statedLift{}, false
	}
	stated, err := event.ParseStatedLift([]byte(p.Stated))
	if err != nil {
		return statedLift{}, false
	}
	crane := stated.Crane == "" || slices.ContainsFunc(v.crib.Founded.Policy.Cranes, func(c event.Crane) bool { return c.Name == stated.Crane })
	s := v.planned(state.Planned{LiftPlanned: event.LiftPlanned{Lift: id, Stated: stated}})
	return s, crane && !stated.Lift.ReturnBy.Before(v.today)
}

// formOfPurpose gives the answers by which a purpose was stated, or would be stated where
// it was planned; false where the page has no such answers.
func (v *visit) formOfPurpose(p *purpose) (liftForm, bool) {
	if p.Plan == "" {
		return p.Lift, true
	}
	stated, err := event.ParseStatedLift([]byte(p.Stated))
	if err != nil {
		return nil, false
	}
	units := v.crib.Founded.Units
	l, line := stated.Lift, event.Line{Share: stated.Share, Crane: stated.Crane, Lower: stated.Lower, Weighed: stated.Weighed, Drawn: stated.Drawn,
		Slings: stated.Many(), Span: stated.Span, Headroom: stated.Headroom}
	if stated.Share == event.Beam {
		line.Whole, line.Beam = l.Load, stated.Beam
		if !stated.Stated {
			l.Load = stated.Equal(units)
		}
	}
	f, ok := answersOf(l, line, units)
	if ok {
		f["back"], f["day"] = "other", stated.Lift.ReturnBy.String()
	}
	return f, ok
}

// takePlanned states a lift that its rigger has planned, so that the slings that are
// set aside for it can be scanned.
func (s *Server) takePlanned(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	id, err := event.ParseLiftID(v.raw("lift"))
	if err != nil {
		return errNoPage
	}
	p, err := s.Store.Planned(v.r.Context(), id)
	if err != nil {
		return err
	}
	t := s.turn(v)
	rigger, err := s.rigger(v, t)
	if err != nil {
		return err
	}
	if rigger.ID != p.Rigger {
		s.notice(v, "Somebody else takes slings now. Look again what for.")
		return v.redirect("/counter")
	}
	if !p.Open() || p.Day.Before(v.today) {
		s.notice(v, "This lift was given up, or its slings went out, or its day is over.")
		return v.redirect("/counter")
	}
	text, err := p.Stated.MarshalJSON()
	if err != nil {
		return err
	}
	t.state(0, purpose{Plan: id.String(), Stated: string(text)})
	return s.askFor(v, t, t.Now, key)
}

// showAside asks whether a sling goes although it is set aside for somebody else.
func (s *Server) showAside(v *visit, c *card, si sight, p *CounterPage, w words) error {
	a := si.sling.Aside
	what := ""
	switch lift, err := s.Store.Planned(v.r.Context(), a.Lift); {
	case err != nil:
		return err
	case lift.What != "":
		what = ": " + lift.What
	}
	p.Plate = Plate{Verdict: LookCloser, Name: si.about(w), Sentence: "It is set aside for " + w.name(a.Rigger) + ", for a lift on " + Day(a.Day) + what + "."}
	p.Asks = Asks{Key: newKey(), Card: c.N, Legend: "Does it go to " + si.rigger.Name + " all the same?", Name: "aside", Answers: []Action{
		{Label: "No, it stays for them", Sub: "off the loan; hang it back", Name: "aside", Value: "no", First: true},
		{Label: "Yes, it goes", Sub: "the other lift loses it, and the keeper sees it", Name: "aside", Value: a.Lift.String()},
	}}
	return nil
}
