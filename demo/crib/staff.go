package crib

import (
	"fmt"
	"time"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/kiosk/counter"
)

// askEvery is once in how many issues the plate's characters are asked for,
// from a third of the history on (site policy, no source).
const askEvery = 25

// opening says what the crib decides for itself when it is founded.
func opening() event.Policy {
	return event.Policy{MaxMonths: 12, MaxTilt: 5 * quantity.Degree, MarginPct: 5}
}

// staff writes who comes, who goes and what the crib decides today.
func (p *play) staff() error {
	p.until(p.clock(6 * time.Hour))
	keeper := p.people[0]
	for i, person := range p.people {
		var bodies []event.Body
		if person.from == p.day && i > 0 { // the first keeper came with the register
			bodies = append(bodies, event.PersonAdded{Name: person.Name, Roles: person.Roles, Terms: person.Terms})
		}
		if person.from == p.day && person.PIN != "" {
			bodies = append(bodies, event.PINSet{})
		}
		if person.until == p.day {
			bodies = append(bodies, event.PersonChanged{Name: person.Name, Roles: person.Roles, Terms: person.Terms, Here: false})
		}
		for _, body := range bodies {
			if err := p.onPerson(person, keeper, body); err != nil {
				return err
			}
		}
	}
	if p.day == p.days/3 {
		return p.setPolicy(keeper)
	}
	return nil
}

func (p *play) onPerson(person, by Person, body event.Body) error {
	p.later(time.Second)
	e, err := p.book.write(entry{
		at: p.at, by: by.ID, station: officeStation, way: string(counter.Hand),
		subject: event.Person(person.ID), parents: p.stories[person.ID].Heads, body: body,
	})
	if err != nil {
		return fmt.Errorf("%s of %s: %w", body.Kind(), person.Name, err)
	}
	story := p.stories[person.ID]
	story.ID = person.ID
	p.stories[person.ID] = story.Apply(e)
	p.events++
	return nil
}

func (p *play) setPolicy(keeper Person) error {
	p.policy.AskEvery = askEvery
	p.policy.Cranes = []event.Crane{{Name: "North bay", Hook: wholeMM(5 * quantity.Inch / 2)}, {Name: "Slipway", Hook: wholeMM(7 * quantity.Inch / 2)}}
	return p.onCrib(keeper, event.PolicySet{Policy: p.policy})
}

// onCrib writes a fact of the crib's own story, and folds it.
func (p *play) onCrib(by Person, body event.Body) error {
	p.later(time.Second)
	e, err := p.book.write(entry{
		at: p.at, by: by.ID, station: officeStation, way: string(counter.Hand),
		subject: event.Crib(), parents: p.crib.Heads, body: body,
	})
	if err != nil {
		return fmt.Errorf("%s: %w", body.Kind(), err)
	}
	p.crib = p.crib.Apply(e)
	p.events++
	return nil
}
