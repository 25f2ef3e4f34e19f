package web

import (
	"errors"
	"net/http"
	"strings"

	"cribgate/core/allot"
	"cribgate/core/event"
	"cribgate/core/fit"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
	"cribgate/store"
)

// DayProposal is what is proposed for a day. Without a Keep nothing is.
type DayProposal struct {
	Keep  string // the slings, by lift, as the form carries them
	Said  string
	Label string
	Bound string // that a better one may exist
}

// A DayOffer is what is proposed for one lift, or why nothing is.
type DayOffer struct {
	Slings []KeptSling
	Why    []string // why it cannot be served
	Would  []string // what would serve it
}

// proposed is a proposal beside the lifts it is for.
type proposed struct {
	lifts  []state.Planned
	asks   []fit.Ask
	p      allot.Proposal
	slings map[string]state.Sling // that are offered, by identification
}

// nearShown is how many slings are told of that nearly fit a lift which is not served
// (site policy, no source).
const nearShown = 3

// maxAside is the most bytes of a form that sets slings aside: a day of a thousand lifts.
const maxAside = 256 << 10

// toPropose are the lifts of a day for which nothing is set aside yet.
func (s *Server) toPropose(v *visit, day quantity.Date) ([]state.Planned, error) {
	plans, err := s.Store.PlannedOn(v.r.Context(), day, day)
	if err != nil {
		return nil, err
	}
	kept, err := s.keptOn(v, day)
	if err != nil {
		return nil, err
	}
	var list []state.Planned
	for _, p := range plans {
		if p.Open() && len(kept[p.Lift]) == 0 {
			list = append(list, p)
		}
	}
	return list, nil
}

// propose shares the slings that are here and set aside for nobody out to the lifts of
// a day. Nothing is written by it.
func (s *Server) propose(v *visit, day quantity.Date) (*proposed, error) {
	lifts, err := s.toPropose(v, day)
	if err != nil {
		return nil, err
	}
	rack, ids, err := s.rackNow(v)
	if err != nil {
		return nil, err
	}
	out := &proposed{slings: map[string]state.Sling{}}
	for _, p := range lifts {
		ask := counter.AskFor(v.crib, p.Stated, v.today)
		if ask.Check() != nil {
			continue // the policy has changed so that it cannot be asked any more; it stays without an answer
		}
		out.lifts, out.asks = append(out.lifts, p), append(out.asks, ask)
	}
	if out.p, err = allot.Propose(rack, out.asks, nearShown); err != nil {
		return nil, err
	}
	for _, lift := range out.p.Lifts {
		for _, o := range lift.Offers {
			if out.slings[o.Sling.Ident], err = s.Store.Sling(v.r.Context(), ids[o.Sling.Ident]); err != nil {
				return nil, err
			}
		}
	}
	return out, nil
}

func (s *Server) proposeDay(v *visit) error {
	day, err := dayOfPath(v)
	if err != nil {
		return err
	}
	if _, err := v.key(); err != nil {
		return err
	}
	if day.Before(v.today) {
		s.notice(v, "This day is over.")
		return v.redirect(dayAt(day))
	}
	p, err := s.propose(v, day)
	if err != nil {
		return cannotAsk(err)
	}
	return s.renderDay(v, http.StatusOK, day, p)
}

// propose puts a proposal beside the lifts of the page.
func (p *DayPage) propose(x *proposed, w words) {
	place := map[string]int{}
	for i := range p.Lifts {
		place[p.Lifts[i].ID] = i
	}
	var keep []string
	for i := range x.p.Lifts {
		at, ok := place[x.lifts[i].Lift.String()]
		if !ok {
			continue
		}
		for _, id := range p.Lifts[at].offered(x, i, w) {
			keep = append(keep, p.Lifts[at].ID+":"+id.String())
		}
	}
	p.Proposal.Said = plural(x.p.Served, "lift") + " of " + itoa(len(x.p.Lifts)) + " can be served; " + w.lead.Mass(x.p.Wasted.Floor(w.lead.MassUnit())) + " of capacity is wasted together."
	if !x.p.Proven {
		p.Proposal.Bound = "So many lifts take several slings that the search was cut short: there may be a better way to share them out."
	}
	if len(keep) > 0 {
		p.Proposal.Keep, p.Proposal.Label = strings.Join(keep, " "), "Set "+plural(len(keep), "sling")+" aside"
	}
}

