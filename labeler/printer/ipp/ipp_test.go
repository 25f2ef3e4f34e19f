package ipp

import (
	"bytes"
	"encoding/hex"
	"errors"
	"io"
	"reflect"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"pgregory.net/rapid"

	"cribgate/core/bounded"
)

// unhex takes hexadecimal with spaces, and 'text' for its own bytes.
func unhex(t testing.TB, s string) []byte {
	t.Helper()
	var out []byte
	for i, part := range strings.Split(s, "'") {
		if i%2 == 1 {
			out = append(out, part...)
			continue
		}
		b, err := hex.DecodeString(strings.Join(strings.Fields(part), ""))
		if err != nil {
			t.Fatalf("%q: %v", part, err)
		}
		out = append(out, b...)
	}
	return out
}

// The layouts are built by hand after the examples of RFC 8010 appendix A, from
// memory, not seen: a Print-Job request and its answers.
const (
	printRequest = "0101 0002 00000001 01 47 0012 'attributes-charset' 0005 'utf-8'" +
		"48 001b 'attributes-natural-language' 0002 'en'" +
		"45 000b 'printer-uri' 0013 'ipp://h.test/ipp/pr'" +
		"42 0008 'job-name' 0006 'foobar'" +
		"22 0016 'ipp-attribute-fidelity' 0001 01" +
		"02 21 0006 'copies' 0004 00000014 44 0005 'sides' 0013 'two-sided-long-edge' 03"

	printAnswer = "0101 0000 00000001 01 47 0012 'attributes-charset' 0005 'utf-8'" +
		"48 001b 'attributes-natural-language' 0002 'en' 41 000e 'status-message' 000d 'successful-ok'" +
		"02 21 0006 'job-id' 0004 00000093 23 0009 'job-state' 0004 00000003" +
		"44 0011 'job-state-reasons' 000b 'job-queued_' 44 0000 000c 'job-incoming' 03"
)

func TestEncode(t *testing.T) {
	request := Message{Version: Version{1, 1}, Code: uint16(PrintJob), ID: 1}
	var op, job Group
	op.Tag, job.Tag = OfOperation, OfJob
	op.Add("attributes-charset", Charset("utf-8"))
	op.Add("attributes-natural-language", Language("en"))
	op.Add("printer-uri", URI("ipp://h.test/ipp/pr"))
	op.Add("job-name", Name("foobar"))
	op.Add("ipp-attribute-fidelity", Boolean(true))
	job.Add("copies", Integer(20))
	job.Add("sides", Keyword("two-sided-long-edge"))
	request.Groups = []Group{op, job}
	got, err := request.Encode()
	if err != nil {
		t.Fatal(err)
	}
	if want := unhex(t, printRequest); !bytes.Equal(got, want) {
		t.Errorf("wrote\n%x, want\n%x", got, want)
	}
	back, err := Decode(bytes.NewReader(got))
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(back, request) {
		t.Errorf("read back %+v, want %+v", back, request)
	}
}

func TestDecodeAnswer(t *testing.T) {
	// One byte at a time, and nothing behind the message.
	r := strings.NewReader(string(unhex(t, printAnswer)) + "rest")
	m, err := Decode(iotest.OneByteReader(r))
	if err != nil {
		t.Fatal(err)
	}
	if m.Version != (Version{1, 1}) || !Status(m.Code).Ok() || m.ID != 1 || len(m.Groups) != 2 {
		t.Errorf("head %+v", m)
	}
	if id, ok := m.Int(OfJob, "job-id"); !ok || id != 147 {
		t.Errorf("job-id %d, %v", id, ok)
	}
	if s, ok := m.Int(OfJob, "job-state"); !ok || s != 3 {
		t.Errorf("job-state %d, %v", s, ok)
	}
	if got := m.Strings(OfJob, "job-state-reasons"); !reflect.DeepEqual(got, []string{"job-queued_", "job-incoming"}) {
		t.Errorf("reasons %q", got)
	}
	if got := m.Text(OfOperation, "status-message"); got != "successful-ok" {
		t.Errorf("status-message %q", got)
	}
	if _, ok := m.Int(OfOperation, "job-id"); ok {
		t.Error("job-id found in another group")
	}
	if _, ok := m.Bool(OfJob, "job-id"); ok {
		t.Error("a number is no truth value")
	}
	if rest, err := io.ReadAll(r); err != nil || string(rest) != "rest" {
		t.Errorf("left %q, %v", rest, err)
	}
}

