package state

import (
	"bytes"
	"slices"
	"time"

	"cribgate/core/event"
	"cribgate/core/quantity"
)

// Event is one fact of a story as the fold sees it.
type Event struct {
	Hash    event.Hash
	Parents []event.Hash
	Log     event.LogID // in which it was recorded
	By      event.PersonID
	UTC     time.Time
	Day     quantity.Date // the crib's local date
	Body    event.Body    // nil where this program does not know the kind or schema
}

// Order sorts a story: every event after its parents, and of those that could
// come next the one with the smallest hash first. A parent that is not in the
// story counts as already told.
func Order(story []Event) []Event {
	waiting := make(map[event.Hash]int, len(story)) // parents still to come
	children := make(map[event.Hash][]int)
	index := make(map[event.Hash]bool, len(story))
	for _, e := range story {
		index[e.Hash] = true
	}
	var ready []int
	for i, e := range story {
		for _, p := range e.Parents {
			if index[p] {
				waiting[e.Hash]++
				children[p] = append(children[p], i)
			}
		}
		if waiting[e.Hash] == 0 {
			ready = append(ready, i)
		}
	}
	later := func(a, b int) int { return -bytes.Compare(story[a].Hash[:], story[b].Hash[:]) }
	slices.SortFunc(ready, later)
	out := make([]Event, 0, len(story))
	for len(ready) > 0 {
		e := story[ready[len(ready)-1]]
		ready = ready[:len(ready)-1]
		out = append(out, e)
		for _, c := range children[e.Hash] {
			if waiting[story[c].Hash]--; waiting[story[c].Hash] == 0 {
				at, _ := slices.BinarySearchFunc(ready, c, later)
				ready = slices.Insert(ready, at, c)
			}
		}
	}
	return out
}

// heads gives what is left without a child when e is added to heads, ascending.
func heads(before []event.Hash, e Event) []event.Hash {
	after := make([]event.Hash, 0, len(before)+1)
	for _, h := range before {
		if !slices.Contains(e.Parents, h) {
			after = append(after, h)
		}
	}
	after = append(after, e.Hash)
	slices.SortFunc(after, func(a, b event.Hash) int { return bytes.Compare(a[:], b[:]) })
	return after
}
