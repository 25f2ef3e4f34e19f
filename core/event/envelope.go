package event

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"strconv"
	"time"

	"cribgate/core/quantity"
)

// Kind is the name of a fact, in the past tense.
type Kind string

// Envelope is what the chain hashes. Its bytes are lines in a fixed order:
//
//	crib-envelope 1
//	log 5f…            the log's id
//	crib 0a…           the crib's id
//	at 17              position in that log, from 1, no gaps
//	prev 9c…           hash of the envelope before it; zeros at position 1
//	subject sling:…    crib, person:ID or sling:ID
//	parents 9c… 77…    none, one, or two where stories are joined
//	kind issued 1      kind and schema number
//	body 31…           SHA-256 of salt ‖ body
//	by 4d…             the person who did it; zeros for the program itself
//	utc 2026-03-02T07:15:00.125Z
//	day 2026-03-02     the crib's local date
//	boot 88… 5321000   the machine's start and its uptime in milliseconds
//	station counter-1 scanner
//	program v1.0.0
//
// Each line ends in a line feed; a field that is empty leaves its name and one
// space. Where the time could not be relied on, "+behind" or "+ahead" stands right
// behind the way. There is one spelling; [ParseEnvelope] refuses every other.
type Envelope struct {
	Log     LogID
	Crib    CribID
	At      int64
	Prev    Hash
	Subject Subject
	Parents []Hash
	Kind    Kind
	Schema  int
	Body    Hash
	By      PersonID
	UTC     time.Time // to the millisecond
	Day     quantity.Date
	Boot    BootID
	Uptime  time.Duration // to the millisecond
	Station string        // where: letters, digits, '-' and '.'
	Way     string        // how the thing was read: scanner, camera, image, short-code, hand, program
	Doubt   ClockDoubt    // how far UTC and Day can be relied on
	Program string        // version of the program that wrote it
}

// MaxParents is how many stories one event can join.
const MaxParents = 2

// ErrEnvelope reports bytes that are no envelope in its one spelling.
var ErrEnvelope = errors.New("event: not an envelope")

// ErrNewerEnvelope reports an envelope of a later format.
var ErrNewerEnvelope = errors.New("event: envelope written by a newer program")

const formatLine = "crib-envelope 1"

// TimeLayout is how a moment is spelled wherever it is recorded, in UTC and to the
// millisecond.
const TimeLayout = "2006-01-02T15:04:05.000Z"

// Commit gives the commitment to a body that an envelope carries.
func Commit(salt [16]byte, body []byte) Hash {
	var room [16 + 2032]byte // most bodies fit, and are hashed without anything allocated
	return sha256.Sum256(append(append(room[:0], salt[:]...), body...))
}

// HashOf gives the hash of an envelope's bytes.
func HashOf(envelope []byte) Hash { return sha256.Sum256(envelope) }

// Bytes encodes the envelope. It fails where a field cannot be spelled.
func (e Envelope) Bytes() ([]byte, error) {
	if err := e.check(); err != nil {
		return nil, fmt.Errorf("event: envelope %d: %w", e.At, err)
	}
	b := make([]byte, 0, 720)
	line := func(name string) { b = append(append(append(b, '\n'), name...), ' ') }
	id := func(id []byte) { b = hex.AppendEncode(b, id) }
	b = append(b, formatLine...)
	line("log")
	id(e.Log[:])
	line("crib")
	id(e.Crib[:])
	line("at")
	b = strconv.AppendInt(b, e.At, 10)
	line("prev")
	id(e.Prev[:])
	line("subject")
	b = e.Subject.Append(b)
	line("parents")
	for i := range e.Parents {
		if i > 0 {
			b = append(b, ' ')
		}
		id(e.Parents[i][:])
	}
	line("kind")
	b = strconv.AppendInt(append(append(b, e.Kind...), ' '), int64(e.Schema), 10)
	line("body")
	id(e.Body[:])
	line("by")
	id(e.By[:])
	line("utc")
	b = e.UTC.UTC().AppendFormat(b, TimeLayout)
	line("day")
	b = append(b, e.Day.String()...)
	line("boot")
	id(e.Boot[:])
	b = strconv.AppendInt(append(b, ' '), e.Uptime.Milliseconds(), 10)
	line("station")
	b = append(append(append(append(b, e.Station...), ' '), e.Way...), doubtWords[e.Doubt]...)
	line("program")
	b = append(append(b, e.Program...), '\n')
	return b, nil
}

func (e Envelope) check() error {
	switch {
	case e.At < 1:
		return fmt.Errorf("position %d is not from 1", e.At)
	case e.Subject.Kind() == NoSubject:
		return errors.New("no subject")
	case len(e.Parents) > MaxParents || len(e.Parents) == 2 && bytes.Compare(e.Parents[0][:], e.Parents[1][:]) >= 0:
		return errors.New("parents are not none, one, or two in ascending order")
	case !isWord(string(e.Kind), 40) || e.Schema < 1:
		return fmt.Errorf("kind %q schema %d", e.Kind, e.Schema)
	case e.UTC.UTC().Year() < 1970 || e.UTC.UTC().Year() > 9999 || e.UTC.Nanosecond()%int(time.Millisecond) != 0:
		return fmt.Errorf("time %v is not a whole millisecond of the years 1970 to 9999", e.UTC)
	case e.Day.IsZero():
		return errors.New("no local date")
	case e.Uptime < 0 || e.Uptime%time.Millisecond != 0:
		return fmt.Errorf("uptime %v is not whole milliseconds", e.Uptime)
	case int(e.Doubt) >= len(doubtWords):
		return fmt.Errorf("clock doubt %d", e.Doubt)
	case !isWord(e.Station, 40) || !isWord(e.Way, 40) || doubtOf(e.Way) != ClockSure || !isWord(e.Program, 80):
		return fmt.Errorf("station %q, way %q and program %q are letters, digits, '-', '.', '+' and '_'", e.Station, e.Way, e.Program)
	}
	return nil
}

func isWord[T []byte | string](s T, most int) bool {
	if len(s) == 0 || len(s) > most {
		return false
	}
	for i := 0; i < len(s); i++ {
		c := s[i]
		if !(c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '-' || c == '.' || c == '_' || c == '+') {
			return false
		}
	}
	return true
}
