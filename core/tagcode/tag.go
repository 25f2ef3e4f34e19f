package tagcode

import (
	"crypto/hmac"
	"crypto/sha256"
	"errors"
	"fmt"
	"strings"

	"cribgate/core/quantity"
)

// Length is the number of characters of a tag's text, prefix apart.
const Length = 64

// MaxPrefix is the longest prefix: with it, the text still fits a version 5
// symbol at level Q (87 alphanumeric characters, ISO/IEC 18004).
const MaxPrefix = 23

// format is the version of the body that this package writes.
const format = 1

const tagLabel = "cribgate tag"

// Outcome is what the last thorough inspection came to.
type Outcome uint8

// The outcomes. The zero value is NoOutcome.
const (
	NoOutcome Outcome = iota
	Fit
	Hold
	Out
)

// Facts is what a tag says of the metal, as the codes that package comment
// lists. The zero value is not valid: Grade starts at 1 and Legs too.
type Facts struct {
	EN         bool            // system: false us, true en
	Grade      uint8           // 1 grade 80, 2 grade 100, 3 grade 120
	Size       uint8           // place in the system's list, from 0
	Legs       uint8           // 1 to 4
	Adjustable bool            //
	Reach      quantity.Length // whole millimetres, 0 unknown
	Basis      uint8           // 0 none, 1 vertical, 2 h60, 3 h45, 4 h30, 5 b45, 6 b60
	Kilograms  bool            // unit of Load: false pounds, true kilograms
	Load       uint32          // whole units
	More       bool            // the record says more
}

// Tag is what one tag says. The zero value is not valid.
type Tag struct {
	Key       Fingerprint
	Number    Number
	Serial    Serial
	Inspected quantity.Date // zero where none is recorded
	Outcome   Outcome       // NoOutcome exactly where Inspected is zero
	Due       quantity.Date // zero where none is recorded
	Facts
}

// Sealed is a tag with its authentication, as read off a symbol or made by
// [Tag.Seal]. Its form has been checked; Verify checks who made it.
type Sealed struct {
	Tag
	prefix string
	body   [24]byte
	mac    [16]byte
}

// Errors of reading. ErrNotTag is any other text than a tag's; ErrNewer is a
// tag that a later program wrote; ErrMalformed has the shape of a tag and says
// what none can say; ErrForged was not made with the key.
var (
	ErrNotTag    = errors.New("tagcode: not a tag of this kind")
	ErrNewer     = errors.New("tagcode: tag written by a newer program")
	ErrMalformed = errors.New("tagcode: malformed tag")
	ErrForged    = errors.New("tagcode: tag not made with this key")
)

// epoch is day zero of the inspection date.
var epoch = mustDate(2000, 1, 1)

func mustDate(y, m, d int) quantity.Date {
	date, ok := quantity.NewDate(y, m, d)
	if !ok {
		panic("tagcode: bad constant date")
	}
	return date
}

// Seal encodes the tag and authenticates it. It fails, naming the field, where
// the tag does not fit its body or was made for another key.
func (t Tag) Seal(k Key) (Sealed, error) {
	if k.IsZero() || t.Key != k.Fingerprint() {
		return Sealed{}, fmt.Errorf("tagcode: seal: tag is for key %s, not %s", t.Key, k.Fingerprint())
	}
	body, err := t.encode()
	if err != nil {
		return Sealed{}, fmt.Errorf("tagcode: seal: %w", err)
	}
	return Sealed{Tag: t, body: body, mac: k.mac(body[:], tagLabel)}, nil
}

// WithPrefix returns the same tag with prefix in front of its text; an empty
// prefix takes it away. It fails where the prefix has another form than
// HTTPS://HOST/ in capitals, or is longer than MaxPrefix.
func (s Sealed) WithPrefix(prefix string) (Sealed, error) {
	if prefix != "" && !isPrefix(prefix) {
		return Sealed{}, fmt.Errorf("tagcode: prefix %q is not HTTPS://HOST/ in capitals of at most %d characters", prefix, MaxPrefix)
	}
	s.prefix = prefix
	return s, nil
}

// Text is what the symbol holds.
func (s Sealed) Text() string {
	return s.prefix + base32Text.EncodeToString(append(s.body[:], s.mac[:]...))
}

// Digest is SHA-256 of a tag's text: what a register keeps of each tag that it
// printed, and accepts its own tags by.
func Digest(text string) [32]byte { return sha256.Sum256([]byte(text)) }

// Parse reads a tag's text. On error the result is the zero Sealed; the error
// is ErrNotTag, ErrNewer or ErrMalformed.
func Parse(text string) (Sealed, error) {
	if len(text) < Length {
		return Sealed{}, ErrNotTag
	}
	prefix, code := text[:len(text)-Length], text[len(text)-Length:]
	if prefix != "" && !isPrefix(prefix) {
		return Sealed{}, ErrNotTag
	}
	raw, err := base32Text.DecodeString(code)
	if err != nil || len(raw) != 40 || base32Text.EncodeToString(raw) != code {
		return Sealed{}, ErrNotTag
	}
	s := Sealed{prefix: prefix, body: [24]byte(raw[:24]), mac: [16]byte(raw[24:])}
	if s.Tag, err = decode(s.body); err != nil {
		return Sealed{}, err
	}
	return s, nil
}

// Verify reports nil where the tag was made with k, else ErrForged. It takes
// the same time whatever the difference.
func (s Sealed) Verify(k Key) error {
	want := k.mac(s.body[:], tagLabel)
	if k.IsZero() || s.Key != k.Fingerprint() || !hmac.Equal(want[:], s.mac[:]) {
		return ErrForged
	}
	return nil
}

func isPrefix(p string) bool {
	host, ok := strings.CutPrefix(p, "HTTPS://")
	if !ok || len(p) > MaxPrefix || !strings.HasSuffix(host, "/") || len(host) < 2 || host[0] == '/' {
		return false
	}
	for i := 0; i < len(host); i++ {
		c := host[i]
		if !(c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '-' || c == '.' || c == '/' || c == ':') {
			return false
		}
	}
	return true
}
