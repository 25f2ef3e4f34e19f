package store

import (
	"bytes"
	"cmp"
	"context"
	"slices"
	"strconv"
	"strings"

	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/core/tagcode"
)

func (p *present) writeCrib(ctx context.Context, e *entry[state.Crib], text []byte) (err error) {
	if e.row != 0 {
		_, err = p.tx.ExecContext(ctx, sqlUpdateCrib, text)
		return err
	}
	e.row, err = p.insert(ctx, sqlInsertCrib, text)
	return err
}

func (p *present) writePerson(ctx context.Context, e *entry[state.Person], text []byte) (err error) {
	if e.row != 0 {
		_, err = p.tx.ExecContext(ctx, sqlUpdatePerson, e.row, e.now.Name, text)
		return err
	}
	e.row, err = p.insert(ctx, sqlInsertPerson, e.now.ID.String(), e.now.Name, text)
	return err
}

func (p *present) writeSling(ctx context.Context, e *entry[state.Sling], text []byte) (err error) {
	c, was := columnsOf(e.now), columnsOf(e.was)
	moved := was
	moved.stands, moved.holder = c.stands, c.holder
	switch { // SQLite rewrites the index of every column that is named, changed or not
	case e.row == 0:
		e.row, err = p.insert(ctx, sqlInsertSling, c.id, c.ident, c.number, c.place, c.stands, c.due, c.inspected, c.holder, c.compared, text)
	case c == was:
		_, err = p.tx.ExecContext(ctx, sqlTouchSling, e.row, text)
	case c == moved:
		_, err = p.tx.ExecContext(ctx, sqlMoveSling, e.row, c.stands, c.holder, text)
	default:
		_, err = p.tx.ExecContext(ctx, sqlUpdateSling, e.row, c.ident, c.number, c.place, c.stands, c.due, c.inspected, c.holder, c.compared, text)
	}
	if err != nil {
		return err
	}
	if m := marksOf(e.now); m != marksOf(e.was) {
		if _, err := p.tx.ExecContext(ctx, sqlMarkSling, e.row, m.owes, m.doubled, m.seen, m.seenAt, m.bench, m.aside); err != nil {
			return err
		}
	}
	if err := p.writeTags(ctx, e); err != nil {
		return err
	}
	return p.writeWords(ctx, e)
}

func (p *present) writeTags(ctx context.Context, e *entry[state.Sling]) error {
	if w := wantOf(e.now); w != wantOf(e.was) {
		if _, err := p.tx.ExecContext(ctx, sqlWantSling, e.row, w.wants, w.stock); err != nil {
			return err
		}
	}
	old := tagsOf(e.was)
	for _, t := range tagsOf(e.now) {
		if slices.Contains(old, t) {
			continue
		}
		if _, err := p.tx.ExecContext(ctx, sqlInsertTag, t.digest[:], e.row, t.serial, t.part, t.number, t.ident, t.stock, t.stands, t.day); err != nil {
			return err
		}
	}
	return nil
}

func (p *present) writeWords(ctx context.Context, e *entry[state.Sling]) error {
	before, after := words(e.was), words(e.now)
	identBefore, identAfter, id := e.was.Details.Ident, e.now.Details.Ident, e.now.ID.String()
	if identBefore == identAfter && slices.Equal(before, after) {
		return nil
	}
	for _, w := range before {
		if _, err := p.tx.ExecContext(ctx, sqlDeleteWord, w, identBefore, id); err != nil {
			return err
		}
	}
	for _, w := range after {
		if _, err := p.tx.ExecContext(ctx, sqlInsertWord, w, identAfter, id, e.row); err != nil {
			return err
		}
	}
	return nil
}

func (p *present) insert(ctx context.Context, query string, args ...any) (int64, error) {
	res, err := p.tx.ExecContext(ctx, query, args...)
	if err != nil {
		return 0, err
	}
	return res.LastInsertId()
}

// columns is what a sling is searched by.
type columns struct {
	id, ident      string
	number         int64
	place, stands  string
	due, inspected string
	holder         string
	compared       string // log in which it was last compared; empty for a sling that is gone
}

