package camera

import (
	"context"
	"time"

	"cribgate/kiosk/scan"
)

// How long one tag and no other must have been resembled, and in how many frames,
// before it is told (site policy, no source): a tag that is only held askew is read
// meanwhile, and a reading asks for less than a likeness.
const (
	likeFor    = 1500 * time.Millisecond
	likeFrames = 3
	likeAway   = 10 * time.Second // without it, it begins anew
)

// weighEvery is how often a tag that is held before a camera is compared with how it
// was printed (site policy, no source).
const weighEvery = 300 * time.Millisecond

// likeMark stands before a text that was not read, where it is remembered beside
// those that were.
const likeMark = "~"

const likeWords = "Too worn to read. It resembles a tag of this crib."

// A likeness is what frames that could not be read have resembled lately. The zero
// value is nothing.
type likeness struct {
	text        string
	since, last time.Time
	frames      int
}

// sure takes in what a frame resembles, empty for nothing, and tells whether that has
// gone on for long enough.
func (l *likeness) sure(text string, now time.Time) bool {
	if text == "" {
		return false
	}
	if l.text != text || now.Sub(l.last) > likeAway {
		*l = likeness{text: text, since: now}
	}
	l.last = now
	l.frames++
	return l.frames >= likeFrames && now.Sub(l.since) >= likeFor
}

// resembled gives the text of the tag that one of the grids or runs resembles, empty for
// none.
func (c *Cameras) resembled(grids []scan.Grid, runs [][]scan.Grid) string {
	if c.known == nil || len(grids) == 0 {
		return ""
	}
	ctx, cancel := context.WithTimeout(context.Background(), sendWithin)
	defer cancel()
	text, ok, err := c.known.Resembles(ctx, grids, runs)
	if err != nil {
		c.log.WarnContext(ctx, "what a worn tag resembles cannot be looked up", "error", err)
	}
	if err != nil || !ok {
		return ""
	}
	return text
}

// saw hands on how a tag looks that was read.
func (c *Cameras) saw(s scan.Sighting) {
	if c.known == nil {
		return
	}
	ctx, cancel := context.WithTimeout(context.Background(), sendWithin)
	defer cancel()
	if err := c.known.Saw(ctx, s.Text(), s.Grid(), false); err != nil {
		c.log.WarnContext(ctx, "how worn a tag is cannot be kept", "error", err)
	}
}
