package event

import (
	"bytes"
	"encoding/hex"
	"reflect"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"cribgate/core/bounded"
	"cribgate/core/quantity"
)

// slowParse reads an envelope the long way: loosely, and then takes only what it
// writes back to the same bytes. ParseEnvelope is held against it.
func slowParse(b []byte) (Envelope, error) {
	r := lines{rest: string(b)}
	if first := r.whole(); first != formatLine {
		if n, ok := strings.CutPrefix(first, "crib-envelope "); ok {
			if v, err := strconv.Atoi(n); err == nil && v > 1 {
				return Envelope{}, ErrNewerEnvelope
			}
		}
		return Envelope{}, ErrEnvelope
	}
	var e Envelope
	e.Log = LogID(r.id("log"))
	e.Crib = CribID(r.id("crib"))
	e.At = r.number(r.field("at"))
	e.Prev = r.hash(r.field("prev"))
	e.Subject = r.subject(r.field("subject"))
	if p := r.field("parents"); p != "" {
		for _, h := range strings.Split(p, " ") {
			e.Parents = append(e.Parents, r.hash(h))
		}
	}
	kind, schema := r.two("kind")
	e.Kind, e.Schema = Kind(kind), int(r.number(schema))
	e.Body = r.hash(r.field("body"))
	e.By = PersonID(r.id("by"))
	e.UTC = r.time(r.field("utc"))
	e.Day = r.date(r.field("day"))
	boot, uptime := r.two("boot")
	e.Boot = BootID(r.sixteen(boot))
	e.Uptime = time.Duration(r.number(uptime)) * time.Millisecond
	e.Station, e.Way = r.two("station")
	for d, word := range doubtWords {
		if way, doubted := strings.CutSuffix(e.Way, word); d > 0 && doubted {
			e.Way, e.Doubt = way, ClockDoubt(d)
			break
		}
	}
	e.Program = r.field("program")
	if r.bad || r.rest != "" {
		return Envelope{}, ErrEnvelope
	}
	if again, err := e.Bytes(); err != nil || !bytes.Equal(again, b) {
		return Envelope{}, ErrEnvelope
	}
	return e, nil
}

// lines takes an envelope apart; bad sticks.
type lines struct {
	rest string
	bad  bool
}

func (r *lines) whole() string {
	line, rest, ok := strings.Cut(r.rest, "\n")
	r.rest = rest
	r.bad = r.bad || !ok
	return line
}

func (r *lines) field(name string) string {
	v, ok := strings.CutPrefix(r.whole(), name)
	if !ok || !strings.HasPrefix(v, " ") {
		r.bad = true
		return ""
	}
	return v[1:]
}

func (r *lines) two(name string) (string, string) {
	a, b, ok := strings.Cut(r.field(name), " ")
	r.bad = r.bad || !ok
	return a, b
}

func (r *lines) sixteen(text string) (id [16]byte) {
	if len(text) != 32 {
		r.bad = true
		return id
	}
	if _, err := hex.Decode(id[:], []byte(text)); err != nil {
		r.bad = true
	}
	return id
}

func (r *lines) id(name string) [16]byte {
	return r.sixteen(r.field(name))
}

func (r *lines) hash(text string) (h Hash) {
	if len(text) != 64 {
		r.bad = true
		return h
	}
	if _, err := hex.Decode(h[:], []byte(text)); err != nil {
		r.bad = true
	}
	return h
}

func (r *lines) number(text string) int64 {
	n, err := strconv.ParseInt(text, 10, 64)
	r.bad = r.bad || err != nil
	return n
}

func (r *lines) subject(text string) Subject {
	s, err := ParseSubject(text)
	r.bad = r.bad || err != nil
	return s
}

func (r *lines) time(text string) time.Time {
	t, err := time.Parse(TimeLayout, text)
	r.bad = r.bad || err != nil
	return t
}

func (r *lines) date(text string) quantity.Date {
	d, err := quantity.ParseDate(text)
	r.bad = r.bad || err != nil
	return d
}

