package store

import (
	"bytes"
	"cmp"
	"context"
	"database/sql"
	"errors"
	"slices"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
)

// compare holds the rows of the present against what was folded.
func (v *verifier) compare(ctx context.Context, r Reader) error {
	if err := v.compareCrib(ctx, r); err != nil {
		return err
	}
	if err := v.comparePeople(ctx, r); err != nil {
		return err
	}
	if err := v.compareSlings(ctx, r); err != nil {
		return err
	}
	if err := compareKept(ctx, v, r, &v.drawn, "drawn"); err != nil {
		return err
	}
	if err := compareKept(ctx, v, r, &v.planned, "planned"); err != nil {
		return err
	}
	if err := v.compareErased(ctx, r); err != nil {
		return err
	}
	return v.compareAnswers(ctx, r)
}

// expect gives the bytes that a subject's row should hold.
func expect[T folded[T]](ctx context.Context, r Reader, e *entry[T], s event.Subject, fold func([]state.Event) T) ([]byte, error) {
	if e.again {
		story, err := events(ctx, r.q, s)
		if err != nil {
			return nil, err
		}
		e.now = fold(story)
	}
	return e.now.Encode()
}

func (v *verifier) compareCrib(ctx context.Context, r Reader) error {
	want, err := expect(ctx, r, &v.crib, event.Crib(), state.FoldCrib)
	if err != nil {
		return err
	}
	var n int64
	var text []byte
	err = r.q.QueryRowContext(ctx, sqlCrib).Scan(&n, &text)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return explain(err)
	}
	if !bytes.Equal(text, want) {
		v.report(0, "the present of the crib is not what its story says")
	}
	return nil
}

func (v *verifier) comparePeople(ctx context.Context, r Reader) error {
	err := r.walkPeople(ctx, func(idText, name string, text []byte) error {
		id, err := event.ParsePersonID(idText)
		e := v.people[id]
		if err != nil || e == nil {
			v.report(0, "the present has a person %s that no event speaks of", idText)
			return nil
		}
		delete(v.people, id)
		want, err := expect(ctx, r, e, event.Person(id), func(l []state.Event) state.Person { return state.FoldPerson(id, l) })
		if err != nil {
			return err
		}
		if !bytes.Equal(text, want) || name != e.now.Name {
			v.report(0, "the present of person %s is not what the story says", idText)
		}
		return nil
	})
	for id := range v.people {
		v.report(0, "person %s is missing from the present", id)
	}
	return err
}

func (v *verifier) compareSlings(ctx context.Context, r Reader) error {
	counts := map[string]int{}
	err := r.rowsOfSlings(ctx, func(s slingRows) error {
		counts[s.c.stands]++
		return v.compareSling(ctx, r, s)
	}, func(table string, n int64) {
		v.report(0, "a %s is kept of a sling %d that is not there", table, n)
	})
	if err != nil {
		return err
	}
	for id := range v.slings {
		v.report(0, "sling %s is missing from the present", id)
	}
	return v.compareTally(ctx, r, counts)
}

func (v *verifier) compareTally(ctx context.Context, r Reader, counts map[string]int) error {
	err := each(ctx, r.q, func(rows cells) error {
		var stands string
		var n int
		if err := rows.Scan(&stands, &n); err != nil {
			return err
		}
		if _, err := gate.ParseState(stands); err != nil && stands != "" {
			v.report(0, "%d slings are counted %q, which none can be", n, stands)
		}
		if n != counts[stands] {
			v.report(0, "%d slings are counted %s, there are %d", n, stands, counts[stands])
		}
		delete(counts, stands)
		return nil
	}, sqlTallies, "")
	for stands, n := range counts {
		v.report(0, "no slings are counted %s, there are %d", stands, n)
	}
	return err
}

func (v *verifier) compareSling(ctx context.Context, r Reader, s slingRows) error {
	id, err := event.ParseSlingID(s.c.id)
	e := v.slings[id]
	if err != nil || e == nil {
		v.report(0, "the present has a sling %s that no event speaks of", s.c.id)
		return nil
	}
	delete(v.slings, id)
	want, err := expect(ctx, r, e, event.Sling(id), func(l []state.Event) state.Sling { return state.FoldSling(id, l) })
	if err != nil {
		return err
	}
	switch {
	case !bytes.Equal(s.text, want) || s.c != columnsOf(e.now) || s.w != wantOf(e.now) || s.m != marksOf(e.now):
		v.report(0, "the present of sling %s (%s) is not what its story says", s.c.id, s.c.ident)
	case !slices.Equal(s.tags, tagsOf(e.now)) || !slices.Equal(s.words, wordsOf(e.now)):
		v.report(0, "sling %s (%s) would be found by a wrong tag or word, or not by a right one", s.c.id, s.c.ident)
	}
	return nil
}

func wordsOf(s state.Sling) []wordRow {
	var list []wordRow
	for _, w := range words(s) {
		list = append(list, wordRow{w, s.Details.Ident, s.ID.String()})
	}
	slices.SortFunc(list, func(a, b wordRow) int { return cmp.Compare(a.word, b.word) })
	return list
}
