// Package ipp writes and reads the messages of the Internet Printing Protocol,
// as RFC 8010 lays them out: a version, a code, the number of the request, and
// groups of named attributes. What follows a message, a document, is not its
// matter.
//
// [Message.Encode] writes one and [Decode] reads one, from anybody: it takes no
// more than [MaxMessage] bytes, and what it does take encodes to the very same
// bytes again. Attributes that are collections are kept flat, value after value,
// as they stand on the wire; nothing here asks for one.
//
// Codes and layout are of RFC 8010 and RFC 8011: the codes of operations as
// quoted, everything else from memory, not seen.
package ipp

// MediaType is what an HTTP message that carries one is called (RFC 8010, from
// memory, not seen).
const MediaType = "application/ipp"

// A Version of the protocol: 1.1 is {1, 1}. The zero Version is none.
type Version struct{ Major, Minor uint8 }

// An Operation is what a request asks for.
type Operation uint16

// Operations (RFC 8011; codes as quoted, Cancel-Job's from memory, not seen).
const (
	PrintJob             Operation = 0x0002
	ValidateJob          Operation = 0x0004
	CancelJob            Operation = 0x0008
	GetJobAttributes     Operation = 0x0009
	GetPrinterAttributes Operation = 0x000B
)

// A Message is a request, whose Code is its Operation, or an answer, whose Code
// is its Status. The zero Message says nothing.
type Message struct {
	Version Version
	Code    uint16
	ID      int32 // of the request, from 1; the answer repeats it
	Groups  []Group
}

// A Group is attributes that belong together.
type Group struct {
	Tag        GroupTag
	Attributes []Attribute
}

// A GroupTag says what a group is about: 0x01 to 0x0F but 0x03, which ends a
// message. The zero GroupTag is none.
type GroupTag uint8

// Groups (RFC 8010; from memory, not seen).
const (
	OfOperation   GroupTag = 0x01
	OfJob         GroupTag = 0x02
	OfPrinter     GroupTag = 0x04
	OfUnsupported GroupTag = 0x05
)

// endTag ends a message; tags below firstValue begin a group (RFC 8010; from
// memory, not seen).
const (
	endTag     = 0x03
	firstValue = 0x10
)

func (t GroupTag) valid() bool { return t > 0 && t < firstValue && t != endTag }

// An Attribute is a name and at least one value.
type Attribute struct {
	Name   string
	Values []Value
}

// Add puts an attribute into the group.
func (g *Group) Add(name string, values ...Value) {
	g.Attributes = append(g.Attributes, Attribute{Name: name, Values: values})
}

// Find returns the attribute of that name in the groups with that tag. There is
// none where two say it, since nobody could tell which one holds.
func (m Message) Find(tag GroupTag, name string) (Attribute, bool) {
	var found Attribute
	n := 0
	for _, g := range m.Groups {
		if g.Tag != tag {
			continue
		}
		for _, a := range g.Attributes {
			if a.Name == name {
				found = a
				n++
			}
		}
	}
	if n != 1 {
		return Attribute{}, false
	}
	return found, true
}

// Int is the one value of an attribute of that name that is a number; false
// where there is no such attribute, or it is anything else.
func (m Message) Int(tag GroupTag, name string) (int32, bool) {
	a, ok := m.Find(tag, name)
	if !ok || len(a.Values) != 1 {
		return 0, false
	}
	return a.Values[0].Int()
}

// Bool is Int for a truth value.
func (m Message) Bool(tag GroupTag, name string) (value, ok bool) {
	a, ok := m.Find(tag, name)
	if !ok || len(a.Values) != 1 {
		return false, false
	}
	return a.Values[0].Bool()
}

// Strings are the values of an attribute of that name that are text of any
// kind; none where there is no such attribute.
func (m Message) Strings(tag GroupTag, name string) []string {
	a, _ := m.Find(tag, name)
	var list []string
	for _, v := range a.Values {
		if s, ok := v.Text(); ok {
			list = append(list, s)
		}
	}
	return list
}

// Text is the first of Strings, or empty.
func (m Message) Text(tag GroupTag, name string) string {
	if list := m.Strings(tag, name); len(list) > 0 {
		return list[0]
	}
	return ""
}
