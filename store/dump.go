package store

import (
	"bufio"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"math"
)

// Dump writes the whole present as text, a line for every row, in an order and
// spelling that follow from the log alone: after Rebuild it is the same to the
// byte.
func (r Reader) Dump(ctx context.Context, w io.Writer) error {
	err := r.snapshot(ctx, func(r Reader) error {
		out := bufio.NewWriter(w)
		if err := r.dump(ctx, out); err != nil {
			return err
		}
		return out.Flush()
	})
	if err != nil {
		return fmt.Errorf("store: dump: %w", err)
	}
	return nil
}

// snapshot runs f on one state of the file.
func (r Reader) snapshot(ctx context.Context, f func(r Reader) error) (err error) {
	pool, ok := r.q.(*sql.DB)
	if !ok {
		return f(r) // already inside one
	}
	tx, err := pool.BeginTx(ctx, nil)
	if err != nil {
		return explain(err)
	}
	defer func() {
		if rbErr := tx.Rollback(); rbErr != nil && !errors.Is(rbErr, sql.ErrTxDone) {
			err = errors.Join(err, explain(rbErr))
		}
	}()
	return f(Reader{tx})
}

func (r Reader) dump(ctx context.Context, w *bufio.Writer) error {
	err := each(ctx, r.q, func(rows cells) error {
		var n int64
		var text []byte
		if err := rows.Scan(&n, &text); err != nil {
			return err
		}
		_, err := fmt.Fprintf(w, "crib %s\n", text)
		return err
	}, sqlCrib)
	if err != nil {
		return err
	}
	err = r.walkPeople(ctx, func(id, name string, text []byte) error {
		_, err := fmt.Fprintf(w, "person %s %q %s\n", id, name, text)
		return err
	})
	if err != nil {
		return err
	}
	err = r.walkSlings(ctx, func(n int64, c columns, t want, m marks, text []byte) error {
		if _, err := fmt.Fprintf(w, "sling %s %q %d %q %s %q %q %q %q %s %q %q %q %q %q %q %q %s\n", c.id, c.ident, c.number, c.place, c.stands, c.due, c.inspected, c.holder, c.compared, t.wants, t.stock, m.owes, m.doubled, m.seen, m.seenAt, m.bench, m.aside, text); err != nil {
			return err
		}
		tags, words, err := r.derived(ctx, n)
		if err != nil {
			return err
		}
		for _, t := range tags {
			if _, err := fmt.Fprintf(w, "tag %x %s %d %d %d %q %q %q %q\n", t.digest, c.id, t.serial, t.part, t.number, t.ident, t.stock, t.stands, t.day); err != nil {
				return err
			}
		}
		for _, v := range words {
			if _, err := fmt.Fprintf(w, "word %q %q %s\n", v.word, v.ident, v.id); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	err = r.walkDrawn(ctx, math.MinInt64, math.MaxInt64, func(d drawnRow) error {
		_, err := fmt.Fprintf(w, "drawn %d %s %s %s %s\n", d.pos, d.loan, d.sling, d.rigger, d.stated)
		return err
	})
	if err != nil {
		return err
	}
	err = r.walkPlanned(ctx, math.MinInt64, math.MaxInt64, func(p plannedRow) error {
		_, err := fmt.Fprintf(w, "planned %d %s %s %s\n", p.pos, p.lift, p.day, p.rigger)
		return err
	})
	if err != nil {
		return err
	}
	counts, err := r.Count(ctx)
	if err != nil {
		return err
	}
	for _, st := range stands {
		if _, err := fmt.Fprintf(w, "tally %s %d\n", st, counts[st]); err != nil {
			return err
		}
	}
	return nil
}

func (r Reader) walkPeople(ctx context.Context, f func(id, name string, text []byte) error) error {
	for last := ""; ; {
		n := 0
		err := each(ctx, r.q, func(rows cells) error {
			n++
			var name string
			var text []byte
			if err := rows.Scan(&last, &name, &text); err != nil {
				return err
			}
			return f(last, name, text)
		}, sqlWalkPeople, last, batch)
		if err != nil || n < batch {
			return err
		}
	}
}

func (r Reader) walkSlings(ctx context.Context, f func(n int64, c columns, w want, m marks, text []byte) error) error {
	for last := ""; ; {
		count := 0
		err := each(ctx, r.q, func(rows cells) error {
			count++
			var n int64
			var c columns
			var w want
			var m marks
			var text []byte
			if err := rows.Scan(&n, &c.id, &c.ident, &c.number, &c.place, &c.stands, &c.due, &c.inspected, &c.holder, &c.compared, &w.wants, &w.stock, &m.owes, &m.doubled, &m.seen, &m.seenAt, &m.bench, &m.aside, &text); err != nil {
				return err
			}
			last = c.id
			return f(n, c, w, m, text)
		}, sqlWalkSlings, last, batch)
		if err != nil || count < batch {
			return err
		}
	}
}

// wordRow is a word that a sling is searched by.
type wordRow struct{ word, ident, id string }

// derived gives the rows by which the sling of row n is searched.
func (r Reader) derived(ctx context.Context, n int64) (tags []tagRow, words []wordRow, err error) {
	err = each(ctx, r.q, func(rows cells) error {
		var t tagRow
		var digest []byte
		if err := rows.Scan(&digest, &t.serial, &t.part, &t.number, &t.ident, &t.stock, &t.stands, &t.day); err != nil {
			return err
		}
		t.digest = digestOf(digest)
		tags = append(tags, t)
		return nil
	}, sqlTagsOf, n)
	if err != nil {
		return nil, nil, err
	}
	err = each(ctx, r.q, func(rows cells) error {
		var v wordRow
		if err := rows.Scan(&v.word, &v.ident, &v.id); err != nil {
			return err
		}
		words = append(words, v)
		return nil
	}, sqlWordsOf, n)
	return tags, words, err
}
