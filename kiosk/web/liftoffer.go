package web

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"cribgate/core/event"
	"cribgate/core/fit"
	"cribgate/core/gate"
	"cribgate/core/rating"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
)

// offered is a sling that fits, as the register has it now.
type offered struct {
	fit.Offer
	now  state.Sling
	kept string // that it is set aside for somebody else
}

// keptFrom says that a sling is set aside for somebody else than who the lift is for.
func (s *Server) keptFrom(v *visit, x state.Sling) string {
	a := x.Aside
	if who := s.turn(v).Rigger; !a.On(v.today) || a.Rigger.String() == who || who == "" && a.Rigger == v.who.ID {
		return ""
	}
	return "Set aside for another lift until " + Day(a.Day) + ": it is asked about before it goes."
}

// offers reads the first of those that fit from the register, and leaves out what may
// not be offered for a reason that choosing does not know. Of a lift that takes
// several alike it keeps to the first set of which enough are left.
func (s *Server) offers(v *visit, c fit.Choice, ids map[string]event.SlingID) ([]offered, error) {
	sets := c.Sets
	if c.Takes == 1 {
		sets = [][]fit.Offer{c.Fits}
	}
	tried := 0
	for _, set := range sets {
		var list []offered
		for _, o := range set {
			if len(list) >= max(offersMost, c.Takes) || tried >= triedMost {
				break
			}
			tried++
			now, err := s.Store.Sling(v.r.Context(), ids[o.Sling.Ident])
			if err != nil {
				return nil, err
			}
			if counter.MayOffer(now, v.crib, v.by("", "")) {
				list = append(list, offered{o, now, s.keptFrom(v, now)})
			}
		}
		slices.SortStableFunc(list, func(a, b offered) int { return cmp.Compare(min(len(a.kept), 1), min(len(b.kept), 1)) }) // what asks first comes last
		if len(list) >= c.Takes && len(list) > 0 {
			return list, nil
		}
	}
	return nil, nil
}

// offer tells of the slings that would do, best first.
func (p *LiftSeen) offer(found []offered, c fit.Choice, stated statedLift, w words) {
	if len(found) == 0 {
		p.Head = "No sling here would do"
		return
	}
	p.Head = plural(len(c.Fits), "sling") + " here would do"
	var idents, places, take []string
	for i, o := range found {
		x := offerOf(o.Offer, o.now, w)
		x.Kept = o.kept
		if i+1 < len(found) && (found[i+1].kept == "") == (o.kept == "") {
			x.Why = w.say(o.Ahead.Words())
		}
		if c.Takes == 1 {
			x.Take = Action{Label: "Take " + o.Sling.Ident + from(o.now), Name: "take", Value: o.now.ID.String()}
		} else if i < c.Takes {
			idents, take = append(idents, o.Sling.Ident), append(take, o.now.ID.String())
			if o.now.Details.Place != "" {
				places = append(places, o.now.Details.Place)
			}
		}
		p.Offers = append(p.Offers, x)
	}
	if c.Takes > 1 {
		p.Head += fmt.Sprintf("; %d go together", c.Takes)
		p.Take = Action{Label: "Take " + strings.Join(idents, ", "), Sub: strings.Join(places, ", "), Name: "take", Value: strings.Join(take, " ")}
		p.Take2 = "Slings that are not alike do not go together on one hook. The first of the list are the best together."
		if stated.Share == event.Beam {
			p.Take2 = "Each carries its part under the beam."
		}
	}
	if more := len(c.Fits) - len(found); more > 0 {
		p.More = plural(more, "more sling") + " would do."
	}
}

func from(s state.Sling) string {
	if s.Details.Place == "" {
		return ""
	}
	return " from " + s.Details.Place
}

// offerOf puts a sling that was judged for a lift into words.
func offerOf(o fit.Offer, now state.Sling, w words) LiftOffer {
	x := LiftOffer{Ident: o.Sling.Ident, Path: slingPath(now), Place: now.Details.Place, Is: w.say(w.makeUp(o.Sling.Plate)), Look: o.Look}
	if o.Allowed > 0 {
		x.May = "may carry " + w.lead.MassDown(o.Allowed) + " (" + w.other.MassDown(o.Allowed) + ") here"
	}
	if o.Flattest > 0 {
		h := o.Flattest.Degrees()
		x.Angle = "legs " + angleText(h) + " from horizontal, " + verticalText(h) + " from vertical"
	}
	if !o.Due.IsZero() {
		x.Due = w.say("thorough inspection due ") + Day(o.Due)
	}
	if n := o.Idle; n > 0 {
		x.Is += ", " + rating.LegsWords(n) + " idle"
	}
	return x
}

// nearly tells of the slings that nearly would do, each with the one thing that is
// wrong.
func (s *Server) nearly(v *visit, p *LiftSeen, ask *fit.Ask, near []fit.Miss, ids map[string]event.SlingID, w words) error {
	for _, m := range near {
		now, err := s.Store.Sling(v.r.Context(), ids[m.Sling.Ident])
		if err != nil {
			return err
		}
		x := offerOf(m.Offer, now, w)
		_, a := judged(ask, m.Sling)
		t := w.says(m.Wrong, a)
		x.Why, x.Next = t.Sentence, t.Next
		p.Near = append(p.Near, x)
	}
	return nil
}

// judged is what stands against a sling in a lift, and the answer that it stands in.
func judged(ask *fit.Ask, x *fit.Sling) (against []gate.Reason, a gate.Answer) {
	q, first := ask.Question(x)
	a, err := gate.Decide(q)
	if first != gate.NotDecided {
		against = append(against, first)
	}
	if err != nil {
		return against, gate.Answer{}
	}
	return append(against, a.Reasons...), a
}
