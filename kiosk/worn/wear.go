package worn

import (
	"context"
	"errors"
	"fmt"
	"time"

	"cribgate/core/event"
	"cribgate/core/tagcode"
	"cribgate/kiosk/resemble"
	"cribgate/kiosk/scan"
	"cribgate/labeler/grade"
	"cribgate/labeler/symbol"
	"cribgate/store"
)

// seen is what the frames of the last while showed of one tag.
type seen struct {
	best   grade.Wear // of all: blur and glare only add to it
	frames int
	read   bool // one of them could be read
	last   time.Time
}

// What is remembered, and when it is believed (site policy, no source): a hand before
// a camera shows some frames a second, and the best of a few is not blurred.
const (
	remembered = time.Hour
	mostSeen   = 1000
	enough     = 3 // frames
)

// Saw takes in a grid off which a text was read, of a picture that somebody took of the
// tag alone, or of a frame. It does nothing where the text is no tag of this register.
func (t *Tags) Saw(ctx context.Context, text string, g scan.Grid, picture bool) error {
	if g.Modules() != symbol.Modules {
		return nil
	}
	_, printed, err := t.store.SlingByTag(ctx, tagcode.Digest(text))
	if errors.Is(err, store.ErrNotFound) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("worn: %w", err)
	}
	want, err := symbol.Again(text, printed.Version, levelOf(printed), printed.Mask)
	if err != nil {
		return nil // drawn as nothing that hangs
	}
	frames := 1
	if picture {
		frames = enough
	}
	t.note(printed.Digest, want, g.Dark, frames)
	return nil
}

// note keeps the best that was seen of a tag lately: in so many frames in which it was
// read, 0 where it could not be. One that was read with more wrong than can be mended
// was drawn otherwise than is on record, or the grid has slipped since: that is no wear.
func (t *Tags) note(id resemble.Digest, want symbol.Symbol, dark func(column, row int) bool, read int) {
	wear := grade.WearOf(want, dark)
	if read > 0 && !wear.Mends() {
		return
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	now := t.now()
	was := t.seen[id]
	if was == nil || now.Sub(was.last) > remembered {
		t.forget(now)
		was = &seen{best: wear}
		t.seen[id] = was
	}
	if was.best.Worse(wear) {
		was.best = wear
	}
	was.frames += read
	was.last, was.read = now, was.read || read > 0
}

// forget makes room; the lock must be held.
func (t *Tags) forget(now time.Time) {
	for id, s := range t.seen {
		if now.Sub(s.last) > remembered || len(t.seen) >= mostSeen {
			delete(t.seen, id)
		}
	}
}

// Wear is what the readings of a tag came to lately; false where too few frames were
// seen to tell. Of one that could only be told by what it resembles a single one does.
func (t *Tags) Wear(text string) (r event.TagRead, ok bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	s := t.seen[tagcode.Digest(text)]
	if s == nil || s.read && s.frames < enough {
		return event.TagRead{}, false
	}
	r.Resembled = !s.read
	for i, b := range s.best.Blocks {
		r.Blocks = append(r.Blocks, event.ReadBlock{Wrong: s.best.Wrong[i], Correction: b.Correction})
	}
	return r, true
}
