package fit

import (
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/lift"
	"cribgate/core/quantity"
	"cribgate/core/rating"
)

// Lift is what slings are chosen for. The embedded lift is what the gate is asked
// about each sling: under a beam its Load is what one sling carries. Its Singles
// says that so many like one-leg slings as it has Legs hang on one hook.
type Lift struct {
	gate.Lift

	// Span is how far apart the picks are, instead of an angle or of Picks: of two
	// legs from pick to pick, of three or four the diameter of the circle through
	// the picks (see [lift.Rectangle] and [lift.Triangle]). The angle then follows
	// from each sling's own reach. 0 where it is not stated.
	Span quantity.Length
	// Headroom is the most that the hook can stand over the picks; with Span only,
	// since Picks have [gate.Lift.HookMax]. 0 where it is not stated.
	Headroom quantity.Length

	Slings int                // that carry it together; 0 is one, or with Singles as many as Legs
	Crane  event.Crane        // whose hook the upper link goes on; the zero Crane: not said
	Lower  event.LowerFitting // that is to hang below; the zero one: any
}

// LiftOf is what slings are chosen for where a lift was stated so, for a crib of such
// units. The crane is the one that it names, as the crib has it. Where each sling's
// part under a beam is stated for itself, nobody has said yet what one carries, and it
// stands for equal parts.
func LiftOf(s event.StatedLift, crane event.Crane, units quantity.Units) Lift {
	l := Lift{Lift: s.Lift, Span: s.Span, Headroom: s.Headroom, Crane: crane, Lower: s.Lower}
	switch s.Share {
	case event.OneHook:
		l.Singles = l.Legs > 1 && l.Hitch != gate.Basket
	case event.Beam:
		l.Load, l.Slings = s.Equal(units), s.Slings
	}
	return l
}

// Of is what the gate is asked about a sling for the lift. Where it cannot be asked,
// or the hook has no room, against says why, as for [Ask.Question].
func (l *Lift) Of(s *gate.Sling) (lift gate.Lift, against gate.Reason) {
	x := asker{ask: &Ask{Lift: *l}}
	against = x.of(s)
	return x.lift, against
}

// Takes is how many slings the lift needs.
func (l *Lift) Takes() int {
	if l.Singles {
		return l.Legs
	}
	return max(l.Slings, 1)
}

// Ask is a lift on a day, under the site's policy.
type Ask struct {
	Now    quantity.Date
	Policy gate.Policy
	Lift   Lift
}

func wrong(field, reason string) error { return &gate.QuestionError{Field: field, Reason: reason} }

// maxSlings is how many slings may share a lift (site policy, no source).
const maxSlings = 12

// Check tells whether slings can be chosen for the lift at all. The error is a
// *[gate.QuestionError] with the field that is missing or contradicts another.
func (a *Ask) Check() error {
	l := &a.Lift
	switch {
	case l.Slings < 0 || l.Slings > maxSlings:
		return wrong("lift.slings", "not 1 to 12")
	case l.Singles && l.Slings != 0 && l.Slings != l.Legs:
		return wrong("lift.slings", "not as many as the legs that are slings of their own")
	case l.Span < 0 || l.Span > 1_000_000*quantity.Millimetre:
		return wrong("lift.span", "not 1 to 1,000,000 mm")
	case l.Headroom < 0:
		return wrong("lift.headroom", "below zero")
	case l.Headroom > 0 && l.Span == 0:
		return wrong("lift.headroom", "given without a span")
	case l.Span > 0 && (l.Legs < 2 || l.Hitch == gate.Basket):
		return wrong("lift.span", "for the two to four legs of a straight or choked lift only")
	case l.Span > 0 && (l.Angle != nil || l.Picks != nil):
		return wrong("lift.span", "given beside an angle or picks")
	}
	q, _ := a.Question(&plain)
	_, err := gate.Decide(q)
	return err
}

// plain is a sling of which any lift can be asked.
var plain = Sling{Sling: gate.Sling{
	Plate: rating.Plate{System: rating.EN, Grade: rating.Grade80, Size: mustSize(rating.EN, "10"), Legs: 1,
		Reach: 1_000_000 * quantity.Millimetre, Adjustable: true},
	RatingTag: gate.TagLegible, State: gate.StateIn,
}}

func mustSize(s rating.System, printed string) rating.Size {
	z, err := rating.ParseSize(s, printed)
	if err != nil {
		panic(err)
	}
	return z
}

// Question is what the gate is asked about a sling for the lift. Where the lift
// cannot be asked of it, against says why, and the question holds no lift:
// [gate.ReachUnknown] where span or picks meet a sling whose reach was not
// recorded, [gate.ReachTooShort] where its legs do not span the picks, and
// [gate.NotAlike] for a sling of several legs where one-leg slings are wanted. With
// [gate.ReachTooLong] the question can be asked, and the hook has no room.
func (a *Ask) Question(s *Sling) (q gate.Question, against gate.Reason) {
	var x asker
	x.begin(a)
	against = x.of(&s.Sling)
	if against != gate.NotDecided && against != gate.ReachTooLong {
		x.q.Lift = nil
	}
	x.q.ID = s.Ident
	return x.q, against
}

// asker asks about one sling after the other in the same memory.
type asker struct {
	ask   *Ask
	q     gate.Question
	lift  gate.Lift
	angle gate.Angle
}

func (x *asker) begin(a *Ask) {
	x.ask = a
	x.q = gate.Question{Now: a.Now, Policy: a.Policy}
}

// of puts a sling into the question and gives what already stands against it.
func (x *asker) of(s *gate.Sling) gate.Reason {
	l := &x.ask.Lift
	x.q.Sling, x.lift = *s, l.Lift
	x.q.Lift = &x.lift
	if !s.Adjustable {
		x.lift.Shortened = gate.Unshortened // hangs at full length
	}
	if l.Singles && s.Legs != 1 {
		return gate.NotAlike
	}
	if (l.Span > 0 || l.Picks != nil) && s.Reach == 0 {
		return gate.ReachUnknown
	}
	if l.Span == 0 {
		return gate.NotDecided
	}
	lean, ok := lift.Lean(l.Span, s.Reach)
	if !ok {
		return gate.ReachTooShort
	}
	x.angle = gate.Angle{From: gate.FromHorizontal, Size: lean}
	x.lift.Angle = &x.angle
	if rise, _ := lift.Rise(l.Span, s.Reach); l.Headroom > 0 && rise > l.Headroom {
		return gate.ReachTooLong
	}
	return gate.NotDecided
}
