package tagcode

import (
	"fmt"

	"cribgate/core/quantity"
)

const badgeLabel = "cribgate badge"

// Badge is what a rigger's badge says: which person of the register it names,
// and nothing more. It has no name, no role and no right in it. The zero value
// is not valid.
type Badge struct {
	Key    Fingerprint
	Person Number        // NumberOf the person's id
	Serial Serial        // of this person's badges
	Until  quantity.Date // last day that it is good for; zero: it has no end
}

// SealedBadge is a badge with its authentication, as read off a symbol or made
// by [Badge.Seal]. Its form has been checked; Verify checks who made it.
type SealedBadge struct {
	Badge
	code
}

// Seal encodes the badge and authenticates it. It fails, naming the field, where
// the badge does not fit its body or was made for another key.
func (b Badge) Seal(k Key) (SealedBadge, error) {
	if k.IsZero() || b.Key != k.Fingerprint() {
		return SealedBadge{}, fmt.Errorf("tagcode: seal: badge is for key %s, not %s", b.Key, k.Fingerprint())
	}
	if err := b.Check(); err != nil {
		return SealedBadge{}, fmt.Errorf("tagcode: seal: %w", err)
	}
	return SealedBadge{Badge: b, code: seal(k, b.encode(), badgeLabel)}, nil
}

// ParseBadge reads a badge's text. On error the result is the zero SealedBadge;
// the error is ErrNotTag, ErrNewer, ErrOtherKind or ErrMalformed.
func ParseBadge(text string) (SealedBadge, error) {
	c, err := split(text)
	if err != nil {
		return SealedBadge{}, err
	}
	b, err := decodeBadge(c)
	if err != nil {
		return SealedBadge{}, c.refused(err)
	}
	return SealedBadge{Badge: b, code: c}, nil
}

// Text is what the symbol holds. A badge has no prefix.
func (s SealedBadge) Text() string { return s.text() }

// Verify reports nil where the badge was made with k, else ErrForged. It takes
// the same time whatever the difference.
func (s SealedBadge) Verify(k Key) error { return s.verify(k, s.Key, badgeLabel) }

// Check says whether a body can hold the badge, naming the field that does not
// fit.
func (b Badge) Check() error {
	if b.Serial < 1 || b.Serial > MaxSerial {
		return fmt.Errorf("badge serial %d is not 1 to %d", b.Serial, MaxSerial)
	}
	if !b.Until.IsZero() {
		return checkDay("last day", b.Until)
	}
	return nil
}

func (b Badge) encode() [24]byte {
	var w bits
	w.head(b.Key)
	w.put(64, uint64(b.Person))
	w.put(10, uint64(b.Serial))
	w.put(16, dayOf(b.Until))
	w.mark(badgeMark)
	return w.b
}

func decodeBadge(c code) (Badge, error) {
	r := bits{b: c.body}
	var b Badge
	var err error
	if b.Key, err = r.takeHead(); err != nil {
		return Badge{}, err
	}
	b.Person = Number(r.take(64))
	b.Serial = Serial(r.take(10))
	b.Until = onDay(r.take(16))
	if !r.takeMark(badgeMark) || r.take(48) != 0 || c.prefix != "" || b.Check() != nil {
		return Badge{}, ErrMalformed
	}
	return b, nil
}

// dayOf counts a date in days from the epoch; zero for none, so that the epoch
// itself is no date of a badge or a slip.
func dayOf(d quantity.Date) uint64 {
	if d.IsZero() {
		return 0
	}
	return uint64(d.DaysSince(epoch))
}

func onDay(n uint64) quantity.Date {
	if n == 0 {
		return quantity.Date{}
	}
	return epoch.AddDays(int(n))
}

// checkDay says whether sixteen bits hold a date.
func checkDay(what string, d quantity.Date) error {
	if n := d.DaysSince(epoch); n < 1 || n > 1<<16-1 {
		return fmt.Errorf("%s %s is outside 2000-01-02 to 2179-06-06", what, d)
	}
	return nil
}
