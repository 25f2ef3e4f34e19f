package strict

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"reflect"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"cribgate/core/bounded"
)

// badTexts is what Parse refuses, each with its reason.
var badTexts = []struct{ text, why string }{
	{``, "nothing"},
	{` `, "white space only"},
	{"\ufeff{}", "byte order mark"},
	{`{} {}`, "two values"},
	{`{}x`, "text after"},
	{`1,`, "comma after"},
	{`{}]`, "bracket after"},
	{`{`, "no end"},
	{`[`, "no end"},
	{`{"a"`, "no colon"},
	{`{"a":`, "no value"},
	{`{"a":1`, "no end"},
	{`{"a":1,`, "no end after comma"},
	{`{"a":1,}`, "comma before end"},
	{`[1,]`, "comma before end"},
	{`[,1]`, "comma at start"},
	{`{,"a":1}`, "comma at start"},
	{`[1 2]`, "no comma"},
	{`{"a":1 "b":2}`, "no comma"},
	{`{"a" 1}`, "no colon"},
	{`{"a"::1}`, "two colons"},
	{`{a:1}`, "bare name"},
	{`{'a':1}`, "single quotes"},
	{`{1:1}`, "number as name"},
	{`{null:1}`, "null as name"},
	{`[1}`, "brackets crossed"},
	{`{"a":1]`, "brackets crossed"},
	{`{"a":1,"a":1}`, "name twice"},
	{`{"a":1,"\u0061":1}`, "name twice, once escaped"},
	{`{"a":{"b":1,"c":2,"b":null}}`, "name twice inside"},
	{`[{"":1,"":2}]`, "empty name twice"},
	{`nul`, "cut word"},
	{`nulll`, "long word"},
	{`Null`, "capital"},
	{`TRUE`, "capitals"},
	{`NaN`, "no number"},
	{`Infinity`, "no number"},
	{`-Infinity`, "no number"},
	{`-`, "sign alone"},
	{`+1`, "plus sign"},
	{`01`, "leading zero"},
	{`-01`, "leading zero"},
	{`00`, "leading zero"},
	{`1.`, "no digit after the point"},
	{`.5`, "no digit before the point"},
	{`1e`, "no exponent"},
	{`1e+`, "no exponent"},
	{`0x10`, "hexadecimal"},
	{`1_000`, "underscore"},
	{`1,000`, "thousands"},
	{"\u0661", "a digit that is not ASCII"},
	{`--1`, "two signs"},
	{`"`, "no end"},
	{`"a`, "no end"},
	{`"\`, "no end"},
	{`"\"`, "no end"},
	{`"\x41"`, "unknown escape"},
	{`"\'"`, "unknown escape"},
	{`"\u"`, "short escape"},
	{`"\u12"`, "short escape"},
	{`"\u12g4"`, "no hexadecimal digit"},
	{`"\U0041"`, "capital U"},
	{`"\ud800"`, "high half alone"},
	{`"\udc00"`, "low half alone"},
	{`"\ud800\ud800"`, "two high halves"},
	{`"\udc00\ud800"`, "halves the wrong way round"},
	{`"\ud800x"`, "high half, then a letter"},
	{`"\ud800\n"`, "high half, then an escape"},
	{`"\ud800\u0041"`, "high half, then a letter's escape"},
	{"\"\n\"", "line end in a string"},
	{"\"\t\"", "tab in a string"},
	{"\"\x00\"", "zero in a string"},
	{"\"\\n\x1f\"", "control character after an escape"},
	{"\"\xff\"", "not UTF-8"},
	{"\"\xc0\xaf\"", "overlong"},
	{"\"\xed\xa0\x80\"", "surrogate in UTF-8"},
	{"{}\xff", "not UTF-8 after"},
	{"\"\xe2\x82\"", "cut UTF-8"},
	{"\u00a0{}", "space that JSON does not know"},
	{"{}\x00", "zero after"},
	{"{}\v", "vertical tab after"},
	{`// c` + "\n{}", "comment"},
	{`{/**/}`, "comment"},
}

func TestBadTexts(t *testing.T) {
	deep := strings.Repeat("[", MaxDepth+1) + strings.Repeat("]", MaxDepth+1)
	wall := append(badTexts, struct{ text, why string }{deep, "too deep"},
		struct{ text, why string }{manyNames(MaxNames + 1), "too many names"})
	for _, c := range wall {
		v, err := Parse([]byte(c.text))
		var e *Error
		if !errors.As(err, &e) || v != (Value{}) {
			t.Errorf("%s: Parse(%q) = %v, %v", c.why, c.text, v, err)
			continue
		}
		if e.Offset < 0 || e.Offset > len(c.text) || e.Path != "" || e.Reason == "" || err.Error() == "" {
			t.Errorf("%s: Parse(%q) fails at %d with %q", c.why, c.text, e.Offset, err)
		}
	}
}

func TestOffset(t *testing.T) {
	for _, c := range []struct {
		text   string
		offset int
	}{
		{"{\"é\":\"\xff\"}", 7}, {"\ufffd\xff", 3}, {"\"\ufffd\xff", 4}, {"{} x", 3}, {"[1,]", 3}, {`{"a":1,"a":2}`, 7}, {`{"a":01}`, 5}, {`"ab\x"`, 3}, {``, 0},
	} {
		var e *Error
		if _, err := Parse([]byte(c.text)); !errors.As(err, &e) || e.Offset != c.offset {
			t.Errorf("%q: %v, want byte %d", c.text, err, c.offset)
		}
	}
}

func manyNames(n int) string {
	names := make([]string, n)
	for i := range names {
		names[i] = strconv.Quote("n"+strconv.Itoa(i)) + ":0"
	}
	return "{" + strings.Join(names, ",") + "}"
}

func TestGoodTexts(t *testing.T) {
	deep := strings.Repeat("[", MaxDepth) + strings.Repeat("]", MaxDepth)
	for _, c := range []struct{ text, canonical string }{
		{" \t\r\n{ \"a\" : [ 1 , -2 ] } \n", `{"a":[1,-2]}`},
		{`null`, `null`},
		{`[true,false,null]`, `[true,false,null]`},
		{`{}`, `{}`},
		{`[]`, `[]`},
		{`""`, `""`},
		{`{"b":1,"a":2,"B":3}`, `{"b":1,"a":2,"B":3}`},
		{`{"":{"":[]}}`, `{"":{"":[]}}`},
		{`"\u0041\/\b\f\n\r\t\"\\\u0000\u001F"`, `"A/\b\f\n\r\t\"\\\u0000\u001f"`},
		{`"\uabcd\uABCD\uefEF"`, "\"\uabcd\uabcd\uefef\""},
		{`"\ud83d\ude00 😀 é \u00e9"`, `"😀 😀 é é"`},
		{`"<>&` + "\u2028\x7f" + `"`, `"<>&` + "\u2028\x7f" + `"`},
		{`-0`, `0`},
		{`9223372036854775807`, `9223372036854775807`},
		{`-9223372036854775808`, `-9223372036854775808`},
		{`9223372036854775808`, `9223372036854775808`},
		{`[1.0,1e3,-0.0,1E-2,0e0]`, `[1.0,1e3,-0.0,1E-2,0e0]`},
		{deep, deep},
		{manyNames(MaxNames), manyNames(MaxNames)},
	} {
		v, err := Parse([]byte(c.text))
		if err != nil {
			t.Errorf("Parse(%q): %v", c.text, err)
			continue
		}
		if got := string(encode(nil, v)); got != c.canonical {
			t.Errorf("%q encodes as %q, want %q", c.text, got, c.canonical)
		}
	}
}

func TestIntegers(t *testing.T) {
	for _, c := range []struct {
		text string
		n    int64
		ok   bool
	}{
		{"0", 0, true}, {"-0", 0, true}, {"7", 7, true}, {"-7", -7, true},
		{"9223372036854775807", math.MaxInt64, true}, {"9223372036854775808", 0, false},
		{"-9223372036854775808", math.MinInt64, true}, {"-9223372036854775809", 0, false},
		{"92233720368547758070", 0, false}, {"99999999999999999999999999", 0, false},
		{"1.0", 0, false}, {"1e3", 0, false}, {"1E3", 0, false}, {"1e0", 0, false}, {"0.0", 0, false}, {"10e-1", 0, false},
	} {
		v, err := Parse([]byte(c.text))
		if err != nil {
			t.Fatalf("Parse(%s): %v", c.text, err)
		}
		if n, ok := v.Int(); n != c.n || ok != c.ok {
			t.Errorf("%s is %d, %v; want %d, %v", c.text, n, ok, c.n, c.ok)
		}
	}
}

func TestValueOfOtherKind(t *testing.T) {
	var none Value
	if _, ok := none.Text(); ok || none.Kind() != KindNull {
		t.Error("the zero Value is not null")
	}
	for _, text := range []string{`null`, `true`, `1`, `"s"`, `[]`, `{}`} {
		v, err := Parse([]byte(text))
		if err != nil {
			t.Fatal(err)
		}
		_, isText := v.Text()
		_, isInt := v.Int()
		_, isBool := v.Bool()
		if isText != (v.Kind() == KindString) || isInt != (v.Kind() == KindNumber) || isBool != (v.Kind() == KindBool) {
			t.Errorf("%s reads as another kind", text)
		}
	}
}

func TestLineID(t *testing.T) {
	for _, c := range []struct {
		line, id string
		ok       bool
	}{
		{`{"id":"a"}`, "a", true},
		{`{"x":{"id":"b"},"id":"a","y":[]}`, "a", true},
		{`{"id":"\u0061"}`, "a", true},
		{`{"id":""}`, "", true},
		{`{"id":"a","x":1,"x":2}`, "a", true},
		{`{"id":"a","id":"a"}`, "", false},
		{`{"id":"a","id":null}`, "", false},
		{`{"id":null}`, "", false},
		{`{"id":5}`, "", false},
		{`{"ID":"a"}`, "", false},
		{`{"x":{"id":"b"}}`, "", false},
		{`[{"id":"b"}]`, "", false},
		{`"id"`, "", false},
		{`{"id":"a"} {}`, "", false},
		{`{"id":"a"`, "", false},
		{`{id:"a"}`, "", false},
		{"{\"id\":\"a\",\"b\":\"\xff\"}", "", false},
		{``, "", false},
		{`{"id":"a",` + manyNames(MaxNames)[1:], "a", true},
	} {
		if id, ok := LineID([]byte(c.line)); id != c.id || ok != c.ok {
			t.Errorf("LineID(%q) = %q, %v; want %q, %v", c.line, id, ok, c.id, c.ok)
		}
	}
}

// encode writes a parsed value back with the Writer's own spelling.
func encode(dst []byte, v Value) []byte {
	switch v.Kind() {
	case KindNull:
		return append(dst, "null"...)
	case KindBool:
		b, _ := v.Bool()
		return strconv.AppendBool(dst, b)
	case KindNumber:
		if n, ok := v.Int(); ok {
			return strconv.AppendInt(dst, n, 10)
		}
		n := v.doc.nodes[v.at]
		return append(dst, v.doc.text[n.off:n.off+n.length]...)
	case KindString:
		s, _ := v.Text()
		return appendQuoted(dst, s)
	case KindArray:
		dst = append(dst, '[')
		for i, item := range v.items() {
			if i > 0 {
				dst = append(dst, ',')
			}
			dst = encode(dst, item)
		}
		return append(dst, ']')
	}
	dst = append(dst, '{')
	for at := v.at + 1; at < v.doc.nodes[v.at].end; at = v.doc.nodes[at+1].end {
		if at > v.at+1 {
			dst = append(dst, ',')
		}
		dst = append(appendQuoted(dst, v.doc.str(at)), ':')
		dst = encode(dst, Value{v.doc, at + 1})
	}
	return append(dst, '}')
}

// plain turns a value into what encoding/json makes of it with UseNumber.
func plain(v Value) any {
	switch v.Kind() {
	case KindNull:
		return nil
	case KindBool:
		b, _ := v.Bool()
		return b
	case KindNumber:
		n := v.doc.nodes[v.at]
		return json.Number(v.doc.text[n.off : n.off+n.length])
	case KindString:
		s, _ := v.Text()
		return s
	case KindArray:
		list := []any{}
		for _, item := range v.items() {
			list = append(list, plain(item))
		}
		return list
	}
	object := map[string]any{}
	for at := v.at + 1; at < v.doc.nodes[v.at].end; at = v.doc.nodes[at+1].end {
		object[v.doc.str(at)] = plain(Value{v.doc, at + 1})
	}
	return object
}

// agree checks one text: what Parse takes, encoding/json takes with the same
// meaning, and it encodes to a text that means the same and encodes to itself.
func agree(t interface{ Fatalf(string, ...any) }, data []byte) {
	kept := bytes.Clone(data)
	v, err := Parse(data)
	if err != nil {
		var e *Error
		if !errors.As(err, &e) || v != (Value{}) {
			t.Fatalf("%q: %v with %v", kept, err, v)
		}
		return
	}
	d := json.NewDecoder(bytes.NewReader(kept))
	d.UseNumber()
	var want any
	if err := d.Decode(&want); err != nil || !json.Valid(kept) {
		t.Fatalf("%q: accepted; encoding/json: %v", kept, err)
	}
	clear(data) // the value must not live on the caller's bytes
	if got := plain(v); !reflect.DeepEqual(got, want) {
		t.Fatalf("%q reads as %#v, encoding/json says %#v", kept, got, want)
	}
	once := encode(nil, v)
	back, err := Parse(once)
	if err != nil {
		t.Fatalf("%q: encodes as %q: %v", kept, once, err)
	}
	if twice := encode(nil, back); !bytes.Equal(once, twice) {
		t.Fatalf("%q: encodes as %q, then as %q", kept, once, twice)
	}
}

// One parser reads any text after any other as a new one does.
func TestParserAgain(t *testing.T) {
	var p Parser
	one := rapid.OneOf(
		rapid.SampledFrom([]string{`{"a":"\u00e9\n","b":[1,2,{"c":null}]}`, `[]`, `"x\\y"`, `7`, benchLine, `{"a":1,"a":2}`, `[[[`, `"\ud800"`, ``, "\"\xff\""}),
		rapid.StringMatching(`[\[\]{}":,\\ntu0-9a ]{0,20}`),
	)
	rapid.Check(t, func(t *rapid.T) {
		text := one.Draw(t, "text")
		got, err := p.Parse([]byte(text))
		want, wantErr := Parse([]byte(text))
		if (err == nil) != (wantErr == nil) || err != nil && (err.Error() != wantErr.Error() || got != (Value{})) {
			t.Fatalf("%q: %v, a new parser says %v", text, err, wantErr)
		}
		if err == nil && !reflect.DeepEqual(plain(got), plain(want)) {
			t.Fatalf("%q: %#v, a new parser reads %#v", text, plain(got), plain(want))
		}
	})
}

func FuzzParse(f *testing.F) {
	seeds := []string{
		`{"id":"q1","n":[1,-2,0.5,1e3],"t":true,"f":false,"x":null,"o":{"s":"\u00e9\ud83d\ude00\n"}}`,
		`{"a":1,"a":2}`, `[[[[]]]]`, `"\ud800"`, "\"\xff\"", `-0`, `9223372036854775808`, ` 1 `, `{"<>&":"\u2028"}`, `{"a":1,"\u0061":2}`,
	}
	if len(seeds) != 10 {
		f.Fatalf("%d seeds", len(seeds))
	}
	for _, s := range seeds {
		f.Add([]byte(s))
	}
	for _, c := range badTexts {
		f.Add([]byte(c.text))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		bounded.Run(t, time.Now, 8<<20, func() { agree(t, data) })
	})
}

