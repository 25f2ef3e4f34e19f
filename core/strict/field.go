package strict

import "math"

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
