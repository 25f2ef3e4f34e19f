package web

import (
	"slices"
	"time"

	"cribgate/kiosk/counter"
)

// A backed is a sling that was taken back here, and when.
type backed struct {
	Sling string    `json:"sling"` // by id
	At    time.Time `json:"at"`    // UTC
}

// backAgain is for how long after its return a sling goes out on the same counter only
// with the end of its plate, and mostBacked how many are remembered (site policy, no
// source): a picture of a tag reads like the tag, and two scans of it would take a
// sling that is still out there off one name and onto the next. Later it hangs on its
// peg, from where somebody has fetched it.
const (
	backAgain  = time.Hour
	mostBacked = 50
)

// tookBack remembers that a card's sling came back.
func (t *turn) tookBack(v *visit, c *card) {
	c.Done = tookBack
	t.Backed = slices.DeleteFunc(t.Backed, func(b backed) bool { return b.Sling == c.Sling })
	t.Backed = append(t.Backed, backed{c.Sling, v.clock.Stamp().UTC()})
	t.Backed = slices.Delete(t.Backed, 0, max(0, len(t.Backed)-mostBacked))
}

// wasBack tells whether a sling came back here just now.
func (t *turn) wasBack(v *visit, sling string) bool {
	now := v.clock.Stamp()
	return slices.ContainsFunc(t.Backed, func(b backed) bool { return b.Sling == sling && now.Sub(b.At) < backAgain })
}

// reading is what led to a card's sling.
func (t *turn) reading(v *visit, c *card) counter.Reading {
	return counter.Reading{Text: c.Text, Way: c.Way, Typed: c.Typed, Doubtful: t.wasBack(v, c.Sling)}
}

// afresh is the turn of whoever comes next.
func (t *turn) afresh() *turn { return &turn{By: t.By, Backed: t.Backed} }
