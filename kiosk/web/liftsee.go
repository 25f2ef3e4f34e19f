package web

import (
	"errors"
	"fmt"
	"math"
	"strconv"

	"cribgate/core/event"
	"cribgate/core/fit"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/kiosk/counter"
)

// LiftSeen is the answer to a lift while it is stated: how it will hang, and which
// slings would do. Nothing goes out by it. The zero value says nothing.
type LiftSeen struct {
	Missing []Want // what is still to be said, with its field
	Head    string // in a few words
	Why     []Reason
	Helps   []string // what would make it possible
	Spec    string   // the smallest sling that would do, where none here does
	With    string   // with which sling it is drawn
	Side    Drawing
	Plan    Drawing // without Wide there is none
	Legs    []LegSeen
	Facts   []Fact
	Take    Action // the best slings, for whoever may take them
	Take2   string // that several go together
	Offers  []LiftOffer
	More    string // how many more would do
	Near    []LiftOffer
}

// A LegSeen is one leg of the drawing.
type LegSeen struct {
	Name       string
	Carries    string
	Small      string
	Horizontal string // its angle from horizontal
	Vertical   string // the same from vertical
	Share      string // of what it may carry
	Class      string // as it is drawn
}

// A LiftOffer is a sling that would do, or nearly would.
type LiftOffer struct {
	Ident string
	Path  string
	Place string
	Is    string
	May   string
	Angle string
	Due   string
	Why   string // why it stands before the next one; of one that nearly would, the one thing that is wrong
	Next  string // of that one: what to do about it
	Kept  string // that it is set aside for somebody else
	Look  bool   // whether its upper link seats is to be looked at
	Take  Action
}

const notWhole = "Not whole yet"

// How many slings are told of (site policy, no source).
const (
	offersMost = 6
	nearMost   = 4
	triedMost  = 60 // of those that fit, for a few that may be offered
)

// seeLiftFor works out the answer to a form. Where something is missing it says what, and
// nothing is guessed in its place.
func (s *Server) seeLiftFor(v *visit, f liftForm) (*LiftSeen, error) {
	stated, wrong := f.read(v.liftTerms())
	p := &LiftSeen{}
	if len(wrong) > 0 {
		p.Head = notWhole
		p.Missing = missing(wrong)
		return p, nil
	}
	w := v.wordsOf(nil)
	ask := v.askOf(stated)
	rack, ids, err := s.rackNow(v)
	if err != nil {
		return nil, err
	}
	choice, err := rack.Choose(ask, nearMost)
	if wrong, ok := errors.AsType[*gate.QuestionError](err); ok {
		p.Head, p.Missing = "This lift cannot be", []Want{{Sentence: upperFirst(wrong.Reason) + ".", Path: "#matter"}}
		return p, nil
	} else if err != nil {
		return nil, err
	}
	if stated.Share == event.Beam && stated.Stated {
		p.Head = "Each sling has its own part"
		p.Why = []Reason{{Sentence: "What each sling carries is asked when it is scanned, so none can be offered before."}}
		return p, nil
	}
	found, err := s.offers(v, choice, ids)
	if err != nil {
		return nil, err
	}
	p.offer(found, choice, stated, w)
	if err := s.nearly(v, p, &ask, choice.Near, ids, w); err != nil {
		return nil, err
	}
	drawn := p.impossible(&ask, rack, found, choice, v, w)
	p.draw(&ask, drawn, w)
	return p, nil
}

// missing lists what is still to be said, in the order of the page.
func missing(wrong complaints) (list []Want) {
	for _, name := range append([]string{"who"}, liftFields()...) {
		if says := wrong[name]; says != "" {
			list = append(list, Want{Sentence: says, Path: "#" + placeOf(name)})
		}
	}
	return list
}

// placeOf is where something is asked on the page: fields have their own, and choices
// that of what stands around them.
func placeOf(name string) string {
	switch name {
	case "who":
		return "matter"
	case "unit", "known", "back", "hitch", "legs", "together", "parts", "angle", "from", "length-unit", "centred", "choke", "bears", "radius-unit",
		"special", "use", "heat", "scale", "crane", "lower":
		return "q-" + name
	}
	return "f-" + name
}

// tablesOf are the tables by which a crib of such units orders slings.
func tablesOf(u quantity.Units) rating.System {
	if u == quantity.Metric {
		return rating.EN
	}
	return rating.US
}

