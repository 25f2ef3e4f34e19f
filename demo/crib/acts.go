package crib

import (
	"fmt"
	"time"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/rating"
	"cribgate/core/tagcode"
	"cribgate/kiosk/counter"
	"cribgate/labeler/symbol"
)

// Stations of the crib.
const (
	counterStation = "counter-1"
	benchStation   = "bench-1"
	officeStation  = "office-1"
)

// stock is the tag stock that the crib uses.
const stock = "plate-50x80"

// on writes a fact of a sling's story, and folds it.
func (p *play) on(s *sling, by Person, station string, way counter.Way, body event.Body) error {
	e, err := p.book.write(entry{
		at: p.at, by: by.ID, station: station, way: string(way),
		subject: event.Sling(s.now.ID), parents: s.now.Heads, body: body,
	})
	if err != nil {
		return fmt.Errorf("%s of %s: %w", body.Kind(), s.details().Ident, err)
	}
	if s.now = s.now.Apply(e); s.now.Doubt != 0 {
		return fmt.Errorf("%s of %s cannot happen after its story", body.Kind(), s.details().Ident)
	}
	p.events++
	if s.now.Events == 1 {
		p.entered++
	}
	return nil
}

// later lets some time go by between two facts of one act.
func (p *play) later(most time.Duration) {
	p.until(p.at.Add(time.Millisecond + time.Duration(p.rng.Int64N(int64(most)))))
}

// do does a chore.
func (p *play) do(t task) error {
	switch t.what {
	case enter:
		return p.register(t.sling)
	case examine:
		return p.examination(t.sling)
	case lookAt:
		return p.look(t.sling)
	case bringIn:
		return p.comeBack(t.sling)
	case searchIn:
		return p.search(t.sling)
	case mend:
		return p.correct(t.sling)
	}
	return fmt.Errorf("chore %d is none", t.what)
}

func (p *play) register(s *sling) error {
	plate := first()
	if !s.first {
		plate = bought(p.rng)
	}
	for s.odd == heated && plate.Grade == rating.Grade120 { // such heat would have been its end
		plate = bought(p.rng)
	}
	d := hang(p.rng, s.n, len(p.slings), plate, s.odd, p.today())
	if p.day == p.days-1 { // for the stage
		d.Service, d.Months, d.Sling.Inspected = due.Normal, 0, p.today().AddDays(-3)
	}
	if s.first {
		d.Service, d.Months = due.Normal, 0
	}
	var err error
	if d.Sling.Due, err = due.Next(d.Sling.Inspected, d.Service, due.US, d.Months); err != nil {
		return fmt.Errorf("register %s: %w", d.Ident, err)
	}
	s.now.ID = event.SlingOf(p.key.Fingerprint(), d.Ident)
	if err := p.on(s, p.someone(event.Keeper), officeStation, counter.Hand, event.Registered{Details: d}); err != nil {
		return err
	}
	if err := p.tag(s); err != nil {
		return err
	}
	p.planExamination(s)
	return nil
}

// tag prints the next tag and confirms it on the sling.
func (p *play) tag(s *sling) error {
	p.later(time.Second)
	if err := p.print(s); err != nil {
		return err
	}
	p.later(time.Second)
	return p.confirm(s)
}

func (p *play) print(s *sling) error {
	serial := s.now.NextSerial()
	says, err := s.now.Tag(p.key.Fingerprint(), serial)
	if err != nil {
		return fmt.Errorf("print: %w", err)
	}
	sealed, err := says.Seal(p.key)
	if err != nil {
		return fmt.Errorf("print: %w", err)
	}
	text := sealed.Text()
	digest := tagcode.Digest(text)
	mask := int(digest[0] % 8)
	if p.drawn {
		drawn, err := symbol.Encode(text)
		if err != nil {
			return fmt.Errorf("print: %w", err)
		}
		mask = drawn.Mask()
	}
	s.tags[1], s.tags[0] = s.tags[0], text
	return p.on(s, p.someone(event.Inspector|event.Keeper), officeStation, counter.Program, event.TagPrinted{
		Serial: serial, Key: p.key.Fingerprint(), Digest: digest,
		Version: symbol.Version, Level: symbol.LevelH.String(), Mask: mask, Stock: stock,
	})
}

func (p *play) confirm(s *sling) error {
	serial := s.now.Tags[len(s.now.Tags)-1].Serial
	return p.on(s, p.someone(event.Inspector|event.Keeper), benchStation, counter.Scanner,
		event.TagConfirmed{Serial: serial, Typed: ending(s)})
}

// ending is what somebody types who reads the plate.
func ending(s *sling) string {
	ident := s.details().Ident
	return ident[max(0, len(ident)-3):]
}

// serial is that of the tag on the sling, zero where there is none.
func serial(s *sling) tagcode.Serial {
	live, ok := s.now.Live()
	if !ok {
		return 0
	}
	return live.Serial
}

// happened is what riggers say when they bring a sling back.
var happened = []share[event.Said]{{975, event.Nothing}, {17, event.Something}, {8, event.NotKnown}}

var mishaps = []string{"load slipped and was caught", "snagged under the deck edge", "one leg was pulled over a corner",
	"found under hot slag", "latch does not close", "a link looks bent", "hook opened a little"}

func (p *play) comeBack(s *sling) error {
	left := p.days - 1 - p.day
	switch {
	case s.first:
		return p.back(s, event.Nothing, "")
	case left > 0 && left < 7 && p.kept[lateOne] == 0:
		p.kept[lateOne]++
		return nil
	case left >= 7 && left < 25 && p.kept[lostOne] == 0:
		p.kept[lostOne]++
		return p.on(s, p.someone(event.Attendant), counterStation, counter.Hand, event.Lost{Note: "was on the barge that left"})
	case p.rng.IntN(800) == 0:
		clerk := p.someone(event.Attendant)
		p.plan(p.next(20+p.rng.IntN(60)), searchIn, s)
		return p.on(s, clerk, counterStation, counter.Hand, event.Lost{Note: "not among what came back, and nobody knows where it is"})
	}
	said, note := choose(p.rng, happened), ""
	if said == event.Something {
		note = mishaps[p.rng.IntN(len(mishaps))]
	}
	return p.back(s, said, note)
}

func (p *play) back(s *sling, said event.Said, note string) error {
	from := s.now.Loan.Rigger
	if said != event.Nothing {
		p.plan(p.next(1+p.rng.IntN(4)), lookAt, s)
	}
	return p.on(s, p.someone(event.Attendant), counterStation, counter.Scanner, event.Returned{From: from, Said: said, Note: note})
}

func (p *play) search(s *sling) error {
	if s.is(gate.StateLost) && p.rng.IntN(2) == 0 {
		p.plan(p.next(1+p.rng.IntN(3)), lookAt, s)
		return p.on(s, p.someone(event.Attendant), counterStation, counter.Scanner, event.Found{Note: "in the scrap bin behind the slip"})
	}
	return nil
}
