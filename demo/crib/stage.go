package crib

import (
	"errors"
	"fmt"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/kiosk/counter"
)

// A Sample is a tag that shows one thing. What the counter says to it follows
// from the register, not from here.
type Sample struct {
	Name  string // good, held, overdue…
	Ident string // what is printed on it; for good tags that of the sling
	Text  string // what the symbol says
	Short string // short code under it
	Shows string // one sentence: what it is about
}

// What is kept back in the last weeks, so that the stage has it.
const (
	lateOne     = iota // stays out over its day
	lostOne            // is not found again
	overdueOnes        // are not inspected
	keptKinds
)

// reserved slings stay back for the last day, to be registered then.
var reserved = []oddity{misread, lowStamp, wornPlate, heated, sound}

// keepBack takes the last slings out of the agenda where there are enough.
func (p *play) keepBack() int {
	if len(p.slings) < 10*len(reserved) {
		return len(p.slings)
	}
	return len(p.slings) - len(reserved)
}

// lastDay plays the last day and then puts on stage what a counter should have
// seen: one sling each of what can be the matter with one.
func (p *play) lastDay() error {
	if p.workday(p.day) {
		if err := p.work(); err != nil {
			return err
		}
	}
	p.until(p.clock(16 * time.Hour))
	for i, odd := range reserved {
		n := p.keepBack() + i
		if n >= len(p.slings) {
			break
		}
		s := p.slings[n]
		s.odd = odd
		p.later(time.Minute)
		if odd == sound {
			if err := p.registerNew(s); err != nil {
				return err
			}
			p.sample("never-inspected", s, 0, "new, and nobody has inspected it yet")
			continue
		}
		if err := p.register(s); err != nil {
			return err
		}
	}
	p.odd("stamp-too-high", misread, "a rated load was entered that no such plate can have")
	p.odd("stamped-lower", lowStamp, "its plate says less than the table, and the plate rules")
	p.odd("rating-tag-worn", wornPlate, "the maker's rating tag cannot be fully read")
	p.odd("heated", heated, "is known to have been hot, and is rated by what that leaves")
	p.scene("good", "a plain sling that may go out for a fitting lift", p.slings[0])
	p.scene("overdue", "its thorough inspection is overdue", p.find(func(s *sling) bool {
		return s.is(gate.StateIn) && s.details().Sling.Due.Before(p.today())
	}))
	p.scene("late", "out with a rigger and late", p.find(func(s *sling) bool {
		return s.is(gate.StateOut) && s.now.Loan.ReturnBy.Before(p.today())
	}))
	p.scene("lost", "nobody knows where it is; scanned, it has turned up", p.find(func(s *sling) bool { return s.is(gate.StateLost) }))
	p.scene("retired", "out of service for good", p.find(func(s *sling) bool { return s.is(gate.StateRetired) }))
	if s := p.find(func(s *sling) bool { return p.ready(s) && s.tags[1] != "" && len(s.now.Tags) > 1 }); s != nil {
		p.sample("replaced", s, 1, "an old tag of a sling that has a newer one")
	}
	for _, act := range []func() error{
		p.sceneHeld, p.sceneWaiting, p.sceneForged, p.sceneForeign, p.badges, p.sceneHeap, p.sceneAway, p.sceneStray, p.sceneCount, p.sceneSame,
	} {
		if err := act(); err != nil {
			return err
		}
	}
	return nil
}

// ready says whether a sling hangs there with nothing odd about it.
func (p *play) ready(s *sling) bool { return p.hangs(s) && s.odd == sound && !s.first }

// hangs says whether a sling hangs there, fit and tagged, for some time yet.
func (p *play) hangs(s *sling) bool {
	return s.is(gate.StateIn) && serial(s) != 0 && s.details().Outcome == tagcode.Fit && s.details().Sling.Due.After(p.today().AddDays(60))
}

// find gives the first sling of a kind that no sample is about yet, nil where
// there is none.
func (p *play) find(is func(*sling) bool) *sling {
	for _, s := range p.slings {
		if s.now.Events > 0 && !p.shown[s.n] && is(s) {
			return s
		}
	}
	return nil
}

func (p *play) odd(name string, odd oddity, shows string) {
	p.scene(name, shows, p.find(func(s *sling) bool { return s.odd == odd && p.hangs(s) }))
}