// sameRead holds the two readers against each other.
func sameRead(t interface{ Fatalf(string, ...any) }, text []byte) (read bool) {
	want, wantErr := slowParse(text)
	given := bytes.Clone(text)
	got, err := ParseEnvelope(given)
	clear(given) // nothing of it may have been kept
	if (err == nil) != (wantErr == nil) || err != nil && err.Error() != wantErr.Error() || !reflect.DeepEqual(got, want) {
		t.Fatalf("%q\nread     %+v, %v\nthe long way %+v, %v", text, got, err, want, wantErr)
	}
	return err == nil
}

// Texts one, two or three changes away from envelopes are taken or refused alike
// by both readers, and some of them are taken.
func TestBothReadersOfEnvelopesAgree(t *testing.T) {
	lines := strings.SplitAfter(strings.TrimSuffix(envelopeText, "\n"), "\n")
	others := []string{
		"", "\n", " ", "parents \n", "subject crib\n", "subject person:07000000000000000000000000000000\n", "subject person:\n",
		"at 9223372036854775807\n", "at 9223372036854775808\n", "at 01\n", "at 1 \n", "utc 2026-02-29T07:15:00.125Z\n", "utc 2024-02-29T23:59:59.999Z\n",
		"utc 1970-01-01T00:00:00.000Z\n", "utc 9999-12-31T23:59:60.000Z\n", "utc 2026-03-02T07:15:00,125Z\n", "day 0001-01-01\n", "day 0000-01-01\n",
		"boot 08000000000000000000000000000000 9223372036854\n", "boot 08000000000000000000000000000000 9223372036855\n", "boot 08000000000000000000000000000000 0\n",
		"kind issued 9223372036854775807\n", "kind issued 0\n", "kind melted 1\n", "kind  1\n", "station a b c\n", "program \n", "crib-envelope 1\n", "crib-envelope 2\n", "crib-envelope +2\n",
	}
	const bytesOf = "0123456789abcdefgABCDEF :-.TZ+_\n\r\x00\xff"
	var taken, refused int
	rapid.Check(t, func(t *rapid.T) {
		text := append([]string(nil), lines...)
		for range rapid.IntRange(0, 2).Draw(t, "lines") {
			i := rapid.IntRange(0, len(text)-1).Draw(t, "line")
			text[i] = rapid.SampledFrom(others).Draw(t, "other")
		}
		whole := []byte(strings.Join(text, "") + "\n")
		for range rapid.IntRange(0, 2).Draw(t, "bytes") {
			i := rapid.IntRange(0, len(whole)-1).Draw(t, "byte")
			c := bytesOf[rapid.IntRange(0, len(bytesOf)-1).Draw(t, "to")]
			switch rapid.IntRange(0, 2).Draw(t, "how") {
			case 0:
				whole[i] = c
			case 1:
				whole = append(whole[:i], append([]byte{c}, whole[i:]...)...)
			case 2:
				whole = append(whole[:i], whole[i+1:]...)
			}
		}
		if sameRead(t, whole) {
			taken++
		} else {
			refused++
		}
	})
	if taken == 0 || refused == 0 {
		t.Errorf("%d taken, %d refused: one of the two was never tried", taken, refused)
	}
}

func FuzzBothReaders(f *testing.F) {
	seeds := []string{
		envelopeText, strings.Replace(envelopeText, "sling:c0ffee01-000000000000002a", "person:07000000000000000000000000000000", 1),
		strings.Replace(envelopeText, "at 17", "at 017", 1), strings.Replace(envelopeText, "5321000", "9223372036855", 1),
		strings.Replace(envelopeText, "crib-envelope 1", "crib-envelope 3", 1), "",
	}
	if len(seeds) != 6 {
		f.Fatalf("%d seeds, want 6", len(seeds))
	}
	for _, s := range seeds {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		bounded.Run(t, time.Now, 8<<20, func() { sameRead(t, text) })
	})
}

func BenchmarkParseEnvelope(b *testing.B) {
	text := []byte(envelopeText)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := ParseEnvelope(text); err != nil {
			b.Fatal(err)
		}
	}
}
