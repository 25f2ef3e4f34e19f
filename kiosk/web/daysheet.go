package web

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/kiosk/counter"
	slip "cribgate/labeler/card"
	"cribgate/store"
)

// dayFile is the sheet of a day with the rack list, as PDF.
func (s *Server) dayFile(v *visit) error {
	day, err := dayOfPath(v)
	if err != nil {
		return err
	}
	sheet, err := s.daySheet(v, day)
	if err != nil {
		return err
	}
	return s.paper(v, "day-"+day.String()+".pdf", sheet)
}

// DaySheet draws the sheet of today as PDF, for whoever prints it without being asked.
func (s *Server) DaySheet(ctx context.Context) (pdf []byte, day quantity.Date, err error) {
	v := &visit{r: (&http.Request{}).WithContext(ctx)}
	if v.crib, err = s.Store.Crib(ctx); err != nil {
		return nil, day, fmt.Errorf("web: draw the day sheet: %w", err)
	}
	if v.clock, err = s.Store.Clock(ctx); err != nil {
		return nil, day, fmt.Errorf("web: draw the day sheet: %w", err)
	}
	head, err := s.Store.Head(ctx)
	if err != nil {
		return nil, day, fmt.Errorf("web: draw the day sheet: %w", err)
	}
	v.today = v.clock.Today()
	v.register, v.at, v.head = head.Log.String(), head.At, tagcode.Head{At: head.At, Hash: head.Hash}
	sheet, err := s.daySheet(v, v.today)
	if err != nil {
		return nil, day, fmt.Errorf("web: draw the day sheet: %w", err)
	}
	var out bytes.Buffer
	if err := drawSheets(&out, sheet, slipPaper(v.crib.Founded.Units)); err != nil {
		return nil, day, fmt.Errorf("web: draw the day sheet: %w", err)
	}
	return out.Bytes(), v.today, nil
}

// Local is the time on the clocks on the crib's walls, see morning.Crib.
func (s *Server) Local(ctx context.Context) (time.Time, error) {
	clock, err := s.Store.Clock(ctx)
	if err != nil {
		return time.Time{}, fmt.Errorf("web: what time it is: %w", err)
	}
	return clock.Local(clock.Reads), nil
}

// printedSays tells how it stands with the sheet that is printed by itself, and whether
// somebody has to look after it.
func (s *Server) printedSays(today quantity.Date) (says string, wrong bool) {
	if s.Printed == nil {
		return "", false
	}
	switch state := s.Printed(); {
	case state.Failed != nil:
		return "The day sheet of today could not be printed yet. Look at its printer, or print it from here.", true
	case state.Printed == today && state.Unsure:
		return "The day sheet was sent to its printer, which has not said whether it was printed. Look there.", true
	case state.Printed == today:
		return "The day sheet of today was printed by itself.", false
	}
	return "The day sheet of today is printed by itself when its time has come.", false
}

// printed is what printedSays says, where somebody has to look after it.
func (s *Server) printed(today quantity.Date) string {
	if says, wrong := s.printedSays(today); wrong {
		return says
	}
	return ""
}

// daySheet puts a day and the rack into the words of a sheet.
func (s *Server) daySheet(v *visit, day quantity.Date) (slip.Day, error) {
	names, err := s.names(v)
	if err != nil {
		return slip.Day{}, err
	}
	w := v.wordsOf(names)
	d := slip.Day{Words: v.list(), Title: "Day sheet, " + weekday(day).String() + ", " + Day(day), Under: v.crib.Founded.Name,
		Foot: "Printed " + w.clock(v.clock.Reads) + ". The register stands at " + v.head.String() + ".", Head: v.head}
	if d.Lifts, err = s.liftsOnPaper(v, day, w); err != nil {
		return slip.Day{}, err
	}
	of := day
	if of.Before(v.today) {
		of = v.today
	}
	q := store.Query{ByPlace: true, States: inUse, Limit: store.MaxPage}
	for {
		page, next, err := s.Store.List(v.r.Context(), q)
		if err != nil {
			return slip.Day{}, err
		}
		for _, sling := range page {
			d.Rack = append(d.Rack, rackLine(sling, v, of, w))
		}
		if next == "" {
			return d, nil
		}
		q.After = next
	}
}

// liftsOnPaper are the lifts of a day that slings are still to go out for. Where nothing
// is set aside for one, it says what would serve it.
func (s *Server) liftsOnPaper(v *visit, day quantity.Date, w words) (list []slip.DayLift, err error) {
	plans, err := s.Store.PlannedOn(v.r.Context(), day, day)
	if err != nil {
		return nil, err
	}
	kept, err := s.keptOn(v, day)
	if err != nil {
		return nil, err
	}
	said := map[event.LiftID]DayLift{}
	if !day.Before(v.today) {
		x, err := s.propose(v, day)
		if err != nil {
			return nil, err
		}
		for i := range x.lifts {
			var l DayLift
			l.offered(x, i, w)
			said[x.lifts[i].Lift] = l
		}
	}
	for _, p := range plans {
		if !p.Open() {
			continue
		}
		slings, wants, err := v.keptOf(p, kept[p.Lift], w)
		if err != nil {
			return nil, err
		}
		stated := v.planned(p)
		l := slip.DayLift{Title: w.name(p.Rigger) + ": " + w.lead.Mass(stated.Lift.Load)}
		if p.What != "" {
			l.Title = w.name(p.Rigger) + ": " + p.What + ", " + w.lead.Mass(stated.Lift.Load)
		}
		l.Lift = upperFirst(w.say(stated.Lift.Words())) + ". Needed back by " + Day(stated.Lift.ReturnBy) + "."
		for _, k := range slings {
			l.Kept = append(l.Kept, keptLine(k))
		}
		if wants != "" {
			l.Notes = append(l.Notes, wants)
		}
		o := said[p.Lift].Offers
		for _, k := range o.Slings {
			l.Notes = append(l.Notes, "Not set aside; would do: "+keptLine(k))
		}
		for _, why := range o.Why {
			l.Notes = append(l.Notes, "Cannot be served. "+why)
		}
		for _, would := range o.Would {
			l.Notes = append(l.Notes, "Would serve it: "+would)
		}
		list = append(list, l)
	}
	return list, nil
}

func keptLine(k KeptSling) string {
	text := k.Ident
	if k.Place != "" {
		text += " at " + k.Place
	}
	text += ", " + k.Is
	if k.Stays != "" {
		text += ". " + k.Stays
	}
	return text
}

// rackLine is one sling of the rack on paper, as it would stand at the counter on a day.
func rackLine(s state.Sling, v *visit, day quantity.Date, w words) slip.RackLine {
	d := s.Details
	l := slip.RackLine{Place: d.Place, Ident: d.Ident, Is: w.makeUp(d.Sling.Plate), Due: Day(d.Sling.Due), Stands: d.Sling.State.String()}
	for i, stamp := range d.Sling.Stamped {
		if i > 0 {
			l.Rated += "; "
		}
		l.Rated += stampWords(stamp, w)
	}
	switch st := d.Sling.State; {
	case st == gate.StateOut:
		l.Stands = "with " + w.name(s.Loan.Rigger)
	case s.Aside.On(day) && st == gate.StateIn:
		l.Stands = "for " + w.name(s.Aside.Rigger) + ", " + Day(s.Aside.Day)
	}
	a, err := gate.Decide(counter.Question(s, v.crib.Founded.Policy, day, nil))
	l.Stays = err != nil || !a.May() || len(counter.Barred(s, v.crib, day)) > 0
	return l
}
