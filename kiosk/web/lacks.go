package web

import (
	"net/http"
	"strconv"
	"sync"

	"cribgate/core/event"
	"cribgate/core/fit"
	"cribgate/core/gate"
	"cribgate/core/lack"
	"cribgate/core/quantity"
	"cribgate/kiosk/counter"
)

const lacksPath = "/lacks"

// lackDays and lackList are how far back is looked, and how long the list is (site
// policy, no source).
const (
	lackDays = 365
	lackList = 6
)

// LacksPage says which slings would have served most of what was refused, or served more
// closely what went out with more than it needed.
type LacksPage struct {
	Base
	Since string
	Until string // position up to which was counted
	Said  string
	Rows  []LackRow
	Left  []string // what the figures leave out
	Empty string
}

// A LackRow is one sling of the list.
type LackRow struct {
	What   string
	Served string
	Closer string
}

func (s *Server) lacks(v *visit) error {
	l, err := s.lacking.list(s, v)
	if err != nil {
		return err
	}
	list, w := l.list, v.wordsOf(nil)
	p := &LacksPage{Base: Base{Title: "What the crib lacks"}, Since: Day(v.today.AddDays(-lackDays)), Until: strconv.FormatInt(l.at, 10), Empty: "Nothing was lacking since then, or nothing that a sling of the tables would have served."}
	p.Said = plural(list.Refused, "lift") + " for which nothing went out, and " + itoa(list.Over) + " that went out with more sling than they needed."
	for _, l := range list.Slings {
		row := LackRow{What: upperFirst(w.say(l.Spec.Words(w.lead)))}
		if l.Pieces > 1 {
			row.What = plural(l.Pieces, "sling") + ": " + w.say(l.Spec.Words(w.lead))
		}
		if l.Served > 0 {
			row.Served = "would have served " + plural(l.Served, "lift") + " more"
		}
		if l.Closer > 0 {
			row.Closer = "would have served " + plural(l.Closer, "lift") + " more closely, " + w.lead.Mass(l.Spared.Floor(w.lead.MassUnit())) + " of capacity spared together"
		}
		p.Rows = append(p.Rows, row)
	}
	if list.Beyond > 0 {
		p.Left = append(p.Left, plural(list.Beyond, "lift")+" no sling of the tables would have served.")
	}
	if list.Unasked > 0 {
		p.Left = append(p.Left, plural(list.Unasked, "lift")+" cannot be asked any more, and were left out.")
	}
	return s.render(v, http.StatusOK, "lacks", p)
}

// lacking keeps what came out of a year, which takes seconds in a large register: it is
// counted once a day.
type lacking struct {
	mu   sync.Mutex
	last lacked
}

type lacked struct {
	register string
	day      quantity.Date
	at       int64
	list     lack.List
}

func (l *lacking) list(s *Server, v *visit) (lacked, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.last.register == v.register && l.last.day == v.today {
		return l.last, nil
	}
	wanted, builds, err := s.wanted(v, v.today.AddDays(-lackDays))
	if err != nil {
		return lacked{}, err
	}
	l.last = lacked{register: v.register, day: v.today, at: v.at, list: lack.Short(wanted, builds, lackList)}
	return l.last, nil
}

// askedFor is a lift as it was asked for by somebody on a day: asked again it is the same.
type askedFor struct {
	rigger event.PersonID
	day    quantity.Date
	lift   string
}

// wanted gives the lifts that were asked for since a day, each once for its rigger and
// day, with what went out for it, and what the rack is built of.
func (s *Server) wanted(v *visit, from quantity.Date) ([]lack.Wanted, []fit.Build, error) {
	policy := counter.AskFor(v.crib, event.StatedLift{}, v.today).Policy
	place := map[askedFor]int{}
	var list []lack.Wanted
	note := func(key askedFor, q gate.Question, line event.Line, allowed quantity.Mass) {
		stated := statedOf(line, *q.Lift).StatedLift
		at, known := place[key]
		if !known {
			at = len(list)
			place[key] = at
			list = append(list, lack.Wanted{Ask: counter.AskFor(v.crib, stated, v.today)})
			list[at].Ask.Policy = policy
		}
		if allowed > 0 && (list[at].Allowed == 0 || allowed < list[at].Allowed) {
			list[at].Allowed = allowed
		}
	}
	err := s.eachVerdict(v, from, func(day quantity.Date, rigger event.PersonID, verdict event.Verdict, line event.Line, went bool) {
		q, err := gate.ParseQuestion([]byte(verdict.Question))
		if err != nil || q.Lift == nil {
			return
		}
		lift := *q.Lift
		lift.Shortened, lift.ReturnBy, lift.Singles = gate.Unshortened, quantity.Date{}, false
		text, err := gate.Question{Lift: &lift}.MarshalJSON()
		if err != nil {
			return
		}
		allowed := quantity.Mass(0)
		if went {
			if a, err := gate.Decide(q); err == nil {
				allowed = a.Allowed
			}
		}
		note(askedFor{rigger, day, string(text)}, q, line, allowed)
	})
	if err != nil {
		return nil, nil, err
	}
	rack, _, err := s.rackNow(v)
	if err != nil {
		return nil, nil, err
	}
	builds := rack.Builds()
	return list, builds[:min(2, len(builds))], nil
}

// eachVerdict calls f for every lift that was asked about since a day: what went out and
// what stayed for the lift's own reasons.
func (s *Server) eachVerdict(v *visit, from quantity.Date, f func(quantity.Date, event.PersonID, event.Verdict, event.Line, bool)) error {
	const some = 1000
	at, err := s.before(v, from)
	if err != nil {
		return err
	}
	for {
		records, err := s.Store.Since(v.r.Context(), at, some)
		if err != nil {
			return err
		}
		for _, rec := range records {
			at = rec.Envelope.At
			switch b := rec.Body.(type) {
			case event.Issued:
				f(rec.Envelope.Day, b.Rigger, b.Verdict, b.Line, true)
			case event.Refused:
				f(rec.Envelope.Day, b.Rigger, b.Verdict, event.Line{}, false)
			}
		}
		if len(records) < some {
			return nil
		}
	}
}

// before gives about the position before the first entry of a day: days follow each
// other in the register but where a clock was corrected.
func (s *Server) before(v *visit, day quantity.Date) (int64, error) {
	low, high := int64(0), v.at
	for low < high {
		middle := low + (high-low)/2
		list, err := s.Store.Since(v.r.Context(), middle, 1)
		if err != nil {
			return 0, err
		}
		if len(list) == 1 && list[0].Envelope.Day.Before(day) {
			low = middle + 1
		} else {
			high = middle
		}
	}
	return low, nil
}
