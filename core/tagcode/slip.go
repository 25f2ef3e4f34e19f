package tagcode

import (
	"errors"
	"fmt"

	"cribgate/core/quantity"
)

const slipLabel = "cribgate slip"

// Slip is what a lift slip says: which sling is asked for, and until when. It is
// not permission: whether the sling may go out is decided at the counter, when it
// is asked for. The zero value is not valid.
type Slip struct {
	Key   Fingerprint
	Sling Number        // NumberOf the sling's identification
	No    uint32        // the slip's own number, from 1: with the sling and the day it is one slip
	Until quantity.Date // last day that it asks for
}

// SealedSlip is a slip with its authentication, as read off a symbol or made by
// [Slip.Seal]. Its form has been checked; Verify checks who made it.
type SealedSlip struct {
	Slip
	code
}

// Seal encodes the slip and authenticates it. It fails, naming the field, where
// the slip does not fit its body or was made for another key.
func (s Slip) Seal(k Key) (SealedSlip, error) {
	if k.IsZero() || s.Key != k.Fingerprint() {
		return SealedSlip{}, fmt.Errorf("tagcode: seal: slip is for key %s, not %s", s.Key, k.Fingerprint())
	}
	if err := s.Check(); err != nil {
		return SealedSlip{}, fmt.Errorf("tagcode: seal: %w", err)
	}
	return SealedSlip{Slip: s, code: seal(k, s.encode(), slipLabel)}, nil
}

// ParseSlip reads a slip's text. On error the result is the zero SealedSlip; the
// error is ErrNotTag, ErrNewer, ErrOtherKind or ErrMalformed.
func ParseSlip(text string) (SealedSlip, error) {
	c, err := split(text)
	if err != nil {
		return SealedSlip{}, err
	}
	s, err := decodeSlip(c)
	if err != nil {
		return SealedSlip{}, c.refused(err)
	}
	return SealedSlip{Slip: s, code: c}, nil
}

// Text is what the symbol holds. A slip has no prefix.
func (s SealedSlip) Text() string { return s.text() }

// Verify reports nil where the slip was made with k, else ErrForged. It takes
// the same time whatever the difference.
func (s SealedSlip) Verify(k Key) error { return s.verify(k, s.Key, slipLabel) }

// Check says whether a body can hold the slip, naming the field that does not
// fit.
func (s Slip) Check() error {
	if s.No == 0 {
		return errors.New("slip number 0 is not 1 to 4,294,967,295")
	}
	if s.Until.IsZero() {
		return errors.New("a slip without its last day")
	}
	return checkDay("last day", s.Until)
}

func (s Slip) encode() [24]byte {
	var w bits
	w.head(s.Key)
	w.put(64, uint64(s.Sling))
	w.put(10, 0)
	w.put(16, dayOf(s.Until))
	w.mark(slipMark)
	w.put(32, uint64(s.No))
	return w.b
}

func decodeSlip(c code) (Slip, error) {
	r := bits{b: c.body}
	var s Slip
	var err error
	if s.Key, err = r.takeHead(); err != nil {
		return Slip{}, err
	}
	s.Sling = Number(r.take(64))
	zero := r.take(10)
	s.Until = onDay(r.take(16))
	marked := r.takeMark(slipMark)
	s.No = uint32(r.take(32))
	if zero != 0 || !marked || r.take(16) != 0 || c.prefix != "" || s.Check() != nil {
		return Slip{}, ErrMalformed
	}
	return s, nil
}
