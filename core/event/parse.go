package event

import (
	"bytes"
	"math"
	"strconv"
	"time"

	"cribgate/core/quantity"
	"cribgate/core/tagcode"
)

// ParseEnvelope reads what Bytes writes and nothing else. It keeps nothing of b.
//
// A register of years is read by it whenever it is verified, so it takes every
// field in its one spelling straight from the bytes and writes nothing again to
// compare. The tests hold it against a reader that does.
func ParseEnvelope(b []byte) (Envelope, error) {
	r := spelled{rest: b}
	if first := r.line(); string(first) != formatLine {
		if n, ok := bytes.CutPrefix(first, []byte("crib-envelope ")); ok {
			if v, err := strconv.Atoi(string(n)); err == nil && v > 1 {
				return Envelope{}, ErrNewerEnvelope
			}
		}
		return Envelope{}, ErrEnvelope
	}
	var e Envelope
	r.hex(e.Log[:], r.field("log "))
	r.hex(e.Crib[:], r.field("crib "))
	e.At = r.number(r.field("at "), 1, math.MaxInt64)
	r.hex(e.Prev[:], r.field("prev "))
	e.Subject = r.subject(r.field("subject "))
	e.Parents = r.parents(r.field("parents "))
	kind, schema := r.two(r.field("kind "))
	e.Schema = int(r.number(schema, 1, math.MaxInt))
	r.hex(e.Body[:], r.field("body "))
	r.hex(e.By[:], r.field("by "))
	e.UTC = r.time(r.field("utc "))
	e.Day = r.date(r.field("day "))
	boot, uptime := r.two(r.field("boot "))
	r.hex(e.Boot[:], boot)
	e.Uptime = time.Duration(r.number(uptime, 0, math.MaxInt64/int64(time.Millisecond))) * time.Millisecond
	words := r.rest
	station, way := r.two(r.field("station "))
	e.Doubt = doubtOf(way)
	way = way[:len(way)-len(doubtWords[e.Doubt])]
	program := r.field("program ")
	r.bad = r.bad || len(r.rest) > 0 || !isWord(kind, 40) || !isWord(station, 40) || !isWord(way, 40) || doubtOf(way) != ClockSure || !isWord(program, 80)
	if r.bad {
		return Envelope{}, ErrEnvelope
	}
	e.Kind = Kind(kind)
	text := string(words) // "station A B\nprogram C\n", kept once for all three
	from := len("station ")
	e.Station = text[from : from+len(station)]
	from += len(station) + 1
	e.Way = text[from : from+len(way)]
	e.Program = text[len(text)-1-len(program) : len(text)-1]
	return e, nil
}

// spelled takes an envelope apart, field by field; bad sticks.
type spelled struct {
	rest []byte
	bad  bool
}

// line gives what stands before the next line feed.
func (r *spelled) line() []byte {
	i := bytes.IndexByte(r.rest, '\n')
	if i < 0 {
		line := r.rest
		r.rest, r.bad = nil, true
		return line
	}
	line := r.rest[:i]
	r.rest = r.rest[i+1:]
	return line
}

// field gives the rest of the next line, which has to begin so.
func (r *spelled) field(name string) []byte {
	line := r.line()
	if len(line) < len(name) || string(line[:len(name)]) != name {
		r.bad = true
		return nil
	}
	return line[len(name):]
}

// two parts a field at its first space. Neither part may have another: no word,
// number or id has one.
func (r *spelled) two(field []byte) (a, b []byte) {
	i := bytes.IndexByte(field, ' ')
	if i < 0 {
		r.bad = true
		return nil, nil
	}
	return field[:i], field[i+1:]
}

func (r *spelled) hex(into, digits []byte) { r.bad = r.bad || !unhex(into, digits) }

