package tagcode

import (
	"errors"
	"fmt"

	"cribgate/core/quantity"
)

const tagLabel = "cribgate tag"

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
	code
}

// Errors of reading. ErrNotTag is any other text than a tag's, a badge's, a slip's
// or a head's; ErrNewer is one that a later program wrote; ErrMalformed has their
// shape and says what none can say; ErrForged was not made with the key.
var (
	ErrNotTag    = errors.New("tagcode: not a tag of this kind")
	ErrNewer     = errors.New("tagcode: tag written by a newer program")
	ErrMalformed = errors.New("tagcode: malformed tag")
	ErrForged    = errors.New("tagcode: tag not made with this key")
)

// ErrOtherKind is a text that reads, as another kind than was asked for; KindOf
// names it. It is ErrMalformed too, which is what a program from before badges
// and slips takes them for.
var ErrOtherKind = fmt.Errorf("%w: a code of another kind", ErrMalformed)

// epoch is day zero of the dates in a body.
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
	return Sealed{Tag: t, code: seal(k, body, tagLabel)}, nil
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
func (s Sealed) Text() string { return s.text() }

// Parse reads a tag's text. On error the result is the zero Sealed; the error
// is ErrNotTag, ErrNewer, ErrOtherKind or ErrMalformed.
func Parse(text string) (Sealed, error) {
	c, err := split(text)
	if err != nil {
		return Sealed{}, err
	}
	t, err := decode(c.body)
	if err != nil {
		return Sealed{}, c.refused(err)
	}
	return Sealed{Tag: t, code: c}, nil
}

// Verify reports nil where the tag was made with k, else ErrForged. It takes
// the same time whatever the difference.
func (s Sealed) Verify(k Key) error { return s.verify(k, s.Key, tagLabel) }
