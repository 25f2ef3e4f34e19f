package ipp

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
)

// MaxMessage is the most bytes of one message that is read or written. A printer
// that tells all about itself needs some ten thousand (site policy, no source).
const MaxMessage = 1 << 20

// Errors of Decode.
var (
	ErrSyntax   = errors.New("not laid out as RFC 8010 says")
	ErrShort    = errors.New("it ends too early")
	ErrTooLarge = fmt.Errorf("it is larger than %d bytes", MaxMessage)
)

// Decode reads one message and nothing behind it. Errors are ErrSyntax, ErrShort,
// ErrTooLarge, or the reader's own; then the message is zero.
func Decode(r io.Reader) (Message, error) {
	d := decoder{r: r, left: MaxMessage}
	m := d.message()
	if d.err != nil {
		return Message{}, fmt.Errorf("ipp: read message: %w", d.err)
	}
	return m, nil
}

// A decoder reads until its first error, and from then on zeros.
type decoder struct {
	r    io.Reader
	left int // bytes that may still be read
	err  error
}

func (d *decoder) fail(err error) {
	if d.err == nil {
		d.err = err
	}
}

func (d *decoder) syntax(format string, args ...any) {
	d.fail(fmt.Errorf("%w: "+format, append([]any{ErrSyntax}, args...)...))
}

func (d *decoder) message() Message {
	head := d.bytes(8)
	if d.err != nil {
		return Message{}
	}
	m := Message{
		Version: Version{head[0], head[1]},
		Code:    binary.BigEndian.Uint16(head[2:]),
		ID:      int32(binary.BigEndian.Uint32(head[4:])),
	}
	for d.err == nil {
		switch tag := d.byte(); {
		case d.err != nil:
		case tag == endTag:
			return m
		case GroupTag(tag).valid():
			m.Groups = append(m.Groups, Group{Tag: GroupTag(tag)})
		case tag < firstValue:
			d.syntax("tag %02x begins nothing", tag)
		case len(m.Groups) == 0:
			d.syntax("a value stands before the first group")
		default:
			d.value(&m.Groups[len(m.Groups)-1], ValueTag(tag))
		}
	}
	return Message{}
}

// value reads the rest of one value, and gives it to the attribute before it
// where it has no name of its own.
func (d *decoder) value(g *Group, tag ValueTag) {
	name := string(d.field())
	data := d.field()
	switch {
	case d.err != nil:
	case name != "":
		g.Attributes = append(g.Attributes, Attribute{Name: name, Values: []Value{{tag, data}}})
	case len(g.Attributes) == 0:
		d.syntax("a value without a name stands first in its group")
	default:
		a := &g.Attributes[len(g.Attributes)-1]
		a.Values = append(a.Values, Value{tag, data})
	}
}

// field reads a length of two bytes and as many bytes.
func (d *decoder) field() []byte {
	head := d.bytes(2)
	if d.err != nil {
		return nil
	}
	n := int(int16(binary.BigEndian.Uint16(head)))
	if n < 0 {
		d.syntax("a length is below zero")
		return nil
	}
	return d.bytes(n)
}

func (d *decoder) byte() byte {
	if b := d.bytes(1); d.err == nil {
		return b[0]
	}
	return 0
}

// bytes reads n bytes; none give nil.
func (d *decoder) bytes(n int) []byte {
	if d.err != nil || n == 0 {
		return nil
	}
	if n > d.left {
		d.fail(ErrTooLarge)
		return nil
	}
	b := make([]byte, n)
	if _, err := io.ReadFull(d.r, b); errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		d.fail(ErrShort)
		return nil
	} else if err != nil {
		d.fail(err)
		return nil
	}
	d.left -= n
	return b
}
