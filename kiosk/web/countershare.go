package web

import (
	"fmt"

	"cribgate/core/event"
)

// A sharing is how far a shared lift is on the loan.
type sharing struct{ on, of int }

// short tells whether a card's sling may go and yet does not, since others that share
// its lift are not on the loan, and how far it is.
func (l loanSeen) short(t *turn, c *card) (sharing, bool) {
	si := l.sights[c.N]
	if si.stage != mayGo {
		return sharing{}, false
	}
	s := sharing{of: si.stated.Many()}
	for _, other := range t.lines() {
		if other.For == c.For && l.sights[other.N].stage == mayGo {
			s.on++
		}
	}
	return s, s.on < s.of
}

// String says how far, such as 1 of 2 on the loan.
func (s sharing) String() string { return fmt.Sprintf("%d of %d on the loan", s.on, s.of) }

// others says what is to be scanned before any of them goes.
func (s sharing) others(stated statedLift, w words) string {
	text := s.String() + fmt.Sprintf(": scan the %d others", s.of-s.on)
	if s.of-s.on == 1 {
		text = s.String() + ": scan the other one"
	}
	if stated.Share == event.OneHook {
		text += w.say(", same size, grade and reach")
	}
	return text + "."
}

// share takes the way to go from slings of a shared lift that is not whole: the plate
// of the one that is shown asks for the others, and where something else is shown, a
// line says what is missing.
func (p *CounterPage) share(t *turn, c *card, l loanSeen, w words) {
	told := map[int]bool{}
	if c != nil {
		if s, short := l.short(t, c); short {
			si := l.sights[c.N]
			told[c.For] = true
			p.Plate = Plate{Verdict: LookCloser, Name: si.sling.Details.Ident, Sentence: s.others(si.stated, w) + " None of them goes before."}
		}
	}
	for _, line := range t.lines() {
		s, short := l.short(t, line)
		if !short || told[line.For] {
			continue
		}
		told[line.For] = true
		text := s.others(l.sights[line.N].stated, w)
		if len(t.For) > 1 {
			text = t.title(line.For) + ": " + text
		}
		p.Missing = append(p.Missing, text+" None of them goes before.")
	}
}
