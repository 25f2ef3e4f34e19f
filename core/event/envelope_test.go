package event

import (
	"bytes"
	"errors"
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"cribgate/core/bounded"
	"cribgate/core/tagcode"
)

const envelopeText = `crib-envelope 1
log 01000000000000000000000000000000
crib 02000000000000000000000000000000
at 17
prev 0300000000000000000000000000000000000000000000000000000000000000
subject sling:c0ffee01-000000000000002a
parents 0400000000000000000000000000000000000000000000000000000000000000 0500000000000000000000000000000000000000000000000000000000000000
kind issued 1
body 0600000000000000000000000000000000000000000000000000000000000000
by 07000000000000000000000000000000
utc 2026-03-02T07:15:00.125Z
day 2026-03-02
boot 08000000000000000000000000000000 5321000
station counter-1 scanner
program v1.0.0+x_y
`

func envelope(t testing.TB) Envelope {
	return Envelope{
		Log: LogID{1}, Crib: CribID{2}, At: 17, Prev: Hash{3},
		Subject: Sling(SlingID{Key: tagcode.Fingerprint{0xC0, 0xFF, 0xEE, 1}, Number: 42}),
		Parents: []Hash{{4}, {5}}, Kind: KindIssued, Schema: 1, Body: Hash{6}, By: PersonID{7},
		UTC: time.Date(2026, 3, 2, 7, 15, 0, 125e6, time.UTC), Day: day(t, "2026-03-02"),
		Boot: BootID{8}, Uptime: 5321 * time.Second, Station: "counter-1", Way: "scanner", Program: "v1.0.0+x_y",
	}
}

func TestEnvelope(t *testing.T) {
	b, err := envelope(t).Bytes()
	if err != nil || string(b) != envelopeText {
		t.Errorf("written\n%s\nwant\n%s\n%v", b, envelopeText, err)
	}
	e, err := ParseEnvelope([]byte(envelopeText))
	if err != nil || !reflect.DeepEqual(e, envelope(t)) {
		t.Errorf("read %+v, want %+v, %v", e, envelope(t), err)
	}
}

func TestBadEnvelopes(t *testing.T) {
	line := func(name, with string) string {
		start := strings.Index(envelopeText, "\n"+name+" ") + 1
		stop := start + strings.Index(envelopeText[start:], "\n")
		return envelopeText[:start] + with + envelopeText[stop:]
	}
	zeros := strings.Repeat("0", 64)
	for _, c := range []struct{ why, text string }{
		{"nothing", ""},
		{"another first line", strings.Replace(envelopeText, "crib-envelope 1", "crib-envelope", 1)},
		{"format 0", strings.Replace(envelopeText, "crib-envelope 1", "crib-envelope 0", 1)},
		{"no last line feed", strings.TrimSuffix(envelopeText, "\n")},
		{"text after it", envelopeText + "\n"},
		{"carriage returns", strings.ReplaceAll(envelopeText, "\n", "\r\n")},
		{"a line missing", line("day", "")},
		{"a line twice", line("day", "day 2026-03-02\nday 2026-03-02")},
		{"lines in another order", line("at", "prev "+zeros+"\nat 17")},
		{"a space more", line("day", "day  2026-03-02")},
		{"a space after it", line("day", "day 2026-03-02 ")},
		{"position 0", line("at", "at 0")},
		{"position -1", line("at", "at -1")},
		{"position +17", line("at", "at +17")},
		{"position 017", line("at", "at 017")},
		{"position 2^64", line("at", "at 18446744073709551633")},
		{"no position", line("at", "at ")},
		{"capital hex", line("log", "log 0A000000000000000000000000000000")},
		{"a short id", line("log", "log 01")},
		{"a long id", line("log", "log 0100000000000000000000000000000000")},
		{"a short hash", line("prev", "prev 03")},
		{"no subject", line("subject", "subject ")},
		{"a subject of another kind", line("subject", "subject shackle:1")},
		{"a subject with a capital", line("subject", "subject Crib")},
		{"a person without id", line("subject", "subject person:")},
		{"parents in the wrong order", line("parents", "parents 05"+zeros[2:]+" 04"+zeros[2:])},
		{"a parent twice", line("parents", "parents 05"+zeros[2:]+" 05"+zeros[2:])},
		{"three parents", line("parents", "parents 05"+zeros[2:]+" 06"+zeros[2:]+" 07"+zeros[2:])},
		{"no parents without the space", line("parents", "parents")},
		{"no schema", line("kind", "kind issued")},
		{"schema 0", line("kind", "kind issued 0")},
		{"a kind with a space", line("kind", "kind is sued 1")},
		{"a kind of 41", line("kind", "kind "+strings.Repeat("x", 41)+" 1")},
		{"a time without its zone", line("utc", "utc 2026-03-02T07:15:00.125")},
		{"a time with another zone", line("utc", "utc 2026-03-02T07:15:00.125+01:00")},
		{"microseconds", line("utc", "utc 2026-03-02T07:15:00.125000Z")},
		{"whole seconds", line("utc", "utc 2026-03-02T07:15:00Z")},
		{"a time before 1970", line("utc", "utc 1969-12-31T23:59:59.999Z")},
		{"a 24th hour", line("utc", "utc 2026-03-02T24:00:00.000Z")},
		{"no day", line("day", "day ")},
		{"a day that does not exist", line("day", "day 2026-02-29")},
		{"an uptime below zero", line("boot", "boot 08000000000000000000000000000000 -1")},
		{"no uptime", line("boot", "boot 08000000000000000000000000000000")},
		{"an uptime beyond counting", line("boot", "boot 08000000000000000000000000000000 9223372036854775807")},
		{"no way", line("station", "station counter-1")},
		{"no station", line("station", "station  scanner")},
		{"a way with a space", line("station", "station counter-1 by hand")},
		{"a station with an umlaut", line("station", "station küche hand")},
		{"no program", line("program", "program ")},
	} {
		if c.text == envelopeText {
			t.Errorf("%s: the case changes nothing", c.why)
		}
		if e, err := ParseEnvelope([]byte(c.text)); !errors.Is(err, ErrEnvelope) || !reflect.DeepEqual(e, Envelope{}) {
			t.Errorf("%s: %+v, %v", c.why, e, err)
		}
	}
	newer := strings.Replace(envelopeText, "crib-envelope 1", "crib-envelope 2", 1)
	if _, err := ParseEnvelope([]byte(newer)); !errors.Is(err, ErrNewerEnvelope) {
		t.Errorf("a newer format: %v", err)
	}
}

