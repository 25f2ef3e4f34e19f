package web

import (
	"errors"
	"net/http"
	"slices"
	"strconv"

	"cribgate/core/event"
	"cribgate/store"
)

const markedPath = "/marked"

// markedSpan is how many entries of the register are looked through at once (site
// policy of this program, no source): about a fortnight of a busy crib.
const markedSpan = 2000

// MarkedPage lists what the keeper is to see: what went out in a way that is allowed
// and marked, and what should not have been.
type MarkedPage struct {
	Base
	Rows    []MarkedRow
	Since   string // when the oldest entry was made that was looked at
	Earlier string // where the entries before those are; empty: there are none
}

// A MarkedRow is one thing that is marked.
type MarkedRow struct {
	Sling, Path string
	Why         string
	Who         string // to whom and by whom
	When        string
}

func (s *Server) marked(v *visit) error {
	ctx := v.r.Context()
	to := v.at
	if text := v.r.URL.Query().Get("to"); text != "" {
		n, err := strconv.ParseInt(text, 10, 64)
		if err != nil || n < 1 || n > v.at {
			return errNoPage
		}
		to = n
	}
	from := max(0, to-markedSpan)
	names, err := s.names(v)
	if err != nil {
		return err
	}
	w := v.wordsOf(names)
	p := &MarkedPage{Base: Base{Title: "For the keeper"}}
	for at := from; at < to; {
		list, err := s.Store.Since(ctx, at, int(min(to-at, store.MaxPage)))
		if err != nil {
			return err
		}
		if len(list) == 0 {
			break
		}
		for _, rec := range list {
			at = rec.Envelope.At
			if p.Since == "" {
				p.Since = w.clock(rec.Envelope.UTC)
			}
			row, marked := markedRow(rec, w)
			if !marked || at > to {
				continue
			}
			sling, err := s.Store.Sling(ctx, rec.Envelope.Subject.Sling())
			if errors.Is(err, store.ErrNotFound) {
				continue // written by a newer program
			}
			if err != nil {
				return err
			}
			row.Sling, row.Path = sling.Details.Ident, slingPath(sling)
			p.Rows = append(p.Rows, row)
		}
	}
	slices.Reverse(p.Rows)
	if from > 0 {
		p.Earlier = markedPath + "?to=" + strconv.FormatInt(from, 10)
	}
	return s.render(v, http.StatusOK, "marked", p)
}

// markedRow says why the keeper is to see an entry, false where it is like any other.
func markedRow(rec store.Record, w words) (row MarkedRow, marked bool) {
	by := w.name(rec.Envelope.By)
	row.When = w.clock(rec.Envelope.UTC)
	switch b := rec.Body.(type) {
	case event.Issued:
		row.Who = "to " + w.name(b.Rigger) + ", by " + by
		switch {
		case b.Marked != "":
			row.Why = upperFirst(b.Marked)
		case !b.Line.Countersign.IsZero():
			row.Why = "Handed over by a learner; " + w.name(b.Line.Countersign) + " signed for it"
		case !b.Line.Loan.IsZero() && b.Line.Lift == 0:
			row.Why = "Gear for a shift, without a stated lift"
		}
	case event.Taken:
		row.Why, row.Who = "Out without having been issued", "with "+w.name(b.Rigger)+", entered by "+by
	case event.Returned:
		row.Who = "taken in by " + by
		if b.Doubled {
			row.Why = "Lay here while the record had it out: there may be two of it"
		}
	}
	return row, row.Why != ""
}
