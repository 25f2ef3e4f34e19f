package web

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/store"
)

// OutsidePage shows what is out, late first.
type OutsidePage struct {
	Base
	Said    string
	Riggers []Sieve
	Rows    []OutsideRow
	Empty   string
	Next    string
	First   string
}

// An OutsideRow is one sling that is out.
type OutsideRow struct {
	Ident   string
	Path    string
	MakeUp  string
	Rigger  string
	Since   string
	Back    string
	Late    string // how late, in words; empty where it is not
	Due     string // its inspection, where that comes due while it is out
	Verdict Verdict
}

// outsideRows is how many slings one page shows.
const outsideRows = 100

func (s *Server) outside(v *visit) error {
	asked := v.r.URL.Query()
	with, from := event.PersonID{}, 0
	var err error
	if text := asked.Get("with"); text != "" {
		if with, err = event.ParsePersonID(text); err != nil {
			return errNoPage
		}
	}
	if text := asked.Get("from"); text != "" {
		if from, err = strconv.Atoi(text); err != nil || from < 0 {
			return errNoPage
		}
	}
	out, err := s.out(v.r.Context())
	if err != nil {
		return err
	}
	names, err := s.names(v)
	if err != nil {
		return err
	}
	p := outsidePage(out, with, from, v.wordsOf(names), s.today(v), v.crib)
	return s.render(v, http.StatusOK, "outside", p)
}

// out lists everything that is out.
func (s *Server) out(ctx context.Context) ([]state.Sling, error) {
	var out []state.Sling
	q := store.Query{States: []gate.State{gate.StateOut}, Limit: store.MaxPage}
	for {
		page, next, err := s.Store.List(ctx, q)
		if err != nil {
			return nil, fmt.Errorf("web: list what is outside: %w", err)
		}
		out = append(out, page...)
		if next == "" {
			return out, nil
		}
		q.After = next
	}
}

func outsidePage(out []state.Sling, with event.PersonID, from int, w words, today quantity.Date, crib state.Crib) *OutsidePage {
	p := &OutsidePage{Base: Base{Title: "Outside"}}
	p.Riggers = riggersOut(out, with, w)
	if !with.IsZero() {
		out = slices.DeleteFunc(out, func(s state.Sling) bool { return s.Loan.Rigger != with })
	}
	// Those that nobody stated a day for come after those that are late.
	slices.SortStableFunc(out, func(a, b state.Sling) int {
		return cmp.Or(backOrder(a, today)-backOrder(b, today), a.Loan.ReturnBy.Compare(b.Loan.ReturnBy),
			a.Loan.Since.Compare(b.Loan.Since), cmp.Compare(a.Details.Ident, b.Details.Ident))
	})
	late := 0
	for _, s := range out {
		if backOrder(s, today) == 0 {
			late++
		}
	}
	p.Said = plural(len(out), "sling") + " out"
	if late > 0 {
		p.Said += ", " + strconv.Itoa(late) + " late"
	}
	if !with.IsZero() {
		p.Said += ", with " + w.name(with)
	}
	p.Empty = "Nothing is out."
	if from > 0 {
		p.First = outsidePath(with, 0)
	}
	for _, s := range out[min(from, len(out)):min(from+outsideRows, len(out))] {
		p.Rows = append(p.Rows, outsideRow(s, w, today, crib))
	}
	if from+outsideRows < len(out) {
		p.Next = outsidePath(with, from+outsideRows)
	}
	return p
}

// backOrder puts late slings first, then those without a day, then the others.
func backOrder(s state.Sling, today quantity.Date) int {
	switch back := s.Loan.ReturnBy; {
	case back.IsZero():
		return 1
	case back.Before(today):
		return 0
	}
	return 2
}

func outsideRow(s state.Sling, w words, today quantity.Date, crib state.Crib) OutsideRow {
	st := standing(s, crib, today, w)
	r := OutsideRow{
		Ident: s.Details.Ident, Path: slingPath(s), MakeUp: w.makeUp(s.Details.Sling.Plate),
		Rigger: w.name(s.Loan.Rigger), Since: w.clock(s.Loan.Since), Back: "No day stated", Verdict: Away,
	}
	back := s.Loan.ReturnBy
	if !back.IsZero() {
		r.Back = "Back by " + back.Long()
	}
	if backOrder(s, today) == 0 {
		r.Late, r.Verdict = plural(today.DaysSince(back), "day")+" late", StaysHere
	}
	due := st.answer.Due
	switch {
	case due.IsZero():
		r.Due = "Its inspection has no due date"
	case due.Before(today):
		r.Due = "Its inspection was due " + due.Long() + ": it must not be used"
	case !back.IsZero() && due.Before(back):
		r.Due = "Its inspection falls due " + due.Long() + ", before it is to come back"
	case due.DaysSince(today) <= soonDays:
		r.Due = "Its inspection is due " + due.Long()
	}
	if r.Due != "" && due.Before(today) {
		r.Verdict = StaysHere
	}
	if s.Hold.Reason != "" {
		r.Due = strings.TrimSpace(sentenceEnd(r.Due) + " It will be held when it comes back: " + s.Hold.Reason)
	}
	return r
}

// riggersOut are those who have something, most first.
func riggersOut(out []state.Sling, with event.PersonID, w words) []Sieve {
	count := map[event.PersonID]int{}
	for _, s := range out {
		count[s.Loan.Rigger]++
	}
	people := make([]event.PersonID, 0, len(count))
	for p := range count {
		people = append(people, p)
	}
	slices.SortFunc(people, func(a, b event.PersonID) int {
		return cmp.Or(count[b]-count[a], cmp.Compare(w.name(a), w.name(b)))
	})
	sieves := []Sieve{{Label: "Everyone", Count: strconv.Itoa(len(out)), Path: "/outside", Here: with.IsZero()}}
	for _, p := range people {
		sieves = append(sieves, Sieve{Label: w.name(p), Count: strconv.Itoa(count[p]), Path: outsidePath(p, 0), Here: p == with})
	}
	return sieves
}

func outsidePath(with event.PersonID, from int) string {
	q := url.Values{}
	if !with.IsZero() {
		q.Set("with", with.String())
	}
	if from > 0 {
		q.Set("from", strconv.Itoa(from))
	}
	if len(q) == 0 {
		return "/outside"
	}
	return "/outside?" + q.Encode()
}
