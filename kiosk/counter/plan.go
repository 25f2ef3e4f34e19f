package counter

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"strings"

	"cribgate/core/event"
	"cribgate/core/fit"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/store"
)

// Errors of planned lifts.
var (
	// ErrLiftDay reports a lift whose day is over, or lies further ahead than lifts
	// are planned, or whose slings would be back before it.
	ErrLiftDay = errors.New("counter: a lift is planned for today or a day ahead, and its slings are back on that day or later")
	// ErrLiftEnded reports a lift that was given up, for which slings went out, or
	// whose day is over.
	ErrLiftEnded = errors.New("counter: this lift was given up, or its slings went out, or its day is over")
)

// PlanAhead is how many days ahead a lift is planned at the most (site policy, no
// source).
const PlanAhead = 60

// A Plan is a lift that somebody wants slings for on a day.
type Plan struct {
	Rigger event.PersonID
	Day    quantity.Date
	What   string // is lifted, and where; may be empty
	Stated event.StatedLift
}

// PlanLift records that a rigger wants slings for a lift on a day. Whoever works at
// the counter may, and the riggers for themselves. The error is a
// *[gate.QuestionError] where no sling could be asked about the lift.
func (c *Counter) PlanLift(ctx context.Context, who Who, p Plan) (event.LiftID, error) {
	b := event.LiftPlanned{Day: p.Day, What: strings.Join(strings.Fields(p.What), " "), Stated: p.Stated}
	lift, err := p.Stated.MarshalJSON()
	if err != nil {
		return event.LiftID{}, fmt.Errorf("counter: plan a lift: %w", err)
	}
	answer, err := c.store.Do(ctx, who.act("plan lift", p.Rigger.String(), p.Day.String(), b.What, string(lift)), func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		if err := mayPlan(ctx, tx, who, p.Rigger); err != nil {
			return nil, err
		}
		today := tx.Today()
		if p.Day.Before(today) || p.Day.DaysSince(today) > PlanAhead || p.Stated.Lift.ReturnBy.Before(p.Day) {
			return nil, ErrLiftDay
		}
		rigger, err := tx.Person(ctx, p.Rigger)
		if err != nil {
			return nil, err
		}
		if !rigger.May(event.Rigger, today) || rigger.Ended(p.Day) {
			return nil, ErrRole
		}
		crib, err := tx.Crib(ctx)
		if err != nil {
			return nil, err
		}
		b.Stated = p.Stated.Under(crib.Founded.Policy)
		ask := AskFor(crib, b.Stated, today)
		if err := ask.Check(); err != nil {
			return nil, err
		}
		if _, err := rand.Read(b.Lift[:]); err != nil {
			return nil, fmt.Errorf("name a lift: %w", err)
		}
		_, err = tx.Append(ctx, event.Person(p.Rigger), rigger.Heads, b)
		return []byte(b.Lift.String()), err
	})
	if err != nil {
		return event.LiftID{}, fmt.Errorf("counter: plan a lift: %w", err)
	}
	id, err := event.ParseLiftID(string(answer))
	if err != nil {
		return event.LiftID{}, fmt.Errorf("%w: it was done, and then: counter: plan a lift: %w", store.ErrUnknownOutcome, err)
	}
	return id, nil
}

// mayPlan tells whether somebody may plan lifts for a rigger, and set slings aside for
// them: who works at the counter, and the rigger.
func mayPlan(ctx context.Context, tx *store.Tx, who Who, rigger event.PersonID) error {
	roles := atCounter
	if who.Person == rigger {
		roles |= event.Rigger
	}
	return mustBe(ctx, tx, who, roles)
}

// AskFor is a stated lift as slings are chosen for it in a crib, judged as of a day and
// under the policy of now: a lift may have been planned under another.
func AskFor(crib state.Crib, stated event.StatedLift, today quantity.Date) fit.Ask {
	p := crib.Founded.Policy
	crane := event.Crane{Name: stated.Crane}
	for _, c := range p.Cranes {
		if c.Name == stated.Crane {
			crane = c
		}
	}
	return fit.Ask{Now: today, Policy: Question(state.Sling{}, p, today, nil).Policy, Lift: fit.LiftOf(stated.Under(p), crane, crib.Founded.Units)}
}

