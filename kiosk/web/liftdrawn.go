package web

import (
	"cribgate/core/fit"
	"cribgate/core/rating"
	"cribgate/kiosk/counter"
)

// hangs tells whether the lift is drawn as it hangs: by its picks, and not by an angle.
func (s statedLift) hangs() bool { return s.Span > 0 || s.Lift.Picks != nil }

// drawStated draws a lift before a sling is chosen for it.
func (v *visit) drawStated(stated statedLift) Drawing {
	w := v.wordsOf(nil)
	if !stated.hangs() {
		return drawLift(stated.Lift, w.lead.Mass(stated.Lift.Load), "", false)
	}
	ask := v.askOf(stated)
	with, ok := ask.Largest(fit.Build{System: tablesOf(w.lead), Grade: rating.Grade80})
	picture, hangs := ask.Picture(&with)
	if !ok || !hangs {
		return Drawing{}
	}
	picture.Shares, picture.Room = nil, nil // of a sling that is not there
	side, _ := drawHanging(picture, w.lead, nil)
	return side
}

// drawHung draws a lift with a sling on it.
func (v *visit) drawHung(si sight) Drawing {
	ask := v.askOf(si.stated)
	ask.Lift.Load = si.ask.Lift.Load // its part, where slings share the lift
	with := counter.Choosable(si.sling, v.crib, v.today)
	picture, ok := ask.Picture(&with)
	if !ok {
		return v.drawStated(si.stated)
	}
	w := v.wordsOf(nil)
	side, _ := drawHanging(picture, w.lead, w.carried(picture))
	return side
}

// carried is what stands at each leg.
func (w words) carried(p fit.Picture) (list []string) {
	for _, m := range p.Carries {
		list = append(list, w.needs("", m).Value)
	}
	return list
}
