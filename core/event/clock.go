package event

import (
	"time"

	"cribgate/core/strict"
)

// ClockDoubt says how far the time of an envelope can be relied on. The zero
// value is a clock that agrees with the register.
type ClockDoubt uint8

// The doubts.
const (
	ClockSure   ClockDoubt = iota
	ClockBehind            // the clock lay behind what the register knew; the time is what it knew
	ClockAhead             // the clock had jumped ahead and nobody had confirmed it; the time is the least it can have been
)

// doubtWords are what is spelled behind the way of an envelope.
var doubtWords = [...]string{ClockSure: "", ClockBehind: "+behind", ClockAhead: "+ahead"}

// doubtOf tells which of the words stands at the end of a way.
func doubtOf[T []byte | string](way T) ClockDoubt {
	for d := ClockBehind; int(d) < len(doubtWords); d++ {
		if n := len(way) - len(doubtWords[d]); n >= 0 && string(way[n:]) == doubtWords[d] {
			return d
		}
	}
	return ClockSure
}

// DateConfirmed says that keeper and inspector looked at a clock that had jumped
// ahead and found its date right. Its envelope carries the time that they
// confirmed, and the register goes on from there.
type DateConfirmed struct {
	Floor time.Time // UTC: the least it had to be, by the register
	Signed
}

// Kind is KindDateConfirmed.
func (DateConfirmed) Kind() Kind { return KindDateConfirmed }

func readDateConfirmed(o *strict.Object) DateConfirmed {
	return DateConfirmed{Floor: ReadTime(o, "floor"), Signed: readSigned(o)}
}

func (d DateConfirmed) write(w *strict.Writer) {
	w.Str("floor", d.Floor.UTC().Format(TimeLayout))
	d.Signed.write(w)
}

// ClockCorrected says that keeper and inspector found the clock right although
// the register had a later time, which had been written by a wrong clock. It is
// the only event whose envelope may carry an earlier time than the one before
// it, and the register goes on from there.
type ClockCorrected struct {
	Floor time.Time // UTC: what had been taken for the least it had to be
	Signed
}

// Kind is KindClockCorrected.
func (ClockCorrected) Kind() Kind { return KindClockCorrected }

func readClockCorrected(o *strict.Object) ClockCorrected {
	return ClockCorrected{Floor: ReadTime(o, "floor"), Signed: readSigned(o)}
}

func (c ClockCorrected) write(w *strict.Writer) {
	w.Str("floor", c.Floor.UTC().Format(TimeLayout))
	c.Signed.write(w)
}

// Signed names the two people who vouched for a date. They are one and the same
// in a crib of one person, which whoever looks back is to see.
type Signed struct {
	Keeper    PersonID
	Inspector PersonID
}

// Alone reports whether one person signed for both.
func (s Signed) Alone() bool { return s.Keeper == s.Inspector }

func readSigned(o *strict.Object) Signed {
	s := Signed{Keeper: ReadPerson(o, "keeper"), Inspector: ReadPerson(o, "inspector")}
	if s.Keeper.IsZero() {
		o.Fail("keeper", "nobody")
	}
	if s.Inspector.IsZero() {
		o.Fail("inspector", "nobody")
	}
	return s
}

func (s Signed) write(w *strict.Writer) {
	w.Str("keeper", s.Keeper.String())
	w.Str("inspector", s.Inspector.String())
}

// ReadTime reads a moment in its one spelling, TimeLayout.
func ReadTime(o *strict.Object, name string) time.Time {
	r := spelled{}
	t := r.time([]byte(o.Str(name)))
	if r.bad {
		o.Fail(name, "not a moment")
		return time.Time{}
	}
	return t
}