func TestDecodeRefuses(t *testing.T) {
	long := "01" + strings.Repeat("47 0001 'n' 7fff"+strings.Repeat("00", 32767), 33) + "03"
	for _, c := range []struct {
		name, hex string
		want      error
	}{
		{"nothing", "", ErrShort},
		{"half a head", "0101 0000 0000", ErrShort},
		{"no end", "0101 0000 00000001", ErrShort},
		{"no end after a group", "0101 0000 00000001 01", ErrShort},
		{"tag zero", "0101 0000 00000001 00 03", ErrSyntax},
		{"value before a group", "0101 0000 00000001 " + "47 0001 'n' 0001 'v' 03", ErrSyntax},
		{"no name", "0101 0000 00000001 01 47 0000 0001 'v' 03", ErrSyntax},
		{"no name in the second group", "0101 0000 00000001 01 47 0001 'n' 0000 02 47 0000 0001 'v' 03", ErrSyntax},
		{"name of negative length", "0101 0000 00000001 01 47 8000 03", ErrSyntax},
		{"value of negative length", "0101 0000 00000001 01 47 0001 'n' ffff 03", ErrSyntax},
		{"name cut off", "0101 0000 00000001 01 47 0005 'n'", ErrShort},
		{"value cut off", "0101 0000 00000001 01 47 0001 'n' 0005 'v'", ErrShort},
		{"tag without the rest", "0101 0000 00000001 01 47", ErrShort},
		{"larger than a message may be", "0101 0000 00000001" + long, ErrTooLarge},
	} {
		m, err := Decode(bytes.NewReader(unhex(t, c.hex)))
		if !errors.Is(err, c.want) {
			t.Errorf("%s: error %v, want %v", c.name, err, c.want)
		}
		if !reflect.DeepEqual(m, Message{}) {
			t.Errorf("%s: message %+v beside an error", c.name, m)
		}
	}
	broken := errors.New("broken")
	if _, err := Decode(iotest.ErrReader(broken)); !errors.Is(err, broken) {
		t.Errorf("error %v, want the reader's own", err)
	}
}

// An endless answer is read no further than MaxMessage.
func TestDecodeIsBounded(t *testing.T) {
	var read countingReader
	read.pattern = unhex(t, "47 0001 'n' 0001 'v'")
	head := bytes.NewReader(unhex(t, "0101 0000 00000001 01"))
	if _, err := Decode(io.MultiReader(head, &read)); !errors.Is(err, ErrTooLarge) {
		t.Errorf("error %v", err)
	}
	if read.n > MaxMessage {
		t.Errorf("%d bytes read of an endless message", read.n)
	}
}

type countingReader struct {
	pattern []byte
	n       int
}

func (r *countingReader) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = r.pattern[(r.n+i)%len(r.pattern)]
	}
	r.n += len(p)
	return len(p), nil
}

