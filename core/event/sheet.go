package event

import (
	"slices"

	"cribgate/core/quantity"
	"cribgate/core/strict"
)

// Regime says why a thorough examination was made when it was. The zero value is
// not said. The words follow LOLER 1998 regulation 9(3) and schedule 1 items 6 and 7
// (item numbers from memory, not seen).
type Regime string

// The regimes.
const (
	FirstUse     Regime = "first-use"     // before first use here
	Periodic     Regime = "periodic"      // within the interval that the crib's rules give
	Scheme       Regime = "scheme"        // by a written scheme of examination
	Circumstance Regime = "circumstances" // after exceptional circumstances: shock, overload, fire, repair
)

var regimes = []Regime{FirstUse, Periodic, Scheme, Circumstance}

// Regimes gives the closed list in its order.
func Regimes() []Regime { return slices.Clone(regimes) }

// ParseRegime reads a regime; known is false for any other word.
func ParseRegime(word string) (r Regime, known bool) {
	return Regime(word), slices.Contains(regimes, Regime(word))
}

// Decision is what the inspector decided of the whole. The zero value is none.
type Decision string

// The decisions. Of the first two the outcome of the inspection is fit, of
// DecidedOut out, of the others hold.
const (
	DecidedFit     Decision = "fit"
	DecidedShorter Decision = "shorter" // fit, and due again sooner than its service asks
	DecidedHold    Decision = "hold"    // a qualified person decides
	DecidedRepair  Decision = "repair"  // to the maker, or a repairer whom the maker authorises
	DecidedOut     Decision = "out"     // out of service
)

var decisions = []Decision{DecidedFit, DecidedShorter, DecidedHold, DecidedRepair, DecidedOut}

// Decisions gives the closed list in its order.
func Decisions() []Decision { return slices.Clone(decisions) }

// ParseDecision reads a decision; known is false for any other word.
func ParseDecision(word string) (d Decision, known bool) {
	return Decision(word), slices.Contains(decisions, Decision(word))
}

// An Instrument is what was measured with.
type Instrument struct {
	Name       string        // kind and number
	Calibrated quantity.Date // zero: not known
}

// A LegFound is what was found of one leg besides what the criteria ask.
type LegFound struct {
	Links int64           // counted; 0: not counted
	Reach quantity.Length // bearing point to bearing point, pulled straight, unloaded; 0: not taken
}

// Sheet is what a thorough inspection rests on, as it was signed.
type Sheet struct {
	Verdict     Verdict    // what was measured and seen, and what the criteria say: a question and answer of assess
	Legs        []LegFound // by leg, the first is leg 1
	Unseen      string     // what could not be seen, and why
	Method      string
	Instruments []Instrument
	Regime      Regime
	Decision    Decision
	Why         string        // the reasons of the decision, in the inspector's words
	Repair      string        // repair, renewal or alteration that is needed
	Danger      quantity.Date // by when a defect could become dangerous; zero: none does, or it is so now
	Tests       string        // that were part of the examination
	Salvage     string        // what may be saved of a sling that is out: for the repair shop to decide
	Photos      []Photo
	Used        int // of the worst measurement: per mille of the way from new to its limit; may be over 1000

	// Failed are the pieces that it does not pass; of a sheet that passes it, and of one
	// that was written before they were, none. With any: schema 3.
	Failed []Piece

	// Of the examiner, as it was on that day.
	Qualification string
	Employer      string
	Address       string
}

func (s Sheet) write(w *strict.Writer) {
	w.Obj("sheet")
	s.Verdict.write(w)
	w.List("legs")
	for _, l := range s.Legs {
		w.Begin()
		w.Int("links", l.Links)
		w.Int("reach_um", l.Reach.Micrometres())
		w.End()
	}
	w.End()
	w.Str("unseen", s.Unseen)
	w.Str("method", s.Method)
	w.List("instruments")
	for _, i := range s.Instruments {
		w.Begin()
		w.Str("name", i.Name)
		w.Str("calibrated", i.Calibrated.String())
		w.End()
	}
	w.End()
	w.Str("regime", string(s.Regime))
	w.Str("decision", string(s.Decision))
	w.Str("why", s.Why)
	w.Str("repair", s.Repair)
	w.Str("danger", s.Danger.String())
	w.Str("tests", s.Tests)
	w.Str("salvage", s.Salvage)
	writePhotos(w, "photos", s.Photos)
	w.Int("used", int64(s.Used))
	WritePieces(w, "failed", s.Failed)
	w.Str("qualification", s.Qualification)
	w.Str("employer", s.Employer)
	w.Str("address", s.Address)
	w.End()
}

func readSheet(o *strict.Object) *Sheet {
	s := Sheet{
		Verdict: readVerdict(o), Unseen: o.Str("unseen"), Method: o.Str("method"), Why: o.Str("why"), Repair: o.Str("repair"),
		Danger: ReadDate(o, "danger"), Tests: o.Str("tests"), Salvage: o.Str("salvage"), Used: int(o.Int("used", 0, 1_000_000)),
		Qualification: o.Str("qualification"), Employer: o.Str("employer"), Address: o.Str("address"),
	}
	for _, l := range o.Objs("legs") {
		s.Legs = append(s.Legs, LegFound{Links: l.Int("links", 0, 1_000_000), Reach: quantity.Length(l.Int("reach_um", 0, 1_000_000_000)) * quantity.Micrometre})
	}
	for _, i := range o.Objs("instruments") {
		s.Instruments = append(s.Instruments, Instrument{Name: i.Str("name"), Calibrated: ReadDate(i, "calibrated")})
	}
	s.Photos, s.Failed = readPhotos(o, "photos"), ReadPieces(o, "failed")
	var known bool
	if s.Regime, known = ParseRegime(o.Str("regime")); !known {
		o.Fail("regime", "not a regime")
	}
	if s.Decision, known = ParseDecision(o.Str("decision")); !known {
		o.Fail("decision", "not a decision")
	}
	return &s
}
