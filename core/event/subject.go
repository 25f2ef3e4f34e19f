package event

import (
	"encoding/binary"
	"encoding/hex"
	"fmt"
)

// SubjectKind says what an event is about.
type SubjectKind uint8

// The kinds of subject. The zero value is none of them.
const (
	NoSubject SubjectKind = iota
	OfCrib
	OfPerson
	OfSling
)

// Subject is what an event is about: the crib, a person or a sling. The zero
// value is nothing and cannot be written.
type Subject struct {
	kind   SubjectKind
	person PersonID
	sling  SlingID
}

// Crib is the crib itself.
func Crib() Subject { return Subject{kind: OfCrib} }

// Person is the person p.
func Person(p PersonID) Subject { return Subject{kind: OfPerson, person: p} }

// Sling is the sling s.
func Sling(s SlingID) Subject { return Subject{kind: OfSling, sling: s} }

// Kind says which of the three it is.
func (s Subject) Kind() SubjectKind { return s.kind }

// Person gives the person's id, zero where the subject is none.
func (s Subject) Person() PersonID { return s.person }

// Sling gives the sling's id, zero where the subject is none.
func (s Subject) Sling() SlingID { return s.sling }

// String spells the subject: "crib", "person:" or "sling:" and the id.
func (s Subject) String() string { return string(s.Append(nil)) }

// Append adds what String gives to dst.
func (s Subject) Append(dst []byte) []byte {
	switch s.kind {
	case OfCrib:
		return append(dst, "crib"...)
	case OfPerson:
		return hex.AppendEncode(append(dst, "person:"...), s.person[:])
	case OfSling:
		dst = hex.AppendEncode(append(dst, "sling:"...), s.sling.Key[:])
		var number [8]byte
		binary.BigEndian.PutUint64(number[:], uint64(s.sling.Number))
		return hex.AppendEncode(append(dst, '-'), number[:])
	}
	return dst
}

// ParseSubject reads what String writes.
func ParseSubject(text string) (Subject, error) {
	s, ok := subjectOf(text)
	if !ok {
		return Subject{}, fmt.Errorf("%w: subject %q", ErrID, text)
	}
	return s, nil
}
