package ipp

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
)

// ErrMessage marks a message that cannot be written: a group or value without
// its tag, an attribute without name or value, a name or value of more than
// 32,767 bytes, more than MaxMessage in all.
var ErrMessage = errors.New("not an IPP message")

// maxField is the most bytes of one name or value: its length is a signed number
// of two bytes (RFC 8010; from memory, not seen).
const maxField = math.MaxInt16

// Encode writes the message.
func (m Message) Encode() ([]byte, error) {
	b := []byte{m.Version.Major, m.Version.Minor}
	b = binary.BigEndian.AppendUint16(b, m.Code)
	b = binary.BigEndian.AppendUint32(b, uint32(m.ID))
	for _, g := range m.Groups {
		if !g.Tag.valid() {
			return nil, fmt.Errorf("ipp: write a group with tag %02x: %w", uint8(g.Tag), ErrMessage)
		}
		b = append(b, byte(g.Tag))
		for _, a := range g.Attributes {
			var err error
			if b, err = a.append(b); err != nil {
				return nil, fmt.Errorf("ipp: write attribute %q: %w", a.Name, err)
			}
		}
	}
	b = append(b, endTag)
	if len(b) > MaxMessage {
		return nil, fmt.Errorf("ipp: write %d bytes: %w", len(b), ErrMessage)
	}
	return b, nil
}

// append writes the attribute: its first value carries the name, each further
// one an empty name (RFC 8010, "additional value"; from memory, not seen).
func (a Attribute) append(b []byte) ([]byte, error) {
	if a.Name == "" || len(a.Name) > maxField || len(a.Values) == 0 {
		return nil, ErrMessage
	}
	name := a.Name
	for _, v := range a.Values {
		if v.Tag < firstValue || len(v.Data) > maxField {
			return nil, ErrMessage
		}
		b = append(b, byte(v.Tag))
		b = binary.BigEndian.AppendUint16(b, uint16(len(name)))
		b = append(b, name...)
		b = binary.BigEndian.AppendUint16(b, uint16(len(v.Data)))
		b = append(b, v.Data...)
		name = ""
	}
	return b, nil
}
