package gate

import "fmt"

// word finds a spelling in a list whose place 0 is "none".
func word[T ~uint8](what, s string, words []string) (T, error) {
	for i := 1; i < len(words); i++ {
		if words[i] == s {
			return T(i), nil
		}
	}
	return 0, fmt.Errorf("gate: %s %q is none of %v", what, s, words[1:])
}

func spell[T ~uint8](v T, words []string) string {
	if int(v) >= len(words) {
		return ""
	}
	return words[v]
}

// State is where a sling stands in the crib. The zero State is none, and no
// sling in it can be judged.
type State uint8

// The states.
const (
	StateIn        State = iota + 1
	StateOut             // with a rigger
	StateUnchecked       // came back, not looked at yet
	StateHeld            // quarantined by doubt
	StateRetired
	StateLost
)

var stateWords = []string{"", "in", "out", "unchecked", "held", "retired", "lost"}

// ParseState reads a state as the machine surface spells it.
func ParseState(s string) (State, error) { return word[State]("state", s, stateWords) }

// String is the spelling that ParseState reads; empty for none.
func (s State) String() string { return spell(s, stateWords) }

// RatingTag is how the maker's metal tag was found. The zero RatingTag is not known.
type RatingTag uint8

// The ways a rating tag is found.
const (
	TagLegible RatingTag = iota + 1
	TagPartial
	TagIllegible
	TagMissing
)

var ratingTagWords = []string{"", "legible", "partial", "illegible", "missing"}

// ParseRatingTag reads how a rating tag was found.
func ParseRatingTag(s string) (RatingTag, error) {
	return word[RatingTag]("rating tag", s, ratingTagWords)
}

// String is the spelling that ParseRatingTag reads; empty for not known.
func (t RatingTag) String() string { return spell(t, ratingTagWords) }

// Angles says how an angle between the tabulated ones is rated. The zero Angles
// is none; [DefaultPolicy] has AnglesBands.
type Angles uint8

// The ways to rate an angle.
const (
	// AnglesBands takes the next lower tabulated angle.
	AnglesBands Angles = iota + 1
	// AnglesComputed takes the exact tension of each leg; a qualified person
	// has signed the lift plan. It acts only with picks.
	AnglesComputed
)

var anglesWords = []string{"", "bands", "computed"}

// ParseAngles reads "bands" or "computed".
func ParseAngles(s string) (Angles, error) { return word[Angles]("angles", s, anglesWords) }

// String is the spelling that ParseAngles reads.
func (a Angles) String() string { return spell(a, anglesWords) }

// Choke says how strictly choked slings are rated. The zero Choke is none.
type Choke uint8

// The ways to rate a choke.
const (
	ChokeListed Choke = iota + 1 // up to 80 %
	ChokeStrict                  // none above 75 %
)

var chokeWords = []string{"", "listed", "strict"}

// ParseChoke reads "listed" or "strict".
func ParseChoke(s string) (Choke, error) { return word[Choke]("choke", s, chokeWords) }

// String is the spelling that ParseChoke reads.
func (c Choke) String() string { return spell(c, chokeWords) }

// Use is what is lifted. The zero Use is none.
type Use uint8

// The uses.
const (
	UseOrdinary Use = iota + 1
	UsePeople
	UseMolten
	UseChemical // acid, pickling, galvanising
	UseOther
)

var useWords = []string{"", "ordinary", "people", "molten", "chemical", "other"}

// ParseUse reads a use.
func ParseUse(s string) (Use, error) { return word[Use]("use", s, useWords) }

// String is the spelling that ParseUse reads.
func (u Use) String() string { return spell(u, useWords) }

// Hitch is how the legs hold the load. The zero Hitch is none.
type Hitch uint8

// The hitches.
const (
	Straight Hitch = iota + 1
	Choked
	Basket
)

var hitchWords = []string{"", "straight", "choke", "basket"}

// ParseHitch reads a hitch.
func ParseHitch(s string) (Hitch, error) { return word[Hitch]("hitch", s, hitchWords) }

// String is the spelling that ParseHitch reads.
func (h Hitch) String() string { return spell(h, hitchWords) }

// Reference is what an angle is measured from. The zero Reference is none.
type Reference uint8

// The references.
const (
	FromHorizontal Reference = iota + 1
	FromVertical
	BetweenLegs // included angle of two legs
)

var referenceWords = []string{"", "horizontal", "vertical", "between"}

// ParseReference reads a reference.
func ParseReference(s string) (Reference, error) {
	return word[Reference]("angle from", s, referenceWords)
}

// String is the spelling that ParseReference reads.
func (r Reference) String() string { return spell(r, referenceWords) }

// Shortening is how legs are shortened. The zero Shortening is not shortened.
type Shortening uint8

// The ways to shorten a leg.
const (
	Unshortened Shortening = iota
	Cradled                // with a hook that supports the chain
	Plain                  // with one that does not
)

var shorteningWords = []string{"", "cradled", "plain"}

// ParseShortening reads "cradled" or "plain".
func ParseShortening(s string) (Shortening, error) {
	return word[Shortening]("shortening", s, shorteningWords)
}

// String is the spelling that ParseShortening reads; empty for not shortened.
func (s Shortening) String() string { return spell(s, shorteningWords) }
