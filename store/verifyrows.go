package store

import (
	"cmp"
	"context"
	"database/sql"
	"math"
	"slices"
)

// slingRows is everything that the tables of the present have of one sling.
type slingRows struct {
	n     int64
	c     columns
	w     want
	m     marks
	text  []byte
	tags  []tagRow
	words []wordRow
}

// rowsOfSlings calls f for every sling, some hundred at a time, in the order in
// which they lie in the file. stray hears of what is kept of a sling that is not
// there.
func (r Reader) rowsOfSlings(ctx context.Context, f func(slingRows) error, stray func(table string, n int64)) error {
	for last := int64(math.MinInt64); ; {
		if err := ctx.Err(); err != nil {
			return err
		}
		list, err := r.someSlings(context.WithoutCancel(ctx), last, stray)
		if err != nil {
			return err
		}
		for _, s := range list {
			if err := f(s); err != nil {
				return err
			}
			last = s.n
		}
		if len(list) < stride {
			return nil
		}
	}
}

func (r Reader) someSlings(ctx context.Context, after int64, stray func(table string, n int64)) ([]slingRows, error) {
	list := make([]slingRows, 0, stride)
	err := each(ctx, r.q, func(rows cells) error {
		var s slingRows
		err := rows.Scan(&s.n, &s.c.id, &s.c.ident, &s.c.number, &s.c.place, &s.c.stands, &s.c.due, &s.c.inspected, &s.c.holder, &s.c.compared, &s.w.wants, &s.w.stock, &s.m.owes, &s.m.doubled, &s.m.seen, &s.m.seenAt, &s.m.bench, &s.m.aside, &s.text)
		list = append(list, s)
		return err
	}, sqlSlingRows, after, stride)
	if err != nil {
		return nil, err
	}
	to := int64(math.MaxInt64)
	if len(list) == stride {
		to = list[stride-1].n
	}
	of := func(table string, n int64) *slingRows {
		if i, ok := slices.BinarySearchFunc(list, n, func(s slingRows, n int64) int { return cmp.Compare(s.n, n) }); ok {
			return &list[i]
		}
		stray(table, n)
		return new(slingRows)
	}
	err = each(ctx, r.q, func(rows cells) error {
		var n int64
		var t tagRow
		var digest sql.RawBytes
		if err := rows.Scan(&n, &digest, &t.serial, &t.part, &t.number, &t.ident, &t.stock, &t.stands, &t.day); err != nil {
			return err
		}
		t.digest = digestOf(digest)
		s := of("tag", n)
		s.tags = append(s.tags, t)
		return nil
	}, sqlTagRows, after, to)
	if err != nil {
		return nil, err
	}
	err = each(ctx, r.q, func(rows cells) error {
		var n int64
		var w wordRow
		if err := rows.Scan(&n, &w.word, &w.ident, &w.id); err != nil {
			return err
		}
		s := of("word", n)
		s.words = append(s.words, w)
		return nil
	}, sqlWordRows, after, to)
	return list, err
}
