package crib

import (
	"context"
	"fmt"
	"math/rand/v2"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/core/tagcode"
)

// A sling is one of the crib's, with what its present does not say.
type sling struct {
	n     int         // its number, from 1
	now   state.Sling // as folded
	tags  [2]string   // texts of its newest tag and of the one before
	odd   oddity
	asked bool // the gate has said that its stamp cannot be
	first bool // kept plain and near to hand
}

func (s *sling) details() *event.Details { return &s.now.Details }

func (s *sling) is(st gate.State) bool { return s.now.Details.Sling.State == st }

// What is to happen on a day to one sling.
type chore uint8

const (
	enter    chore = iota + 1 // it is registered and tagged
	examine                   // a thorough inspection is planned
	lookAt                    // it is held, and an inspector looks at it
	bringIn                   // it comes back
	searchIn                  // it was missed, and is looked for
	mend                      // what was registered is read again off the plate
)

type task struct {
	what  chore
	sling *sling
}

// A play is a history under way.
type play struct {
	book    book
	seed    uint64
	rng     *rand.Rand
	ids     *rand.ChaCha8 // of loans and counts
	key     tagcode.Key
	crib    state.Crib
	policy  event.Policy
	people  []Person
	stories map[event.PersonID]state.Person
	slings  []*sling
	agenda  map[int][]task
	drawn   bool // symbols are drawn to learn their mask
	zone    *time.Location

	kept    [keptKinds]int
	shown   map[int]bool // slings that a sample is about
	samples []Sample

	start   quantity.Date
	days    int // the last day is days − 1
	day     int
	at      time.Time // of the newest act
	events  int       // written so far
	entered int       // slings registered so far
	target  int       // events wanted in all; 0 for a usual crib
}

// book is where the acts are written.
type book interface {
	// write appends a fact and gives it as the fold sees it.
	write(e entry) (state.Event, error)
}

// An entry is one fact before it is in the log.
type entry struct {
	at      time.Time
	by      event.PersonID
	station string
	way     string
	subject event.Subject
	parents []event.Hash
	body    event.Body
}

func (p *play) today() quantity.Date { return p.start.AddDays(p.day) }

// workday says whether the crib is open: Monday to Friday.
func (p *play) workday(day int) bool {
	monday, _ := quantity.NewDate(2024, 1, 1)
	n := p.start.AddDays(day).DaysSince(monday) % 7
	return (n+7)%7 < 5
}

// next is the first workday at least n days after today.
func (p *play) next(n int) int {
	day := p.day + n
	for !p.workday(day) {
		day++
	}
	return day
}

func (p *play) plan(day int, what chore, s *sling) {
	p.agenda[day] = append(p.agenda[day], task{what, s})
}

// take empties today's page of the chores of those kinds.
func (p *play) take(kinds ...chore) []task {
	var mine, rest []task
	for _, t := range p.agenda[p.day] {
		keep := true
		for _, k := range kinds {
			if t.what == k {
				mine, keep = append(mine, t), false
			}
		}
		if keep {
			rest = append(rest, t)
		}
	}
	p.agenda[p.day] = rest
	return mine
}

// chunk is how many events are written in one transaction.
const chunk = 100_000

// run plays on, for some chunk of events or to the end; p.day is then the first
// day that is left.
func (p *play) run(ctx context.Context, progress func(done, of int)) error {
	for full := p.events + chunk; p.day < p.days && p.events < full; p.day++ {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := p.play(); err != nil {
			return fmt.Errorf("%s: %w", p.today(), err)
		}
		delete(p.agenda, p.day)
		if progress != nil {
			progress(p.day+1, p.days)
		}
	}
	return nil
}

// play plays one day.
func (p *play) play() error {
	if err := p.staff(); err != nil {
		return err
	}
	switch {
	case p.day == p.days-1:
		return p.lastDay()
	case p.day == p.days-1-away:
		if err := p.sceneLapsed(); err != nil {
			return err
		}
	}
	if p.workday(p.day) {
		return p.work()
	}
	p.agenda[p.day+1] = append(p.agenda[p.day+1], p.agenda[p.day]...)
	return nil
}

