package strict

import (
	"encoding/json"
	"fmt"
	"testing"

	"pgregory.net/rapid"
)

func TestWriter(t *testing.T) {
	var w Writer
	w.Begin()
	w.Str("id", "a\"\\\b\f\n\r\t\x00\x1f<>&\u2028é")
	w.Int("n", -5)
	w.Bool("t", true)
	w.Null("z")
	w.Obj("o")
	w.End()
	w.List("l")
	w.ItemInt(-12)
	w.ItemStr("x")
	w.Begin()
	w.Raw("raw", []byte(`[1]`))
	w.End()
	w.BeginList()
	w.End()
	w.ItemRaw([]byte(`null`))
	w.End()
	w.Int("last", 0)
	w.End()
	got, err := w.Bytes()
	const want = `{"id":"a\"\\\b\f\n\r\t\u0000\u001f<>&` + "\u2028" + `é","n":-5,"t":true,"z":null,"o":{},"l":[-12,"x",{"raw":[1]},[],null],"last":0}`
	if err != nil || string(got) != want {
		t.Errorf("got  %s, %v\nwant %s", got, err, want)
	}
	if _, err := Parse(got); err != nil {
		t.Error(err)
	}
}

func TestWriterRefuses(t *testing.T) {
	for _, c := range []struct {
		why   string
		write func(*Writer)
	}{
		{"nothing", func(*Writer) {}},
		{"left open", func(w *Writer) { w.Begin() }},
		{"end without start", func(w *Writer) { w.Begin(); w.End(); w.End() }},
		{"name at the top", func(w *Writer) { w.Int("n", 1) }},
		{"name in a list", func(w *Writer) { w.BeginList(); w.Int("n", 1); w.End() }},
		{"item in an object", func(w *Writer) { w.Begin(); w.ItemInt(1); w.End() }},
		{"object in an object without a name", func(w *Writer) { w.Begin(); w.Begin(); w.End(); w.End() }},
		{"two values", func(w *Writer) { w.ItemInt(1); w.ItemInt(2) }},
		{"string not UTF-8", func(w *Writer) { w.ItemStr("\xff") }},
		{"name not UTF-8", func(w *Writer) { w.Begin(); w.Int("\xff", 1); w.End() }},
	} {
		var w Writer
		c.write(&w)
		if b, err := w.Bytes(); err == nil || b != nil {
			t.Errorf("%s: %q, %v", c.why, b, err)
		}
	}
}

// Every string comes back, through Parse and through encoding/json.
func TestWriterRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name, text, n := rapid.String().Draw(t, "name"), rapid.String().Draw(t, "text"), rapid.Int64().Draw(t, "n")
		var w Writer
		w.Begin()
		w.Str(name, text)
		w.Int(name+"n", n)
		w.End()
		b, err := w.Bytes()
		if err != nil {
			t.Fatal(err)
		}
		v, err := Parse(b)
		if err != nil {
			t.Fatal(err)
		}
		o := Open("q", v)
		if o.Str(name) != text || o.Int(name+"n", n, n) != n || o.Done() != nil {
			t.Fatalf("%s reads back otherwise: %v", b, o.Done())
		}
		var m map[string]any
		if err := json.Unmarshal(b, &m); err != nil || m[name] != text {
			t.Fatalf("encoding/json reads %s as %v, %v", b, m, err)
		}
	})
}

func ExampleOpen() {
	v, err := Parse([]byte(`{"legs":2,"size":"3/8","load_kg":null}`))
	if err != nil {
		fmt.Println(err)
		return
	}
	o := Open("sling", v)
	fmt.Println(o.Int("legs", 1, 4), o.Str("size"))
	fmt.Println(o.Done())
	// Output:
	// 2 3/8
	// sling: unknown name "load_kg"
}

func BenchmarkWriter(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		var w Writer
		w.Begin()
		w.Str("id", "q1")
		w.Str("verdict", "issue")
		w.List("reasons")
		w.End()
		w.Int("required_g", 4_000_000)
		w.Int("allowed_g", 4_535_924)
		w.End()
		if _, err := w.Bytes(); err != nil {
			b.Fatal(err)
		}
	}
}
