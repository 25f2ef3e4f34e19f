package strict

import (
	"fmt"
	"strconv"
	"unicode/utf8"
)

// Writer writes compact JSON in the order of its calls: no white space, no
// escape that RFC 8259 section 7 does not demand. The zero Writer is ready.
// It is for one goroutine. Errors stick and are given by Bytes.
//
// Begin starts an object, as the whole text or as the next item of a list;
// Obj and List start one under a name; End ends what was started last.
type Writer struct {
	buf    []byte
	open   []byte // closing brackets still to come
	filled bool   // the object or list started last has something in it
	err    error
}

// Reset makes w ready for another text, which overwrites what Bytes gave.
func (w *Writer) Reset() { *w = Writer{buf: w.buf[:0], open: w.open[:0]} }

// Begin starts an object without a name: the whole text, or the next item of a list.
func (w *Writer) Begin() { w.item(); w.start('{', '}') }

// BeginList starts a list without a name.
func (w *Writer) BeginList() { w.item(); w.start('[', ']') }

// Obj starts an object under a name.
func (w *Writer) Obj(name string) { w.name(name); w.start('{', '}') }

// List starts a list under a name.
func (w *Writer) List(name string) { w.name(name); w.start('[', ']') }

// End ends the object or list that was started last.
func (w *Writer) End() {
	n := len(w.open)
	if n == 0 {
		w.fail("strict: End without a start")
		return
	}
	w.buf = append(w.buf, w.open[n-1])
	w.open = w.open[:n-1]
	w.filled = true
}

// Str writes a string under a name.
func (w *Writer) Str(name, v string) { w.name(name); w.quote(v) }

// Int writes an integer under a name.
func (w *Writer) Int(name string, v int64) { w.name(name); w.buf = strconv.AppendInt(w.buf, v, 10) }

// Bool writes true or false under a name.
func (w *Writer) Bool(name string, v bool) { w.name(name); w.buf = strconv.AppendBool(w.buf, v) }

// Null writes null under a name.
func (w *Writer) Null(name string) { w.name(name); w.buf = append(w.buf, "null"...) }

// Raw writes, under a name, JSON that was written by another Writer.
func (w *Writer) Raw(name string, json []byte) { w.name(name); w.buf = append(w.buf, json...) }

// ItemStr writes a string as the next item of a list.
func (w *Writer) ItemStr(v string) { w.item(); w.quote(v) }

// Strs writes a member that is a list of strings, empty for none, as [Object.Strs]
// reads it.
func (w *Writer) Strs(name string, list []string) {
	w.List(name)
	for _, v := range list {
		w.ItemStr(v)
	}
	w.End()
}

// ItemInt writes an integer as the next item of a list.
func (w *Writer) ItemInt(v int64) { w.item(); w.buf = strconv.AppendInt(w.buf, v, 10) }

// ItemRaw writes, as the next item of a list, JSON that was written by another Writer.
func (w *Writer) ItemRaw(json []byte) { w.item(); w.buf = append(w.buf, json...) }

// Fail records that something to be written has no spelling. The first error
// wins and is given by Bytes.
func (w *Writer) Fail(err error) {
	if w.err == nil {
		w.err = err
	}
}

// Bytes is the text written. It is an error to leave an object or list open, to
// write a name in a list or an item in an object, to write nothing, or to write
// a string that is not UTF-8.
func (w *Writer) Bytes() ([]byte, error) {
	switch {
	case w.err != nil:
		return nil, w.err
	case len(w.open) > 0:
		return nil, fmt.Errorf("strict: write: %d objects or lists left open", len(w.open))
	case len(w.buf) == 0:
		return nil, fmt.Errorf("strict: write: nothing written")
	}
	return w.buf, nil
}

func (w *Writer) fail(format string, args ...any) { w.Fail(fmt.Errorf(format, args...)) }

func (w *Writer) start(opening, closing byte) {
	w.buf = append(w.buf, opening)
	w.open = append(w.open, closing)
	w.filled = false
}

func (w *Writer) comma() {
	if w.filled {
		w.buf = append(w.buf, ',')
	}
	w.filled = true
}

func (w *Writer) name(name string) {
	if n := len(w.open); n == 0 || w.open[n-1] != '}' {
		w.fail("strict: write: name %q outside an object", name)
	}
	w.comma()
	w.quote(name)
	w.buf = append(w.buf, ':')
}

func (w *Writer) item() {
	if n := len(w.open); n == 0 && len(w.buf) > 0 || n > 0 && w.open[n-1] != ']' {
		w.fail("strict: write: item outside a list")
	}
	w.comma()
}

func (w *Writer) quote(s string) {
	if !utf8.ValidString(s) {
		w.fail("strict: write: %q is not UTF-8", s)
	}
	w.buf = appendQuoted(w.buf, s)
}

// appendQuoted escapes quote, backslash and control characters, and nothing else.
func appendQuoted(dst []byte, s string) []byte {
	const hex = "0123456789abcdef"
	dst = append(dst, '"')
	from := 0
	for i := nextSpecial(s, 0); i < len(s); i = nextSpecial(s, from) {
		c := s[i]
		dst = append(dst, s[from:i]...)
		from = i + 1
		switch c {
		case '"', '\\':
			dst = append(dst, '\\', c)
		case '\b':
			dst = append(dst, '\\', 'b')
		case '\f':
			dst = append(dst, '\\', 'f')
		case '\n':
			dst = append(dst, '\\', 'n')
		case '\r':
			dst = append(dst, '\\', 'r')
		case '\t':
			dst = append(dst, '\\', 't')
		default:
			dst = append(dst, '\\', 'u', '0', '0', hex[c>>4], hex[c&15])
		}
	}
	dst = append(dst, s[from:]...)
	return append(dst, '"')
}
