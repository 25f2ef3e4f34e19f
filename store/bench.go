package store

import (
	"context"
	"fmt"

	"cribgate/core/gate"
	"cribgate/core/state"
)

// benchKey spells where a sling stands in the queue of the bench, so that the order
// of bytes is that of the queue: the gravest first, then what is due first, and what
// has no date before all that has one. It is empty for one that is not here.
func benchKey(s state.Sling) string {
	switch s.Details.Sling.State {
	case gate.StateIn, gate.StateHeld, gate.StateUnchecked:
		return fmt.Sprintf("%d %s", state.Seized-s.Gravity(), s.Next())
	}
	return ""
}

// Bench gives the queue of the bench: slings that are here, the gravest first, then
// those that are due first, a page of at most MaxPage at a time. after is what the
// page before gave as next; empty for the first page, and next is empty after the
// last.
func (r Reader) Bench(ctx context.Context, after string, limit int) (page []state.Sling, next string, err error) {
	if limit < 1 || limit > MaxPage {
		return nil, "", fmt.Errorf("store: list the bench: a page of %d is not 1 to %d", limit, MaxPage)
	}
	from, err := Query{ByPlace: true, After: after}.cursor()
	if err != nil {
		return nil, "", fmt.Errorf("store: list the bench: %w", err)
	}
	var last hit
	err = each(ctx, r.q, func(rows cells) error {
		if len(page) == limit {
			next = Query{ByPlace: true}.next(last)
			return nil
		}
		var h hit
		if err := rows.Scan(&h.place, &h.ident, &h.id, &h.text); err != nil {
			return err
		}
		s, err := state.DecodeSling(h.text)
		if err != nil {
			return err
		}
		page, last = append(page, s), h
		return nil
	}, sqlBench, from.place, from.ident, from.id, limit+1)
	if err != nil {
		return nil, "", fmt.Errorf("store: list the bench: %w", err)
	}
	return page, next, nil
}
