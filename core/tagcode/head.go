package tagcode

import (
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// MaxPosition is the last position that a head can name: far beyond any register,
// so that the first three bytes are zero, which no tag, badge or slip begins with.
const MaxPosition = 1<<40 - 1

// Head is the end of a register as paper keeps it: a position and the hash of
// the envelope there. It is no secret and has no authentication: what vouches is
// the sheet that was filed. The zero value is not valid.
type Head struct {
	At   int64 // position in the log, from 1
	Hash [32]byte
}

// Check says whether a symbol can hold the head, naming what does not fit.
func (h Head) Check() error {
	switch {
	case h.At < 1 || h.At > MaxPosition:
		return fmt.Errorf("position %d is not 1 to %d", h.At, int64(MaxPosition))
	case h.Hash == [32]byte{}:
		return errors.New("a hash of nothing")
	}
	return nil
}

// Text is what the symbol holds. It fails where Check does.
func (h Head) Text() (string, error) {
	if err := h.Check(); err != nil {
		return "", fmt.Errorf("tagcode: head: %w", err)
	}
	return base32Text.EncodeToString(append(binary.BigEndian.AppendUint64(nil, uint64(h.At)), h.Hash[:]...)), nil
}

// String is the head as people note it: the position and the first eight digits
// of the hash, such as 17 3f2a9c01. See [ShownHead].
func (h Head) String() string { return h.Shown(shortest).String() }

// ParseHead reads a head's text. On error the result is the zero Head; the error
// is ErrNotTag, ErrNewer, ErrOtherKind or ErrMalformed.
func ParseHead(text string) (Head, error) {
	c, err := split(text)
	if err != nil {
		return Head{}, err
	}
	h, err := decodeHead(c)
	if err != nil {
		return Head{}, c.refused(err)
	}
	return h, nil
}

func decodeHead(c code) (Head, error) {
	h := Head{At: int64(binary.BigEndian.Uint64(c.body[:8]))}
	copy(h.Hash[:16], c.body[8:])
	copy(h.Hash[16:], c.mac[:])
	switch v := c.body[0] >> 4; {
	case v > format:
		return Head{}, ErrNewer
	case c.prefix != "" || h.Check() != nil:
		return Head{}, ErrMalformed
	}
	return h, nil
}

// shortest is how many digits of a hash are noted at the least: a register that
// was rewritten agrees with a sheet by chance once in four thousand million.
const shortest = 8

// ErrHead reports a text that is no head, neither a symbol's nor a person's.
var ErrHead = errors.New("tagcode: not a head: a position and 8 to 64 digits of the hash, or the text of its symbol")

// ShownHead is a head as far as paper shows it. The zero value is none.
type ShownHead struct {
	At     int64
	Digits string // the first 8 to 64 hex digits of the hash, lower case
}

// Shown gives the head with so many digits, 8 to 64.
func (h Head) Shown(digits int) ShownHead {
	all := hex.EncodeToString(h.Hash[:])
	return ShownHead{At: h.At, Digits: all[:min(max(digits, shortest), len(all))]}
}

// ParseShownHead reads a head off paper: the text of its symbol, or position and
// digits as a person types them, in either case and with spaces between digits.
// Anything else is ErrHead.
func ParseShownHead(text string) (ShownHead, error) {
	if len(text) > 256 {
		return ShownHead{}, ErrHead
	}
	if h, err := ParseHead(text); err == nil {
		return h.Shown(2 * len(h.Hash)), nil
	}
	at, digits, _ := strings.Cut(strings.TrimSpace(text), " ")
	digits = strings.ToLower(strings.Join(strings.Fields(digits), ""))
	n, err := strconv.ParseUint(at, 10, 40)
	if err != nil || n < 1 || strconv.FormatUint(n, 10) != at {
		return ShownHead{}, fmt.Errorf("%w: %q", ErrHead, text)
	}
	if len(digits) < shortest || len(digits) > 64 || strings.Trim(digits, "0123456789abcdef") != "" {
		return ShownHead{}, fmt.Errorf("%w: %q", ErrHead, text)
	}
	return ShownHead{At: int64(n), Digits: digits}, nil
}

// String spells position and digits with one space.
func (s ShownHead) String() string { return strconv.FormatInt(s.At, 10) + " " + s.Digits }

// Holds tells whether a hash begins with what paper shows. The zero ShownHead
// holds for none.
func (s ShownHead) Holds(hash [32]byte) bool {
	return len(s.Digits) >= shortest && strings.HasPrefix(hex.EncodeToString(hash[:]), s.Digits)
}
