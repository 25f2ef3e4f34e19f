package web

import (
	"fmt"

	"cribgate/core/event"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
)

// noteRead records what the readings of the tag came to that led to a sling, where it
// is news.
func (s *Server) noteRead(v *visit, sling state.Sling, reading counter.Reading, key string) error {
	r, ok := s.Worn.Wear(reading.Text)
	if !ok || !v.may(actCounter) {
		return nil
	}
	return s.Counter.NoteRead(v.r.Context(), v.by(reading.Way, key), sling, r)
}

// wornTag says at the counter that a sling's tag is to be replaced: it could not be
// read, or will not be for long.
func (p *CounterPage) wornTag(v *visit, c *card, si sight) {
	live, ok := si.sling.Live()
	switch {
	case !si.known || !ok || si.sling.Wants() != state.WantsWorn:
		return
	case c.Way == counter.Resembles:
		p.Worn = "Its tag is too worn to be read and was told by what it resembles."
	case live.Wear.Last.Left < state.LeastLeft:
		p.Worn = "Its tag still reads, with little to spare."
	default:
		p.Worn = "Its tag wears fast and will soon not read any more."
	}
	switch {
	case si.blind || !v.may(actTag):
		p.Worn += " It needs the next one."
	default:
		p.Worn += " Print the next one."
		p.WornPath = slingPath(si.sling) + "/tag"
	}
}

// wornWords says how worn a tag is that was read.
func wornWords(t state.Tag) string {
	switch last := t.Wear.Last; {
	case last == (state.Reading{}):
		return "as printed, as far as it was read"
	case last.Resembled:
		return "it could not be read on " + last.Day.Long()
	default:
		return itoa(last.Left) + " % of its error correction was left on " + last.Day.Long()
	}
}

// readWords says what a reading came to.
func readWords(b event.TagRead) string {
	if b.Resembled {
		return "it could not be read, and was told by what it resembles."
	}
	text := fmt.Sprintf("%d %% of its error correction is left", b.Left())
	if len(b.Blocks) > 1 {
		text += " in the worst of its " + itoa(len(b.Blocks)) + " blocks"
	}
	return text + "."
}
