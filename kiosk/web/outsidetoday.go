package web

import (
	"cmp"
	"net/http"
	"slices"
)

const todayPath = outsidePath + "/today"

// TodayPage is the sheet of what is to be asked for today, for printing.
type TodayPage struct {
	Base
	Day    string
	Said   string
	Groups []OutsideGroup // by how much it presses, and there by rigger
	Empty  string
}

func (s *Server) outsideToday(v *visit) error {
	out, err := s.out(v.r.Context())
	if err != nil {
		return err
	}
	names, err := s.names(v)
	if err != nil {
		return err
	}
	w := v.wordsOf(names)
	list := slices.DeleteFunc(sortAway(out, v.crib, v.today), func(a away) bool { return a.level == notDue })
	slices.SortStableFunc(list, func(a, b away) int {
		return cmp.Or(cmp.Compare(a.level, b.level), cmp.Compare(w.name(a.sling.Loan.Rigger), w.name(b.sling.Loan.Rigger)))
	})
	p := &TodayPage{Base: Base{Title: "To ask for today", Sheet: true}, Day: v.today.Long(), Empty: "Nothing that is out is wanted back or due within 30 days."}
	for _, a := range list {
		name := levelNames[a.level]
		if n := len(p.Groups); n == 0 || p.Groups[n-1].Name != name {
			p.Groups = append(p.Groups, OutsideGroup{Name: name})
		}
		g := &p.Groups[len(p.Groups)-1]
		g.Rows = append(g.Rows, outsideRow(a, w))
	}
	p.Said = plural(len(list), "sling") + " of " + itoa(len(out)) + " that are out"
	return s.render(v, http.StatusOK, "today", p)
}
