package web

import (
	"errors"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/store"
)

// dayPath is where the day sheets are: dayPath/2026-03-02.
const dayPath = "/day"

// DayPage is the sheet of one day: its lifts, and what is set aside for them.
type DayPage struct {
	Base
	Day     string
	Days    []Sieve // the days around it
	Said    string
	Lifts   []DayLift
	Empty   string
	Key     string
	Date    string
	Propose string // label of the button that proposes slings; empty: nothing to propose for
	Plan    string // address where a lift is stated; empty for those who may not
	Paper   string // address of the sheet as PDF
	Lacks   string // address of what the crib lacks; empty for those who may not see it
	Printed string // how it stands with the one that is printed by itself; empty where none is
	Wrong   bool   // that somebody has to look after it

	Proposal DayProposal
}

// A DayLift is one lift of a day.
type DayLift struct {
	ID      string
	Title   string
	Who     string
	Verdict Verdict // the edge of its card
	Note    string  // how it stands
	Facts   []Fact
	Kept    []KeptSling
	Wants   string
	Slip    string // address; empty where nothing is set aside
	Loan    string // address of the loan that went out for it
	Ends    bool   // it can be given up
	Keep    Field  // names a sling that is to be set aside; without a Name none is
	Offers  DayOffer
}

// daysAhead is how many days have a button of their own (site policy, no source).
const daysAhead = 7

func (s *Server) dayToday(v *visit) error { return s.renderDay(v, http.StatusOK, v.today, nil) }

// dayOfPath reads the day that the address names.
func dayOfPath(v *visit) (quantity.Date, error) {
	day, err := quantity.ParseDate(v.r.PathValue("day"))
	if err != nil {
		return quantity.Date{}, errNoPage
	}
	return day, nil
}

func (s *Server) day(v *visit) error {
	day, err := dayOfPath(v)
	if err != nil {
		return err
	}
	return s.renderDay(v, http.StatusOK, day, nil)
}

func dayAt(day quantity.Date) string { return dayPath + "/" + day.String() }

// renderDay shows a day; proposed may carry what is proposed for its lifts.
func (s *Server) renderDay(v *visit, status int, day quantity.Date, proposed *proposed) error {
	names, err := s.names(v)
	if err != nil {
		return err
	}
	w := v.wordsOf(names)
	p := &DayPage{Base: Base{Title: "Day sheet"}, Day: w.dayWord(day, v.today), Date: day.String(), Key: newKey(), Paper: dayAt(day) + "/sheet.pdf"}
	switch {
	case v.may(actIssue):
		p.Plan = liftPath + "?anew"
	case v.may(actLift):
		p.Plan = ownLiftPath
	}
	if day == v.today {
		p.Day += ", " + Day(day)
	}
	lifts, err := s.Store.PlannedOn(v.r.Context(), day, day)
	if err != nil {
		return err
	}
	ahead, err := s.Store.PlannedOn(v.r.Context(), v.today, v.today.AddDays(daysAhead))
	if err != nil {
		return err
	}
	ahead = slices.DeleteFunc(ahead, func(p state.Planned) bool { return p.Day == day })
	count := map[quantity.Date]int{}
	for _, lift := range slices.Concat(lifts, ahead) {
		if !lift.GivenUp {
			count[lift.Day]++
		}
	}
	p.days(day, v.today, count, w)
	kept, err := s.keptOn(v, day)
	if err != nil {
		return err
	}
	open := 0
	for _, lift := range lifts {
		l, err := v.dayLift(lift, kept[lift.Lift], w)
		if err != nil {
			return err
		}
		if lift.Open() && len(l.Kept) == 0 && !day.Before(v.today) {
			open++
		}
		p.Lifts = append(p.Lifts, l)
	}
	p.Printed, p.Wrong = s.printedSays(v.today)
	if v.may(actLacks) {
		p.Lacks = lacksPath
	}
	p.Said = plural(count[day], "lift")
	p.Empty = "No lift is planned for this day."
	if open > 0 && v.may(actAside) && proposed == nil {
		p.Propose = "Propose slings for " + plural(open, "lift")
	}
	if proposed != nil {
		p.propose(proposed, w)
	}
	return s.render(v, status, "day", p)
}