func columnsOf(s state.Sling) columns {
	c := columns{
		id: s.ID.String(), ident: s.Details.Ident, number: int64(s.ID.Number), place: placeKey(s.Details.Place),
		stands: s.Details.Sling.State.String(), due: s.Details.Sling.Due.String(), inspected: s.Details.Sling.Inspected.String(),
	}
	if !s.Loan.Rigger.IsZero() && s.Details.Sling.State == gate.StateOut {
		c.holder = s.Loan.Rigger.String()
	}
	if st := s.Details.Sling.State; st != gate.StateRetired && st != gate.StateLost {
		c.compared = s.ComparedIn.String()
	}
	return c
}

// flag is a column of 0 and 1, and tells what else is in it.
type flag int64

func flagOf(b bool) flag {
	if b {
		return 1
	}
	return 0
}

func (f flag) String() string {
	switch f {
	case 0:
		return "false"
	case 1:
		return "true"
	}
	return strconv.FormatInt(int64(f), 10)
}

// want is by what slings are found that are to get a new tag.
type want struct {
	wants flag
	stock string // of the last tag
}

func wantOf(s state.Sling) want {
	w := want{wants: flagOf(s.Wants() != 0)}
	if n := len(s.Tags); n > 0 {
		w.stock = s.Tags[n-1].Stock
	}
	return w
}

// marks are by what few slings are found. Each is empty where it is not so.
type marks struct {
	owes    string // who has still to say what happened, with spaces between
	doubled string // day on which it lay here while the record had it out
	seen    string // count in which it was seen last
	seenAt  string // and at which place, spelt like a place
	bench   string // in the queue of the bench, see benchKey
	aside   string // for which day and lift it is set aside, see asideKey
}

func marksOf(s state.Sling) (m marks) {
	var owe []string
	for _, o := range s.Owes {
		owe = append(owe, o.Rigger.String())
	}
	slices.Sort(owe)
	m.owes = strings.Join(slices.Compact(owe), " ")
	m.doubled, m.bench, m.aside = s.Doubled.String(), benchKey(s), asideKey(s.Aside)
	if !s.Seen.Count.IsZero() {
		m.seen, m.seenAt = s.Seen.Count.String(), placeKey(s.Seen.Place)
	}
	return m
}

// tagRow is what a tag is searched by.
type tagRow struct {
	digest       [32]byte
	serial, part int64
	number       int64 // under the tag's own key
	ident, stock string
	stands, day  string // of one that waits or was thrown away
}

// digestOf gives the digest that a tag is kept by; zero, which is none of a tag,
// where it is not as long as one.
func digestOf(b []byte) (d [32]byte) {
	if len(b) == len(d) {
		d = [32]byte(b)
	}
	return d
}

// How a tag stands in its row.
const (
	tagWaits  = "waiting"
	tagThrown = "spoiled"
)

func tagsOf(s state.Sling) []tagRow {
	st := s.Details.Sling.State
	gone := st == gate.StateRetired || st == gate.StateLost // nobody can hang a tag on it
	list := make([]tagRow, len(s.Tags))
	for i, t := range s.Tags {
		n := tagcode.NumberOf(t.Key, s.Details.Ident)
		row := tagRow{digest: t.Digest, serial: int64(t.Serial), part: int64(tagcode.ShortOf(n, t.Serial).Part), number: int64(n), ident: s.Details.Ident, stock: t.Stock}
		switch {
		case t.Status == state.TagPrinted && !gone:
			row.stands, row.day = tagWaits, t.Printed.String()
		case t.Status == state.TagSpoiled:
			row.stands, row.day = tagThrown, t.Spoiled.Day.String()
		}
		list[i] = row
	}
	order := func(a, b tagRow) int {
		return cmp.Or(bytes.Compare(a.digest[:], b.digest[:]), cmp.Compare(a.serial, b.serial))
	}
	slices.SortStableFunc(list, order)
	return slices.CompactFunc(list, func(a, b tagRow) bool { return order(a, b) == 0 }) // a story that contradicts itself may have one twice
}