// open gives a planned lift that slings are still to go out for, and whether its day is
// over.
func open(ctx context.Context, tx *store.Tx, id event.LiftID) (state.Planned, error) {
	p, err := tx.Planned(ctx, id)
	if err == nil && (!p.Open() || p.Day.Before(tx.Today())) {
		err = ErrLiftEnded
	}
	return p, err
}

// GiveUpLift records that a planned lift is not to be. What was set aside for it hangs
// free again.
func (c *Counter) GiveUpLift(ctx context.Context, who Who, id event.LiftID, why string) error {
	why = strings.TrimSpace(why)
	_, err := c.store.Do(ctx, who.act("give up lift", id.String(), why), func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		p, err := open(ctx, tx, id)
		if err != nil {
			return nil, err
		}
		if err := mayPlan(ctx, tx, who, p.Rigger); err != nil {
			return nil, err
		}
		rigger, err := tx.Person(ctx, p.Rigger)
		if err != nil {
			return nil, err
		}
		if _, err := tx.Append(ctx, event.Person(p.Rigger), rigger.Heads, event.LiftGivenUp{Lift: id, Day: p.Day, Why: why}); err != nil {
			return nil, err
		}
		return nil, putBack(ctx, tx, p, "the lift was given up")
	})
	if err != nil {
		return fmt.Errorf("counter: give up a lift: %w", err)
	}
	return nil
}

// putBack ends what is set aside for a lift.
func putBack(ctx context.Context, tx *store.Tx, p state.Planned, why string) error {
	list, err := tx.SetAsideFor(ctx, p.Day, p.Lift)
	if err != nil {
		return err
	}
	for _, s := range list {
		if _, err := tx.Append(ctx, event.Sling(s.ID), s.Heads, event.PutBack{Lift: p.Lift, Why: why}); err != nil {
			return err
		}
	}
	return nil
}

// drawn records for which planned lifts slings went out with a loan. What else was set
// aside for them hangs free again.
func (l *lending) drawn(ctx context.Context) error {
	for i, id := range l.ask.For {
		if id.IsZero() || !l.went(i+1) {
			continue
		}
		p, err := l.tx.Planned(ctx, id)
		if err != nil && !errors.Is(err, store.ErrNotFound) { // the register may have been brought back from before it
			return err
		}
		if err != nil || p.Rigger != l.ask.Rigger || p.GivenUp {
			continue // it is a lift like any other then
		}
		rigger, err := l.tx.Person(ctx, p.Rigger)
		if err != nil {
			return err
		}
		l.tx.As(l.who.Person, l.who.Station, string(l.who.Way))
		if _, err := l.tx.Append(ctx, event.Person(p.Rigger), rigger.Heads, event.LiftDrawn{Lift: id, Day: p.Day, Loan: l.ask.Loan}); err != nil {
			return err
		}
		if err := putBack(ctx, l.tx, p, "others went out for the lift"); err != nil {
			return err
		}
	}
	return nil
}

// went tells whether a sling went out for the lift of a number.
func (l *lending) went(lift int) bool {
	for i, line := range l.ask.Lines {
		if line.Lift == lift && l.out[i].May {
			return true
		}
	}
	return false
}

// aside asks before a sling goes to somebody else than whom it is set aside for, where
// nothing else stands against it; what was answered the keeper sees.
func (o *Outcome) aside(ask Ask, today quantity.Date) {
	a := o.Sling.Aside
	switch {
	case !a.On(today) || a.Rigger == ask.Rigger:
	case ask.Aside == a.Lift:
		if o.Marked != "" {
			o.Marked += "; "
		}
		o.Marked += "it was set aside for somebody else’s lift"
	case len(o.Codes) == 0 || o.AskSeat:
		o.AskAside = true
		o.Codes = append(o.Codes, gate.SetAside)
	}
}
