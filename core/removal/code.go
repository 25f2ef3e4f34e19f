package removal

import "cribgate/core/source"

// Grade is the weight of one finding. The zero Grade is none.
type Grade uint8

// The grades, the lightest first.
const (
	Note Grade = iota + 1 // to be watched
	Hold                  // a qualified person decides
	Out                   // out of service now
)

var gradeWords = [...]string{"", "note", "hold", "out"}

// String is note, hold or out; empty for the zero Grade.
func (g Grade) String() string { return word(gradeWords[:], int(g)) }

// Verdict is what follows from all findings. The zero Verdict holds.
type Verdict uint8

// The verdicts.
const (
	Held Verdict = iota
	OutOfService
	Fit
)

var verdictWords = [...]string{"hold", "out", "fit"}

// String is hold, out or fit; empty for a Verdict that is none of them.
func (v Verdict) String() string { return word(verdictWords[:], int(v)) }

// Code says what was found. The zero Code is nothing.
type Code uint8

// Codes of what measurements show.
const (
	LinkWorn Code = iota + 1
	LinkThin
	Longer
	LegsDiffer
	ThroatOpen
	ThroatUnknown
	HookTwisted
	HookWorn
	HookUnknown
	LatchFault
	PartWorn
	PartUnknown
	NotMeasured
)

// Codes of what is seen.
const (
	Crack Code = iota + NotMeasured + 1
	BentLink
	TwistedLink
	Nick
	Gouge
	HeatDamage
	WeldSpatter
	Pitting
	StiffLink
	WornSeat
	MasterBent
	HookBent
	CouplerStiff
	BoltOrWire
	FieldWeld
	WrongGradePart
	LegMissing
	HomeShortened
	Knot
	RatingTagMissing
	RatingTagIllegible
	ShockLoad
	Overload
	codeEnd
)

// codeRow is one row of the closed list. What is seen has its grade and clause
// here; what is measured has them beside its limits.
type codeRow struct {
	word    string
	figures bool // a value and a limit belong to it
	seen    Grade
	clause  source.Clause
	says    string
}

var codes = [codeEnd]codeRow{
	LinkWorn:      {word: "link-worn", figures: true, says: "link worn below the least thickness"},
	LinkThin:      {word: "link-thin", figures: true, says: "link thin: within its own rule, below the other system's"},
	Longer:        {word: "longer", figures: true, says: "chain longer than new"},
	LegsDiffer:    {word: "legs-differ", figures: true, says: "legs no longer match"},
	ThroatOpen:    {word: "throat-open", figures: true, says: "hook opened"},
	ThroatUnknown: {word: "throat-unknown", says: "throat of the new hook not known"},
	HookTwisted:   {word: "hook-twisted", says: "hook tip twisted"},
	HookWorn:      {word: "hook-worn", figures: true, says: "hook worn"},
	HookUnknown:   {word: "hook-unknown", says: "section of the new hook not known"},
	LatchFault:    {word: "latch", says: "latch bent or missing"},
	PartWorn:      {word: "part-worn", figures: true, says: "part worn"},
	PartUnknown:   {word: "part-unknown", says: "dimension of the new part not known"},
	NotMeasured:   {word: "not-measured", says: "not measured"},

	Crack:              {"crack", false, Out, source.CracksAndDamage, "crack"},
	BentLink:           {"bent-link", false, Out, source.CracksAndDamage, "bent link"},
	TwistedLink:        {"twisted-link", false, Out, source.CracksAndDamage, "twisted link"},
	Nick:               {"nick", false, Hold, source.NickGrinding, "nick"},
	Gouge:              {"gouge", false, Hold, source.NickGrinding, "gouge"},
	HeatDamage:         {"heat-damage", false, Out, source.CracksAndDamage, "heat damage"},
	WeldSpatter:        {"weld-spatter", false, Hold, source.CracksAndDamage, "weld spatter"},
	Pitting:            {"pitting", false, Hold, source.CracksAndDamage, "pitting"},
	StiffLink:          {"stiff-link", false, Hold, source.CracksAndDamage, "link that does not hinge freely"},
	WornSeat:           {"worn-seat", false, Hold, source.CracksAndDamage, "worn bearing point"},
	MasterBent:         {"master-bent", false, Out, source.DeformedParts, "master link bent"},
	HookBent:           {"hook-bent", false, Out, source.HookTwistSeen, "hook bent"},
	CouplerStiff:       {"coupler-stiff", false, Hold, source.CracksAndDamage, "coupler that does not hinge freely"},
	BoltOrWire:         {"bolt-or-wire", false, Out, source.ShopMadeParts, "bolt or wire in the chain"},
	FieldWeld:          {"field-weld", false, Out, source.FieldRepair, "weld made in the field"},
	WrongGradePart:     {"wrong-grade-part", false, Out, source.WeakestPart, "part of another grade"},
	LegMissing:         {"leg-missing", false, Out, source.TagGoverns, "leg missing"},
	HomeShortened:      {"home-shortened", false, Out, source.KnotsAndBolts, "shortened by other than its own hook"},
	Knot:               {"knot", false, Out, source.KnotsAndBolts, "knot"},
	RatingTagMissing:   {"rating-tag-missing", false, Out, source.TagLegible, "rating tag missing"},
	RatingTagIllegible: {"rating-tag-illegible", false, Out, source.TagLegible, "rating tag cannot be read"},
	ShockLoad:          {"shock-load", false, Hold, source.ShockOrOverload, "shock load"},
	Overload:           {"overload", false, Hold, source.ShockOrOverload, "overload"},
}

func (c Code) row() codeRow {
	if c >= codeEnd {
		c = 0
	}
	return codes[c]
}

// String is the word of the machine surface; empty for the zero Code.
func (c Code) String() string { return c.row().word }

// Says is a short phrase for people; empty for the zero Code.
func (c Code) Says() string { return c.row().says }

// SeenGrade is the grade of a word of what is seen; none for other codes.
func (c Code) SeenGrade() Grade { return c.row().seen }

// SeenCodes lists the words of what is seen, in their own order, for a page
// that offers them.
func SeenCodes() []Code {
	list := make([]Code, 0, codeEnd-Crack)
	for c := Crack; c < codeEnd; c++ {
		list = append(list, c)
	}
	return list
}

// ParseSeen reads a word of what is seen. Codes of measurements are none.
func ParseSeen(s string) (Code, bool) {
	for c := Crack; c < codeEnd; c++ {
		if codes[c].word == s {
			return c, true
		}
	}
	return 0, false
}
