package web

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/store"
)

// OutsidePage shows what is out, what presses most first.
type OutsidePage struct {
	Base
	Said    string
	Presses []Sieve // what is wanted back, and what is due soon
	Riggers []Sieve
	Areas   []Sieve // none where nothing was placed anywhere
	Groups  []OutsideGroup
	Empty   string
	Next    string
	First   string
	Asked   string // address of the sheet of what to ask for today
	Acts    bool   // a scan leads to what can be done with a sling that is out
}

// An OutsideGroup is what one rigger has, what is kept in one area, or everything.
type OutsideGroup struct {
	Name string // empty for everything
	Rows []OutsideRow
}

// An OutsideRow is one sling that is out.
type OutsideRow struct {
	Ident   string
	Path    string
	MakeUp  string
	Rigger  string
	Since   string
	Area    string // where it is kept; empty: with its rigger
	Back    string
	Late    string // how late, in words; empty where it is not
	Due     string // why it is wanted back, and its inspection, where that comes due
	Bars    int    // of three; see level
	Verdict Verdict
}

// outsideRows is how many slings one page shows.
const outsideRows = 100

// A look says which slings that are out are shown, and how.
type look struct {
	with event.PersonID
	at   string // area; with any, only those kept there
	only string // of pressing
	by   string // "rigger" or "area": what they are grouped by
	from int
}

// pressing are what the page can be narrowed to by how much it presses.
var pressing = [...]struct {
	name, label string
	from, to    level
}{
	{"", "Everything", notToBeUsed, notDue},
	{"back", "Wanted back", notToBeUsed, isLate},
	{"3", "Inspection due in 3 days", dueIn3, dueIn3},
	{"14", "Within 14 days", dueIn3, dueIn14},
	{"30", "Within 30 days", dueIn3, dueIn30},
}

func (l look) shows(a away) bool {
	i := slices.IndexFunc(pressing[:], func(p struct {
		name, label string
		from, to    level
	}) bool {
		return p.name == l.only
	})
	return i >= 0 && a.level >= pressing[i].from && a.level <= pressing[i].to &&
		(l.with.IsZero() || a.sling.Loan.Rigger == l.with) && (l.at == "" || a.sling.Loan.Area == l.at)
}

func readLook(q url.Values) (l look, ok bool) {
	var err error
	if text := q.Get("with"); text != "" {
		if l.with, err = event.ParsePersonID(text); err != nil {
			return look{}, false
		}
	}
	if text := q.Get("from"); text != "" {
		if l.from, err = strconv.Atoi(text); err != nil || l.from < 0 {
			return look{}, false
		}
	}
	l.at, l.only, l.by = q.Get("at"), q.Get("only"), q.Get("by")
	known := false
	for _, p := range pressing {
		known = known || p.name == l.only
	}
	return l, known && (l.by == "" || l.by == "rigger" || l.by == "area")
}

// path is the address of a look.
func (l look) path() string {
	q := url.Values{}
	for name, value := range map[string]string{"at": l.at, "only": l.only, "by": l.by} {
		if value != "" {
			q.Set(name, value)
		}
	}
	if !l.with.IsZero() {
		q.Set("with", l.with.String())
	}
	if l.from > 0 {
		q.Set("from", itoa(l.from))
	}
	if len(q) == 0 {
		return outsidePath
	}
	return outsidePath + "?" + q.Encode()
}

const outsidePath = "/outside"

func (s *Server) outside(v *visit) error {
	l, ok := readLook(v.r.URL.Query())
	if !ok {
		return errNoPage
	}
	out, err := s.out(v.r.Context())
	if err != nil {
		return err
	}
	names, err := s.names(v)
	if err != nil {
		return err
	}
	p := outsidePage(sortAway(out, v.crib, s.today(v)), l, v.wordsOf(names))
	p.Acts, p.Asked = v.may(actCounter), todayPath
	for _, g := range p.Groups {
		for i := range g.Rows {
			if p.Acts {
				g.Rows[i].Path = outsidePath + g.Rows[i].Path[len("/rack"):]
			}
		}
	}
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

func outsidePage(out []away, l look, w words) *OutsidePage {
	p := &OutsidePage{Base: Base{Title: "Outside"}, Empty: "Nothing is out."}
	p.Riggers, p.Areas, p.Presses = riggersOut(out, l, w), areasOut(out, l), pressingOut(out, l)
	if len(out) > 0 {
		p.Empty = "Nothing that is out is like this."
	}
	out = slices.DeleteFunc(slices.Clone(out), func(a away) bool { return !l.shows(a) })
	late := 0
	for _, a := range out {
		if backOrder(a.sling, a.today) == 0 {
			late++
		}
	}
	p.Said = plural(len(out), "sling") + " out"
	if late > 0 {
		p.Said += ", " + strconv.Itoa(late) + " late"
	}
	if !l.with.IsZero() {
		p.Said += ", with " + w.name(l.with)
	}
	if l.at != "" {
		p.Said += ", at " + l.at
	}
	name := func(away) string { return "" }
	switch l.by {
	case "rigger":
		name = func(a away) string { return w.name(a.sling.Loan.Rigger) }
	case "area":
		name = func(a away) string { return cmp.Or(a.sling.Loan.Area, "With their riggers") }
	}
	slices.SortStableFunc(out, func(a, b away) int { return cmp.Compare(name(a), name(b)) })
	first := l
	if first.from = 0; l.from > 0 {
		p.First = first.path()
	}
	for _, a := range out[min(l.from, len(out)):min(l.from+outsideRows, len(out))] {
		if n := len(p.Groups); n == 0 || p.Groups[n-1].Name != name(a) {
			p.Groups = append(p.Groups, OutsideGroup{Name: name(a)})
		}
		g := &p.Groups[len(p.Groups)-1]
		g.Rows = append(g.Rows, outsideRow(a, w))
	}
	if next := l; l.from+outsideRows < len(out) {
		next.from += outsideRows
		p.Next = next.path()
	}
	return p
}

func outsideRow(a away, w words) OutsideRow {
	s := a.sling
	r := OutsideRow{
		Ident: s.Details.Ident, Path: slingPath(s), MakeUp: w.makeUp(s.Details.Sling.Plate), Area: s.Loan.Area,
		Rigger: w.name(s.Loan.Rigger), Since: w.clock(s.Loan.Since), Back: "No day stated",
		Due: a.says(w), Bars: a.level.bars(), Verdict: a.level.verdict(),
	}
	if s.Loan.Rigger.IsZero() {
		r.Rigger = "Nobody knows who"
	}
	if back := s.Loan.ReturnBy; !back.IsZero() {
		r.Back = "Back by " + back.Long()
	}
	if backOrder(s, a.today) == 0 {
		r.Late = plural(a.today.DaysSince(s.Loan.ReturnBy), "day") + " late"
	}
	return r
}
