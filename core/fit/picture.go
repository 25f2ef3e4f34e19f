package fit

import (
	"math"

	"cribgate/core/gate"
	"cribgate/core/lift"
	"cribgate/core/quantity"
)

// Picture is a lift with a sling on it, to be drawn as it hangs.
type Picture struct {
	lift.Picture
	Answer gate.Answer // what the gate says to it
	// Carries is the largest tension of each leg, in the order of the picks, rounded
	// up; nil where it is not known, as of a lift by its angle that nobody called centred.
	Carries []quantity.Mass
	// Shares is what that is of what the leg may carry, over 1 too much; where only
	// all legs together are rated, what the load is of their rating. nil where nothing
	// is allowed.
	Shares []float64
	Drawn  bool // from stated picks; else evenly around the centre of gravity, for the eye only
	// Room is how far the hook could still go up, below 0 where it has to go further
	// than it can; nil where nobody said how high it can go.
	Room *quantity.Length
}

// Picture draws a sling on the lift. False where there is nothing to draw: a
// basket, a sling whose reach is not known, a lift that cannot hang or be asked.
func (a *Ask) Picture(s *Sling) (Picture, bool) {
	q, against := a.Question(s)
	if against != gate.NotDecided && against != gate.ReachTooLong || s.Reach == 0 || q.Lift.Hitch == gate.Basket {
		return Picture{}, false
	}
	answer, err := gate.Decide(q)
	if err != nil {
		return Picture{}, false
	}
	l := q.Lift
	p := Picture{Answer: answer, Drawn: l.Picks != nil}
	if l.Legs == 1 {
		p.Picture = lift.One(s.Reach)
		p.fill(1, float64(answer.Required), answer)
		return p, true
	}
	rig := lift.Rig{Picks: l.Picks, Reach: s.Reach, Adjustable: s.Adjustable, Hook: l.Hook}
	switch {
	case p.Drawn:
		rig.CG = *l.CG
	case l.Angle == nil:
		return Picture{}, false
	default:
		span := a.Lift.Span
		if span == 0 {
			span = lift.SpanFor(s.Reach, l.Angle.FromHorizontal())
		}
		rig = lift.Even(l.Legs, span, s.Reach)
	}
	h := lift.Hang(rig)
	if p.Picture = h.Picture(rig); p.Picks == nil {
		return Picture{}, false
	}
	p.Room = a.room(&h, s.Reach)
	if !p.Drawn { // what was stated, and not what whole millimetres make of it
		for i := range p.Legs {
			p.Legs[i].Angle = l.Angle.FromHorizontal().Degrees()
		}
	}
	switch {
	case p.Drawn:
		limit := float64(answer.LegAllowed)
		if answer.Even {
			limit *= 1.5 // as the gate holds a leg against it
		}
		for _, leg := range p.Legs {
			t := leg.Tension * float64(answer.Required)
			p.Carries = append(p.Carries, massUp(t))
			if limit > 0 {
				p.Shares = append(p.Shares, t/limit)
			}
		}
	case l.Centred:
		// Of three and four legs three count at most (EN 818-4 and US OSHA rate them alike).
		sine := math.Sin(l.Angle.FromHorizontal().Degrees() * math.Pi / 180)
		p.fill(l.Legs, float64(answer.Required)/(float64(min(l.Legs, 3))*sine), answer)
	default:
		p.fill(l.Legs, 0, answer)
	}
	return p, true
}

// room is how far the hook could still go up over a hanging load, see Picture.
func (a *Ask) room(h *lift.Hanging, reach quantity.Length) *quantity.Length {
	left := quantity.Length(0)
	switch {
	case a.Lift.HookMax != nil:
		left = *a.Lift.HookMax - h.Height()
	case a.Lift.Headroom > 0:
		rise, ok := lift.Rise(a.Lift.Span, reach)
		if !ok {
			return nil
		}
		left = a.Lift.Headroom - rise
	default:
		return nil
	}
	return &left
}

// fill gives every leg one tension, if it is known, and one share.
func (p *Picture) fill(legs int, tension float64, a gate.Answer) {
	for range legs {
		if tension > 0 {
			p.Carries = append(p.Carries, massUp(tension))
		}
		if a.Allowed > 0 {
			p.Shares = append(p.Shares, float64(a.Required)/float64(a.Allowed))
		}
	}
}

// massUp rounds a mass up, and not for what floating point is off.
func massUp(units float64) quantity.Mass {
	if units = math.Ceil(units * (1 - 1e-12)); units < math.MaxInt64 {
		return quantity.Mass(units)
	}
	return math.MaxInt64
}