// keptOn gives the slings that are set aside for the lifts of a day, and of those after
// it, by lift.
func (s *Server) keptOn(v *visit, day quantity.Date) (map[event.LiftID][]state.Sling, error) {
	list, err := s.Store.SetAsideFrom(v.r.Context(), day)
	if err != nil {
		return nil, err
	}
	kept := map[event.LiftID][]state.Sling{}
	for _, sling := range list {
		kept[sling.Aside.Lift] = append(kept[sling.Aside.Lift], sling)
	}
	return kept, nil
}

// days are today and those after it, and the one that is shown.
func (p *DayPage) days(day, today quantity.Date, count map[quantity.Date]int, w words) {
	add := func(d quantity.Date) {
		label := w.dayWord(d, today)
		if d != today {
			label = weekday(d).String()[:3] + " " + strings.TrimSuffix(Day(d), " "+d.String()[:4])
		}
		p.Days = append(p.Days, Sieve{Label: label, Count: strconv.Itoa(count[d]), Path: dayAt(d), Here: d == day})
	}
	if day.Before(today) {
		add(day)
	}
	for i := range daysAhead {
		add(today.AddDays(i))
	}
	if day.DaysSince(today) >= daysAhead {
		add(day)
	}
}

// dayLift puts a lift of a day into words.
func (v *visit) dayLift(lift state.Planned, kept []state.Sling, w words) (DayLift, error) {
	stated := v.planned(lift)
	l := DayLift{ID: lift.Lift.String(), Title: lift.What, Who: w.name(lift.Rigger), Facts: stated.facts(w.lead)}
	if l.Title == "" {
		l.Title = w.lead.Mass(stated.Lift.Load)
	}
	switch {
	case lift.GivenUp:
		l.Note = "Given up"
		if lift.Why != "" {
			l.Note += ": " + lift.Why
		}
		l.Facts = nil
		return l, nil
	case len(lift.Loans) > 0:
		l.Verdict, l.Note, l.Loan = Away, "Slings went out for it", "/loan/"+lift.Loans[len(lift.Loans)-1].String()
		return l, nil
	case lift.Day.Before(v.today):
		l.Note = "Its day is over, and nothing went out for it"
		return l, nil
	}
	var err error
	if l.Kept, l.Wants, err = v.keptOf(lift, kept, w); err != nil {
		return DayLift{}, err
	}
	l.Ends = v.may(actAside) || lift.Rigger == v.who.ID
	if l.Ends && (len(l.Kept) == 0 || l.Wants != "") {
		l.Keep = Field{Name: "sling", Label: "Which sling?", Hint: "Its identification, like NS-0417", Most: 16}
	}
	switch {
	case len(l.Kept) == 0:
		l.Verdict, l.Note = LookCloser, "Nothing is set aside yet"
	case l.Wants != "" || staysAny(l.Kept):
		l.Verdict, l.Note = LookCloser, plural(len(l.Kept), "sling")+" set aside"
	default:
		l.Verdict, l.Note = MayGo, plural(len(l.Kept), "sling")+" set aside"
	}
	if len(l.Kept) > 0 {
		l.Slip = dayPath + "/lift/" + l.ID + "/slip"
	}
	return l, nil
}

func staysAny(list []KeptSling) bool {
	for _, k := range list {
		if k.Stays != "" {
			return true
		}
	}
	return false
}

// liftOfPath reads the planned lift that the address names.
func (s *Server) liftOfPath(v *visit) (state.Planned, error) {
	id, err := event.ParseLiftID(v.r.PathValue("lift"))
	if err != nil {
		return state.Planned{}, errNoPage
	}
	p, err := s.Store.Planned(v.r.Context(), id)
	if errors.Is(err, store.ErrNotFound) {
		return state.Planned{}, errNoPage
	}
	return p, err
}
