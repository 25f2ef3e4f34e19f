package gate

import (
	"fmt"
	"math/bits"

	"cribgate/core/rating"
	"cribgate/core/source"
)

// Reason is one reason why a sling does not go out. The zero Reason is
// [NotDecided]. Reasons that [Decide] gives come first, in the order in which an
// answer names them; after them those that only the counter can know.
type Reason uint8

// The reasons that [Decide] gives.
const (
	NotDecided Reason = iota // nobody decided; never in an answer
	RatingTagUnfit
	AlreadyOut
	Unchecked
	Held
	Retired
	Lost
	NeverInspected
	NoDueDate
	ClockDoubt
	Overdue
	DueBeforeReturn
	NoListedRating
	NoStampedRating
	StampTooHigh
	StampsDisagree
	HeatScrapped
	SpecialLift
	LegsMismatch
	HitchNotAllowed
	LiftIncomplete
	ReachTooShort
	ReachTooLong
	LegsUnequal
	WouldRoll
	WouldTip
	WouldTilt
	AngleTooFlat
	TooHot
	TooCold
	UnderRated
	firstOfCounter
)

// reasonRow is what stands behind a reason: its code, the clause it follows,
// one sentence for the counter, and what to do now.
type reasonRow struct {
	code     string
	rule     source.Clause
	sentence string
	next     string
}

func (r Reason) row() reasonRow {
	switch {
	case r < firstOfCounter:
		return gateReasons[r]
	case r < reasonEnd:
		return counterReasons[r-firstOfCounter]
	}
	return gateReasons[NotDecided]
}

// String is the code of the reason, as answers and records spell it.
func (r Reason) String() string { return r.row().code }

// Rule is the clause that the reason follows, for the sling of the answer it
// stands in where that makes a difference. The zero Answer has none.
func (r Reason) Rule(a Answer) source.Clause {
	en := a.System == rating.EN
	switch r {
	case AngleTooFlat:
		if en {
			return source.NoFlatterEN
		}
	case TooHot, HeatScrapped:
		switch {
		case en && (a.Grade == rating.Grade80 || r == HeatScrapped):
			return source.HeatGrade8
		case en:
			return source.HeatGrade10
		case a.Grade == rating.Grade120:
			return source.HeatGrade120
		}
	case TooCold:
		if a.Grade > rating.Grade80 {
			return source.ColdGrade100
		}
	case UnderRated:
		if a.Over.Rated != source.None {
			return a.Over.Rated
		}
	}
	return r.row().rule
}

// OfGate tells whether [Decide] gives the reason; otherwise the counter does.
func (r Reason) OfGate() bool { return r > NotDecided && r < firstOfCounter }

// ParseReason reads the code of a reason. On error it is [NotDecided].
func ParseReason(code string) (Reason, error) {
	for r := NotDecided + 1; r < reasonEnd; r++ {
		if r.row().code == code {
			return r, nil
		}
	}
	return NotDecided, fmt.Errorf("gate: reason %q is not on the list", code)
}

// Reasons lists both closed lists in their order.
func Reasons() []Reason {
	list := make([]Reason, 0, reasonEnd-1)
	for r := NotDecided + 1; r < reasonEnd; r++ {
		list = append(list, r)
	}
	return list
}

// ReasonSet holds reasons of [Decide], each at most once. The zero set holds none.
type ReasonSet uint64

// SetOf is the set of some reasons; those of the counter are left out.
func SetOf(reasons ...Reason) (s ReasonSet) {
	for _, r := range reasons {
		s.add(r)
	}
	return s
}

func (s *ReasonSet) add(r Reason) {
	if r.OfGate() {
		*s |= 1 << r
	}
}
func (s ReasonSet) any(of ReasonSet) bool { return s&of != 0 }

// Has tells whether the set holds a reason.
func (s ReasonSet) Has(r Reason) bool { return r.OfGate() && s>>r&1 == 1 }

// Len is how many reasons the set holds.
func (s ReasonSet) Len() int { return bits.OnesCount64(uint64(s)) }

// First is the first reason of the set in the order of the list; [NotDecided] of an
// empty one.
func (s ReasonSet) First() Reason {
	if s == 0 {
		return NotDecided
	}
	return Reason(bits.TrailingZeros64(uint64(s)))
}

// Append adds the reasons to a list in their order; a nil list stays nil for none.
func (s ReasonSet) Append(list []Reason) []Reason {
	if s != 0 && list == nil {
		list = make([]Reason, 0, s.Len())
	}
	for ; s != 0; s &= s - 1 {
		list = append(list, Reason(bits.TrailingZeros64(uint64(s))))
	}
	return list
}

