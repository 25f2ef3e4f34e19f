package strict

import (
	"fmt"
	"math"
	"strconv"
)

// Object reads one JSON object by name. It is for one goroutine. A nil *Object
// reads as an object whose every field was left out; asking it for a required
// field gives the zero value and no further error.
type Object struct {
	all    *reading
	parent *Object // nil for the object that Open was given
	name   string  // under the parent, or the path given to Open
	index  int     // in an array of the parent's; -1 outside one
	value  Value
	asked  uint64 // bit n: the n-th name was asked for
	place  int32  // node of the name to look at first, its ordinal in ordinal
	ord    uint
	next   *Object
}

// reading is what an object opened by Open shares with all objects inside it.
type reading struct {
	err     error
	objects *Object
}

// Open starts reading an object. path names it in errors. A value that is not
// an object is an error that Done reports.
func Open(path string, v Value) *Object {
	o := &Object{all: new(reading), name: path, index: -1}
	o.open(v)
	return o
}

func (o *Object) open(v Value) {
	o.next, o.all.objects = o.all.objects, o
	if v.Kind() != KindObject {
		o.fail("not an object")
		return
	}
	o.value, o.place = v, v.at+1
}

func (o *Object) path() string {
	if o.parent == nil {
		return o.name
	}
	p := o.parent.path() + "." + o.name
	if o.index >= 0 {
		p += "[" + strconv.Itoa(o.index) + "]"
	}
	return p
}

// Path is where the object lies, as errors name it. Empty for nil.
func (o *Object) Path() string {
	if o == nil {
		return ""
	}
	return o.path()
}

func (o *Object) fail(format string, args ...any) {
	if o.all.err == nil {
		o.all.err = &Error{Path: o.path(), Offset: -1, Reason: fmt.Sprintf(format, args...)}
	}
}

// Fail records that the field name is not acceptable, for a reason that only
// the caller knows. An empty name stands for the object itself. The first error wins.
func (o *Object) Fail(name, format string, args ...any) {
	if o == nil || o.all.err != nil {
		return
	}
	path := o.path()
	if name != "" {
		path += "." + name
	}
	o.all.err = &Error{Path: path, Offset: -1, Reason: fmt.Sprintf(format, args...)}
}

// Done ends the reading of an object. It gives the first error of all that was
// read since Open, or else names a field that nobody asked for, in this object
// or in any object inside it. The error is an *[Error].
func (o *Object) Done() error {
	if o == nil {
		return nil
	}
	for x := o.all.objects; x != nil && o.all.err == nil; x = x.next {
		x.unknown()
	}
	return o.all.err
}

func (o *Object) unknown() {
	d := o.value.doc
	if d == nil {
		return
	}
	ord := uint(0)
	for at := o.value.at + 1; at < d.nodes[o.value.at].end; at = d.nodes[at+1].end {
		if o.asked&(1<<ord) == 0 {
			o.fail("unknown name %q", d.str(at))
			return
		}
		ord++
	}
}

// find gives the value under name; the zero Value, which is null, where it is left out.
// Fields mostly come in the order they are asked for, so it looks on from the last one.
func (o *Object) find(name string) Value {
	if o == nil || o.value.doc == nil {
		return Value{}
	}
	d, first := o.value.doc, o.value.at+1
	end := d.nodes[o.value.at].end
	at, ord := o.place, o.ord
	for range d.nodes[o.value.at].n {
		if at == end {
			at, ord = first, 0
		}
		if d.str(at) == name {
			o.asked |= 1 << ord
			o.place, o.ord = d.nodes[at+1].end, ord+1
			return Value{d, at + 1}
		}
		at, ord = d.nodes[at+1].end, ord+1
	}
	return Value{}
}

// need is find for a field that must be there.
func (o *Object) need(name string) (Value, bool) {
	v := o.find(name)
	if v.Kind() == KindNull {
		o.Fail(name, "missing")
		return v, false
	}
	return v, true
}

// Has tells whether the field is there and not null.
func (o *Object) Has(name string) bool { return o.find(name).Kind() != KindNull }

// Value gives the field as it stands, null where it is left out. Nothing inside it is checked.
func (o *Object) Value(name string) Value { return o.find(name) }

