package event

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"cribgate/core/quantity"
	"cribgate/core/strict"
)

// LocalTime is a day and minute in the crib, as somebody wrote it on paper. The
// zero value is none.
type LocalTime struct {
	Day    quantity.Date
	Minute int // of the day, 0 to 1439
}

// ParseLocalTime reads YYYY-MM-DDTHH:MM.
func ParseLocalTime(text string) (LocalTime, error) {
	day, clock, ok := strings.Cut(text, "T")
	d, err := quantity.ParseDate(day)
	if !ok || err != nil || len(clock) != 5 || clock[2] != ':' {
		return LocalTime{}, fmt.Errorf("event: %q is no YYYY-MM-DDTHH:MM", text)
	}
	hour, err := strconv.ParseUint(clock[:2], 10, 8)
	minute, err2 := strconv.ParseUint(clock[3:], 10, 8)
	if err != nil || err2 != nil || hour > 23 || minute > 59 {
		return LocalTime{}, fmt.Errorf("event: %q is no YYYY-MM-DDTHH:MM", text)
	}
	return LocalTime{Day: d, Minute: int(hour)*60 + int(minute)}, nil
}

// String spells it YYYY-MM-DDTHH:MM, empty for none.
func (t LocalTime) String() string {
	if t.Day.IsZero() {
		return ""
	}
	return fmt.Sprintf("%sT%02d:%02d", t.Day, t.Minute/60, t.Minute%60)
}

// After reports whether t is a later minute than o.
func (t LocalTime) After(o LocalTime) bool {
	return t.Day.After(o.Day) || t.Day == o.Day && t.Minute > o.Minute
}

// LocalTimeOf is the minute that t shows, in its own zone.
func LocalTimeOf(t time.Time) LocalTime {
	return LocalTime{Day: quantity.DateOf(t), Minute: t.Hour()*60 + t.Minute()}
}

func readLocalTime(o *strict.Object, name string) LocalTime {
	text := o.Str(name)
	if text == "" {
		return LocalTime{}
	}
	t, err := ParseLocalTime(text)
	if err != nil {
		o.Fail(name, "not YYYY-MM-DDTHH:MM")
	}
	return t
}

// Late says when something happened that was written on paper first and entered
// afterwards; when it was entered, the envelope says. The zero value is what was
// entered as it happened.
type Late struct {
	At  LocalTime // as written on the pad; zero: nobody wrote it
	Pad int       // number of the printed sheet; 0: no pad was used
	Row int       // number of the row on it, from 1; 0 with Pad 0
}

// PadRows is how many rows a printed sheet has (site policy of this program, no
// source): so many can be written in by hand on one page.
const PadRows = 12

const maxPad = 999_999

// PadPrinted says that sheets were printed on which is written what goes on while
// the program cannot be asked. No number is printed twice.
type PadPrinted struct {
	First, Last int // numbers of the sheets, from 1
}

// Kind is KindPadPrinted.
func (PadPrinted) Kind() Kind { return KindPadPrinted }

func readPadPrinted(o *strict.Object) PadPrinted {
	p := PadPrinted{First: int(o.Int("first", 1, maxPad)), Last: int(o.Int("last", 1, maxPad))}
	if p.Last < p.First {
		o.Fail("last", "before the first")
	}
	return p
}

func (p PadPrinted) write(w *strict.Writer) {
	w.Int("first", int64(p.First))
	w.Int("last", int64(p.Last))
}

func readLate(o *strict.Object) Late {
	if o == nil {
		return Late{}
	}
	l := Late{At: readLocalTime(o, "at"), Pad: int(o.Int("pad", 0, maxPad)), Row: int(o.Int("row", 0, PadRows))}
	if (l.Pad == 0) != (l.Row == 0) {
		o.Fail("row", "goes with a pad")
	}
	return l
}

func (l Late) write(w *strict.Writer) {
	if l == (Late{}) {
		return
	}
	w.Obj("late")
	w.Str("at", l.At.String())
	w.Int("pad", int64(l.Pad))
	w.Int("row", int64(l.Row))
	w.End()
}
