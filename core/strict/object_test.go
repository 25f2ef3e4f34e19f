package strict

import (
	"errors"
	"math"
	"slices"
	"testing"
)

func open(t testing.TB, text string) *Object {
	t.Helper()
	v, err := Parse([]byte(text))
	if err != nil {
		t.Fatalf("Parse(%q): %v", text, err)
	}
	return Open("q", v)
}

// readAll reads an object with one field of every kind.
func readAll(o *Object) error {
	o.Str("s")
	o.OptStr("os", "def")
	o.Int("n", 1, 9)
	o.OptInt("on", 1, 9, 5)
	o.Bool("b")
	o.OptBool("ob", true)
	in := o.Obj("o")
	in.Int("x", math.MinInt64, math.MaxInt64)
	o.OptObj("oo").OptStr("y", "")
	for _, item := range o.Objs("l") {
		item.Str("z")
	}
	for _, item := range o.OptObjs("ol") {
		item.Str("z")
	}
	o.Strs("w")
	o.OptArr("any")
	return o.Done()
}

const whole = `{"s":"","n":1,"b":false,"o":{"x":0},"l":[{"z":"1"},{"z":"2"}],"w":["a","b"]}`

func TestObjectReads(t *testing.T) {
	for _, text := range []string{
		whole,
		`{"w":[],"l":[],"o":{"x":-9223372036854775808},"b":true,"n":9,"s":"\n"}`,
		`{"s":"","os":null,"n":1,"on":null,"b":false,"ob":null,"o":{"x":0},"oo":null,"l":[],"ol":null,"w":[],"any":null}`,
		`{"s":"","os":"","n":1,"on":9,"b":false,"ob":false,"o":{"x":0},"oo":{"y":null},"l":[],"ol":[{"z":""}],"w":[],"any":[1,null,{"k":1}]}`,
	} {
		if err := readAll(open(t, text)); err != nil {
			t.Errorf("%s: %v", text, err)
		}
	}
}

func TestObjectRefuses(t *testing.T) {
	for _, c := range []struct{ text, path, reason string }{
		{`[]`, "q", "not an object"},
		{`null`, "q", "not an object"},
		{`{"n":1,"b":false,"o":{"x":0},"l":[],"w":[]}`, "q.s", "missing"},
		{`{"s":null,"n":1,"b":false,"o":{"x":0},"l":[],"w":[]}`, "q.s", "missing"},
		{`{"S":"","n":1,"b":false,"o":{"x":0},"l":[],"w":[]}`, "q.s", "missing"},
		{`{"s":1,"n":1,"b":false,"o":{"x":0},"l":[],"w":[]}`, "q.s", "not a string"},
		{`{"s":"","os":1,"n":1,"b":false,"o":{"x":0},"l":[],"w":[]}`, "q.os", "not a string"},
		{`{"s":"","n":0,"b":false,"o":{"x":0},"l":[],"w":[]}`, "q.n", "0 is not from 1 to 9"},
		{`{"s":"","n":10,"b":false,"o":{"x":0},"l":[],"w":[]}`, "q.n", "10 is not from 1 to 9"},
		{`{"s":"","n":1.0,"b":false,"o":{"x":0},"l":[],"w":[]}`, "q.n", "not an integer of 64 bits"},
		{`{"s":"","n":1e0,"b":false,"o":{"x":0},"l":[],"w":[]}`, "q.n", "not an integer of 64 bits"},
		{`{"s":"","n":"1","b":false,"o":{"x":0},"l":[],"w":[]}`, "q.n", "not an integer of 64 bits"},
		{`{"s":"","n":true,"b":false,"o":{"x":0},"l":[],"w":[]}`, "q.n", "not an integer of 64 bits"},
		{`{"s":"","n":1,"on":10,"b":false,"o":{"x":0},"l":[],"w":[]}`, "q.on", "10 is not from 1 to 9"},
		{`{"s":"","n":1,"b":0,"o":{"x":0},"l":[],"w":[]}`, "q.b", "not true or false"},
		{`{"s":"","n":1,"b":"true","o":{"x":0},"l":[],"w":[]}`, "q.b", "not true or false"},
		{`{"s":"","n":1,"b":true,"ob":1,"o":{"x":0},"l":[],"w":[]}`, "q.ob", "not true or false"},
		{`{"s":"","n":1,"b":true,"l":[],"w":[]}`, "q.o", "missing"},
		{`{"s":"","n":1,"b":true,"o":[],"l":[],"w":[]}`, "q.o", "not an object"},
		{`{"s":"","n":1,"b":true,"o":{},"l":[],"w":[]}`, "q.o.x", "missing"},
		{`{"s":"","n":1,"b":true,"o":{"x":9223372036854775808},"l":[],"w":[]}`, "q.o.x", "not an integer of 64 bits"},
		{`{"s":"","n":1,"b":true,"o":{"x":0},"oo":"","l":[],"w":[]}`, "q.oo", "not an object"},
		{`{"s":"","n":1,"b":true,"o":{"x":0},"l":{},"w":[]}`, "q.l", "not a list"},
		{`{"s":"","n":1,"b":true,"o":{"x":0},"l":[null],"w":[]}`, "q.l[0]", "not an object"},
		{`{"s":"","n":1,"b":true,"o":{"x":0},"l":[{"z":"1"},{}],"w":[]}`, "q.l[1].z", "missing"},
		{`{"s":"","n":1,"b":true,"o":{"x":0},"l":[],"w":null}`, "q.w", "missing"},
		{`{"s":"","n":1,"b":true,"o":{"x":0},"l":[],"w":["a",1]}`, "q.w", "item 1 is not a string"},
		{`{"s":"","n":1,"b":true,"o":{"x":0},"l":[],"w":["a",null]}`, "q.w", "item 1 is not a string"},
		{`{"s":"","n":1,"b":true,"o":{"x":0},"l":[],"w":[],"any":5}`, "q.any", "not a list"},
		{whole[:len(whole)-1] + `,"N":1}`, "q", `unknown name "N"`},
		{whole[:len(whole)-1] + `,"more":null}`, "q", `unknown name "more"`},
		{`{"":null,` + whole[1:], "q", `unknown name ""`},
		{`{"s":"","n":1,"b":true,"o":{"x":0,"X":null},"l":[],"w":[]}`, "q.o", `unknown name "X"`},
		{`{"s":"","n":1,"b":true,"o":{"x":0},"l":[{"z":"","k":1}],"w":[]}`, "q.l[0]", `unknown name "k"`},
	} {
		err := readAll(open(t, c.text))
		var e *Error
		if !errors.As(err, &e) || e.Path != c.path || e.Reason != c.reason || e.Offset != -1 {
			t.Errorf("%s: %v; want %s: %s", c.text, err, c.path, c.reason)
		}
	}
}

