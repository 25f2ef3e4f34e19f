package crib

import (
	"fmt"
	"slices"
	"time"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/rating"
	"cribgate/core/tagcode"
	"cribgate/kiosk/counter"
)

// early is the most days before it is due that an inspection is planned.
const early = 21

// away is how many days before the end the inspectors are away on a course, so
// that the bench and the due list have something on them.
const away = 9

// planExamination writes the next thorough inspection into the agenda: some
// days before it is due, or well after where it is forgotten.
func (p *play) planExamination(s *sling) {
	left := s.details().Sling.Due.DaysSince(p.today())
	day := left - 1 - p.rng.IntN(early)
	forgotten := 10
	if p.day+left > p.days-30 {
		forgotten = 30 // before the inspectors' course
	}
	if !s.first && p.rng.IntN(100) < forgotten {
		day = left + 3 + p.rng.IntN(30)
	}
	p.plan(p.next(max(1, day)), examine, s)
}

// results of thorough inspections.
var results = []share[tagcode.Outcome]{{960, tagcode.Fit}, {22, tagcode.Hold}, {18, tagcode.Out}}

// examination is a planned thorough inspection. What is out is waited for;
// what is gone is not inspected any more, nor what was inspected meanwhile.
func (p *play) examination(s *sling) error {
	switch {
	case s.is(gate.StateLost), s.is(gate.StateRetired):
		return nil
	case s.details().Sling.Due.DaysSince(p.today()) > p.soon(s):
		return nil
	case !s.first && p.kept[overdueOnes] < 3 && s.details().Sling.Due.DaysSince(p.start)+3 < p.days && p.days-p.day < 40:
		p.kept[overdueOnes]++
		return nil
	case s.is(gate.StateOut), p.away() && !s.first:
		p.plan(p.next(1), examine, s)
		return nil
	}
	outcome := choose(p.rng, results)
	if s.first {
		outcome = tagcode.Fit
	}
	return p.inspect(s, p.someone(event.Inspector), outcome)
}

// soon is how many days before it is due an inspection is still one of this
// time round. The plain sling is looked at early, so that it is good for a while
// at the end.
func (p *play) soon(s *sling) int {
	if s.first {
		return 100
	}
	return early + 7
}

func (p *play) away() bool { return p.day > p.days-1-away }

// inspect records a thorough inspection and prints the new tag.
func (p *play) inspect(s *sling, by Person, outcome tagcode.Outcome) error {
	d := s.details()
	next, err := due.Next(p.today(), d.Service, due.US, d.Months)
	if err != nil {
		return fmt.Errorf("inspect %s: %w", d.Ident, err)
	}
	body := event.Inspected{
		Date: p.today(), Outcome: outcome, Service: d.Service, Months: d.Months, Due: next, RatingTag: d.Sling.RatingTag,
	}
	switch outcome {
	case tagcode.Hold:
		body.Note = "a seat is worn near its limit; to be measured again"
	case tagcode.Out:
		body.Note = "a link is worn below its least thickness"
	}
	if err := p.on(s, by, benchStation, counter.Scanner, body); err != nil {
		return err
	}
	if outcome != tagcode.Fit {
		p.plan(p.next(1+p.rng.IntN(4)), lookAt, s)
		return nil
	}
	if err := p.tag(s); err != nil {
		return err
	}
	p.planExamination(s)
	return nil
}

// look is an inspector at a held sling: it is retired, or found fit, tagged
// anew and released.
func (p *play) look(s *sling) error {
	switch {
	case !s.is(gate.StateHeld):
		return nil
	case p.away():
		p.plan(p.next(1), lookAt, s)
		return nil
	}
	by := p.someone(event.Inspector)
	if s.details().Outcome == tagcode.Out || !s.first && p.rng.IntN(100) < 12 {
		return p.on(s, by, benchStation, counter.Scanner, event.Retired{
			Reason: "not fit for service: " + s.now.Hold.Reason, How: "every leg cut through, plate kept with the record",
		})
	}
	if err := p.inspect(s, by, tagcode.Fit); err != nil {
		return err
	}
	p.later(time.Second)
	return p.on(s, by, benchStation, counter.Scanner, event.Released{Reason: "looked over link by link, nothing beyond the limits"})
}

// correct looks again at a plate that the gate did not accept: the load had been
// entered wrong, or the maker fits a new plate. The tag says something else by
// now, so a new one is printed.
func (p *play) correct(s *sling) error {
	switch {
	case s.is(gate.StateLost), s.is(gate.StateRetired):
		return nil
	case p.away():
		p.plan(p.next(1), mend, s)
		return nil
	}
	d := *s.details()
	d.Sling.Stamped = slices.Clone(d.Sling.Stamped)
	bases := make([]rating.Basis, len(d.Sling.Stamped))
	for i, st := range d.Sling.Stamped {
		bases[i] = st.Basis
	}
	d.Sling.Stamped = nil
	stamp(&d.Sling.Plate, bases...)
	d.Sling.RatingTag, s.odd = gate.TagLegible, sound
	if err := p.on(s, p.someone(event.Inspector), benchStation, counter.Hand, event.Corrected{
		Details: d, Reason: "plate read again, and renewed by the maker where it was worn",
	}); err != nil {
		return err
	}
	return p.tag(s)
}