// Texts made by encoding/json itself are taken, then damaged by one byte.
func TestAgreesWithEncodingJSON(t *testing.T) {
	var value func(depth int) *rapid.Generator[any]
	value = func(depth int) *rapid.Generator[any] {
		leaves := []*rapid.Generator[any]{
			rapid.Just[any](nil), rapid.Bool().AsAny(), rapid.Int64().AsAny(), rapid.String().AsAny(),
		}
		if depth == 0 {
			return rapid.OneOf(leaves...)
		}
		inner := rapid.Deferred(func() *rapid.Generator[any] { return value(depth - 1) })
		return rapid.OneOf(append(leaves,
			rapid.SliceOfN(inner, 0, 5).AsAny(), rapid.MapOfN(rapid.String(), inner, 0, 5).AsAny())...)
	}
	rapid.Check(t, func(t *rapid.T) {
		text, err := json.Marshal(value(4).Draw(t, "value"))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := Parse(text); err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		damaged := bytes.Clone(text)
		agree(t, text)
		damaged[rapid.IntRange(0, len(damaged)-1).Draw(t, "at")] = rapid.Byte().Draw(t, "byte")
		agree(t, damaged)
	})
}

const benchLine = `{"id":"q1","now":"2026-03-02","policy":{"angles":"bands","choke":"listed","max_months":12,"max_tilt_mdeg":5000},` +
	`"sling":{"system":"us","grade":80,"size":"3/8","legs":2,"reach_mm":2400,"adjustable":false,` +
	`"stamped":[{"legs":2,"basis":"h60","load_lb":12300}],"chart_g":null,"rating_tag":"legible","state":"in"}}`

func BenchmarkParse(b *testing.B) {
	data := []byte(benchLine)
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Parse(data); err != nil {
			b.Fatal(err)
		}
	}
}
