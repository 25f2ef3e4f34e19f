package web

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/lift"
	"cribgate/core/quantity"
	"cribgate/store"
)

// WhatFor asks what the rigger who came draws slings for. Without a Key it asks
// nothing.
type WhatFor struct {
	Key     string
	Planned []PlannedOffer
	Waits   Waits // a lift that the rigger has stated beforehand, on a phone
	Same    Same
	Shift   []Action // by which day gear for a shift is back; none: not for this rigger
}

// Same is what the rigger's newest loan was for. The zero value is no such loan.
type Same struct {
	Legend string // "Same as yesterday"
	Loan   string
	Lifts  []SameLift
	Days   []Action // by which day it is needed back this time
}

// A SameLift is one of its lifts.
type SameLift struct {
	Title   string
	Drawing Drawing
	Facts   []Fact
}

// whatFor offers what the rigger most likely wants, so that one tap says it.
func (s *Server) whatFor(v *visit, t *turn) (WhatFor, error) {
	rigger, err := s.rigger(v, t)
	if err != nil || rigger.ID.IsZero() || !v.may(actIssue) {
		return WhatFor{}, err
	}
	w := WhatFor{Key: newKey(), Waits: s.waits(v, rigger)}
	if w.Same, err = s.sameAgain(v, rigger.ID); err != nil {
		return WhatFor{}, err
	}
	if rigger.Terms.ShiftGear {
		w.Shift = dayButtons(v.today, 2)
	}
	if w.Planned, err = s.plannedOffers(v, rigger.ID); err != nil {
		return WhatFor{}, err
	}
	if w.Same.Loan == "" && w.Shift == nil && w.Planned == nil && w.Waits.Mark == "" {
		return WhatFor{}, nil
	}
	if w.Same.Loan != "" && w.Waits.Mark == "" && !slices.ContainsFunc(w.Planned, func(p PlannedOffer) bool { return p.Take.First }) {
		w.Same.Days[0].First = true
	}
	return w, nil
}

// dayButtons are the first of the days that have a button of their own.
func dayButtons(today quantity.Date, n int) []Action {
	var list []Action
	for _, day := range nextDays(today)[:n] {
		list = append(list, Action{Label: day.Label, Sub: day.Sub, Name: "back", Value: day.Value})
	}
	return list
}

// sameAgain is the newest loan of a rigger that had a lift, where all its lifts can
// be stated again just so.
func (s *Server) sameAgain(v *visit, rigger event.PersonID) (Same, error) {
	loans, err := s.Store.LoansOf(v.r.Context(), rigger, 1)
	if err != nil || len(loans) == 0 {
		return Same{}, err
	}
	forms, day, err := s.liftsOf(v, loans[0])
	if err != nil || len(forms) == 0 {
		return Same{}, err
	}
	same := Same{Legend: "Same as on " + day.Long(), Loan: loans[0].String(), Days: dayButtons(v.today, 3)}
	switch v.today.DaysSince(day) {
	case 0:
		same.Legend = "Same as earlier today"
	case 1:
		same.Legend = "Same as yesterday"
	}
	w := v.wordsOf(nil)
	for i, f := range forms {
		stated, _ := f.read(v.liftTerms())
		l := SameLift{Drawing: v.drawStated(stated)}
		if len(forms) > 1 {
			l.Title = "Lift " + strconv.Itoa(i+1)
		}
		l.Facts = slices.DeleteFunc(stated.facts(w.lead), func(f Fact) bool { return f.Label == "Needed back by" })
		same.Lifts = append(same.Lifts, l)
	}
	return same, nil
}

// liftsOf gives the lifts of a loan as they would be stated today, with today as the
// day of return, and on which day the loan was. There are none where one of them
// cannot be stated again just so.
func (s *Server) liftsOf(v *visit, loan event.LoanID) (forms []liftForm, day quantity.Date, err error) {
	records, err := s.Store.Loan(v.r.Context(), loan)
	if err != nil {
		return nil, day, err
	}
	terms := v.liftTerms()
	byNumber := map[int]liftForm{}
	for _, r := range records {
		issued, ok := r.Body.(event.Issued)
		if !ok || issued.Line.Lift == 0 {
			continue
		}
		day = r.Envelope.Day
		form, ok := formOfLift(issued, v.crib.Founded.Units)
		if !ok {
			return nil, day, nil
		}
		form["back"] = v.today.String()
		if _, wrong := form.read(terms); len(wrong) > 0 {
			return nil, day, nil // such as a crane that is gone
		}
		byNumber[issued.Line.Lift] = form
	}
	for _, n := range slices.Sorted(maps.Keys(byNumber)) {
		forms = append(forms, byNumber[n])
	}
	return forms, day, nil
}