// furnish plans when the slings come: most when the register is founded, the
// others as they are bought.
func (p *play) furnish() {
	settle := min(10, p.days/4+1)
	for i := range p.slings {
		s := &sling{n: i + 1, first: i == 0}
		p.slings[i] = s
		day := p.rng.IntN(settle)
		if p.rng.IntN(100) < 15 && !s.first && p.days > 60 {
			day = settle + p.rng.IntN(p.days-settle-20)
		}
		if !s.first {
			s.odd = choose(p.rng, oddities)
		}
		if i < p.keepBack() {
			p.plan(day, enter, s)
		}
		if s.first {
			p.plan(max(settle, p.days-30), examine, s)
		}
	}
}

// work is a day: draws in the morning, papers before noon, draws after it,
// and what comes back in the afternoon.
func (p *play) work() error {
	draws := p.drawsToday()
	morning := draws * 6 / 10
	papers := p.take(enter, examine, lookAt, searchIn, mend)
	steps := []struct {
		from, to time.Duration
		n        int
		act      func(i int) error
	}{
		{6*time.Hour + 30*time.Minute, 8*time.Hour + 45*time.Minute, morning, p.draw},
		{9 * time.Hour, 11*time.Hour + 45*time.Minute, len(papers), func(i int) error { return p.do(papers[i]) }},
		{12*time.Hour + 30*time.Minute, 13*time.Hour + 40*time.Minute, draws - morning, p.draw},
	}
	for _, s := range steps {
		if err := p.spread(s.from, s.to, s.n, s.act); err != nil {
			return err
		}
	}
	back := p.take(bringIn)
	return p.spread(14*time.Hour, 16*time.Hour, len(back), func(i int) error { return p.do(back[i]) })
}

// spread does n acts one after the other between two times of the day.
func (p *play) spread(from, to time.Duration, n int, act func(i int) error) error {
	for i := range n {
		share := time.Duration(float64(to-from) * (float64(i) + p.rng.Float64()) / float64(n))
		p.until(p.clock(from + share))
		if err := act(i); err != nil {
			return err
		}
	}
	return nil
}

// clock is a time of today in the crib.
func (p *play) clock(sinceMidnight time.Duration) time.Time {
	y, m, d := p.today().YMD()
	return time.Date(y, time.Month(m), d, 0, 0, 0, 0, p.zone).Add(sinceMidnight).UTC()
}

// until sets the time of the next act; it never goes back.
func (p *play) until(t time.Time) {
	t = t.Truncate(time.Millisecond)
	if !t.After(p.at) {
		t = p.at.Add(time.Millisecond)
	}
	p.at = t
}

// drawsToday is how often somebody asks for a sling today: ten times a year for
// each sling, or as often as it takes to come to the target.
func (p *play) drawsToday() int {
	left := 0
	for d := p.day; d < p.days-1; d++ {
		if p.workday(d) {
			left++
		}
	}
	if p.target == 0 {
		mean := float64(len(p.slings)) * 10 / 250
		n := int(mean*(0.6+0.8*p.rng.Float64()) + p.rng.Float64())
		return n
	}
	// An inspection and its tag are three events, a draw and its return two.
	perDay := float64(len(p.slings)) * 3.4 / 365
	open := float64(p.target-p.events-p.entering()*3) - perDay*float64(p.days-p.day)
	return max(0, int(open/2/float64(max(left, 1))+p.rng.Float64()))
}

// entering counts the slings that are still to come.
func (p *play) entering() int { return len(p.slings) - p.entered }

// someone draws a person with one of roles who is here today. Who came lately only
// looks on.
func (p *play) someone(roles event.Roles) Person {
	var here []Person
	for _, person := range p.people[:len(p.people)-lately] {
		if person.Roles.Any(roles) && person.from <= p.day && p.day < person.until {
			here = append(here, person)
		}
	}
	return here[p.rng.IntN(len(here))]
}