// offered puts into words what a lift gets by a proposal, or why it gets nothing, and
// gives the slings.
func (l *DayLift) offered(x *proposed, i int, w words) (slings []event.SlingID) {
	for _, o := range x.p.Lifts[i].Offers {
		sling := x.slings[o.Sling.Ident]
		k := KeptSling{Ident: o.Sling.Ident, Path: slingPath(sling), Place: sling.Details.Place, Is: w.makeUp(o.Sling.Plate)}
		if o.Allowed > 0 {
			k.Is += ", may carry " + w.lead.MassDown(o.Allowed) + " here"
		}
		l.Offers.Slings = append(l.Offers.Slings, k)
		slings = append(slings, sling.ID)
	}
	if len(x.p.Lifts[i].Offers) == 0 {
		x.unserved(i, l, w)
	}
	return slings
}

// unserved says why a lift gets nothing, and what would serve it.
func (x *proposed) unserved(i int, l *DayLift, w words) {
	given, ask := x.p.Lifts[i], x.asks[i]
	switch {
	case given.Fit == 0:
		l.Offers.Why = append(l.Offers.Why, "No sling that is here would do.")
	case len(given.Taken) > 0:
		var others []string
		for _, n := range given.Taken {
			others = append(others, x.lifts[n].What)
			if others[len(others)-1] == "" {
				others[len(others)-1] = w.lead.Mass(x.lifts[n].Stated.Lift.Load)
			}
		}
		l.Offers.Why = append(l.Offers.Why, plural(given.Fit, "sling")+" would do, and more lifts are served if others get them: "+strings.Join(others, "; ")+".")
	default:
		l.Offers.Why = append(l.Offers.Why, plural(given.Fit, "sling")+" would do, which is fewer than the lift takes.")
	}
	for _, near := range given.Near {
		text := w.says(near.Wrong, gate.Answer{System: near.Sling.System, Grade: near.Sling.Grade, Due: near.Due, Flattest: near.Flattest})
		l.Offers.Why = append(l.Offers.Why, near.Sling.Ident+" nearly would: "+text.Sentence)
	}
	if len(given.Near) > 0 {
		for _, help := range ask.Helps(given.Near[0].Sling) {
			l.Offers.Would = append(l.Offers.Would, w.say(help.Words(w.lead)))
		}
	}
	for _, spec := range given.Would {
		text := upperFirst(w.say(spec.Words(w.lead)))
		if n := ask.Lift.Takes(); n > 1 {
			text = plural(n, "sling") + ": " + spec.Words(w.lead)
		}
		l.Offers.Would = append(l.Offers.Would, text+".")
	}
}

// setAsideDay keeps the slings that were proposed for their lifts.
func (s *Server) setAsideDay(v *visit) error {
	day, err := dayOfPath(v)
	if err != nil {
		return err
	}
	key, err := v.key()
	if err != nil {
		return err
	}
	var keeps []counter.Keep
	for _, pair := range strings.Fields(v.raw("keep")) {
		lift, sling, _ := strings.Cut(pair, ":")
		k := counter.Keep{}
		var err2 error
		k.Lift, err = event.ParseLiftID(lift)
		if k.Sling, err2 = event.ParseSlingID(sling); err != nil || err2 != nil {
			return errNoPage
		}
		keeps = append(keeps, k)
	}
	list, err := s.Counter.SetAside(v.r.Context(), v.by(counter.Hand, key), keeps)
	switch {
	case errors.Is(err, counter.ErrKeep):
		s.notice(v, "Nothing was chosen to be set aside.")
		return v.redirect(dayAt(day))
	case errors.Is(err, counter.ErrRole):
		return errNotYours
	case err != nil:
		return err
	}
	s.tellKept(v, list)
	return v.redirect(dayAt(day))
}

