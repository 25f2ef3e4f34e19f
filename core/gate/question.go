package gate

import (
	"cribgate/core/lift"
	"cribgate/core/quantity"
	"cribgate/core/rating"
)

// Policy is what the site decides for itself within the rules. The zero Policy
// is none and cannot be judged by; start from [DefaultPolicy].
type Policy struct {
	Angles    Angles
	Choke     Choke
	MaxMonths int            // longest interval between thorough inspections, 1 to 12
	MaxTilt   quantity.Angle // how far from level a load may hang, up to 45° (site policy, no source)
}

// DefaultPolicy is the policy of a site that has decided nothing: bands, the
// listed choke factors, 12 months (29 CFR 1910.184(e)(3)(i)) and 5° of tilt (site
// policy, no source).
func DefaultPolicy() Policy {
	return Policy{Angles: AnglesBands, Choke: ChokeListed, MaxMonths: 12, MaxTilt: 5 * quantity.Degree}
}

// Sling is what the record says of one sling now.
type Sling struct {
	rating.Plate
	Hottest   *quantity.Temperature // hottest it is known to have been; nil: no heat is known of
	RatingTag RatingTag
	State     State
	Inspected quantity.Date // last thorough inspection; zero: none
	Due       quantity.Date // next one; zero: none set
}

// Angle is an angle of the legs and what it is measured from.
type Angle struct {
	From Reference
	Size quantity.Angle
}

// Lift is what the sling is wanted for. Pointers are nil where nothing is
// known. No default is filled in for a person without showing it.
type Lift struct {
	Use       Use
	Load      quantity.Mass
	Margin    int // per cent added to the load, 0 to 1000
	Hitch     Hitch
	Legs      int  // legs that carry
	Singles   bool // one of so many like one-leg slings on one hook
	Angle     *Angle
	Centred   bool // someone has said that the centre of gravity is in the middle of the picks
	Shortened Shortening
	Heat      *quantity.Temperature // the chain will reach; nil: ordinary
	Edge      *quantity.Length      // radius of what the chain bears on
	Choke     *quantity.Angle       // angle of choke
	ReturnBy  quantity.Date         // zero: not stated

	// Geometry instead of an angle: one pick per leg that carries, none for none.
	Picks   []lift.Point
	CG      *lift.Point
	Hook    *quantity.Length // height of the hook in the drawing, for an adjustable sling
	HookMax *quantity.Length // highest that the hook can go
}

// Question asks whether a sling may go out on a day, and for a lift. Without a
// Lift only the sling is judged.
type Question struct {
	ID     string // echoed
	Now    quantity.Date
	Policy Policy
	Sling  Sling
	Lift   *Lift
}

// QuestionError says which part of a question cannot be, alone or beside the
// others. Nothing was decided.
type QuestionError struct {
	Field  string // as the machine surface names it, without the unit
	Reason string
}

// Error names the field and says why.
func (e *QuestionError) Error() string { return "gate: " + e.Field + ": " + e.Reason }
