package state

import (
	"slices"

	"cribgate/core/event"
	"cribgate/core/quantity"
)

// A Reading is how much of a tag's error correction was left when it was read, of its
// worst block. The zero Reading is none.
type Reading struct {
	Day       quantity.Date
	Left      int  // whole per cent, rounded down
	Resembled bool // it could not be read, and was told by comparing it with what is known
}

// Wear is what the readings of a tag came to. The zero Wear knows of none: the tag
// is as it was printed.
type Wear struct{ First, Last Reading }

// LeastLeft is the correction, in per cent, under which a tag is to be replaced at
// once: the lower end of grade C (ISO/IEC 15415, 0.37).
const LeastLeft = 37

// A reading is news where so much less is left than before, or so much more, which is
// after the tag was wiped, and on another day: a share of the correction comes and
// goes with light and dirt, and a tag tells a dozen times in its life (site policy, no
// source).
const (
	newsWorse  = 15 // per cent of the correction
	newsBetter = 30
)

// wornSoon is within how many days a tag must be going to fail for the next one to be
// asked for, and wornOver over how many at least it was watched (site policy, no
// source).
const (
	wornSoon = 60
	wornOver = 14
)

// left is what the tag was last known to have.
func (w Wear) left() int {
	if w.Last == (Reading{}) {
		return 100
	}
	return w.Last.Left
}

// News tells whether a reading is worth an event.
func (w Wear) News(r Reading) bool {
	last := w.left()
	switch {
	case r.Resembled || w.Last.Resembled && !r.Resembled:
		return r.Resembled != w.Last.Resembled && (r.Resembled || r.Day != w.Last.Day)
	case r.Left <= last-newsWorse, r.Left < LeastLeft && last >= LeastLeft:
		return true
	}
	return r.Left >= last+newsBetter && r.Day != w.Last.Day
}

// Fails tells whether a tag that was printed on that day is to be replaced: it could
// not be read or is under grade C, or will be in less than wornSoon days if it goes on
// as it did since it was printed, or since it was best.
func (w Wear) Fails(printed quantity.Date) bool {
	if w.Last == (Reading{}) {
		return false
	}
	if w.Last.Resembled || w.Last.Left < LeastLeft {
		return true
	}
	from := Reading{Day: printed, Left: 100}
	if w.First.Left > w.Last.Left && w.First.Day != w.Last.Day {
		from = w.First
	}
	days, lost := w.Last.Day.DaysSince(from.Day), from.Left-w.Last.Left
	if days < wornOver || lost <= 0 {
		return false
	}
	return (w.Last.Left-LeastLeft)*days <= wornSoon*lost
}

// read keeps what a reading came to.
func (s Sling) read(b event.TagRead, e Event) Sling {
	i := slices.IndexFunc(s.Tags, func(t Tag) bool { return t.Serial == b.Serial })
	if i < 0 {
		s.Doubt |= Contradicts
		return s
	}
	s.Tags = slices.Clone(s.Tags)
	r := Reading{Day: e.Day, Left: b.Left(), Resembled: b.Resembled}
	w := &s.Tags[i].Wear
	if w.First == (Reading{}) || r.Left >= w.First.Left {
		w.First = r
	}
	w.Last = r
	return s
}