func TestEncodeRefuses(t *testing.T) {
	with := func(g Group) Message { return Message{Version: Version{1, 1}, ID: 1, Groups: []Group{g}} }
	one := func(name string, v ...Value) Group {
		return Group{OfJob, []Attribute{{Name: name, Values: v}}}
	}
	many := Group{Tag: OfJob}
	for range 33 {
		many.Add("n", Text(strings.Repeat("v", maxField)))
	}
	for name, m := range map[string]Message{
		"group without a tag":      with(Group{}),
		"group with the end's tag": with(Group{Tag: endTag}),
		"group with a value's tag": with(Group{Tag: firstValue}),
		"no name":                  with(one("", Integer(1))),
		"name too long":            with(one(strings.Repeat("n", maxField+1), Integer(1))),
		"no value":                 with(one("n")),
		"value without a tag":      with(one("n", Value{})),
		"value too long":           with(one("n", Text(strings.Repeat("v", maxField+1)))),
		"too large":                with(many),
	} {
		if b, err := m.Encode(); !errors.Is(err, ErrMessage) || b != nil {
			t.Errorf("%s: %d bytes, error %v", name, len(b), err)
		}
	}
	if _, err := with(one(strings.Repeat("n", maxField), Text(strings.Repeat("v", maxField)))).Encode(); err != nil {
		t.Errorf("the longest name and value: %v", err)
	}
}

func TestFindWantsOne(t *testing.T) {
	var g, h Group
	g.Tag, h.Tag = OfJob, OfJob
	g.Add("job-state", Enum(9))
	h.Add("job-state", Enum(8))
	m := Message{Groups: []Group{g, h}}
	if s, ok := m.Int(OfJob, "job-state"); ok {
		t.Errorf("two states read as %d", s)
	}
	m = Message{Groups: []Group{g}}
	if s, ok := m.Int(OfJob, "job-state"); !ok || s != 9 {
		t.Errorf("state %d, %v", s, ok)
	}
	g.Attributes[0].Values = []Value{Enum(9), Enum(8)}
	if s, ok := m.Int(OfJob, "job-state"); ok {
		t.Errorf("a state of two values read as %d", s)
	}
}

func TestValues(t *testing.T) {
	lang := func(tag ValueTag, h string) Value { return Value{tag, unhex(t, h)} }
	for _, c := range []struct {
		value Value
		want  string
		ok    bool
	}{
		{Text("a"), "a", true},
		{lang(TextLanguageTag, "0002 'en' 0003 'abc'"), "abc", true},
		{lang(NameLanguageTag, "0000 0000"), "", true},
		{lang(TextLanguageTag, "0002 'en' 0003 'ab'"), "", false},
		{lang(TextLanguageTag, "0002 'en' 0003 'abcd'"), "", false},
		{lang(TextLanguageTag, "0009 'en'"), "", false},
		{lang(TextLanguageTag, "00"), "", false},
		{Integer(7), "", false},
		{Value{}, "", false},
	} {
		got, ok := c.value.Text()
		if ok != c.ok || ok && got != c.want {
			t.Errorf("%v: %q, %v, want %q, %v", c.value, got, ok, c.want, c.ok)
		}
	}
	if n, ok := Integer(-1).Int(); !ok || n != -1 {
		t.Errorf("minus one: %d, %v", n, ok)
	}
	if _, ok := (Value{IntegerTag, []byte{0, 0, 1}}).Int(); ok {
		t.Error("three bytes are a number")
	}
	if b, ok := (Value{BooleanTag, []byte{2}}).Bool(); ok {
		t.Errorf("two is %v", b)
	}
	if b, ok := Boolean(true).Bool(); !ok || !b {
		t.Errorf("true is %v, %v", b, ok)
	}
}

func TestStatus(t *testing.T) {
	for s, want := range map[Status]struct {
		ok, busy, declined bool
	}{
		0x0000: {ok: true}, 0x0001: {ok: true}, 0x00FF: {ok: true}, 0x0100: {},
		0x03FF: {}, 0x0400: {declined: true}, 0x04FF: {declined: true}, 0x0500: {},
		0x0502: {busy: true}, 0x0507: {busy: true}, 0x050B: {busy: true}, 0x0505: {}, 0x0506: {},
	} {
		if s.Ok() != want.ok || s.Busy() != want.busy || s.Declined() != want.declined {
			t.Errorf("%s: done %v, busy %v, declined %v", s, s.Ok(), s.Busy(), s.Declined())
		}
		if !strings.Contains(s.String(), "IPP status") {
			t.Errorf("%q does not give its code", s)
		}
	}
}

