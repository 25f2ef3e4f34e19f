package web

import (
	"strconv"
	"strings"

	"cribgate/core/event"
	"cribgate/core/quantity"
)

// entry is a row of the pad as it was read.
type entry struct {
	back bool
	late event.Late
	by   quantity.Date
	said event.Said
	note string
}

// readPaper reads what is on a row but the sling and the rigger.
func (s *Server) readPaper(v *visit, f paperForm, c complaints) entry {
	var e entry
	switch f["what"] {
	case "out":
	case "back":
		e.back = true
	default:
		c.add("what", "Say whether it went out or came back.")
	}
	e.note = v.note(c, "note")
	e.late.At = readPaperTime(f["day"], f["clock"], c)
	e.late.Pad, e.late.Row = f.number("pad", 999_999, c), f.number("row", event.PadRows, c)
	switch {
	case c["pad"] != "" || c["row"] != "":
	case e.late.Pad == 0 && e.late.Row != 0:
		c.add("pad", "Which sheet is the row on?")
	case e.late.Pad != 0 && e.late.Row == 0:
		c.add("row", "Which row of the sheet?")
	case e.late.Pad != 0 && f["clock"] == "":
		c.add("clock", "Type the time that is written in the row.")
	}
	if e.back {
		if e.said = event.Said(f["said"]); e.said != event.Nothing && e.said != event.Something && e.said != event.NotKnown {
			c.add("said", "Ask whoever had it, or say that nobody can say.")
		}
		if e.said == event.Something && e.note == "" {
			c.add("note", "Write what happened: the inspector starts from it.")
		}
		return e
	}
	if f["back"] != "" {
		var err error
		if e.by, err = quantity.ParseDate(f["back"]); err != nil {
			c.add("back", "This is no date.")
		}
	}
	return e
}

// readPaperTime reads day and time, both or neither: a day alone is no time.
func readPaperTime(day, clock string, c complaints) event.LocalTime {
	if clock == "" {
		return event.LocalTime{}
	}
	d, err := quantity.ParseDate(day)
	if err != nil {
		c.add("day", "On which day?")
		return event.LocalTime{}
	}
	hour, minute, _ := strings.Cut(strings.ReplaceAll(clock, ".", ":"), ":")
	h, err1 := strconv.ParseUint(hour, 10, 8)
	m, err2 := strconv.ParseUint(minute, 10, 8)
	if err1 != nil || err2 != nil || len(minute) != 2 || h > 23 || m > 59 {
		c.add("clock", "Hours and minutes, such as 7:10 or 14:05.")
		return event.LocalTime{}
	}
	return event.LocalTime{Day: d, Minute: int(h)*60 + int(m)}
}
