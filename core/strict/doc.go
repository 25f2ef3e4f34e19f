// Package strict reads and writes the JSON of this project: the machine
// surface, the bodies of events and the tag stocks.
//
// It reads less than JSON allows, because two readers that disagree about one
// line may disagree about a sling. [Parse] takes exactly one value (RFC 8259)
// in UTF-8 and refuses text after it, a name given twice in one object, lone
// surrogate escapes, nesting deeper than [MaxDepth] and objects of more than
// [MaxNames] names. Everything it takes, encoding/json takes too.
//
// [Open] then reads an object by name. Names are exact, letter for letter.
// null is the same as leaving a known name out. A name that nobody asked for is
// an error, null or not. Numbers are integers of 64 bits: 1.0 and 1e3 are
// none, for they say that their writer counts in floating point. -0 is read as
// 0: it has neither fraction nor exponent, and its value is exactly zero.
//
// Errors stick: the first one wins and is reported by [Object.Done], which
// every reader of an object must call before it uses what it read. A nil
// *Object reads as an object whose every field was left out, so that a reader
// may go on below a missing object.
//
//	v, err := strict.Parse(line)
//	if err != nil {
//		return err
//	}
//	o := strict.Open("sling", v)
//	legs := o.Int("legs", 1, 4)
//	size := o.Str("size")
//	if err := o.Done(); err != nil {
//		return err
//	}
//
// [Writer] writes compact JSON in the order of its calls, with the least
// escaping that RFC 8259 allows, so that the same facts give the same bytes.
package strict

import (
	"fmt"
	"strconv"
)

// MaxDepth is how deep arrays and objects may be nested in one value. Nothing
// of ours nests deeper than six.
const MaxDepth = 64

// MaxNames is how many names one object may have. Our largest has under thirty.
const MaxNames = 64

// Kind tells the six kinds of JSON value apart. The zero Kind is KindNull.
type Kind uint8

// The kinds of JSON value.
const (
	KindNull Kind = iota
	KindBool
	KindNumber
	KindString
	KindArray
	KindObject
)

// Error says where a value is not what was asked for.
type Error struct {
	Path   string // "question.lift.load_g"; empty for text that is not JSON
	Offset int    // byte at which the text stops being acceptable; -1 where Path tells the place
	Reason string
}

// Error joins place and reason.
func (e *Error) Error() string {
	if e.Offset >= 0 {
		return e.Reason + " at byte " + strconv.Itoa(e.Offset)
	}
	if e.Path == "" {
		return e.Reason
	}
	return e.Path + ": " + e.Reason
}

// Value is one parsed value. It keeps nothing of the bytes that it was parsed
// from, is never changed and may be read by many goroutines. The zero Value is null.
type Value struct {
	doc *document
	at  int32
}

// document is a parsed text as a flat row of nodes in reading order: after an
// object come its names and values in turn, after an array its items.
type document struct {
	text    string   // the whole input
	nodes   []node   // the first is the value itself
	decoded []string // strings that held escapes
}

type node struct {
	kind    Kind
	integer bool  // number without fraction and exponent that fits 64 bits
	escaped bool  // string: its text is decoded[n]
	end     int32 // index just after this value and all inside it
	off     int32 // string: first byte inside the quotes; number: first byte
	length  int32
	n       int64 // integer; bool as 0 or 1; index into decoded; count of items or names
}

// Kind says what the value is.
func (v Value) Kind() Kind {
	if v.doc == nil {
		return KindNull
	}
	return v.doc.nodes[v.at].kind
}

// Text is the value's text, and whether it is a string at all.
func (v Value) Text() (string, bool) {
	if v.Kind() != KindString {
		return "", false
	}
	return v.doc.str(v.at), true
}

// Int is the value's number, and whether it is an integer of 64 bits.
func (v Value) Int() (int64, bool) {
	if v.Kind() != KindNumber {
		return 0, false
	}
	n := &v.doc.nodes[v.at]
	return n.n, n.integer
}

// Bool is the value's truth, and whether it is true or false at all.
func (v Value) Bool() (value, ok bool) {
	if v.Kind() != KindBool {
		return false, false
	}
	return v.doc.nodes[v.at].n == 1, true
}

func (d *document) str(at int32) string {
	n := &d.nodes[at]
	if n.escaped {
		return d.decoded[n.n]
	}
	return d.text[n.off : n.off+n.length]
}

// items lists the values of an array.
func (v Value) items() []Value {
	n := &v.doc.nodes[v.at]
	list := make([]Value, 0, n.n)
	for at := v.at + 1; at < n.end; at = v.doc.nodes[at].end {
		list = append(list, Value{v.doc, at})
	}
	return list
}

func syntax(at int, format string, args ...any) *Error {
	return &Error{Offset: at, Reason: fmt.Sprintf(format, args...)}
}
