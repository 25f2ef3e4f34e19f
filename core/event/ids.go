package event

import (
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"strings"

	"cribgate/core/tagcode"
)

// PersonID names a person in the register; it is random and never says who.
// The zero value names nobody.
type PersonID [16]byte

// CribID names a crib for good. The zero value names none.
type CribID [16]byte

// LogID names one log: random, new when a register is founded.
type LogID [16]byte

// BootID names one start of a machine, so that its uptime can be compared.
type BootID [16]byte

// Hash is SHA-256 of an envelope's bytes.
type Hash [32]byte

// ErrID reports a text that is no id of the kind asked for.
var ErrID = errors.New("event: not an id")

// NewPersonID draws a person's id from a cryptographic source.
func NewPersonID(random io.Reader) (PersonID, error) { return draw[PersonID](random) }

// NewCribID draws a crib's id.
func NewCribID(random io.Reader) (CribID, error) { return draw[CribID](random) }

// NewLogID draws a log's id.
func NewLogID(random io.Reader) (LogID, error) { return draw[LogID](random) }

func draw[T ~[16]byte](random io.Reader) (T, error) {
	var b [16]byte
	if _, err := io.ReadFull(random, b[:]); err != nil {
		return T{}, fmt.Errorf("event: draw an id: %w", err)
	}
	return T(b), nil
}

func parse16(text string) (id [16]byte, err error) {
	if !unhex(id[:], text) {
		return [16]byte{}, fmt.Errorf("%w: %q", ErrID, text)
	}
	return id, nil
}

// ParsePersonID reads 32 lower-case hex digits.
func ParsePersonID(text string) (PersonID, error) {
	b, err := parse16(text)
	return PersonID(b), err
}

// ParseHash reads 64 lower-case hex digits.
func ParseHash(text string) (Hash, error) {
	var h Hash
	if !unhex(h[:], text) {
		return Hash{}, fmt.Errorf("%w: %q", ErrID, text)
	}
	return h, nil
}

// String gives 32 lower-case hex digits.
func (p PersonID) String() string { return hex.EncodeToString(p[:]) }

// IsZero reports whether p names nobody.
func (p PersonID) IsZero() bool { return p == PersonID{} }

// String gives 32 lower-case hex digits.
func (c CribID) String() string { return hex.EncodeToString(c[:]) }

// String gives 32 lower-case hex digits.
func (l LogID) String() string { return hex.EncodeToString(l[:]) }

// String gives 32 lower-case hex digits.
func (b BootID) String() string { return hex.EncodeToString(b[:]) }

// String gives 64 lower-case hex digits.
func (h Hash) String() string { return hex.EncodeToString(h[:]) }

// IsZero reports whether h is the hash of nothing.
func (h Hash) IsZero() bool { return h == Hash{} }

// SlingID names a sling in every register: its number under the key that was
// current when it was registered. It can be read off that key's tags without a
// record, and does not change when the key does. The zero value names none.
type SlingID struct {
	Key    tagcode.Fingerprint
	Number tagcode.Number
}

// SlingOf names the sling that its owner identifies as ident.
func SlingOf(key tagcode.Fingerprint, ident string) SlingID {
	return SlingID{Key: key, Number: tagcode.NumberOf(key, ident)}
}

// ParseSlingID reads what String writes.
func ParseSlingID(text string) (SlingID, error) {
	f, n, ok := strings.Cut(text, "-")
	if !ok {
		return SlingID{}, fmt.Errorf("%w: %q", ErrID, text)
	}
	key, err := tagcode.ParseFingerprint(f)
	if err != nil {
		return SlingID{}, fmt.Errorf("%w: %q", ErrID, text)
	}
	number, err := tagcode.ParseNumber(n)
	if err != nil {
		return SlingID{}, fmt.Errorf("%w: %q", ErrID, text)
	}
	return SlingID{Key: key, Number: number}, nil
}

// String gives the fingerprint, a hyphen and the number, in hex.
func (s SlingID) String() string { return s.Key.String() + "-" + s.Number.String() }

// IsZero reports whether s names no sling.
func (s SlingID) IsZero() bool { return s == SlingID{} }
