package crib

import (
	"fmt"
	"strings"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/tagcode"
	"cribgate/kiosk/counter"
)

// withLoans is for how many days before the end issues are lines of a loan; before
// that slings were issued one by one.
const withLoans = 30

// badgeStock is the stock that badges are printed on.
const badgeStock = "badge"

// draws fills an id.
func (p *play) draws(id []byte) error {
	if _, err := p.ids.Read(id); err != nil {
		return fmt.Errorf("draw an id: %w", err)
	}
	return nil
}

// line is the only line of a loan.
func (p *play) line(l gate.Lift) (event.Line, error) {
	line := event.Line{Lift: 1, Weighed: l.Margin == 0}
	if a := l.Angle; a != nil && a.From == gate.FromHorizontal {
		line.Drawn = a.Size == 60*quantity.Degree || a.Size == 45*quantity.Degree || a.Size == 30*quantity.Degree
	}
	return line, p.draws(line.Loan[:])
}

// badges prints everybody's badge.
func (p *play) badges() error {
	for i, person := range p.people {
		if person.until <= p.day {
			continue
		}
		story := p.stories[person.ID]
		story.ID = person.ID
		next, ok := story.NextBadge(p.key.Fingerprint())
		if !ok {
			return fmt.Errorf("%s has no next badge", person.Name)
		}
		sealed, err := next.Seal(p.key)
		if err != nil {
			return fmt.Errorf("badge of %s: %w", person.Name, err)
		}
		p.people[i].Badge = sealed.Text()
		if err := p.onPerson(person, p.people[0], event.BadgePrinted{
			Serial: next.Serial, Key: next.Key, Digest: tagcode.Digest(sealed.Text()), Until: next.Until, Stock: badgeStock,
		}); err != nil {
			return err
		}
	}
	return nil
}

// heaped is how many slings came back in a heap.
const heaped = 4

// sceneHeap has some slings come back without their riggers; nobody has looked at
// them yet.
func (p *play) sceneHeap() error {
	var heap []*sling
	for range heaped {
		s, err := p.goesOut(p.ready)
		if err != nil {
			return err
		}
		if s != nil {
			heap = append(heap, s)
			p.shown[s.n] = true
		}
	}
	clerk := p.someone(event.Attendant)
	for i, s := range heap {
		p.later(time.Second)
		if err := p.on(s, clerk, counterStation, counter.Scanner, event.TakenIn{From: s.now.Loan.Rigger}); err != nil {
			return err
		}
		if i == 0 {
			p.scene("unchecked", "came back in a heap without its rigger, and nobody has looked at it yet", s)
		}
	}
	return nil
}

// sceneAway leaves three slings outside: one is wanted back, one is kept at a machine,
// and one falls due there.
func (p *play) sceneAway() error {
	for _, out := range []struct {
		name, shows string
		is          func(*sling) bool
		body        event.Body
	}{
		{"due-soon", "out with a rigger, and its inspection is due within a fortnight", p.dueSoon, nil},
		{"recalled", "out with a rigger, and wanted back", p.ready, event.Recalled{Reason: "needed for the lift on the slipway", By: p.today().AddDays(2)}},
		{"placed", "out, and kept at a machine", p.ready, event.Placed{Area: "press 4"}},
	} {
		s, err := p.goesOut(out.is)
		if err != nil {
			return err
		}
		if s == nil {
			continue
		}
		p.later(time.Minute)
		if out.body != nil {
			if err := p.on(s, p.someone(event.Attendant), counterStation, counter.Hand, out.body); err != nil {
				return err
			}
		}
		p.scene(out.name, out.shows, s)
	}
	return nil
}

// dueSoon says whether a sling hangs there that is due within a fortnight.
func (p *play) dueSoon(s *sling) bool {
	left := s.details().Sling.Due.DaysSince(p.today())
	return s.is(gate.StateIn) && serial(s) != 0 && s.odd == sound && !s.first && s.details().Outcome == tagcode.Fit && left >= 3 && left <= 14
}

// sceneStray keeps a sling apart that the register does not know.
func (p *play) sceneStray() error {
	return p.onCrib(p.someone(event.Attendant), event.Stray{
		No: p.crib.LastNo + 1, Lies: "quarantine cage, shelf 2", Note: "one leg, no plate; came back on the barge between two of ours",
	})
}

