package web

import (
	"net/http"
	"strconv"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/kiosk/counter"
	"cribgate/store"
)

// LoadDoubt asks whether the point slipped while a load was typed. The zero value
// asks nothing. Whichever button is pressed, somebody says which load it is; nothing
// is corrected by itself.
type LoadDoubt struct {
	Question string
	Why      string
	Answers  []Action
	To       string // where the answers lead; empty: where the lift is stated
}

// How far from what a rigger lifts otherwise a load may be before it is asked
// (site policy, no source): a point that slips makes it ten or a hundred times as
// much, or so much less, and loads that are like each other differ too.
const (
	farOff     = 8 // times the largest, or below the smallest, of the last loads
	loansBack  = 5 // so many loans are looked at
	sizesBack  = 3 // so many of the largest sizes
	slingsBack = 50

	// A load below this is asked: more likely somebody typed tons (site policy, no source).
	fewPounds    = 100 * quantity.Pound
	fewKilograms = 50 * quantity.Kilogram
)

// doubtLoad shows the lift page once more where the load looks like a slip of the
// point, unless somebody has said just this load is right.
func (s *Server) doubtLoad(v *visit, t *turn, n int, f liftForm) (asked bool, err error) {
	stated, _ := f.read(v.liftTerms())
	load := stated.Lift.Load
	if sure := f["sure"]; sure != "" {
		if _, complaint := readLoad(sure, stated.Unit); complaint == "" {
			f["load"], f["sure"] = sure, ""
			return false, nil
		}
	}
	if p := t.purpose(n); p != nil && p.Lift["load"] == f["load"] && p.Lift["unit"] == f["unit"] {
		return false, nil // it was stated before
	}
	why, factors, err := s.slipped(v, t, stated)
	if err != nil || why == "" {
		return false, err
	}
	in := func(m quantity.Mass) string { return spelledIn(m, stated.Unit) }
	d := LoadDoubt{Question: in(load), Why: why, Answers: []Action{{Label: in(load), Sub: "as it was typed", Name: "sure", Value: countIn(load, stated.Unit)}}}
	for _, factor := range factors {
		other := factor.of(load)
		if whole, ok := other.Whole(stated.Unit); other == 0 || !ok || whole < 1 {
			continue
		}
		d.Question += " or " + in(other)
		d.Answers = append(d.Answers, Action{Label: in(other), Sub: factor.says(), Name: "sure", Value: countIn(other, stated.Unit)})
	}
	if len(d.Answers) == 1 {
		return false, nil // there is nothing that it could be instead
	}
	d.Question += "?"
	if v.r.URL.Path == planPath {
		d.To = planPath
	}
	return true, s.renderLiftWith(v, http.StatusUnprocessableEntity, t, n, f, nil, d, nil)
}

// A moved is by how many places the point may have gone, or what tons were typed.
type moved struct {
	times, parts quantity.Mass
	tons         string
}

func (s moved) says() string {
	if s.tons != "" {
		return s.tons + " were typed"
	}
	return "the point slipped"
}

// inTons is what a load would be had it been typed in tons, and whether it is so
// small that it may have been. A short ton is 2,000 lb, a tonne 1,000 kg, by definition.
func inTons(s statedLift) (moved, bool) {
	if s.Unit == quantity.Pound {
		return moved{2_000, 1, "short tons"}, s.Lift.Load < fewPounds
	}
	return moved{1_000, 1, "tonnes"}, s.Lift.Load < fewKilograms
}

func (s moved) of(m quantity.Mass) quantity.Mass {
	if s.parts > 1 {
		if m%s.parts != 0 {
			return 0
		}
		return m / s.parts
	}
	if m > quantity.MaxMass/s.times {
		return 0
	}
	return m * s.times
}

