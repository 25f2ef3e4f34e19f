package strict

import (
	"fmt"
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
	room := new(struct {
		Object
		reading
	})
	o := &room.Object
	*o = Object{all: &room.reading, name: path, index: -1}
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