// fewest and most are how many slings hang at the place that is counted.
const fewest, most = 4, 25

// sceneCount counts one place of the rack: one sling is not seen, and one hangs there
// that belongs elsewhere.
func (p *play) sceneCount() error {
	place, here := "", []*sling(nil)
	for letter := 'A'; letter <= 'Z' && place == ""; letter++ {
		if here = p.hanging(string(letter)); len(here) >= fewest && len(here) <= most {
			place = string(letter)
		}
	}
	if place == "" {
		return nil
	}
	strange := p.find(func(s *sling) bool { return p.ready(s) && !strings.HasPrefix(s.details().Place, place+"-") })
	clerk := p.someone(event.Attendant)
	var count event.CountID
	if err := p.draws(count[:]); err != nil {
		return err
	}
	if err := p.onCrib(clerk, event.CountBegun{Count: count, Places: []string{place}}); err != nil {
		return err
	}
	seen := here[:len(here)-1]
	if strange != nil {
		seen = append(seen[:len(seen):len(seen)], strange)
	}
	for _, s := range seen {
		p.later(2 * time.Second)
		if err := p.on(s, clerk, counterStation, counter.Scanner, event.Seen{Count: count, Place: place}); err != nil {
			return err
		}
	}
	ended := event.CountEnded{Count: count}
	for _, s := range p.slings {
		switch counter.SightOf(s.now, count, []string{place}) {
		case counter.SeenThere:
			ended.Tally.Seen++
		case counter.WrongPlace:
			ended.Tally.WrongPlace++
		case counter.OutButHere:
			ended.Tally.OutButHere++
		case counter.NotSeen:
			ended.Tally.NotSeen++
		}
	}
	return p.onCrib(clerk, ended)
}

// hanging gives the slings that should hang at a place.
func (p *play) hanging(place string) (list []*sling) {
	for _, s := range p.slings {
		if s.now.Events > 0 && counter.Hangs(s.details().Sling.State) && strings.HasPrefix(s.details().Place, place+"-") {
			list = append(list, s)
		}
	}
	return list
}

// Usual is the rigger who took two slings for one lift on the last day, and will be
// asked whether it is the same again.
const Usual = "Ruth Ironmallow"

// sceneSame has Usual take two slings for 5,000 lb on two legs at 60° from horizontal,
// and bring them back.
func (p *play) sceneSame() error {
	var rigger Person
	for _, person := range p.people {
		if person.Name == Usual {
			rigger = person
		}
	}
	lift := gate.Lift{Use: gate.UseOrdinary, Load: 5000 * quantity.Pound, Hitch: gate.Straight, Legs: 2, Centred: true,
		Angle: &gate.Angle{From: gate.FromHorizontal, Size: 60 * quantity.Degree}, ReturnBy: p.today()}
	line, err := p.line(lift)
	if err != nil {
		return err
	}
	clerk := p.someone(event.Attendant)
	var taken []*sling
	for range 2 {
		s := p.find(func(s *sling) bool {
			plate := s.details().Sling.Plate
			return p.ready(s) && plate.Legs == 2 && plate.System == rating.US
		})
		if s == nil {
			break
		}
		question := counter.Question(s.now, p.policy, p.today(), &lift)
		answer, err := gate.Decide(question)
		if err != nil {
			return fmt.Errorf("%s for %s: %w", s.details().Ident, Usual, err)
		}
		if !answer.May() {
			return fmt.Errorf("%s for %s: %v", s.details().Ident, Usual, answer.Reasons)
		}
		verdict, err := recorded(question, answer)
		if err != nil {
			return err
		}
		p.later(time.Second)
		if err := p.on(s, clerk, counterStation, counter.Scanner, event.Issued{Rigger: rigger.ID, ReturnBy: lift.ReturnBy, Serial: serial(s), Verdict: verdict, Line: line, Use: event.UseOf(verdict)}); err != nil {
			return err
		}
		taken = append(taken, s)
	}
	for _, s := range taken {
		p.later(time.Minute)
		if err := p.back(s, event.Nothing, ""); err != nil {
			return err
		}
	}
	return nil
}