// askOf is what slings are chosen by.
func (v *visit) askOf(stated statedLift) fit.Ask {
	var crane event.Crane
	for _, c := range v.crib.Founded.Policy.Cranes {
		if c.Name == stated.Crane {
			crane = c
		}
	}
	return fit.Ask{Now: v.today, Policy: counter.Policy(v.crib.Founded.Policy), Lift: fit.LiftOf(stated.StatedLift, crane, v.crib.Founded.Units)}
}

// impossible says why no sling goes and what would help, and gives the sling that the
// lift is drawn with: the first that fits, one that nearly does, or else one of the
// tables, which hangs nowhere.
func (p *LiftSeen) impossible(ask *fit.Ask, rack *fit.Rack, found []offered, c fit.Choice, v *visit, w words) *fit.Sling {
	if len(found) > 0 {
		first := found[0].Sling
		p.With = "Drawn with " + first.Ident + "."
		return first
	}
	builds := rack.Builds()
	if len(builds) == 0 {
		builds = []fit.Build{{System: tablesOf(v.crib.Founded.Units), Grade: rating.Grade80}}
	}
	var with *fit.Sling
	if x, ok := ask.Largest(builds[0]); ok {
		with = &x
		p.With = "Drawn with a sling of the tables that does not hang here."
	}
	for _, m := range c.Near {
		if _, hangs := ask.Picture(m.Sling); hangs {
			with, p.With = m.Sling, "Drawn with "+m.Sling.Ident+", which nearly fits."
			break
		}
	}
	if with == nil {
		return nil
	}
	against, a := judged(ask, with)
	for _, r := range against {
		t := w.says(r, a)
		p.Why = append(p.Why, Reason{Sentence: t.Sentence, Rule: t.Rule, InFull: t.InFull})
	}
	for _, d := range ask.Helps(with) {
		p.Helps = append(p.Helps, w.say(d.Words(w.lead)))
	}
	for _, b := range builds {
		if spec, ok := ask.Smallest(b.System, b.Grade); ok {
			p.Spec = w.say(upperFirst(spec.Words(w.lead)))
			break
		}
	}
	return with
}

// draw draws the lift with a sling.
func (p *LiftSeen) draw(ask *fit.Ask, with *fit.Sling, w words) {
	if with == nil {
		return
	}
	picture, ok := ask.Picture(with)
	if !ok {
		p.With = ""
		return
	}
	p.Side, p.Plan = drawHanging(picture, w.lead, w.carried(picture))
	if len(picture.Picks) == 1 {
		p.Plan = Drawing{}
	}
	if !picture.Drawn && len(picture.Picks) > 1 {
		p.With += " Where the pick points are was not stated: they are drawn evenly around the middle."
	}
	for i, leg := range picture.Legs {
		l := LegSeen{Name: strconv.Itoa(i + 1), Horizontal: angleText(leg.Angle), Vertical: verticalText(leg.Angle), Class: shareClass(picture, i), Share: "a part of its rating that is not known", Carries: "what is not known"}
		if i < len(picture.Carries) {
			needs := w.needs("", picture.Carries[i])
			l.Carries, l.Small = needs.Value, needs.Small
		}
		if i < len(picture.Shares) {
			l.Share = strconv.FormatFloat(math.Ceil(picture.Shares[i]*100-1e-6), 'f', 0, 64) + " % of its rating"
		}
		p.Legs = append(p.Legs, l)
	}
	p.Facts = append(p.Facts, Fact{Label: "Hook over the lowest pick point", Value: w.lead.Long(picture.Rise), Small: w.other.Long(picture.Rise)})
	if room := picture.Room; room != nil {
		f := Fact{Label: "Room left over the hook", Value: w.lead.Long(max(*room, 0)), Small: w.other.Long(max(*room, 0))}
		if *room < 0 {
			f = Fact{Label: "The hook has too little room, by", Value: w.lead.Long(-*room), Small: w.other.Long(-*room), Over: true}
		}
		p.Facts = append(p.Facts, f)
	}
	if len(picture.Picks) > 1 {
		p.Facts = append(p.Facts, Fact{Label: "Hangs from level by", Value: fmt.Sprintf("%.1f°", picture.Tilt), Over: picture.Tilt > ask.Policy.MaxTilt.Degrees()})
	}
}

// verticalText is an angle from vertical in tenths of a degree, rounded up.
func verticalText(fromHorizontal float64) string {
	return fmt.Sprintf("%.1f°", math.Ceil((90-fromHorizontal)*10-1e-6)/10)
}
