package source

import "strings"

// Clause names one place in a text. The zero Clause names nothing and must not
// stand beside a rule. Clauses are comparable; their numbers are not stable,
// their keys are.
type Clause uint16

// Ratings, factors and the shape of a lift.
const (
	None Clause = iota

	// Ratings.
	OSHATable1
	OSHATable2
	Grade100Charts
	Grade120Formula
	EN4Table
	EN10Singles
	EN10Computed
	GradeStress
	USMultipliers
	ENMultipliers
	TagGoverns
	MakerChart
	WeakestPart
	UpperFitting
	StampRounding
	PreferredStep

	// Legs, angles and hitches.
	LowerAngle
	ComputedAngle
	NoFlatterUS
	NoFlatterEN
	FewerLegs
	SinglesTogether
	BasketAsLegs
	BasketNeverAbove
	Choke120
	ChokeBelow120
	ChokeStrict
	EdgeRadius
	BendRatio
	PlainShortening
	HalfWhenOff
	AllDefault
	LoadMargin

	// Temperature.
	HeatTableUS
	ScrapUS
	HeatGrade8
	HeatGrade10
	HeatGrade120
	ColdGrade80
	ColdGrade100

	// Geometry.
	LegTension
	HangsFromHook
	ThreeOfFour
	EvenLegs
	EvenLegsEN
	LegsFit
	Headroom
	LevelEnough
	CGInside

	// Uses that a table does not cover.
	SpecialUse
	AcidUse

	// State, tag and dates.
	TagLegible
	QRNeverRatingTag
	TwelveMonths
	BeforeUse
	DefectOut
	ReturnToService
	RecordKept
	DueDayGood
	OneHolder
	ReturnCheck
	LostIsOut
	KeptAsFound
	ClockFloor

	// The same under the laws of other places.
	TagGovernsUS
	TagGovernsEN
	TagLegibleEN
	TagLegibleUK
	DefectOutEN
	DefectOutUK
	DefectOutYard
	ReturnToServiceEN
	MarkTracesEN

	// Counter.
	MarkTraces
	TagConfirmed
	PrintGrade
	TagAuthentic
	TagSpelling
	CheckCharacter
	PlateTyped
	KnownRigger
	ClearedRigger
	NewestBadge
	ShiftGear
	Countersigned
	HookSeats
	LowerFits
	SharedLift
	KeptFor
	SharesAddUp
	RoleTable
	OtherEyes
	OneStory
	RegisterWhole
	Compared
	NewerProgram
	FirstWins

	// Removal from service.
	LinkMinimumB309
	LinkMinimumMemory
	LinkMinimumCFR
	LinkMeanEN
	SectionLoss
	LengthDefect
	LengthThreePercent
	LengthFivePercent
	LengthSteps
	LegsMatch
	TapeDoubt
	PitchNominal
	ReachGrowth
	ThroatOpening
	ThroatCFR
	ThroatEN
	HookTwistCFR
	HookTwistSeen
	HookTwistSteps
	HookWear
	HookLatch
	PartWear
	DeformedParts
	CracksAndDamage
	FieldRepair
	ShopMadeParts
	KnotsAndBolts
	NickGrinding
	ShockOrOverload
	MeasuredWhole
	OriginalKnown
	CutUpWhenRetired

	// Intervals, records and proof.
	ServiceIntervals
	SevereMonthly
	ShipyardQuarter
	UKSixMonths
	ENTwelveMonths
	MonthOnlyRecord
	UKReport
	UKKeepReports
	ProofLoads
	ProofTest

	// Tag, symbol and screen.
	Base32
	MacTruncation
	Sha256
	SymbolCapacity
	UnusedCorrection
	PINLength
	FailedTries
	TargetSize
	TextContrast

	// Weight by size.
	SteelDensity
	IronDensity
	AluminiumDensity
	ReinforcedConcrete
	WaterDensity
	FillingWhole

	clauseEnd
)

type clauseRow struct {
	key        string
	text       Text
	place      string
	says       string
	confidence Confidence
}

func (c Clause) row() clauseRow {
	if c >= clauseEnd {
		c = None
	}
	return clauses[c]
}

// Key is the stable spelling, such as "osha-table-1"; "none" for the zero
// Clause.
func (c Clause) Key() string { return c.row().key }

// Text is the text that holds the clause.
func (c Clause) Text() Text { return c.row().text }

// Place is the table, section or paragraph inside the text; empty where the
// text has no parts.
func (c Clause) Place() string { return c.row().place }

// Says is the content in one line, in our words.
func (c Clause) Says() string { return c.row().says }

// Confidence says how far this reading can be trusted.
func (c Clause) Confidence() Confidence { return c.row().confidence }

// String cites the clause for people, with the doubt where there is one:
// "EN 818-6, …, section on symmetry (as others quote it)".
func (c Clause) String() string {
	r := c.row()
	s := r.text.Title()
	if r.place != "" {
		s += ", " + r.place
	}
	switch r.confidence {
	case Seen, Unsourced:
		return s
	}
	return s + " (" + r.confidence.String() + ")"
}

// Short is text and place in a few words, for beside a sentence: "29 CFR
// 1910.184(d)", "LOLER, regulation 9(3)", "site policy". How far the reading can be
// trusted, and through what it was read, is left to [Clause.String].
func (c Clause) Short() string {
	text := c.Text()
	place, _, _ := strings.Cut(c.Place(), ",")
	place, _, _ = strings.Cut(place, ";")
	place, _, _ = strings.Cut(place, ":")
	switch {
	case text == SitePolicy, text == CommonPractice, text == TradeCharts, text == Statics, place == "", strings.HasPrefix(place, "through "):
		return text.Short()
	}
	if section := strings.TrimPrefix(text.Short(), "29 CFR "); strings.HasPrefix(place, section) {
		return "29 CFR " + place
	}
	return text.Short() + ", " + place
}

// ParseClause finds a clause by its key. It answers false for an unknown key
// and for the zero Clause's.
func ParseClause(key string) (Clause, bool) {
	for c := None + 1; c < clauseEnd; c++ {
		if clauses[c].key == key {
			return c, true
		}
	}
	return None, false
}

// Clauses lists the register in its own order, for a page that prints it.
func Clauses() []Clause {
	all := make([]Clause, 0, clauseEnd-1)
	for c := None + 1; c < clauseEnd; c++ {
		all = append(all, c)
	}
	return all
}