func TestObjectValues(t *testing.T) {
	o := open(t, `{"n":4,"s":"t","b":true,"w":["x"],"v":[1],"z":null}`)
	if n := o.Int("n", 1, 4); n != 4 {
		t.Errorf("n = %d", n)
	}
	if n := o.OptInt("m", 1, 4, 3); n != 3 {
		t.Errorf("m = %d", n)
	}
	if s := o.OptStr("s", "def") + o.OptStr("z", "def"); s != "tdef" {
		t.Errorf("s and z = %q", s)
	}
	if !o.Bool("b") || !o.OptBool("c", true) || o.OptBool("c", false) {
		t.Error("truth is lost")
	}
	if w := o.Strs("w"); !slices.Equal(w, []string{"x"}) {
		t.Errorf("w = %q", w)
	}
	if !o.Has("n") || o.Has("z") || o.Has("y") {
		t.Error("Has is wrong")
	}
	if v := o.Value("v"); v.Kind() != KindArray || o.Value("y").Kind() != KindNull || o.Path() != "q" {
		t.Errorf("v is of kind %d", v.Kind())
	}
	if err := o.Done(); err != nil {
		t.Error(err)
	}
}

func TestObjectFirstErrorWins(t *testing.T) {
	o := open(t, `{"n":0,"o":{"x":1}}`)
	in := o.Obj("o")
	in.Fail("x", "is %s", "odd")
	o.Int("n", 1, 4)
	o.Fail("", "later")
	if err := o.Done(); err == nil || err.Error() != "q.o.x: is odd" {
		t.Errorf("Done = %v", err)
	}
	if err := in.Done(); err == nil || err.Error() != "q.o.x: is odd" {
		t.Errorf("Done of the inner object = %v", err)
	}
	o = open(t, `{}`)
	o.Fail("", "refers to nothing")
	if err := o.Done(); err == nil || err.Error() != "q: refers to nothing" {
		t.Errorf("Done = %v", err)
	}
}

func TestNilObject(t *testing.T) {
	var o *Object
	o.Fail("x", "nobody hears")
	if o.Has("x") || o.Str("x") != "" || o.OptStr("x", "d") != "d" || o.Int("x", 1, 2) != 0 || o.OptInt("x", 1, 2, 2) != 2 ||
		o.Bool("x") || !o.OptBool("x", true) || o.Obj("x") != nil || o.OptObj("x") != nil || o.Arr("x") != nil ||
		o.OptArr("x") != nil || o.Objs("x") != nil || o.OptObjs("x") != nil || o.Strs("x") != nil || o.Path() != "" || o.Done() != nil {
		t.Error("a nil Object does not read as one with nothing in it")
	}
}

// Fields are found whatever their order, and the last of the most that an object may have is still checked.
func TestObjectOrderAndSize(t *testing.T) {
	o := open(t, manyNames(MaxNames))
	for _, name := range []string{"n63", "n0", "n62", "n1", "n63"} {
		o.Int(name, 0, 0)
	}
	if o.Int("n64", 0, 0); o.Done() == nil {
		t.Error("n64 is there")
	}
	o = open(t, manyNames(MaxNames))
	for i := range MaxNames - 1 {
		o.Value("n" + string(rune('0'+i/10)) + string(rune('0'+i%10)))
		if i < 10 {
			o.Value("n" + string(rune('0'+i)))
		}
	}
	if err := o.Done(); err == nil || err.Error() != `q: unknown name "n63"` {
		t.Errorf("Done = %v", err)
	}
}

func BenchmarkObject(b *testing.B) {
	data := []byte(benchLine)
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		v, err := Parse(data)
		if err != nil {
			b.Fatal(err)
		}
		o := Open("question", v)
		o.Str("id")
		o.Str("now")
		p := o.OptObj("policy")
		p.OptStr("angles", "")
		p.OptStr("choke", "")
		p.OptInt("max_months", 1, 12, 12)
		p.OptInt("max_tilt_mdeg", 0, 45_000, 5000)
		s := o.Obj("sling")
		for _, name := range []string{"system", "size", "rating_tag", "state"} {
			s.Str(name)
		}
		s.Int("grade", 80, 120)
		s.Int("legs", 1, 4)
		s.OptInt("reach_mm", 1, 1e6, 0)
		s.OptBool("adjustable", false)
		s.OptInt("chart_g", 1, 1e12, 0)
		for _, st := range s.Objs("stamped") {
			st.Int("legs", 1, 4)
			st.Str("basis")
			st.Int("load_lb", 1, 1e9)
		}
		if err := o.Done(); err != nil {
			b.Fatal(err)
		}
	}
}
