package store

import (
	"context"
	"fmt"
	"math"
	"slices"

	"cribgate/core/event"
)

// drawnRow is one sling of a loan, by the position of the event that says so.
type drawnRow struct {
	pos    int64
	loan   string
	sling  string
	rigger string
	stated flag // for which lift
}

func (d drawnRow) at() int64 { return d.pos }

// drawnOf gives the row of an event, false for one that hands out nothing within
// a loan.
func drawnOf(pos int64, s event.Subject, b event.Body) (drawnRow, bool) {
	i, ok := b.(event.Issued)
	if !ok || s.Kind() != event.OfSling || i.Line.Loan.IsZero() {
		return drawnRow{}, false
	}
	return drawnRow{pos, i.Line.Loan.String(), s.Sling().String(), i.Rigger.String(), flagOf(i.Line.Lift > 0)}, true
}

func (p *present) writeDrawn(ctx context.Context, d drawnRow) error {
	if _, err := p.tx.ExecContext(ctx, sqlInsertDrawn, d.pos, d.loan, d.sling, d.rigger, d.stated); err != nil {
		return fmt.Errorf("store: write what was drawn at %d: %w", d.pos, explain(err))
	}
	return nil
}

// Loan gives what was handed out under a loan in the order of position, nothing
// where there is no such loan.
func (r Reader) Loan(ctx context.Context, id event.LoanID) ([]Record, error) {
	list, err := r.records(ctx, sqlLoan, id.String())
	if err != nil {
		return nil, fmt.Errorf("store: loan %s: %w", id, err)
	}
	return list, nil
}

// ShiftGear gives what went out without a stated lift, the newest first, before a
// position, 0 for the end of the log; at most limit.
func (r Reader) ShiftGear(ctx context.Context, before int64, limit int) ([]Record, error) {
	if before == 0 {
		before = math.MaxInt64
	}
	list, err := r.records(ctx, sqlShiftGear, before, limit)
	if err != nil {
		return nil, fmt.Errorf("store: gear for a shift: %w", err)
	}
	return list, nil
}

// LoansOf lists the loans that were made out to a rigger, the newest first; at
// most limit.
func (r Reader) LoansOf(ctx context.Context, rigger event.PersonID, limit int) (loans []event.LoanID, err error) {
	for before := int64(math.MaxInt64); len(loans) < limit; {
		n := 0
		err := each(ctx, r.q, func(rows cells) error {
			var text string
			if err := rows.Scan(&text, &before); err != nil {
				return err
			}
			id, err := event.ParseLoanID(text)
			if err != nil {
				return fmt.Errorf("%w: %w", ErrDamaged, err)
			}
			if n++; !slices.Contains(loans, id) && len(loans) < limit {
				loans = append(loans, id)
			}
			return nil
		}, sqlLoansOf, rigger.String(), before, batch)
		if err != nil {
			return nil, fmt.Errorf("store: loans of %s: %w", rigger, err)
		}
		if n < batch {
			break
		}
	}
	return loans, nil
}

// LastDrawn gives the position at which something last went out to a rigger within a
// loan, 0 where nothing has.
func (r Reader) LastDrawn(ctx context.Context, rigger event.PersonID) (at int64, err error) {
	if err := each(ctx, r.q, func(rows cells) error {
		var loan string
		return rows.Scan(&loan, &at)
	}, sqlLoansOf, rigger.String(), int64(math.MaxInt64), 1); err != nil {
		return 0, fmt.Errorf("store: what %s drew last: %w", rigger, err)
	}
	return at, nil
}

func (r Reader) walkDrawn(ctx context.Context, after, to int64, f func(drawnRow) error) error {
	return each(ctx, r.q, func(rows cells) error {
		var d drawnRow
		if err := rows.Scan(&d.pos, &d.loan, &d.sling, &d.rigger, &d.stated); err != nil {
			return err
		}
		return f(d)
	}, sqlWalkDrawn, after, to)
}
