package gate

import (
	"errors"
	"fmt"

	"cribgate/core/quantity"
	"cribgate/core/rating"
)

func bad(field, format string, args ...any) error {
	return &QuestionError{field, fmt.Sprintf(format, args...)}
}

// check tells whether a question can be decided: every value in its range and
// in a size that the machine surface can spell, and none that contradicts
// another. The error is a *QuestionError.
func (q *Question) check() error {
	switch p := &q.Policy; {
	case q.Now.IsZero():
		return bad("now", "missing")
	case p.Angles != AnglesBands && p.Angles != AnglesComputed:
		return bad("policy.angles", "neither bands nor computed")
	case p.Choke != ChokeListed && p.Choke != ChokeStrict:
		return bad("policy.choke", "neither listed nor strict")
	case p.MaxMonths < 1 || p.MaxMonths > 12:
		return bad("policy.max_months", "%d is not 1 to 12", p.MaxMonths)
	case p.MaxTilt > 45*quantity.Degree || !wholeAngle(p.MaxTilt):
		return bad("policy.max_tilt", "%s is not 0° to 45° in thousandths", p.MaxTilt)
	}
	if field, reason := q.Sling.check(); field != "" {
		return bad("sling."+field, "%s", reason)
	}
	if q.Lift == nil {
		return nil
	}
	if err := q.Lift.checkValues(); err != nil {
		return err
	}
	if !q.Lift.ReturnBy.IsZero() && q.Lift.ReturnBy.Before(q.Now) {
		return bad("lift.return_by", "%s is before %s", q.Lift.ReturnBy, q.Now)
	}
	if err := q.Lift.checkAngle(); err != nil {
		return err
	}
	return q.checkGeometry()
}

// check names a fact of a sling that cannot be, and says why; empty where all can.
func (s *Sling) check() (field, reason string) {
	if err := s.Plate.Check(); err != nil {
		var plate *rating.PlateError
		if !errors.As(err, &plate) {
			return "plate", err.Error()
		}
		return plate.Field, plate.Reason
	}
	switch {
	case s.Hottest != nil && !wholeTemperature(*s.Hottest):
		return "hottest", "not whole degrees from −273 °C to 2000 °C"
	case s.RatingTag < TagLegible || s.RatingTag > TagMissing:
		return "rating_tag", "not known"
	case s.State < StateIn || s.State > StateLost:
		return "state", "not known"
	}
	return "", ""
}

const maxLength = 1_000_000 * quantity.Millimetre

func (l *Lift) checkValues() error {
	switch {
	case l.Use < UseOrdinary || l.Use > UseOther:
		return bad("lift.use", "not known")
	case l.Load < quantity.MinMass || l.Load > quantity.MaxMass || l.Load%quantity.Gram != 0 && l.Load%quantity.Pound != 0:
		return bad("lift.load", "%s is not whole grams or pounds from 1 g to 10^12 g", l.Load)
	case l.Margin < 0 || l.Margin > 1000:
		return bad("lift.margin_pct", "%d is not 0 to 1000", l.Margin)
	case l.Hitch < Straight || l.Hitch > Basket:
		return bad("lift.hitch", "not known")
	case l.Legs < 1 || l.Legs > 4:
		return bad("lift.legs", "%d is not 1 to 4", l.Legs)
	case l.Shortened > Plain:
		return bad("lift.shortened", "not known")
	case l.Heat != nil && !wholeTemperature(*l.Heat):
		return bad("lift.temp", "not whole degrees from −273 °C to 2000 °C")
	case l.Edge != nil && (*l.Edge < 0 || !wholeLength(*l.Edge)):
		return bad("lift.edge_radius", "not whole millimetres from 0 to 1,000,000")
	case l.Choke != nil && (*l.Choke > 180*quantity.Degree || !wholeAngle(*l.Choke)):
		return bad("lift.choke", "not 0° to 180° in thousandths")
	case l.Hook != nil && !wholeLength(*l.Hook):
		return bad("lift.hook", "not whole millimetres within 1,000,000")
	case l.HookMax != nil && !wholeLength(*l.HookMax):
		return bad("lift.hook_max", "not whole millimetres within 1,000,000")
	}
	return nil
}

func (l *Lift) checkAngle() error {
	if l.Angle == nil {
		return nil
	}
	switch a := *l.Angle; {
	case l.Picks != nil:
		return bad("lift.angle", "given beside picks")
	case a.From < FromHorizontal || a.From > BetweenLegs:
		return bad("lift.angle.from", "not known")
	case !wholeAngle(a.Size) || a.Size > 180*quantity.Degree:
		return bad("lift.angle", "not 0° to 180° in thousandths")
	case l.Hitch != Basket && l.Legs == 1:
		return bad("lift.angle", "one leg, straight or choked, has no angle")
	case a.From == BetweenLegs && l.Hitch == Basket && l.Legs != 1:
		return bad("lift.angle.from", "between is for the basket of one leg only, not of %d", l.Legs)
	case a.From == BetweenLegs && l.Hitch != Basket && l.Legs != 2:
		return bad("lift.angle.from", "between is for two legs, not %d", l.Legs)
	}
	if h := l.Angle.FromHorizontal(); h <= 0 || h > 90*quantity.Degree {
		return bad("lift.angle", "%s from horizontal is not above 0° and up to 90°", h)
	}
	return nil
}

func (q *Question) checkGeometry() error {
	l := q.Lift
	switch {
	case l.Singles && q.Sling.Legs > 1:
		return bad("lift.singles", "the sling has %d legs", q.Sling.Legs)
	case l.Singles && l.Hitch == Basket:
		return bad("lift.singles", "not in a basket")
	case l.Shortened != Unshortened && !q.Sling.Adjustable:
		return bad("lift.shortened", "the sling is not adjustable")
	}
	if l.Picks == nil {
		switch {
		case l.CG != nil:
			return bad("lift.cg", "given without picks")
		case l.Hook != nil:
			return bad("lift.hook", "given without picks")
		case l.HookMax != nil:
			return bad("lift.hook_max", "given without picks")
		}
		return nil
	}
	switch {
	case len(l.Picks) < 2 || len(l.Picks) > 4 || len(l.Picks) != l.Legs:
		return bad("lift.picks", "%d picks for %d legs", len(l.Picks), l.Legs)
	case l.Hitch != Straight:
		return bad("lift.picks", "for a straight lift only")
	case l.CG == nil:
		return bad("lift.cg", "missing beside picks")
	case q.Sling.Reach == 0:
		return bad("sling.reach", "missing beside picks")
	}
	for i, p := range l.Picks {
		if !wholeLength(p.X) || !wholeLength(p.Y) || !wholeLength(p.Z) {
			return bad("lift.picks", "pick %d is not in whole millimetres within 1,000,000", i+1)
		}
	}
	if !wholeLength(l.CG.X) || !wholeLength(l.CG.Y) || !wholeLength(l.CG.Z) {
		return bad("lift.cg", "not in whole millimetres within 1,000,000")
	}
	return nil
}

func wholeLength(l quantity.Length) bool {
	return l >= -maxLength && l <= maxLength && l%quantity.Millimetre == 0
}

func wholeAngle(a quantity.Angle) bool { return a >= 0 && a%quantity.MilliDegree == 0 }

func wholeTemperature(t quantity.Temperature) bool {
	if t < quantity.MinTemperature || t > quantity.MaxTemperature {
		return false
	}
	_, c := t.WholeCelsius()
	_, f := t.WholeFahrenheit()
	return c || f
}
