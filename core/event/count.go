package event

import "cribgate/core/strict"

// CountID names one count of the rack. The zero value names none.
type CountID [16]byte

// ParseCountID reads 32 lower-case hex digits.
func ParseCountID(text string) (CountID, error) {
	b, err := parse16(text)
	return CountID(b), err
}

// String gives 32 lower-case hex digits.
func (c CountID) String() string { return PersonID(c).String() }

// IsZero reports whether c names no count.
func (c CountID) IsZero() bool { return c == CountID{} }

// ReadCount reads a count's id as bodies spell it; zeros are none.
func ReadCount(o *strict.Object, name string) CountID {
	c, err := ParseCountID(o.Str(name))
	if err != nil {
		o.Fail(name, "not a count's id")
	}
	return c
}

// CountBegun says that the rack, or some of its places, is being counted.
type CountBegun struct {
	Count  CountID
	Places []string // begin the rack places that are counted; none: all
}

// Kind is KindCountBegun.
func (CountBegun) Kind() Kind { return KindCountBegun }

// ReadCountBegun reads a CountBegun body. o may hold other names for its caller, who
// also calls o.Done.
func ReadCountBegun(o *strict.Object) CountBegun {
	return CountBegun{Count: ReadCount(o, "count"), Places: o.Strs("places")}
}

func (c CountBegun) write(w *strict.Writer) {
	w.Str("count", c.Count.String())
	w.Strs("places", c.Places)
}

// Seen says that a sling was seen at a place while the rack was counted. It changes
// nothing else.
type Seen struct {
	Count CountID
	Place string // where the counter stood; empty: not said
}

// Kind is KindSeen.
func (Seen) Kind() Kind { return KindSeen }

func readSeen(o *strict.Object) Seen {
	return Seen{Count: ReadCount(o, "count"), Place: o.Str("place")}
}

func (s Seen) write(w *strict.Writer) {
	w.Str("count", s.Count.String())
	w.Str("place", s.Place)
}

// Tally is what a count came to, in slings.
type Tally struct {
	Seen       int // at their own place
	WrongPlace int
	OutButHere int // booked out, lost or retired, and seen
	NotSeen    int // should hang there, and were not seen
}

// CountEnded says what a count came to. Which slings they were, their own stories
// say.
type CountEnded struct {
	Count CountID
	Tally Tally
	Note  string
}

// Kind is KindCountEnded.
func (CountEnded) Kind() Kind { return KindCountEnded }

func readCountEnded(o *strict.Object) CountEnded {
	const most = 1 << 31
	return CountEnded{Count: ReadCount(o, "count"), Note: o.Str("note"), Tally: Tally{
		Seen: int(o.Int("seen", 0, most)), WrongPlace: int(o.Int("wrong_place", 0, most)),
		OutButHere: int(o.Int("out_but_here", 0, most)), NotSeen: int(o.Int("not_seen", 0, most)),
	}}
}

func (c CountEnded) write(w *strict.Writer) {
	w.Str("count", c.Count.String())
	w.Int("seen", int64(c.Tally.Seen))
	w.Int("wrong_place", int64(c.Tally.WrongPlace))
	w.Int("out_but_here", int64(c.Tally.OutButHere))
	w.Int("not_seen", int64(c.Tally.NotSeen))
	w.Str("note", c.Note)
}

// Moved gives a sling another rack place.
type Moved struct{ Place string }

// Kind is KindMoved.
func (Moved) Kind() Kind { return KindMoved }

func (m Moved) write(w *strict.Writer) { w.Str("place", m.Place) }
