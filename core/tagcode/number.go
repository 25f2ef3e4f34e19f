package tagcode

import (
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"strconv"
)

// Number is a sling's number: the first 64 bits of SHA-256 over the key
// fingerprint and the owner's identification, so that the identification read
// off the metal can be held against any tag without a record. A person's number
// is made in the same way from the id in the register, which is 32 characters
// long and so no sling's.
type Number uint64

// Serial counts the tags of one sling, or the badges of one person, 1 to
// MaxSerial. Zero is none.
type Serial uint16

// MaxSerial is the largest serial that ten bits hold.
const MaxSerial Serial = 1<<10 - 1

// MaxIdent is the longest owner's identification in characters.
const MaxIdent = 16

// ErrIdent reports an identification that cannot be printed on a tag.
var ErrIdent = errors.New("tagcode: an identification is 1 to 16 of A–Z, 0–9, '-', '.', '/' and inner spaces")

// CheckIdent says whether ident can name a sling: 1 to 16 characters out of
// A–Z, 0–9, hyphen, full stop, slash and single inner spaces. One spelling
// only, since the sling number is made from it.
func CheckIdent(ident string) error {
	if ident == "" || len(ident) > MaxIdent || ident[0] == ' ' || ident[len(ident)-1] == ' ' {
		return fmt.Errorf("%w: %q", ErrIdent, ident)
	}
	for i := 0; i < len(ident); i++ {
		c := ident[i]
		switch {
		case c >= 'A' && c <= 'Z', c >= '0' && c <= '9', c == '-', c == '.', c == '/':
		case c == ' ' && ident[i-1] != ' ':
		default:
			return fmt.Errorf("%w: %q", ErrIdent, ident)
		}
	}
	return nil
}

// NumberOf gives the number of the sling that its owner identifies as ident, or
// of the person whose id that is.
func NumberOf(f Fingerprint, ident string) Number {
	sum := sha256.Sum256(append(f[:], ident...))
	return Number(binary.BigEndian.Uint64(sum[:8]))
}

// ParseNumber reads sixteen lower-case hex digits.
func ParseNumber(text string) (Number, error) {
	n, err := strconv.ParseUint(text, 16, 64)
	if err != nil || Number(n).String() != text {
		return 0, fmt.Errorf("tagcode: %q is no sling number (sixteen hex digits)", text)
	}
	return Number(n), nil
}

// String gives sixteen lower-case hex digits.
func (n Number) String() string { return fmt.Sprintf("%016x", uint64(n)) }