// unhex reads lower-case digits, two for each byte of into and no more.
func unhex[T []byte | string](into []byte, digits T) bool {
	if len(digits) != 2*len(into) {
		return false
	}
	var all byte
	for i := range into {
		high, low := nibbles[digits[2*i]], nibbles[digits[2*i+1]]
		all |= high | low
		into[i] = high<<4 | low&15
	}
	return all < 16
}

// nibbles gives the value of each digit, 255 for what is none.
var nibbles = func() (t [256]byte) {
	for c := range t {
		t[c] = 255
	}
	for i, c := range []byte("0123456789abcdef") {
		t[c] = byte(i)
	}
	return t
}()

func (r *spelled) number(digits []byte, min, max int64) (n int64) {
	if len(digits) == 0 || len(digits) > 1 && digits[0] == '0' {
		r.bad = true
		return 0
	}
	for _, c := range digits {
		d := int64(c - '0')
		if c < '0' || c > '9' || n > (math.MaxInt64-d)/10 {
			r.bad = true
			return 0
		}
		n = n*10 + d
	}
	r.bad = r.bad || n < min || n > max
	return n
}

func (r *spelled) subject(text []byte) Subject {
	s, ok := subjectOf(text)
	r.bad = r.bad || !ok
	return s
}

// subjectOf reads what Subject.String writes.
func subjectOf[T []byte | string](text T) (s Subject, ok bool) {
	switch {
	case len(text) == len("crib") && string(text) == "crib":
		return Crib(), true
	case len(text) > 7 && string(text[:7]) == "person:":
		s.kind = OfPerson
		ok = unhex(s.person[:], text[7:])
	case len(text) == 6+8+1+16 && string(text[:6]) == "sling:" && text[14] == '-':
		var number [8]byte
		s.kind = OfSling
		ok = unhex(s.sling.Key[:], text[6:14]) && unhex(number[:], text[15:])
		for _, b := range number {
			s.sling.Number = s.sling.Number<<8 | tagcode.Number(b)
		}
	}
	if !ok {
		return Subject{}, false
	}
	return s, true
}

func (r *spelled) parents(field []byte) []Hash {
	const one, both = 64, 64 + 1 + 64
	switch {
	case len(field) == 0:
		return nil
	case len(field) == one:
		list := make([]Hash, 1)
		r.hex(list[0][:], field)
		return list
	case len(field) == both && field[one] == ' ':
		list := make([]Hash, 2)
		r.hex(list[0][:], field[:one])
		r.hex(list[1][:], field[one+1:])
		r.bad = r.bad || bytes.Compare(list[0][:], list[1][:]) >= 0
		return list
	}
	r.bad = true
	return nil
}

// time reads TimeLayout of the years that check allows.
func (r *spelled) time(text []byte) time.Time {
	if len(text) != len(TimeLayout) || text[10] != 'T' || text[13] != ':' || text[16] != ':' || text[19] != '.' || text[23] != 'Z' {
		r.bad = true
		return time.Time{}
	}
	y, m, d := r.date(text[:10]).YMD()
	hour, minute, second, milli := r.digits(text[11:13]), r.digits(text[14:16]), r.digits(text[17:19]), r.digits(text[20:23])
	r.bad = r.bad || y < 1970 || hour > 23 || minute > 59 || second > 59
	return time.Date(y, time.Month(m), d, hour, minute, second, milli*int(time.Millisecond), time.UTC)
}

func (r *spelled) date(text []byte) quantity.Date {
	if len(text) != 10 || text[4] != '-' || text[7] != '-' {
		r.bad = true
		return quantity.Date{}
	}
	date, ok := quantity.NewDate(r.digits(text[:4]), r.digits(text[5:7]), r.digits(text[8:]))
	r.bad = r.bad || !ok
	return date
}

// digits reads figures of a fixed number, leading zeros included.
func (r *spelled) digits(text []byte) (n int) {
	for _, c := range text {
		r.bad = r.bad || c < '0' || c > '9'
		n = n*10 + int(c) - '0'
	}
	return n
}