func (p *play) scene(name, shows string, s *sling) {
	if s != nil && s.tags[0] != "" {
		p.sample(name, s, 0, shows)
	}
}

// sample keeps the tag of a sling: its newest, or the one before.
func (p *play) sample(name string, s *sling, before int, shows string) {
	p.shown[s.n] = true
	p.keepSample(Sample{Name: name, Ident: s.details().Ident, Text: s.tags[before], Shows: shows})
}

func (p *play) keepSample(s Sample) {
	if sealed, err := tagcode.Parse(s.Text); err == nil {
		s.Short = tagcode.ShortOf(sealed.Number, sealed.Serial).String()
	}
	p.samples = append(p.samples, s)
}

// registerNew registers a sling without an inspection, as it came in its box.
func (p *play) registerNew(s *sling) error {
	d := hang(p.rng, s.n, len(p.slings), bought(p.rng), sound, p.today())
	d.Outcome, d.Sling.Inspected, d.Sling.Due = tagcode.NoOutcome, quantity.Date{}, quantity.Date{}
	s.now.ID = event.SlingOf(p.key.Fingerprint(), d.Ident)
	if err := p.on(s, p.someone(event.Keeper), officeStation, counter.Hand, event.Registered{Details: d}); err != nil {
		return err
	}
	return p.tag(s)
}

// goesOut sends out a sling of a kind; nil where none went.
func (p *play) goesOut(is func(*sling) bool) (*sling, error) {
	s := p.find(is)
	for range 20 {
		if s == nil || s.is(gate.StateOut) {
			return s, nil
		}
		p.later(time.Minute)
		if _, err := p.ask(s, p.someone(event.Rigger)); err != nil {
			return nil, err
		}
	}
	return nil, nil
}

// sceneHeld sends a sling out and has it come back after something happened.
func (p *play) sceneHeld() error {
	s, err := p.goesOut(p.ready)
	if s == nil || err != nil {
		return err
	}
	p.later(10 * time.Minute)
	if err := p.back(s, event.Something, "load slipped and was caught"); err != nil {
		return err
	}
	p.scene("held", "came back after something happened and waits for an inspector", s)
	return nil
}

// sceneWaiting prints some tags and leaves them unconfirmed.
func (p *play) sceneWaiting() error {
	for i := range 3 {
		s := p.find(p.ready)
		if s == nil {
			return nil
		}
		p.later(time.Minute)
		if err := p.print(s); err != nil {
			return err
		}
		p.shown[s.n] = true
		if i == 0 {
			p.scene("unconfirmed", "printed and not yet confirmed on its sling", s)
		}
	}
	return nil
}

// sceneLapsed prints a tag that nobody confirms in time. From now to the end no
// inspector is here who would replace it.
func (p *play) sceneLapsed() error {
	s := p.find(p.ready)
	if s == nil {
		return nil
	}
	p.later(time.Minute)
	if err := p.print(s); err != nil {
		return err
	}
	p.scene("lapsed", "printed, and not confirmed on its sling in time", s)
	return nil
}

// sceneForged changes the seal of the good tag.
func (p *play) sceneForged() error {
	text := []byte(p.slings[0].tags[0])
	last := len(text) - 1
	if text[last] != 'A' {
		text[last] = 'A'
	} else {
		text[last] = 'B'
	}
	if sealed, err := tagcode.Parse(string(text)); err != nil || !errors.Is(sealed.Verify(p.key), tagcode.ErrForged) {
		return fmt.Errorf("the forged tag of the samples is none: %w", err)
	}
	p.keepSample(Sample{Name: "forged", Ident: p.slings[0].details().Ident, Text: string(text), Shows: "looks like one of this crib's tags, with a wrong seal"})
	return nil
}

// sceneForeign seals a tag with the key of another crib.
func (p *play) sceneForeign() error {
	key, err := tagcode.NewKey(source(p.seed, "another crib"))
	if err != nil {
		return err
	}
	d := p.slings[0].details()
	const ident = "KX-77"
	says, err := state.TagOf(key.Fingerprint(), ident, 1, d.Sling.Inspected, d.Sling.Due, tagcode.Fit, d.Sling.TagFacts())
	if err != nil {
		return err
	}
	sealed, err := says.Seal(key)
	if err != nil {
		return err
	}
	p.keepSample(Sample{Name: "foreign", Ident: ident, Text: sealed.Text(), Shows: "a sound tag of another crib"})
	return nil
}