func TestEnvelopeCannotBeSpelled(t *testing.T) {
	for why, change := range map[string]func(e *Envelope){
		"position 0":         func(e *Envelope) { e.At = 0 },
		"no subject":         func(e *Envelope) { e.Subject = Subject{} },
		"three parents":      func(e *Envelope) { e.Parents = []Hash{{1}, {2}, {3}} },
		"parents in a heap":  func(e *Envelope) { e.Parents = []Hash{{2}, {1}} },
		"no kind":            func(e *Envelope) { e.Kind = "" },
		"schema 0":           func(e *Envelope) { e.Schema = 0 },
		"a line in the kind": func(e *Envelope) { e.Kind = "a\nb" },
		"microseconds":       func(e *Envelope) { e.UTC = e.UTC.Add(time.Microsecond) },
		"year 10000":         func(e *Envelope) { e.UTC = e.UTC.AddDate(8000, 0, 0) },
		"no day":             func(e *Envelope) { e.Day = e.Day.AddDays(-4_000_000) },
		"half milliseconds":  func(e *Envelope) { e.Uptime = time.Microsecond },
		"a line in station":  func(e *Envelope) { e.Station = "a\nby x" },
		"no program":         func(e *Envelope) { e.Program = "" },
	} {
		e := envelope(t)
		change(&e)
		if b, err := e.Bytes(); err == nil {
			t.Errorf("%s: %s", why, b)
		}
	}
}

// Every envelope that can be written reads back as it was.
func TestEnvelopeRoundTrip(t *testing.T) {
	id := func(r *rapid.T) (b [16]byte) {
		copy(b[:], rapid.SliceOfN(rapid.Byte(), 16, 16).Draw(r, "id"))
		return b
	}
	hash := func(r *rapid.T) (h Hash) {
		copy(h[:], rapid.SliceOfN(rapid.Byte(), 32, 32).Draw(r, "hash"))
		return h
	}
	word := rapid.StringMatching(`[A-Za-z0-9._+-]{1,40}`)
	rapid.Check(t, func(r *rapid.T) {
		e := envelope(t)
		e.Log, e.Crib, e.Prev, e.Body, e.By, e.Boot = id(r), id(r), hash(r), hash(r), id(r), id(r)
		e.At = rapid.Int64Min(1).Draw(r, "at")
		e.Subject = rapid.SampledFrom([]Subject{Crib(), Person(id(r)), Sling(SlingID{Number: tagcode.Number(rapid.Uint64().Draw(r, "number"))})}).Draw(r, "subject")
		e.Parents = nil
		if a, b := hash(r), hash(r); bytes.Compare(a[:], b[:]) < 0 {
			e.Parents = []Hash{a, b}[:rapid.IntRange(1, 2).Draw(r, "parents")]
		}
		e.Kind, e.Schema = Kind(word.Draw(r, "kind")), rapid.IntRange(1, 1<<31-1).Draw(r, "schema")
		e.UTC = time.UnixMilli(rapid.Int64Range(0, 253_402_300_799_999).Draw(r, "utc")).UTC()
		e.Uptime = time.Duration(rapid.Int64Range(0, 1<<40).Draw(r, "uptime")) * time.Millisecond
		e.Station, e.Way, e.Program = word.Draw(r, "station"), word.Draw(r, "way"), word.Draw(r, "program")
		b, err := e.Bytes()
		if err != nil {
			r.Fatal(err)
		}
		if back, err := ParseEnvelope(b); err != nil || !reflect.DeepEqual(back, e) {
			r.Fatalf("read %+v, want %+v, %v", back, e, err)
		}
	})
}

