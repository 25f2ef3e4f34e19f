package web

import (
	"slices"

	"cribgate/core/event"
	"cribgate/core/state"
	"cribgate/store"
)

// A Health is how worn the tag on a sling is, as a picture: what is left of the error
// correction of each block of its symbol, at the reading that was kept last, and what
// was left of the worst one at each before it. The zero Health is not shown.
type Health struct {
	Words  string
	Low    bool         // the next tag is asked for
	Blocks []HealthBar  // left at the last reading
	Before []HealthStep // of the worst block, the oldest first, the last one included
	Limit  int          // per cent, under which the next tag is asked for at once
}

// A HealthBar is one block.
type HealthBar struct {
	X, Left int // place, and per cent
	Low     bool
}

// A HealthStep is one reading that was kept.
type HealthStep struct {
	X, Left int
	Day     string
	Low     bool
}

// How wide a bar stands, and how many readings are shown: a tag has a dozen at most.
const (
	healthWide  = 24
	healthSteps = 12
)

// healthOf draws the readings of the tag that is on the sling.
func healthOf(s state.Sling, story []store.Record) Health {
	live, ok := s.Live()
	if !ok {
		return Health{}
	}
	h := Health{Limit: state.LeastLeft, Words: upperFirst(wornWords(live)) + ".", Low: live.Wear.Fails(live.Printed)}
	var last event.TagRead
	for _, r := range story {
		b, is := r.Body.(event.TagRead)
		if !is || b.Serial != live.Serial {
			continue
		}
		last = b
		h.Before = append(h.Before, HealthStep{Left: b.Left(), Day: r.Envelope.Day.Long(), Low: b.Left() < state.LeastLeft})
	}
	h.Before = slices.Delete(h.Before, 0, max(0, len(h.Before)-healthSteps))
	for i := range h.Before {
		h.Before[i].X = i * healthWide
	}
	for i, b := range last.Blocks {
		h.Blocks = append(h.Blocks, HealthBar{X: i * healthWide, Left: b.Left(), Low: b.Left() < state.LeastLeft})
	}
	switch {
	case live.Wear.Last.Resembled:
		h.Words += " Print the next one."
	case h.Low && live.Wear.Last.Left >= state.LeastLeft:
		h.Words += " At this pace it will soon not be read any more: print the next one."
	case h.Low:
		h.Words += " That is under grade C: print the next one before it fails."
	}
	return h
}

// High is how high a bar is drawn: what is left of 100.
func (b HealthBar) High() int { return max(b.Left, 1) }

// Top is where it begins.
func (b HealthBar) Top() int { return 100 - b.High() }

// High is how high a step is drawn.
func (b HealthStep) High() int { return max(b.Left, 1) }

// Top is where it begins.
func (b HealthStep) Top() int { return 100 - b.High() }

// LimitAt is where the limit is drawn.
func (h Health) LimitAt() int { return 100 - h.Limit }

// Wide is how wide the readings are drawn.
func (h Health) Wide() int { return max(len(h.Before), 1) * healthWide }

// BlocksWide is how wide the blocks are drawn.
func (h Health) BlocksWide() int { return max(len(h.Blocks), 1) * healthWide }
