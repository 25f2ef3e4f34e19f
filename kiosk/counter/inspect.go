package counter

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/removal"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/store"
)

// Inspection is a thorough inspection as it is reported.
type Inspection struct {
	Date      quantity.Date
	Outcome   tagcode.Outcome // fit, hold or out; with a Sheet it follows from its Decision and is not looked at
	Service   due.Service
	Months    int // 0 for the rule's own interval
	RatingTag gate.RatingTag
	Note      string
	Sheet     *Sheet // what it rests on; nil where only the result was written down
}

// Sheet is what an inspection rests on, as the inspector found it. What the criteria
// say of it, how much of the worst limit is used up, and who the inspector is, the
// register works out itself.
type Sheet struct {
	Found       removal.Found // dimensions of new parts in it are not looked at: they are those on record
	Legs        []event.LegFound
	Unseen      string
	Method      string
	Instruments []event.Instrument
	Regime      event.Regime
	Decision    event.Decision
	Due         quantity.Date // sooner than service and rules ask; zero: as they ask
	Why         string
	Repair      string
	Danger      quantity.Date // by when a defect could become dangerous; the next inspection is never due later
	Tests       string
	Salvage     string
	Photos      []event.Photo
}

// Errors of Inspect.
var (
	// ErrInspection reports an inspection without an outcome, in the future, or
	// before the last one.
	ErrInspection = errors.New("counter: an inspection has an outcome, and a date from the last one to today")
	// ErrMilder reports a decision that is milder than what was measured and seen.
	ErrMilder = errors.New("counter: a decision may be graver than what was found, never milder")
	// ErrDue reports a due date that is not sooner than service and rules ask, or
	// has none where the decision says that it is.
	ErrDue = errors.New("counter: the next inspection may be due sooner than the rules ask, never later")
	// ErrUnmeasured reports a result without its sheet of a sling that was measured
	// and did not pass, and is what an [UnmeasuredError] wraps.
	ErrUnmeasured = errors.New("counter: what was measured and did not pass is passed by measuring it again")
)

// UnmeasuredError reports a sheet that passes a sling and does not measure what of it
// failed before.
type UnmeasuredError struct{ Pieces []event.Piece }

// Error counts the pieces; whoever shows it names them.
func (e *UnmeasuredError) Error() string {
	return fmt.Sprintf("%v: %d parts that failed are not measured", ErrUnmeasured, len(e.Pieces))
}

// Unwrap gives ErrUnmeasured.
func (e *UnmeasuredError) Unwrap() error { return ErrUnmeasured }

// Inspect records a thorough inspection, of a sling that is here or, where it is used
// far away, of one that is out: that one stays out, and one that does not pass is
// wanted back and held as soon as it comes. When it is next due follows from the
// crib's rules; a hold that stood before it stays until it is released.
func (c *Counter) Inspect(ctx context.Context, who Who, seen Seen, i Inspection) (Outcome, error) {
	i.Note = strings.TrimSpace(i.Note)
	request := []string{i.Date.String(), i.Outcome.String(), i.Service.String(), fmt.Sprint(i.Months), i.RatingTag.String(), i.Note}
	if i.Sheet != nil {
		request = append(request, fmt.Sprintf("%+v", *i.Sheet))
	}
	return c.onSling(ctx, who, "inspect", seen, event.Inspector, inUse(), func(tx *store.Tx, s state.Sling) (event.Body, []gate.Reason, error) {
		crib, err := tx.Crib(ctx)
		if err != nil {
			return nil, nil, err
		}
		if i.Sheet != nil {
			i.Outcome = outcomeOf(i.Sheet.Decision)
		}
		if i.Outcome == tagcode.NoOutcome {
			return nil, nil, ErrInspection
		}
		if refused, err := dated(i.Date, s.Details.Sling.Inspected, tx.Clock()); err != nil || len(refused) > 0 {
			return nil, refused, err
		}
		if s.Repair != (state.Repair{}) {
			return nil, []gate.Reason{gate.NotNow}, nil
		}
		if i.Outcome == tagcode.Fit && unlooked(s, i.Date, tx.Today()) {
			return nil, []gate.Reason{gate.Unchecked}, nil
		}
		next, err := due.Next(i.Date, i.Service, crib.Founded.Rules, i.Months)
		if err != nil {
			return nil, nil, err
		}
		b := event.Inspected{
			Date: i.Date, Outcome: i.Outcome, Service: i.Service, Months: i.Months, Due: next, RatingTag: i.RatingTag, Note: i.Note,
		}
		if i.Sheet == nil {
			if i.Outcome == tagcode.Fit && len(s.Failed) > 0 {
				return nil, nil, ErrUnmeasured
			}
			return b, nil, nil
		}
		p, err := tx.Person(ctx, who.Person)
		if err != nil {
			return nil, nil, err
		}
		refused, err := i.Sheet.onto(&b, s, crib, p, tx.Today())
		return b, refused, err
	}, request...)
}

