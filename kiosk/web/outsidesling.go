package web

import (
	"context"
	"errors"
	"net/http"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/kiosk/counter"
)

// AwayPage is what can be done with a sling that is out, where it is.
type AwayPage struct {
	Base
	Out    bool
	Stand  StandPlate
	Wanted string // why it is to come back and is not handed on; empty where it may stay
	Back   Action
	Hand   HandOnForm
	Acts   []ActForm
	Links  []Action
	At     string // address of the page
	Wrong  string // why something was not done
}

// HandOnForm asks who takes a sling over, and then for what. Without a Key there is
// none.
type HandOnForm struct {
	Key    string
	Heads  string
	Names  []RiggerName // empty: nobody else may draw gear
	To     string       // the rigger who was chosen, by id; empty: nobody yet
	ToName string
	From   string
	Again  string // address that asks anew who
}

func awayPath(s state.Sling) string { return outsidePath + slingPath(s)[len("/rack"):] }

func (s *Server) awayPage(v *visit) error {
	sling, err := s.findSling(v)
	if err != nil {
		return err
	}
	return s.renderAway(v, http.StatusOK, sling, &AwayPage{}, sent{open: v.r.URL.Query().Get("do")})
}

func (s *Server) renderAway(v *visit, status int, sling state.Sling, p *AwayPage, was sent) error {
	names, err := s.names(v)
	if err != nil {
		return err
	}
	w := v.wordsOf(names)
	p.Title, p.At = sling.Details.Ident, awayPath(sling)
	p.Stand = standPlate(standing(sling, v.crib, v.today, w), w)
	p.Out = sling.Details.Sling.State == gate.StateOut
	p.Links = []Action{{Label: "Its whole story", Sub: "inspect it, print and confirm its tag, hold it", Path: slingPath(sling)}}
	if !p.Out {
		return s.render(v, status, "away", p)
	}
	a := awayOf(sling, v.crib, v.today)
	if len(a.codes) > 0 || a.level == notToBeUsed {
		p.Wanted = a.says(w)
	}
	p.Back = Action{Label: "Take it back", Sub: "at the counter: scan it", Path: "/counter", First: p.Wanted != ""}
	if p.Wanted == "" && v.may(actIssue) && !v.who.Terms.Learner {
		if err := s.handOnForm(v, sling, p, w); err != nil {
			return err
		}
	}
	out, err := s.out(v.r.Context())
	if err != nil {
		return err
	}
	for _, f := range []ActForm{placeForm(sling, areas(sortAway(out, v.crib, v.today)), was), recallForm(sling, was)} {
		f.Path, f.Key, f.Heads, f.Open = p.At+"/"+f.Act, newKey(), headsText(sling.Heads), was.open == f.Act
		if f.Open {
			f.Whole = was.whole
		}
		p.Acts = append(p.Acts, f)
	}
	return s.render(v, status, "away", p)
}

func (s *Server) handOnForm(v *visit, sling state.Sling, p *AwayPage, w words) error {
	people, err := s.Store.People(v.r.Context())
	if err != nil {
		return err
	}
	f := &p.Hand
	f.Key, f.Heads, f.From, f.Again = newKey(), headsText(sling.Heads), w.name(sling.Loan.Rigger), p.At
	for _, who := range people {
		if !who.May(event.Rigger, v.today) || who.ID == sling.Loan.Rigger {
			continue
		}
		if who.ID.String() == f.To {
			f.ToName = who.Name
		}
		f.Names = append(f.Names, RiggerName{ID: who.ID.String(), Name: who.Name})
	}
	if f.ToName == "" {
		f.To = ""
	}
	return nil
}

// whoTakes names who takes a sling over: picked, or by a badge that was scanned. A
// tag that was scanned leads to its own sling.
func (s *Server) whoTakes(v *visit) error {
	sling, err := s.findSling(v)
	if err != nil {
		return err
	}
	key, err := v.key()
	if err != nil {
		return err
	}
	to, text := v.raw("rigger"), v.raw("text")
	if kind, _ := tagcode.KindOf(text); text != "" && kind != tagcode.KindBadge { // what is none is told on the counter
		return s.leadOutside(v, text, key)
	}
	p := &AwayPage{}
	if text != "" {
		who, codes, err := s.Counter.Badge(v.r.Context(), text)
		if err != nil {
			return err
		}
		to = who.ID.String()
		if len(codes) == 0 && !who.May(event.Rigger, v.today) {
			codes = append(codes, gate.RiggerNotCleared)
		}
		if len(codes) > 0 {
			p.Wrong = s.refusedSays(v, codes[:1])
		}
	}
	p.Hand.To = to
	return s.renderAway(v, http.StatusOK, sling, p, sent{})
}