// gateReasons holds one row per reason of Decide, in the order of the constants.
var gateReasons = [firstOfCounter]reasonRow{
	NotDecided: {"not-decided", source.DefectOut, "Nothing was decided about this sling.",
		"Do not hand it over. Ask again."},
	RatingTagUnfit: {"rating-tag", source.TagLegible, "The maker's rating tag cannot be fully read, or is missing.",
		"Put the sling in quarantine; the maker or a qualified person has to identify it and fit a new rating tag."},
	AlreadyOut: {"already-out", source.OneHolder, "The record says this sling is out.",
		"If it is here in your hand, take it back first: return, check, then issue. If not, look for a copied tag."},
	Unchecked: {"unchecked", source.ReturnCheck, "It came back and nobody has looked at it since.",
		"Do the return check now, then ask again."},
	Held: {"held", source.ReturnToService, "It is held in quarantine.",
		"Leave it in quarantine; an inspector has to look at it and release it."},
	Retired: {"retired", source.DefectOut, "It was retired for good.",
		"Keep it here, do not give it back, and tell the keeper: a retired sling should have been made unusable."},
	Lost: {"lost", source.LostIsOut, "The record says this sling is lost.",
		"If it is here, report it found; it is then held until an inspector has looked at it."},
	NeverInspected: {"never-inspected", source.RecordKept, "There is no thorough inspection on record.",
		"Hand it to the inspector."},
	NoDueDate: {"no-due-date", source.TwelveMonths, "Its next thorough inspection has no date.",
		"Ask the inspector to set the date."},
	ClockDoubt: {"clock-doubt", source.ClockFloor, "Its last inspection is dated later than today.",
		"Check the date on this computer and the date of the inspection; keeper and inspector decide which is wrong."},
	Overdue: {"overdue", source.TwelveMonths, "Its thorough inspection is overdue.",
		"Hand it to the inspector."},
	DueBeforeReturn: {"due-before-return", source.DueDayGood, "Its thorough inspection falls due before it is to come back.",
		"Agree an earlier day of return, or take another sling, or have it inspected first."},
	NoListedRating: {rating.NoListedRating.String(), source.MakerChart, rating.NoListedRating.Words(),
		"The keeper enters the single-leg rating from the maker's chart, with its source."},
	NoStampedRating: {rating.NoStampedRating.String(), source.TagGoverns, rating.NoStampedRating.Words(),
		"Read the rated load and its angle off the maker's tag and have the keeper enter it."},
	StampTooHigh: {rating.StampTooHigh.String(), source.StampRounding, rating.StampTooHigh.Words(),
		"Read the maker's tag again: load, size, grade, legs and angle. If it really says so, hold the sling and ask the maker."},
	StampsDisagree: {rating.StampsDisagree.String(), source.PreferredStep, rating.StampsDisagree.Words(),
		"Read the maker's tag again. If it really says so, hold the sling and ask the maker."},
	HeatScrapped: {"heat-scrapped", source.ScrapUS, "It has been hotter than its chain survives.",
		"Take it out of service for good."},
	SpecialLift: {"special-lift", source.SpecialUse, "Lifting people, molten metal, into acid or the like is outside the rules that this tool knows.",
		"The sling's maker and a qualified person decide; ask them."},
	LegsMismatch: {"legs-mismatch", source.FewerLegs, "The lift needs more legs than this sling has.",
		"Take a sling with as many legs, or state that several like one-leg slings go on one hook."},
	HitchNotAllowed: {"hitch-not-allowed", source.BasketAsLegs, "This hitch is not allowed: too sharp a choke, too tight a basket, or a basket of more than two legs.",
		"Change the hitch, open the choke, or put something rounder under the chain."},
	LiftIncomplete: {"lift-incomplete", source.LowerAngle, "The lift is not fully stated.",
		"State the angle of the legs; for a choke or basket also what the chain bears on; for adjustable legs the height of the hook."},
	ReachTooShort: {"reach-too-short", source.HangsFromHook, "The legs are too short for these picks.",
		"Take a sling with more reach, or picks closer together."},
	ReachTooLong: {"reach-too-long", source.Headroom, "The hook would have to go higher than there is room for.",
		"Take a sling with less reach, or one that can be shortened."},
	LegsUnequal: {"legs-unequal", source.LegsFit, "Four legs of one length do not fit these picks: one would hang slack.",
		"Take a sling with adjustable legs, or ask a qualified person."},
	WouldRoll: {"would-roll", source.HangsFromHook, "The load would roll over: its centre of gravity is not below the line through the picks.",
		"Choose picks above the centre of gravity, or use more picks."},
	WouldTip: {"would-tip", source.CGInside, "The load would tip: its centre of gravity is not well inside and below the picks and the hook.",
		"Choose other picks, or ask a qualified person for a lift plan."},
	WouldTilt: {"would-tilt", source.LevelEnough, "The load would hang too far from level.",
		"Set the legs so that the hook is over the centre of gravity, or choose other picks."},
	AngleTooFlat: {"angle-too-flat", source.NoFlatterUS, "The legs would be too flat.",
		"Take a sling with more reach, or picks closer together."},
	TooHot: {"too-hot", source.ScrapUS, "The chain would get hotter than is allowed for its grade.",
		"Keep the heat away from the chain, or ask the maker for one that may be used there."},
	TooCold: {"too-cold", source.ColdGrade80, "It would be too cold for this grade of chain.",
		"Warm the chain up first, or ask the maker for one that may be used there."},
	UnderRated: {"under-rated", source.TagGoverns, "Too light for this lift.",
		"Take a stronger sling, or make the legs steeper."},
}