// formOfLift gives the answers by which a recorded lift would be stated again, but
// for the day of return; false where the page has no such answers.
func formOfLift(i event.Issued, units quantity.Units) (liftForm, bool) {
	q, err := gate.ParseQuestion([]byte(i.Verdict.Question))
	if err != nil || q.Lift == nil {
		return nil, false
	}
	return answersOf(*q.Lift, i.Line, units)
}

// answersOf gives the answers by which a lift would be stated as it is asked of one sling of
// it, with what its line says beyond that.
func answersOf(l gate.Lift, line event.Line, units quantity.Units) (liftForm, bool) {
	f := freshLift(units)
	load := l.Load
	if line.Share == event.Beam {
		load = line.Whole
	}
	unit, ok := unitOf(units, load, line.Beam)
	if !ok {
		return nil, false
	}
	f["unit"] = map[quantity.Mass]string{quantity.Pound: "lb", quantity.Kilogram: "kg"}[unit]
	f["load"] = countIn(load, unit)
	f["known"] = map[bool]string{true: "weighed", false: "papers"}[line.Weighed]
	f["hitch"], f["legs"] = l.Hitch.String(), strconv.Itoa(l.Legs)
	f["centred"] = map[bool]string{true: "yes", false: "no"}[l.Centred]
	f["bears"], f["special"] = "nothing", "no"
	if l.Edge != nil {
		f["bears"], f["radius-unit"], f["radius"] = "round", "mm", strconv.FormatInt(int64(*l.Edge/quantity.Millimetre), 10)
	}
	if line.Crane != "" {
		f["crane"] = line.Crane
	}
	f["lower"] = string(line.Lower)
	for _, set := range []bool{f.setPicks(l, line) || f.setAngle(l, line), f.setChoke(l), f.setSpecial(l), f.setShare(l, line, unit, units)} {
		if !set {
			return nil, false
		}
	}
	return f, true
}

// unitOf is the unit in which masses are whole, the crib's own first.
func unitOf(units quantity.Units, masses ...quantity.Mass) (quantity.Mass, bool) {
	list := []quantity.Mass{quantity.Pound, quantity.Kilogram}
	if units == quantity.Metric {
		slices.Reverse(list)
	}
	for _, unit := range list {
		if !slices.ContainsFunc(masses, func(m quantity.Mass) bool { _, whole := m.Whole(unit); return !whole }) {
			return unit, true
		}
	}
	return 0, false
}

// setPicks gives the answers about picks, false where there are none or no answers
// give just these: of three and four legs only the circle through the picks is known.
func (f liftForm) setPicks(l gate.Lift, line event.Line) bool {
	mm := func(n quantity.Length) string { return strconv.FormatInt(n.Millimetres(), 10) }
	switch {
	case line.Span > 0 && l.Legs == 2:
		f["angle"], f["length-unit"], f["span"] = bySpan, "mm", mm(line.Span)
		if line.Headroom > 0 {
			f["headroom"] = mm(line.Headroom)
		}
		return true
	case l.Picks == nil || l.CG == nil:
		return false
	}
	f["angle"], f["length-unit"] = byPlaces, "mm"
	f["centred"] = ""
	high := l.Picks[0].Z
	put := func(name string, p lift.Point) {
		f[name+"x"], f[name+"z"] = mm(p.X), mm(p.Z)
		if l.Legs > 2 || name == "c" {
			f[name+"y"] = mm(p.Y)
		}
	}
	for i, p := range l.Picks {
		put("p"+strconv.Itoa(i+1), p)
		high = max(high, p.Z)
	}
	put("c", *l.CG)
	if l.Hook != nil {
		f["hook"] = mm(*l.Hook - high)
	}
	if l.HookMax != nil {
		f["headroom"] = mm(*l.HookMax - high)
	}
	return true
}

func (f liftForm) setAngle(l gate.Lift, line event.Line) bool {
	drawn := line.Drawn
	switch {
	case line.Span > 0 || l.Picks != nil:
		return false // see setPicks
	case l.Angle == nil:
		return true
	}
	for _, spread := range spreads {
		if drawn && l.Angle.From == gate.FromHorizontal && l.Angle.Size == spread.degrees*quantity.Degree {
			f["angle"] = spread.value
			return true
		}
	}
	n := int64(l.Angle.Size / quantity.MilliDegree)
	text := fmt.Sprintf("%d.%03d", n/1000, n%1000)
	f["angle"], f["degrees"] = "degrees", strings.TrimSuffix(strings.TrimRight(text, "0"), ".")
	f["from"] = l.Angle.From.String()
	return !drawn && l.Angle.Size%quantity.MilliDegree == 0
}