// dated gives the reason why something cannot be inspected on a day by a clock that
// may be wrong, and ErrInspection for a day to come or before the last inspection.
func dated(day, last quantity.Date, clock store.Clock) ([]gate.Reason, error) {
	switch {
	case day.IsZero(), day.After(clock.Today()), day.Before(last):
		return nil, ErrInspection
	case day.After(clock.Reached()):
		return Clocked(clock.Doubt), nil
	}
	return nil, nil
}

// onto puts a sheet on the inspection that it is of. It gives the reasons of the gate
// why the metal itself does not pass, where the decision says that it does.
func (f Sheet) onto(b *event.Inspected, s state.Sling, crib state.Crib, p state.Person, today quantity.Date) ([]gate.Reason, error) {
	q := SheetQuestion(s, Looked(f.Found, b.RatingTag))
	a, err := removal.Assess(q)
	if err != nil {
		return nil, err
	}
	if !slices.Contains(MayDecide(a.Verdict), f.Decision) {
		return nil, ErrMilder
	}
	if b.Outcome == tagcode.Fit {
		if left := event.Unmeasured(s.Failed, q); len(left) > 0 {
			return nil, &UnmeasuredError{Pieces: left}
		}
		metal, err := Metal(s, crib.Founded.Policy, today)
		if err != nil || len(metal) > 0 {
			return metal, err
		}
		if !f.Danger.IsZero() && f.Danger.Before(b.Due) {
			b.Due = f.Danger
		}
	}
	switch shorter := f.Decision == event.DecidedShorter; {
	case shorter != !f.Due.IsZero(), shorter && (!f.Due.Before(b.Due) || !f.Due.After(b.Date)):
		return nil, ErrDue
	case shorter:
		b.Due = f.Due
	}
	sheet := event.Sheet{
		Legs: f.Legs, Unseen: f.Unseen, Method: f.Method, Instruments: f.Instruments, Regime: f.Regime, Decision: f.Decision, Why: f.Why,
		Repair: f.Repair, Danger: f.Danger, Tests: f.Tests, Salvage: f.Salvage, Photos: f.Photos, Used: removal.Worst(removal.Measures(q)),
		Qualification: p.Terms.Qualified.As, Employer: p.Terms.Qualified.Employer, Address: p.Terms.Qualified.Address,
	}
	if b.Outcome != tagcode.Fit {
		sheet.Failed = event.Failed(a.Findings)
	}
	sheet.Verdict.Edition = gate.RulesEdition
	question, err := q.MarshalJSON()
	if err != nil {
		return nil, err
	}
	answer, err := a.MarshalJSON()
	if err != nil {
		return nil, err
	}
	sheet.Verdict.Question, sheet.Verdict.Answer = string(question), string(answer)
	b.Sheet = &sheet
	return nil, nil
}

// outcomeOf is the outcome that a decision stands for; none for no decision.
func outcomeOf(d event.Decision) tagcode.Outcome {
	switch d {
	case event.DecidedFit, event.DecidedShorter:
		return tagcode.Fit
	case event.DecidedHold, event.DecidedRepair:
		return tagcode.Hold
	case event.DecidedOut:
		return tagcode.Out
	}
	return tagcode.NoOutcome
}

