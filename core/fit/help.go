package fit

import (
	"cribgate/core/gate"
	"cribgate/core/lift"
	"cribgate/core/quantity"
	"cribgate/core/rating"
)

// Help is one way to make a lift possible. The zero Help is none.
type Help uint8

// The ways, in the order in which they are named.
const (
	LongerLegs Help = iota + 1
	ShorterLegs
	StrongerSling
	CloserPicks
	OtherHook      // an adjustable sling set so that the hook stands at another height
	AdjustableLegs // a sling like it whose legs can be set
	MoreHeadroom
	UnderBeam
	QualifiedPerson
)

// Advice is a way with its figure. Except for UnderBeam and QualifiedPerson the gate
// would let a sling like the one asked about go if it were followed.
type Advice struct {
	Help  Help
	Reach quantity.Length // LongerLegs: this or somewhat more; ShorterLegs: this or somewhat less
	Size  rating.Size     // StrongerSling
	Span  quantity.Length // CloserPicks: no further apart than this
	Hook  quantity.Length // OtherHook, AdjustableLegs: its height in the drawing; MoreHeadroom: what is needed
}

// Words says the advice for people.
func (d Advice) Words(u quantity.Units) string {
	switch d.Help {
	case LongerLegs:
		return "Longer legs: a reach of " + atLeast(u, d.Reach) + " would do."
	case ShorterLegs:
		return "Shorter legs: a reach of " + atMost(u, d.Reach) + " would do."
	case StrongerSling:
		return "A stronger sling: " + d.Size.Words() + " would do."
	case CloserPicks:
		return "Picks closer together: " + atMost(u, d.Span) + " apart would do."
	case OtherHook:
		return "The legs set for another height of the hook: " + atLeast(u, d.Hook) + " in the drawing would do."
	case AdjustableLegs:
		return "Adjustable legs, set so that the hook stands at " + atLeast(u, d.Hook) + " in the drawing."
	case MoreHeadroom:
		return "More room for the hook: " + atLeast(u, d.Hook) + " would do."
	case UnderBeam:
		return "Upright legs under a lifting beam, whose own weight counts; say what each end carries."
	case QualifiedPerson:
		return "Ask a qualified person for a lift plan."
	}
	return ""
}

const (
	tryStep = 50 * quantity.Millimetre // how finely lengths and heights are tried
	tryMost = reachMost
)

// Helps says what would make the lift possible with a sling like this one, whatever
// its tag, state and dates: each way by itself, and where none of the others is
// enough, a qualified person. It is empty where nothing is in the way, and where the
// lift cannot be asked.
func (a *Ask) Helps(s *Sling) []Advice {
	if a.Check() != nil {
		return nil
	}
	x := s.Sling
	t := begun(a)
	if t.goes(&x) {
		return nil
	}
	t.of(&x)
	var list []Advice
	add := func(d Advice, ok bool) {
		if ok {
			list = append(list, d)
		}
	}
	if a.Lift.Span > 0 || a.Lift.Picks != nil {
		add(a.otherReach(x, LongerLegs))
		add(a.otherReach(x, ShorterLegs))
	}
	add(a.stronger(x))
	if a.Lift.Span > 0 {
		add(a.closer(x))
	}
	if a.Lift.Picks != nil {
		add(a.hookAt(x))
	}
	add(a.headroom(x))
	add(Advice{Help: UnderBeam}, a.upright(x))
	return append(list, Advice{Help: QualifiedPerson})
}

func (a *Ask) otherReach(x gate.Sling, way Help) (Advice, bool) {
	t, from := begun(a), x.Reach
	if way == LongerLegs {
		for x.Reach = from.Floor(tryStep) + tryStep; x.Reach <= tryMost; x.Reach += tryStep {
			if t.goes(&x) {
				return Advice{Help: way, Reach: x.Reach}, true
			}
		}
		return Advice{}, false
	}
	for x.Reach = (from - 1).Floor(tryStep); x.Reach > 0; x.Reach -= tryStep {
		if t.goes(&x) {
			return Advice{Help: way, Reach: x.Reach}, true
		}
	}
	return Advice{}, false
}

// stronger tries the larger sizes of the same grade as the tables stamp them.
func (a *Ask) stronger(x gate.Sling) (Advice, bool) {
	t := begun(a)
	for _, z := range rating.Sizes(x.System) {
		if z.Place() <= x.Size.Place() {
			continue
		}
		if _, ok := rating.TableCell(x.Grade, z, 1, rating.Vertical); !ok {
			continue
		}
		more := Spec{System: x.System, Grade: x.Grade, Size: z, Legs: x.Legs, Reach: x.Reach}.Sling(a.Now).Sling
		more.Adjustable = x.Adjustable
		if t.goes(&more) {
			return Advice{Help: StrongerSling, Size: z}, true
		}
	}
	return Advice{}, false
}

func (a *Ask) closer(x gate.Sling) (Advice, bool) {
	b := *a
	t := begun(&b)
	for b.Lift.Span = (a.Lift.Span - 1).Floor(tryStep); b.Lift.Span > 0; b.Lift.Span -= tryStep {
		if t.goes(&x) {
			return Advice{Help: CloserPicks, Span: b.Lift.Span}, true
		}
	}
	return Advice{}, false
}

// hookAt looks for the lowest height at which legs that can be set hold the load.
func (a *Ask) hookAt(x gate.Sling) (Advice, bool) {
	b, way := *a, OtherHook
	if !x.Adjustable {
		way = AdjustableLegs
	}
	x.Adjustable = true
	t := begun(&b)
	highest := b.Lift.Picks[0].Z
	for _, p := range b.Lift.Picks {
		highest = max(highest, p.Z)
	}
	var hook quantity.Length
	b.Lift.Hook = &hook
	for hook = highest.Floor(tryStep) + tryStep; hook <= highest+x.Reach; hook += tryStep {
		if t.goes(&x) {
			return Advice{Help: way, Hook: hook}, true
		}
	}
	return Advice{}, false
}

// headroom tells how high the hook would have to go, where only its room is wanting.
func (a *Ask) headroom(x gate.Sling) (Advice, bool) {
	if a.Lift.HookMax == nil && a.Lift.Headroom == 0 {
		return Advice{}, false
	}
	b := *a
	b.Lift.HookMax, b.Lift.Headroom = nil, 0
	if !begun(&b).goes(&x) {
		return Advice{}, false
	}
	if a.Lift.Span > 0 {
		rise, ok := lift.Rise(a.Lift.Span, x.Reach)
		return Advice{Help: MoreHeadroom, Hook: rise}, ok
	}
	h := lift.Hang(lift.Rig{Picks: a.Lift.Picks, CG: *a.Lift.CG, Reach: x.Reach, Adjustable: x.Adjustable, Hook: a.Lift.Hook})
	return Advice{Help: MoreHeadroom, Hook: h.Height()}, h.Fault == lift.Hangs
}

// upright tells whether one upright leg like those of the sling may carry all of
// the load, so that legs under a beam may whatever each end carries.
func (a *Ask) upright(x gate.Sling) bool {
	if a.Lift.Legs < 2 || a.Lift.Hitch != gate.Straight {
		return false
	}
	b := *a
	b.Lift.Legs, b.Lift.Singles, b.Lift.Span, b.Lift.Headroom, b.Lift.Slings = 1, false, 0, 0, 0
	b.Lift.Angle, b.Lift.Picks, b.Lift.CG, b.Lift.Hook, b.Lift.HookMax = nil, nil, nil, nil, nil
	return begun(&b).goes(&x)
}
