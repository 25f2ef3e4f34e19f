package store

import (
	"context"
	"fmt"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/state"
)

// plannedRow is what an event says of a planned lift, by its position.
type plannedRow struct {
	pos    int64
	lift   string
	day    string
	rigger string
}

func (p plannedRow) at() int64 { return p.pos }

// plannedOf gives the row of an event, false for one that is about no planned lift.
func plannedOf(pos int64, s event.Subject, b event.Body) (plannedRow, bool) {
	if s.Kind() != event.OfPerson {
		return plannedRow{}, false
	}
	row := plannedRow{pos: pos, rigger: s.Person().String()}
	switch b := b.(type) {
	case event.LiftPlanned:
		row.lift, row.day = b.Lift.String(), b.Day.String()
	case event.LiftGivenUp:
		row.lift, row.day = b.Lift.String(), b.Day.String()
	case event.LiftDrawn:
		row.lift, row.day = b.Lift.String(), b.Day.String()
	default:
		return plannedRow{}, false
	}
	return row, true
}

func (p *present) writePlanned(ctx context.Context, r plannedRow) error {
	if _, err := p.tx.ExecContext(ctx, sqlInsertPlanned, r.pos, r.lift, r.day, r.rigger); err != nil {
		return fmt.Errorf("store: write what was planned at %d: %w", r.pos, explain(err))
	}
	return nil
}

// PlannedOn gives the lifts that were planned for the days from one to another, by
// day and in the order in which they were planned, also those that were given up or
// drawn.
func (r Reader) PlannedOn(ctx context.Context, from, to quantity.Date) ([]state.Planned, error) {
	list, err := r.planned(ctx, sqlPlannedOn, from.String(), to.String())
	if err != nil {
		return nil, fmt.Errorf("store: lifts planned from %s to %s: %w", from, to, err)
	}
	return list, nil
}

// PlannedBy gives the lifts that a rigger planned for a day or later, as PlannedOn
// does.
func (r Reader) PlannedBy(ctx context.Context, rigger event.PersonID, from quantity.Date) ([]state.Planned, error) {
	list, err := r.planned(ctx, sqlPlannedBy, rigger.String(), from.String())
	if err != nil {
		return nil, fmt.Errorf("store: lifts planned by %s: %w", rigger, err)
	}
	return list, nil
}

// Planned gives one planned lift: ErrNotFound where there is none.
func (r Reader) Planned(ctx context.Context, id event.LiftID) (state.Planned, error) {
	list, err := r.planned(ctx, sqlPlanned, id.String())
	if err == nil && len(list) == 0 {
		err = ErrNotFound
	}
	if err != nil {
		return state.Planned{}, fmt.Errorf("store: planned lift %s: %w", id, err)
	}
	return list[0], nil
}

// planned tells the stories of the lifts that a query finds events of.
func (r Reader) planned(ctx context.Context, query string, args ...any) ([]state.Planned, error) {
	records, err := r.records(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	var list []state.Planned
	place := map[event.LiftID]int{}
	for _, rec := range records {
		var id event.LiftID
		switch b := rec.Body.(type) {
		case event.LiftPlanned:
			id = b.Lift
		case event.LiftGivenUp:
			id = b.Lift
		case event.LiftDrawn:
			id = b.Lift
		}
		i, known := place[id]
		if !known {
			i = len(list)
			place[id], list = i, append(list, state.Planned{})
		}
		list[i] = list[i].Apply(rec.Envelope.Subject.Person(), rec.Event())
	}
	whole := list[:0]
	for _, p := range list {
		if !p.Lift.IsZero() { // what is said of a lift that nobody planned is of none
			whole = append(whole, p)
		}
	}
	return whole, nil
}

func (r Reader) walkPlanned(ctx context.Context, after, to int64, f func(plannedRow) error) error {
	return each(ctx, r.q, func(rows cells) error {
		var p plannedRow
		if err := rows.Scan(&p.pos, &p.lift, &p.day, &p.rigger); err != nil {
			return err
		}
		return f(p)
	}, sqlWalkPlanned, after, to)
}

// asideKey spells for which day and lift a sling is set aside, so that the order of
// bytes is that of the days; empty for one that is not.
func asideKey(a state.Aside) string {
	if a.Lift.IsZero() {
		return ""
	}
	return a.Day.String() + " " + a.Lift.String()
}

// SetAsideFrom gives the slings that are set aside for a day or later, by day, lift and
// identification.
func (r Reader) SetAsideFrom(ctx context.Context, from quantity.Date) ([]state.Sling, error) {
	return r.slings(ctx, "slings set aside", sqlAside, from.String(), "\x7f")
}

// SetAsideFor gives the slings that are set aside for one lift of a day, by
// identification, whether the day is over or not.
func (r Reader) SetAsideFor(ctx context.Context, day quantity.Date, lift event.LiftID) ([]state.Sling, error) {
	key := asideKey(state.Aside{SetAside: event.SetAside{Lift: lift, Day: day}})
	if key == "" {
		return nil, nil
	}
	return r.slings(ctx, "slings set aside for a lift", sqlAside, key, key+"\x00")
}