// TestRoundTrip: what is encoded decodes to the same message.
func TestRoundTrip(t *testing.T) {
	value := rapid.Custom(func(t *rapid.T) Value {
		data := rapid.SliceOfN(rapid.Byte(), 0, 40).Draw(t, "data")
		if len(data) == 0 {
			data = nil
		}
		return Value{ValueTag(rapid.IntRange(firstValue, 255).Draw(t, "tag")), data}
	})
	attribute := rapid.Custom(func(t *rapid.T) Attribute {
		return Attribute{
			Name:   rapid.StringN(1, 20, 60).Draw(t, "name"),
			Values: rapid.SliceOfN(value, 1, 4).Draw(t, "values"),
		}
	})
	group := rapid.Custom(func(t *rapid.T) Group {
		g := Group{Tag: rapid.SampledFrom([]GroupTag{OfOperation, OfJob, OfPrinter, OfUnsupported, 0x0F}).Draw(t, "group")}
		if a := rapid.SliceOfN(attribute, 0, 4).Draw(t, "attributes"); len(a) > 0 {
			g.Attributes = a
		}
		return g
	})
	rapid.Check(t, func(t *rapid.T) {
		m := Message{
			Version: Version{rapid.Byte().Draw(t, "major"), rapid.Byte().Draw(t, "minor")},
			Code:    rapid.Uint16().Draw(t, "code"),
			ID:      rapid.Int32().Draw(t, "id"),
		}
		if g := rapid.SliceOfN(group, 0, 4).Draw(t, "groups"); len(g) > 0 {
			m.Groups = g
		}
		b, err := m.Encode()
		if err != nil {
			t.Fatal(err)
		}
		back, err := Decode(bytes.NewReader(b))
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(back, m) {
			t.Fatalf("read back %+v, want %+v", back, m)
		}
	})
}

// seeds of the fuzz test: the examples, and the wall of refusals in short.
func seeds(t testing.TB) [][]byte {
	return [][]byte{
		unhex(t, printRequest),
		unhex(t, printAnswer),
		unhex(t, "0200 0000 00000001 04 34 0009 'media-col' 0000 4a 0000 000a 'media-size' 34 0000 0000 37 0000 0000 37 0000 0000 03"),
		unhex(t, "0101 0000 00000001 03"),
		unhex(t, "0101 0000 00000001 01 47 8000 03"),
		unhex(t, "0101 0000 00000001 01 47 0000 0000 03"),
		unhex(t, "0101 0000 00000001 01 35 0001 'n' 0004 00 02 'en' 03"),
	}
}

// FuzzDecode: whatever is read encodes to the very bytes that were read, and
// what is not read gives no message.
func FuzzDecode(f *testing.F) {
	list := seeds(f)
	if len(list) != 7 {
		f.Fatalf("%d seeds, want 7", len(list))
	}
	for _, s := range list {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		bounded.Run(t, time.Now, 8<<20, func() {
			r := bytes.NewReader(data)
			m, err := Decode(r)
			if err != nil {
				if !reflect.DeepEqual(m, Message{}) {
					t.Fatalf("message %+v beside an error", m)
				}
				return
			}
			again, err := m.Encode()
			if err != nil {
				t.Fatal(err)
			}
			if read := data[:len(data)-r.Len()]; !bytes.Equal(again, read) {
				t.Fatalf("wrote %x, read %x", again, read)
			}
			for _, g := range m.Groups {
				for _, a := range g.Attributes {
					m.Int(g.Tag, a.Name)
					m.Bool(g.Tag, a.Name)
					m.Strings(g.Tag, a.Name)
				}
			}
		})
	})
}