// FuzzEnvelope: what reads is written back as the same bytes.
func FuzzEnvelope(f *testing.F) {
	seeds := []string{
		envelopeText,
		strings.Replace(envelopeText, "parents 04"+strings.Repeat("0", 62)+" 05"+strings.Repeat("0", 62), "parents ", 1),
		strings.Replace(envelopeText, "sling:c0ffee01-000000000000002a", "crib", 1),
		strings.Replace(envelopeText, "crib-envelope 1", "crib-envelope 2", 1),
		"crib-envelope 1\n", "",
	}
	for _, s := range seeds {
		f.Add([]byte(s))
	}
	if len(seeds) != 6 || seeds[1] == envelopeText || seeds[2] == envelopeText {
		f.Fatalf("%d seeds, want 6 different ones", len(seeds))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		bounded.Run(t, time.Now, 8<<20, func() {
			e, err := ParseEnvelope(text)
			if err != nil {
				if !reflect.DeepEqual(e, Envelope{}) {
					t.Fatalf("%v with %+v", err, e)
				}
				return
			}
			if again, err := e.Bytes(); err != nil || !bytes.Equal(again, text) {
				t.Fatalf("read %q, written %q, %v", text, again, err)
			}
		})
	})
}

// The commitment tells salt and body apart only by their lengths, which are
// fixed: sixteen bytes of salt.
func TestCommit(t *testing.T) {
	salt, body := [16]byte{1}, []byte(`{"reason":"x"}`)
	c := Commit(salt, body)
	for why, other := range map[string]Hash{
		"another salt": Commit([16]byte{2}, body), "another body": Commit(salt, body[:5]), "no body": Commit(salt, nil),
	} {
		if other == c {
			t.Errorf("%s: the same commitment", why)
		}
	}
	// echo -n: SHA-256 of sixteen zero bytes, computed with sha256sum.
	if got := Commit([16]byte{}, nil).String(); got != "374708fff7719dd5979ec875d56cd2286f6d3cf7ec317a3b25632aab28ec37bb" {
		t.Errorf("got %s", got)
	}
}

func TestIDs(t *testing.T) {
	p := PersonID{1, 2, 15: 0xff}
	if back, err := ParsePersonID(p.String()); err != nil || back != p {
		t.Errorf("%v, %v", back, err)
	}
	h := Hash{1, 31: 0xff}
	if back, err := ParseHash(h.String()); err != nil || back != h {
		t.Errorf("%v, %v", back, err)
	}
	s := SlingOf(tagcode.Fingerprint{0xC0, 0xFF, 0xEE, 1}, "CS-00001")
	if back, err := ParseSlingID(s.String()); err != nil || back != s || s.IsZero() {
		t.Errorf("%v, %v", back, err)
	}
	for _, subject := range []Subject{Crib(), Person(p), Sling(s)} {
		if back, err := ParseSubject(subject.String()); err != nil || back != subject {
			t.Errorf("%v, %v", back, err)
		}
	}
	for _, text := range []string{"", "x", strings.Repeat("0", 31), strings.Repeat("0", 33), strings.Repeat("G", 32), strings.Repeat("A", 32), " " + strings.Repeat("0", 32)} {
		if _, err := ParsePersonID(text); !errors.Is(err, ErrID) {
			t.Errorf("person %q: %v", text, err)
		}
		if _, err := ParseHash(text + text); text != "" && !errors.Is(err, ErrID) && len(text) == 32 {
			t.Errorf("hash %q: %v", text+text, err)
		}
	}
	for _, text := range []string{"", "-", "c0ffee01", "c0ffee01-", "c0ffee01-2a", "C0FFEE01-000000000000002a", "c0ffee01-000000000000002A", "c0ffee01-000000000000002a-1", "c0ffee01 000000000000002a"} {
		if _, err := ParseSlingID(text); !errors.Is(err, ErrID) {
			t.Errorf("sling %q: %v", text, err)
		}
	}
	for _, text := range []string{"", "sling", "crib:", "person:x", "sling:x", "CRIB"} {
		if s, err := ParseSubject(text); !errors.Is(err, ErrID) || s != (Subject{}) {
			t.Errorf("subject %q: %v, %v", text, s, err)
		}
	}
	if _, err := NewPersonID(strings.NewReader("short")); err == nil {
		t.Error("an id was drawn from five bytes")
	}
}