// liftToChange reads the planned lift that the address names, and the number of the form
// that changes it.
func (s *Server) liftToChange(v *visit) (state.Planned, string, error) {
	p, err := s.liftOfPath(v)
	if err != nil {
		return state.Planned{}, "", err
	}
	key, err := v.key()
	return p, key, err
}

// keepOne sets a sling aside that somebody names.
func (s *Server) keepOne(v *visit) error {
	p, key, err := s.liftToChange(v)
	if err != nil {
		return err
	}
	ident, complaint := v.line("sling", 16)
	if complaint != "" {
		s.notice(v, complaint)
		return v.redirect(dayAt(p.Day))
	}
	sling, err := s.Store.SlingByIdent(v.r.Context(), strings.ToUpper(ident))
	switch {
	case errors.Is(err, store.ErrNotFound), errors.Is(err, store.ErrDoubled):
		s.notice(v, "No sling, or more than one, is registered as "+strings.ToUpper(ident)+". Nothing was set aside.")
		return v.redirect(dayAt(p.Day))
	case err != nil:
		return err
	}
	list, err := s.Counter.SetAside(v.r.Context(), v.by(counter.Hand, key), []counter.Keep{{Lift: p.Lift, Sling: sling.ID}})
	if errors.Is(err, counter.ErrRole) {
		return errNotYours
	}
	if err != nil {
		return err
	}
	s.tellKept(v, list)
	return v.redirect(dayAt(p.Day))
}

// tellKept says on the next page what was set aside, and why not the rest.
func (s *Server) tellKept(v *visit, list []counter.Outcome) {
	kept := 0
	var stays []string
	w := v.wordsOf(nil)
	for _, o := range list {
		switch {
		case o.May:
			kept++
		case len(stays) < nearShown && len(o.Codes) > 0:
			name := o.Sling.Details.Ident
			if name == "" {
				name = "One sling"
			}
			stays = append(stays, name+" was not: "+w.says(o.Codes[0], o.Answer).Sentence)
		}
	}
	text := plural(kept, "sling") + " set aside, up to the end of the day."
	if more := len(list) - kept; more > 0 {
		text = itoa(kept) + " of " + plural(len(list), "sling") + " set aside. " + strings.Join(stays, " ")
	}
	s.notice(v, text)
}

// putBack ends that a sling is set aside.
func (s *Server) putBack(v *visit) error {
	p, key, err := s.liftToChange(v)
	if err != nil {
		return err
	}
	kept, err := s.Store.SetAsideFor(v.r.Context(), p.Day, p.Lift)
	if err != nil {
		return err
	}
	for _, sling := range kept {
		_, err := s.Counter.PutBack(v.r.Context(), v.by(counter.Hand, key+"."+sling.ID.String()), sling.ID, p.Lift, "")
		if errors.Is(err, counter.ErrRole) {
			return errNotYours
		}
		if err != nil {
			return err
		}
	}
	s.notice(v, "Nothing is set aside for it any more.")
	return v.redirect(dayAt(p.Day))
}

// giveUp records that a lift is not to be.
func (s *Server) giveUp(v *visit) error {
	p, key, err := s.liftToChange(v)
	if err != nil {
		return err
	}
	why, complaint := v.line("why", maxText)
	if complaint != "" {
		s.notice(v, complaint)
		return v.redirect(dayAt(p.Day))
	}
	switch err := s.Counter.GiveUpLift(v.r.Context(), v.by(counter.Hand, key), p.Lift, why); {
	case errors.Is(err, counter.ErrRole):
		return errNotYours
	case errors.Is(err, counter.ErrLiftEnded):
		s.notice(v, "This lift was given up already, or its slings went out.")
	case err != nil:
		return err
	default:
		s.notice(v, "The lift was given up. What was set aside for it hangs free again.")
	}
	return v.redirect(dayAt(p.Day))
}