// slipped tells why a load may be a slip of the point, empty for no reason, and what
// it could be instead.
func (s *Server) slipped(v *visit, t *turn, stated statedLift) (why string, by []moved, err error) {
	load := stated.Lift.Load
	usual, err := s.usualLoads(v, t)
	if err != nil {
		return "", nil, err
	}
	tons, small := inTons(stated)
	if len(usual) > 0 {
		least, most := usual[0], usual[0]
		for _, m := range usual {
			least, most = min(least, m), max(most, m)
		}
		u := v.wordsOf(nil).lead
		switch {
		case load/farOff >= most:
			return "This rigger’s last loads were up to " + u.Mass(most) + ".", []moved{nearer(load, most, moved{parts: 10, times: 1}, moved{parts: 100, times: 1})}, nil
		case load <= least/farOff:
			by := nearer(load, least, moved{times: 10, parts: 1}, moved{times: 100, parts: 1})
			if small {
				by = nearer(load, least, by, tons)
			}
			return "This rigger’s last loads were " + u.Mass(least) + " and more.", []moved{by}, nil
		case load >= least:
			small = false
		}
	}
	if small {
		return "A chain sling seldom lifts so little.", []moved{tons}, nil
	}
	most, err := s.mostAnyCarries(v, stated)
	if err != nil || most == 0 || load <= most {
		return "", nil, err
	}
	for _, x := range []moved{{times: 1, parts: 10}, {times: 1, parts: 100}} {
		if other := x.of(load); other > 0 && other <= most {
			return "No sling of this crib may carry more than " + v.wordsOf(nil).lead.Mass(most/manyOf(stated)) + ".", []moved{x}, nil
		}
	}
	return "", nil, nil
}

// nearer picks the slip that brings a load nearer to what is usual, by its size.
func nearer(load, usual quantity.Mass, a, b moved) moved {
	far := func(m quantity.Mass) quantity.Mass {
		if m == 0 {
			return quantity.MaxMass
		}
		return max(m/usual, usual/m)
	}
	if far(b.of(load)) < far(a.of(load)) {
		return b
	}
	return a
}

func manyOf(s statedLift) quantity.Mass { return quantity.Mass(max(1, s.Many())) }

// usualLoads are what this rigger lifted with the last loans.
func (s *Server) usualLoads(v *visit, t *turn) ([]quantity.Mass, error) {
	id, err := event.ParsePersonID(t.Rigger)
	if err != nil {
		return nil, nil // nobody was chosen yet
	}
	loans, err := s.Store.LoansOf(v.r.Context(), id, loansBack)
	if err != nil {
		return nil, err
	}
	var list []quantity.Mass
	for _, loan := range loans {
		records, err := s.Store.Loan(v.r.Context(), loan)
		if err != nil {
			return nil, err
		}
		for _, r := range records {
			if load := loadOf(r); load > 0 {
				list = append(list, load)
			}
		}
	}
	return list, nil
}

// loadOf is the load that a sling went out for, all of it; 0 for none.
func loadOf(r store.Record) quantity.Mass {
	issued, ok := r.Body.(event.Issued)
	if !ok {
		return 0
	}
	if issued.Line.Share == event.Beam {
		return issued.Line.Whole
	}
	q, err := gate.ParseQuestion([]byte(issued.Verdict.Question))
	if err != nil || q.Lift == nil {
		return 0 // of a shift, or of a program that asked otherwise
	}
	return q.Lift.Load
}

// mostAnyCarries is what the slings that carry the lift may carry at the most, were
// all like the strongest of the crib. It looks at a bounded number of the largest
// sizes, and only asks: no verdict follows from it.
func (s *Server) mostAnyCarries(v *visit, stated statedLift) (quantity.Mass, error) {
	var most quantity.Mass
	for _, system := range []rating.System{rating.US, rating.EN} {
		var sizes []rating.Size
		for place := 0; ; place++ {
			size, ok := rating.SizeAt(system, place)
			if !ok {
				break
			}
			sizes = append(sizes, size)
		}
		seen := 0
		for i := len(sizes) - 1; i >= 0 && seen < sizesBack; i-- {
			list, _, err := s.Store.List(v.r.Context(), store.Query{Text: sizes[i].String(), States: []gate.State{gate.StateIn, gate.StateOut}, Limit: slingsBack})
			if err != nil {
				return 0, err
			}
			if len(list) > 0 {
				seen++
			}
			for _, sling := range list {
				a, err := gate.Decide(counter.Question(sling, v.crib.Founded.Policy, v.today, nil))
				if err != nil {
					continue // what cannot be asked of it, it does not carry
				}
				for _, c := range a.Capacity {
					most = max(most, c.Load)
				}
			}
		}
	}
	return most * manyOf(stated), nil
}

// countIn spells a load as people type it in a unit.
func countIn(m, unit quantity.Mass) string {
	n, _ := m.Whole(unit) // every load that is read is whole
	return strconv.FormatInt(n, 10)
}

// spelledIn says a load in the unit in which it was stated.
func spelledIn(m, unit quantity.Mass) string {
	if unit == quantity.Pound {
		return m.InPounds()
	}
	return m.InKilograms()
}
