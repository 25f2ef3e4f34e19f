package removal

import (
	"errors"
	"fmt"

	"cribgate/core/quantity"
	"cribgate/core/rating"
)

// Ranges of what is measured. A sling with more runs than MaxRuns is a mistake
// of whoever recorded it: every pair of them is compared.
const (
	MinLength = quantity.Micrometre
	MaxLength = 1_000_000_000 * quantity.Micrometre
	MaxTwist  = 360 * quantity.Degree
	MaxCount  = 1_000_000 // of links in a run, and the place of a link in its leg
	MaxRuns   = 1000
)

// Question is a sling and what was found on it. Its zero value is an error to
// Assess, never an answer.
type Question struct {
	ID    string
	Sling Sling
	Found Found
}

// Sling is what Assess must know of the sling. The system of its size says
// which criteria lead.
type Sling struct {
	Grade rating.Grade
	Size  rating.Size
	Legs  int // 1 to 4
}

// Found is everything that was measured and seen. The zero Found holds.
type Found struct {
	Links []Link
	Runs  []Run
	Hooks []Hook
	Parts []Part
	Seen  []Code // words of what was seen, each as ParseSeen gives it
}

// Link is the worst link of a stretch: two diameters at right angles, at the
// bearing point.
type Link struct {
	Leg    int
	At     int64 // place in the leg, counted from the upper fitting, from 1
	D1, D2 quantity.Length
}

// Run is the length over a number of links, pulled straight and unloaded.
type Run struct {
	Leg    int
	Links  int64
	New    quantity.Length // of the same links when new; 0: not known
	Length quantity.Length
}

// Hook is one hook of a leg.
type Hook struct {
	Leg                 int
	ThroatNew, Throat   quantity.Length // narrowest opening; ThroatNew 0: not known
	Twist               quantity.Angle  // of the tip out of the plane of the hook
	SectionNew, Section quantity.Length // SectionNew 0: not known
	Latch               Latch
}

// Part is any other part of the sling.
type Part struct {
	What          What
	Leg           int             // 0: shared by all legs, as a master link always is
	New, Thinnest quantity.Length // New 0: not known
}

// Latch is the state of a hook's latch. The zero Latch is none of them and an error.
type Latch uint8

// The states of a latch.
const (
	LatchGood Latch = iota + 1
	LatchNone       // the hook was made without one
	LatchBent
	LatchMissing
)

var latchWords = [...]string{"", "good", "none", "bent", "missing"}

// ParseLatch reads good, none, bent or missing.
func ParseLatch(s string) (Latch, bool) {
	n, ok := place(latchWords[:], s)
	return Latch(n), ok
}

// String is the spelling that ParseLatch reads; empty for the zero Latch.
func (l Latch) String() string { return word(latchWords[:], int(l)) }

// What says which part it is. The zero What is none.
type What uint8

// The parts.
const (
	Master   What = iota + 1 // upper fitting, shared by all legs
	Coupling                 // coupling link
	Coupler                  // mechanical coupler
	Pin                      // load pin
	Ring
	Adjuster // shortening hook
)

var whatWords = [...]string{"", "master", "coupling", "coupler", "pin", "ring", "adjuster"}

// ParseWhat reads master, coupling, coupler, pin, ring or adjuster.
func ParseWhat(s string) (What, bool) {
	n, ok := place(whatWords[:], s)
	return What(n), ok
}

// String is the spelling that ParseWhat reads; empty for the zero What.
func (w What) String() string { return word(whatWords[:], int(w)) }

// place finds a word after the first, which is the zero value's.
func place(words []string, s string) (int, bool) {
	for i, w := range words[1:] {
		if w == s {
			return i + 1, true
		}
	}
	return 0, false
}

func word(words []string, n int) string {
	if n < len(words) {
		return words[n]
	}
	return ""
}

// ErrQuestion is wrapped by the errors of Assess: something in the question is
// out of range, so that there is no verdict.
var ErrQuestion = errors.New("out of range")

// check refuses what no measurement can be, so that the arithmetic behind it
// cannot pass 64 bits and no leg is forgotten.
func (q Question) check() error {
	s, f := q.Sling, q.Found
	switch {
	case !s.Grade.Known():
		return fmt.Errorf("grade: %w", ErrQuestion)
	case s.Size.Nominal() == 0:
		return fmt.Errorf("size: %w", ErrQuestion)
	case s.Legs < 1 || s.Legs > 4:
		return fmt.Errorf("legs: %w", ErrQuestion)
	case len(f.Runs) > MaxRuns:
		return fmt.Errorf("more than %d runs: %w", MaxRuns, ErrQuestion)
	}
	leg := func(n int) bool { return 1 <= n && n <= s.Legs }
	count := func(n int64) bool { return 1 <= n && n <= MaxCount }
	length := func(l quantity.Length) bool { return MinLength <= l && l <= MaxLength }
	original := func(l quantity.Length) bool { return l == 0 || length(l) }
	for i, l := range f.Links {
		if !leg(l.Leg) || !count(l.At) || !length(l.D1) || !length(l.D2) {
			return fmt.Errorf("links[%d]: %w", i, ErrQuestion)
		}
	}
	for i, r := range f.Runs {
		if !leg(r.Leg) || !count(r.Links) || !original(r.New) || !length(r.Length) {
			return fmt.Errorf("runs[%d]: %w", i, ErrQuestion)
		}
	}
	for i, h := range f.Hooks {
		if !leg(h.Leg) || !original(h.ThroatNew) || !length(h.Throat) || h.Twist < 0 || h.Twist > MaxTwist ||
			!original(h.SectionNew) || !length(h.Section) || h.Latch.String() == "" {
			return fmt.Errorf("hooks[%d]: %w", i, ErrQuestion)
		}
	}
	for i, p := range f.Parts {
		shared := p.Leg == 0
		if p.What.String() == "" || !shared && (p.What == Master || !leg(p.Leg)) || !original(p.New) || !length(p.Thinnest) {
			return fmt.Errorf("parts[%d]: %w", i, ErrQuestion)
		}
	}
	for i, c := range f.Seen {
		if c.row().seen == 0 {
			return fmt.Errorf("seen[%d]: %w", i, ErrQuestion)
		}
	}
	return nil
}
