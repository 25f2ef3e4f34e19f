package ipp

import "encoding/binary"

// A ValueTag says what a value is: 0x10 to 0xFF. The zero ValueTag is none.
type ValueTag uint8

// Kinds of value (RFC 8010; from memory, not seen).
const (
	NoValue         ValueTag = 0x13
	IntegerTag      ValueTag = 0x21
	BooleanTag      ValueTag = 0x22
	EnumTag         ValueTag = 0x23
	RangeTag        ValueTag = 0x33
	CollectionTag   ValueTag = 0x34 // begins one; its members follow as values
	TextLanguageTag ValueTag = 0x35
	NameLanguageTag ValueTag = 0x36
	CollectionEnd   ValueTag = 0x37
	TextTag         ValueTag = 0x41
	NameTag         ValueTag = 0x42
	KeywordTag      ValueTag = 0x44
	URITag          ValueTag = 0x45
	CharsetTag      ValueTag = 0x47
	LanguageTag     ValueTag = 0x48
	MimeTag         ValueTag = 0x49
	MemberNameTag   ValueTag = 0x4A // of a collection
)

// A Value is a kind and the bytes of it.
type Value struct {
	Tag  ValueTag
	Data []byte
}

func text(tag ValueTag, s string) Value { return Value{tag, []byte(s)} }

// Integer is a whole number.
func Integer(n int32) Value { return Value{IntegerTag, binary.BigEndian.AppendUint32(nil, uint32(n))} }

// Enum is one of a numbered list.
func Enum(n int32) Value { return Value{EnumTag, binary.BigEndian.AppendUint32(nil, uint32(n))} }

// Text is UTF-8 for people.
func Text(s string) Value { return text(TextTag, s) }

// Name is a name, in UTF-8.
func Name(s string) Value { return text(NameTag, s) }

// Keyword is a word of the protocol.
func Keyword(s string) Value { return text(KeywordTag, s) }

// URI is an address.
func URI(s string) Value { return text(URITag, s) }

// Charset names an encoding of characters.
func Charset(s string) Value { return text(CharsetTag, s) }

// Language names a natural language.
func Language(s string) Value { return text(LanguageTag, s) }

// Mime is a media type.
func Mime(s string) Value { return text(MimeTag, s) }

// Boolean is a truth value.
func Boolean(b bool) Value {
	if b {
		return Value{BooleanTag, []byte{1}}
	}
	return Value{BooleanTag, []byte{0}}
}

// Keywords are several keywords, as an attribute takes them.
func Keywords(list ...string) []Value {
	values := make([]Value, len(list))
	for i, s := range list {
		values[i] = Keyword(s)
	}
	return values
}

// Int is the number that the value is, an integer or an enum.
func (v Value) Int() (int32, bool) {
	if v.Tag != IntegerTag && v.Tag != EnumTag || len(v.Data) != 4 {
		return 0, false
	}
	return int32(binary.BigEndian.Uint32(v.Data)), true
}

// Bool is the truth value that the value is; no other byte than 0 and 1 is one.
func (v Value) Bool() (value, ok bool) {
	if v.Tag != BooleanTag || len(v.Data) != 1 || v.Data[0] > 1 {
		return false, false
	}
	return v.Data[0] == 1, true
}

// Text is what the value says where it is text of any kind. A text that names
// its language says what it says without it.
func (v Value) Text() (string, bool) {
	switch v.Tag {
	case TextTag, NameTag, KeywordTag, URITag, CharsetTag, LanguageTag, MimeTag:
		return string(v.Data), true
	case TextLanguageTag, NameLanguageTag:
		_, rest, ok := counted(v.Data)
		if !ok {
			return "", false
		}
		s, rest, ok := counted(rest)
		return string(s), ok && len(rest) == 0
	}
	return "", false
}

// counted takes a length of two bytes and as many bytes off data.
func counted(data []byte) (head, rest []byte, ok bool) {
	if len(data) < 2 {
		return nil, nil, false
	}
	n := int(binary.BigEndian.Uint16(data))
	if data = data[2:]; len(data) < n {
		return nil, nil, false
	}
	return data[:n], data[n:], true
}