// handOn records that a sling went from rigger to rigger.
func (s *Server) handOn(v *visit) error {
	to, err := event.ParsePersonID(v.raw("rigger"))
	if err != nil {
		return errNoPage
	}
	return s.actAway(v, "hand-on", "is handed on, and is now theirs to bring back.", func(ctx context.Context, who counter.Who, seen counter.Seen, c complaints) (counter.Outcome, error) {
		note := v.note(c, "hand-on-note")
		if len(c) > 0 {
			return counter.Outcome{}, nil
		}
		return s.Counter.HandOn(ctx, who, seen, counter.Handover{To: to, SameUse: v.raw("use") == "same", Note: note})
	})
}

func (s *Server) placeAway(v *visit) error {
	return s.actAway(v, "place", "has its place outside.", func(ctx context.Context, who counter.Who, seen counter.Seen, c complaints) (counter.Outcome, error) {
		area, complaint := v.line("area", maxArea)
		c.add("area", complaint)
		if picked := v.raw("known"); picked == nowhere {
			area = ""
		} else if area == "" && complaint == "" {
			if area, complaint = v.line("known", maxArea); area == "" || complaint != "" {
				c.add("area", "Choose a machine or an area, or name one.")
			}
		}
		note := v.note(c, "place-note")
		if len(c) > 0 {
			return counter.Outcome{}, nil
		}
		return s.Counter.Place(ctx, who, seen, area, note)
	})
}

func (s *Server) recallAway(v *visit) error {
	return s.actAway(v, "recall", "is recalled. Its rigger is told at the counter; tell them now if it must not be used.", func(ctx context.Context, who counter.Who, seen counter.Seen, c complaints) (counter.Outcome, error) {
		reason := v.reason(c, "recall-reason", "Write why: whoever has it is told.")
		var by quantity.Date
		if text := v.raw("by"); text != "" {
			var err error
			if by, err = quantity.ParseDate(text); err != nil {
				c.add("by", "This is no day of the calendar. Type it as year, month and day, like 2026-03-02.")
			}
		}
		if len(c) > 0 {
			return counter.Outcome{}, nil
		}
		o, err := s.Counter.Recall(ctx, who, seen, reason, by)
		if errors.Is(err, counter.ErrRecallDay) {
			c.add("by", "This day is over; today is "+v.today.Long()+".")
			return counter.Outcome{}, nil
		}
		return o, err
	})
}

// actAway reads what every form of the page carries, lets do act, and shows the
// sling again.
func (s *Server) actAway(v *visit, name, done string, do doing) error {
	sling, key, heads, err := s.slingForm(v)
	if err != nil {
		return err
	}
	was := sent{open: name, wrong: complaints{}, heads: heads, value: v.raw}
	o, err := do(v.r.Context(), v.by(counter.Hand, key), counter.Seen{Sling: sling.ID, Heads: heads}, was.wrong)
	switch {
	case len(was.wrong) > 0:
		return s.renderAway(v, http.StatusUnprocessableEntity, sling, &AwayPage{}, was)
	case err != nil:
		return registerError(err)
	case o.May:
		s.notice(v, sling.Details.Ident+" "+done)
		return v.redirect(awayPath(sling))
	}
	p := &AwayPage{Wrong: s.refusedSays(v, o.Codes)}
	return s.renderAway(v, http.StatusConflict, sling, p, was)
}

// refusedSays puts why the counter did not do something into sentences.
func (s *Server) refusedSays(v *visit, codes []gate.Reason) string {
	if len(codes) == 0 {
		codes = []gate.Reason{gate.NotDecided}
	}
	var parts []string
	for _, code := range codes {
		text := v.wordsOf(nil).says(code, gate.Answer{})
		parts = append(parts, text.Sentence, text.Next)
	}
	return strings.Join(parts, " ")
}

// leadOutside leads to what can be done with a sling that was scanned: where it is
// out here, else to the counter.
func (s *Server) leadOutside(v *visit, text, key string) error {
	reading := counter.Reading{Text: text, Way: counter.Scanner}
	if way := counter.Way(v.raw("way")); way == counter.Camera || way.AsksPlate() {
		reading.Way = way
	}
	found, err := s.Counter.Find(v.r.Context(), reading)
	if err != nil {
		return err
	}
	if found.Known && found.Sling.Details.Sling.State == gate.StateOut {
		return v.redirect(awayPath(found.Sling))
	}
	return s.take(v, reading, key)
}

// scannedOutside takes a scan on the page of what is out.
func (s *Server) scannedOutside(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	return s.leadOutside(v, v.raw("text"), key)
}