func (f liftForm) setChoke(l gate.Lift) bool {
	if l.Choke == nil {
		return true
	}
	for value, angle := range chokeAngles() {
		if angle != nil && *angle == *l.Choke {
			f["choke"] = value
			return true
		}
	}
	return false
}

func (f liftForm) setSpecial(l gate.Lift) bool {
	if l.Use == gate.UseOrdinary && l.Heat == nil {
		return true
	}
	f["special"], f["use"], f["heat"] = "yes", l.Use.String(), "ordinary"
	if l.Heat == nil {
		return true
	}
	f["heat"] = "other"
	for n := quantity.MinCelsius; n <= quantity.MaxCelsius; n++ {
		if quantity.Celsius(int64(n)) == *l.Heat {
			f["scale"], f["temperature"] = "C", strconv.Itoa(int(n))
			return true
		}
	}
	for n := quantity.MinFahrenheit; n <= quantity.MaxFahrenheit; n++ {
		if quantity.Fahrenheit(int64(n)) == *l.Heat {
			f["scale"], f["temperature"] = "F", strconv.Itoa(int(n))
			return true
		}
	}
	return false
}

func (f liftForm) setShare(l gate.Lift, line event.Line, unit quantity.Mass, units quantity.Units) bool {
	f["together"] = "one"
	switch line.Share {
	case event.OneHook:
		f["together"] = "one-hook"
	case event.Beam:
		f["together"], f["slings"], f["beam"], f["parts"] = "beam", strconv.Itoa(line.Slings), countIn(line.Beam, unit), "equal"
		stated := statedLift{}
		stated.Share, stated.Slings, stated.Beam, stated.Lift.Load = line.Share, line.Slings, line.Beam, line.Whole
		if stated.Equal(units) != l.Load {
			f["parts"] = "stated" // and is asked for each sling anew
		}
	}
	return true
}

// sameForRigger states the lifts of a loan again, for the day that was chosen.
func (s *Server) sameForRigger(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	loan, err := event.ParseLoanID(v.raw("loan"))
	day, err2 := quantity.ParseDate(v.raw("back"))
	if err != nil || err2 != nil || day.Before(v.today) {
		return errNoPage
	}
	t := s.turn(v)
	rigger, err := s.rigger(v, t)
	if err != nil {
		return err
	}
	records, err := s.Store.Loan(v.r.Context(), loan)
	if err != nil {
		return err
	}
	if len(records) == 0 || rigger.ID.IsZero() || !ofRigger(records, rigger.ID) {
		s.notice(v, "Somebody else takes slings now. Look again what for.")
		return v.redirect("/counter")
	}
	forms, _, err := s.liftsOf(v, loan)
	if err != nil {
		return err
	}
	if len(forms) == 0 {
		s.notice(v, "This lift cannot be stated again just so. State it anew.")
		return v.redirect(liftPath)
	}
	first := 0
	for _, f := range forms {
		f["back"] = day.String()
		t.state(0, purpose{Lift: f})
		if first == 0 {
			first = t.Now
		}
	}
	t.Now = first
	return s.askFor(v, t, first, key)
}

func ofRigger(records []store.Record, rigger event.PersonID) bool {
	return slices.ContainsFunc(records, func(r store.Record) bool {
		i, ok := r.Body.(event.Issued)
		return ok && i.Rigger == rigger
	})
}

// forShift states that what is scanned next is gear for a shift.
func (s *Server) forShift(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	day, err := quantity.ParseDate(v.raw("back"))
	if err != nil || day.Before(v.today) || day.DaysSince(v.today) > longestShift {
		return errNoPage
	}
	t := s.turn(v)
	// One day holds for all of it: a loan has one by which gear for a shift is back.
	n := slices.IndexFunc(t.For, func(p purpose) bool { return p.Shift != "" }) + 1
	t.state(n, purpose{Shift: day.String()})
	return s.askFor(v, t, t.Now, key)
}

// longestShift is how many days after today gear for a shift may be back: a night
// shift ends tomorrow (site policy, no source).
const longestShift = 1