// MayDecide gives the decisions that are no milder than a verdict, in the order of
// the closed list. What is to leave service leaves it, or goes to the maker.
func MayDecide(v removal.Verdict) []event.Decision {
	all := event.Decisions()
	switch v {
	case removal.Fit:
		return all
	case removal.Held:
		return all[slices.Index(all, event.DecidedHold):]
	}
	return all[slices.Index(all, event.DecidedRepair):]
}

// Looked adds to what was found what the maker's rating tag says of itself, unless it
// is there already.
func Looked(f removal.Found, tag gate.RatingTag) removal.Found {
	var code removal.Code
	switch tag {
	case gate.TagMissing:
		code = removal.RatingTagMissing
	case gate.TagIllegible:
		code = removal.RatingTagIllegible
	default:
		return f
	}
	if !slices.Contains(f.Seen, code) {
		f.Seen = append(slices.Clip(f.Seen), code)
	}
	return f
}

// unlooked tells whether a sling came back and nobody has looked at it since: an
// inspection of a day before does not, wherever it was made.
func unlooked(s state.Sling, inspected, today quantity.Date) bool {
	return s.Details.Sling.State == gate.StateUnchecked && inspected.Before(today)
}

// SheetQuestion is what the criteria are asked about a sling of which that was found:
// what its parts measured when new is what the record says, whatever found says.
func SheetQuestion(s state.Sling, found removal.Found) removal.Question {
	d := s.Details
	q := removal.Question{ID: d.Ident, Sling: removal.Sling{Grade: d.Sling.Grade, Size: d.Sling.Size, Legs: d.Sling.Legs}, Found: found}
	q.Found.Runs, q.Found.Hooks, q.Found.Parts = slices.Clone(found.Runs), slices.Clone(found.Hooks), slices.Clone(found.Parts)
	for i := range q.Found.Runs {
		r := &q.Found.Runs[i]
		r.New = newRun(s, r.Leg, r.Links)
	}
	for i := range q.Found.Hooks {
		h := &q.Found.Hooks[i]
		h.ThroatNew = NewOf(s, event.FigureOf{Dimension: event.Throat, Leg: h.Leg}).Value
		h.SectionNew = NewOf(s, event.FigureOf{Dimension: event.Section, Leg: h.Leg}).Value
	}
	for i := range q.Found.Parts {
		p := &q.Found.Parts[i]
		p.New = NewOf(s, event.FigureOf{Dimension: event.Thickness, What: p.What, Leg: p.Leg}).Value
	}
	return q
}

// NewOf is what a part measured when new; zero where that is not on record.
func NewOf(s state.Sling, of event.FigureOf) state.NewFigure {
	for _, n := range s.New {
		if n.Of == of {
			return n
		}
	}
	return state.NewFigure{}
}

// newRun is the length of so many links of a leg when new, rounded down, from the run
// that is on record; 0 where none is.
func newRun(s state.Sling, leg int, links int64) quantity.Length {
	n := NewOf(s, event.FigureOf{Dimension: event.RunLength, Leg: leg})
	if n.Links == 0 || links < 1 || links > removal.MaxCount {
		return 0
	}
	l := n.Value * quantity.Length(links) / quantity.Length(n.Links) // at most 1e9 × 1e6
	if l < removal.MinLength || l > removal.MaxLength {
		return 0
	}
	return l
}

// Metal gives the reasons of the gate that stand against the metal of a sling itself,
// whatever its state and dates: stamps that its chain cannot carry, heat.
func Metal(s state.Sling, p event.Policy, today quantity.Date) ([]gate.Reason, error) {
	q := Question(s, p, today, nil)
	a, err := gate.Decide(q)
	if err != nil {
		return nil, err
	}
	standing, _ := gate.Standing(&q)
	return slices.DeleteFunc(a.Reasons, standing.Has), nil
}
