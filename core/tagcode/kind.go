package tagcode

// Kind is what a code is: a tag, a badge, a slip or a register's head. The zero
// value is none.
type Kind uint8

// The kinds.
const (
	NoKind Kind = iota
	KindTag
	KindBadge
	KindSlip
	KindHead
)

// String names the kind for people: tag, badge, slip, head; empty for none.
func (k Kind) String() string {
	if k > KindHead {
		return ""
	}
	return [...]string{"", "tag", "badge", "slip", "head"}[k]
}

// KindOf tells what a text is a code of, without a key: it says nothing about
// who made it. A text is of one kind at most, the one whose reader takes it. On
// error the kind is NoKind and the error ErrNotTag, ErrNewer or ErrMalformed.
func KindOf(text string) (Kind, error) {
	c, err := split(text)
	if err != nil {
		return NoKind, err
	}
	return c.kind()
}

func (c code) kind() (Kind, error) {
	_, err := decode(c.body)
	if err == nil {
		return KindTag, nil
	}
	if _, err := decodeBadge(c); err == nil {
		return KindBadge, nil
	}
	if _, err := decodeSlip(c); err == nil {
		return KindSlip, nil
	}
	if _, err := decodeHead(c); err == nil {
		return KindHead, nil
	}
	return NoKind, err
}

// refused is what a reader says of a code that it does not take, err being its
// reason: ErrOtherKind where another reader takes it.
func (c code) refused(err error) error {
	if _, no := c.kind(); no != nil {
		return err
	}
	return ErrOtherKind
}

// What a badge and a slip have where a tag has its size. Where a tag has its
// grade they have zero, which no tag has.
const (
	badgeMark = 1
	slipMark  = 2
)

// mark writes what tells a kind from a tag, and the zeros before it.
func (w *bits) mark(kind uint64) {
	w.put(12, 0)
	w.put(2, 0)
	w.put(4, kind)
}

// takeMark reports whether the mark is that of kind.
func (w *bits) takeMark(kind uint64) bool { return w.take(12+2+4) == kind }