// Str reads a required string.
func (o *Object) Str(name string) string {
	if v, ok := o.need(name); ok {
		return o.str(name, v)
	}
	return ""
}

// OptStr reads a string that may be left out.
func (o *Object) OptStr(name, def string) string {
	if v := o.find(name); v.Kind() != KindNull {
		return o.str(name, v)
	}
	return def
}

func (o *Object) str(name string, v Value) string {
	s, ok := v.Text()
	if !ok {
		o.Fail(name, "not a string")
	}
	return s
}

// Int reads a required integer from min to max. What is out of range gives 0 and an error.
func (o *Object) Int(name string, min, max int64) int64 {
	if v, ok := o.need(name); ok {
		return o.int(name, v, min, max)
	}
	return 0
}

// OptInt reads an integer that may be left out.
func (o *Object) OptInt(name string, min, max, def int64) int64 {
	if v := o.find(name); v.Kind() != KindNull {
		return o.int(name, v, min, max)
	}
	return def
}

func (o *Object) int(name string, v Value, min, max int64) int64 {
	n, ok := v.Int()
	switch {
	case !ok:
		o.Fail(name, "not an integer of 64 bits")
	case (n < min || n > max) && max == math.MaxInt64:
		o.Fail(name, "%d is less than %d", n, min)
	case n < min || n > max:
		o.Fail(name, "%d is not from %d to %d", n, min, max)
	default:
		return n
	}
	return 0
}

// Bool reads a required true or false.
func (o *Object) Bool(name string) bool {
	v, ok := o.need(name)
	return ok && o.bool(name, v)
}

// OptBool reads a true or false that may be left out.
func (o *Object) OptBool(name string, def bool) bool {
	if v := o.find(name); v.Kind() != KindNull {
		return o.bool(name, v)
	}
	return def
}

func (o *Object) bool(name string, v Value) bool {
	b, ok := v.Bool()
	if !ok {
		o.Fail(name, "not true or false")
	}
	return b
}

// Obj reads a required object inside this one: nil, with an error, where there is none.
// Every object is read through one call of Obj, OptObj, Objs or OptObjs only.
func (o *Object) Obj(name string) *Object {
	if v, ok := o.need(name); ok {
		return o.child(name, -1, v)
	}
	return nil
}

// OptObj reads an object that may be left out: then it is nil.
func (o *Object) OptObj(name string) *Object {
	if v := o.find(name); v.Kind() != KindNull {
		return o.child(name, -1, v)
	}
	return nil
}

func (o *Object) child(name string, index int, v Value) *Object {
	c := &Object{all: o.all, parent: o, name: name, index: index}
	c.open(v)
	return c
}

// Arr reads a required array; its items may be of any kind, null included.
func (o *Object) Arr(name string) []Value {
	if v, ok := o.need(name); ok {
		return o.arr(name, v)
	}
	return nil
}

// OptArr reads an array that may be left out: then it is nil.
func (o *Object) OptArr(name string) []Value {
	if v := o.find(name); v.Kind() != KindNull {
		return o.arr(name, v)
	}
	return nil
}

func (o *Object) arr(name string, v Value) []Value {
	if v.Kind() != KindArray {
		o.Fail(name, "not a list")
		return nil
	}
	return v.items()
}

// Objs reads a required array of objects.
func (o *Object) Objs(name string) []*Object { return o.objs(name, o.Arr(name)) }

// OptObjs reads an array of objects that may be left out: then it is nil.
func (o *Object) OptObjs(name string) []*Object { return o.objs(name, o.OptArr(name)) }

func (o *Object) objs(name string, items []Value) []*Object {
	if len(items) == 0 {
		return nil
	}
	list := make([]*Object, len(items))
	for i, v := range items {
		list[i] = o.child(name, i, v)
	}
	return list
}

// Strs reads a required array of strings.
func (o *Object) Strs(name string) []string {
	items := o.Arr(name)
	if len(items) == 0 {
		return nil
	}
	list := make([]string, len(items))
	for i, v := range items {
		s, ok := v.Text()
		if !ok {
			o.Fail(name, "item %d is not a string", i)
		}
		list[i] = s
	}
	return list
}
