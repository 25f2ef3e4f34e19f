package tagcode

import (
	"fmt"

	"cribgate/core/quantity"
)

// bits writes and reads fields most significant bit first.
type bits struct {
	b  [24]byte
	at int
}

func (w *bits) put(n int, v uint64) {
	for i := n - 1; i >= 0; i-- {
		if v>>i&1 == 1 {
			w.b[w.at/8] |= 0x80 >> (w.at % 8)
		}
		w.at++
	}
}

func (w *bits) take(n int) (v uint64) {
	for range n {
		v = v<<1 | uint64(w.b[w.at/8]>>(7-w.at%8)&1)
		w.at++
	}
	return v
}

// head writes what every kind of code begins with.
func (w *bits) head(key Fingerprint) {
	w.put(4, format)
	for _, b := range key {
		w.put(8, uint64(b))
	}
}

// takeHead reads it: ErrNewer or ErrMalformed for another format.
func (w *bits) takeHead() (key Fingerprint, err error) {
	switch v := w.take(4); {
	case v > format:
		return Fingerprint{}, ErrNewer
	case v != format:
		return Fingerprint{}, ErrMalformed
	}
	for i := range key {
		key[i] = byte(w.take(8))
	}
	return key, nil
}

func bit(b bool) uint64 {
	if b {
		return 1
	}
	return 0
}

func (t Tag) encode() ([24]byte, error) {
	if err := t.Check(); err != nil {
		return [24]byte{}, err
	}
	var inspected, due uint64
	if !t.Inspected.IsZero() {
		inspected = uint64(t.Inspected.DaysSince(epoch))
	}
	if !t.Due.IsZero() {
		due = uint64(t.Due.DaysSince(t.Inspected))
	}
	var w bits
	w.head(t.Key)
	w.put(64, uint64(t.Number))
	w.put(10, uint64(t.Serial))
	w.put(16, inspected)
	w.put(2, uint64(t.Outcome))
	w.put(9, due)
	w.put(1, bit(t.EN))
	w.put(2, uint64(t.Grade))
	w.put(4, uint64(t.Size))
	w.put(2, uint64(t.Legs-1))
	w.put(1, bit(t.Adjustable))
	w.put(17, uint64(t.Reach/quantity.Millimetre))
	w.put(3, uint64(t.Basis))
	w.put(1, bit(t.Kilograms))
	w.put(18, uint64(t.Load))
	w.put(1, bit(t.More))
	return w.b, nil
}

func decode(body [24]byte) (Tag, error) {
	r := bits{b: body}
	var t Tag
	var err error
	if t.Key, err = r.takeHead(); err != nil {
		return Tag{}, err
	}
	t.Number = Number(r.take(64))
	t.Serial = Serial(r.take(10))
	inspected := int(r.take(16))
	t.Outcome = Outcome(r.take(2))
	due := int(r.take(9))
	t.EN = r.take(1) == 1
	t.Grade = uint8(r.take(2))
	t.Size = uint8(r.take(4))
	t.Legs = uint8(r.take(2)) + 1
	t.Adjustable = r.take(1) == 1
	t.Reach = quantity.Length(r.take(17)) * quantity.Millimetre
	t.Basis = uint8(r.take(3))
	t.Kilograms = r.take(1) == 1
	t.Load = uint32(r.take(18))
	t.More = r.take(1) == 1
	if t.Outcome != NoOutcome {
		t.Inspected = epoch.AddDays(inspected)
		if due > 0 {
			t.Due = t.Inspected.AddDays(due)
		}
	} else if inspected != 0 || due != 0 {
		return Tag{}, ErrMalformed
	}
	if r.take(5) != 0 || t.Check() != nil {
		return Tag{}, ErrMalformed
	}
	return t, nil
}

// Check says whether the body can hold the tag, naming the field that does not
// fit; both ways use it, so that a tag that reads is one that could have been
// written.
func (t Tag) Check() error {
	sizes := 10 // us: 7/32 to 1-1/4
	if t.EN {
		sizes = 11 // en: 6 to 32
	}
	switch {
	case t.Serial < 1 || t.Serial > MaxSerial:
		return fmt.Errorf("tag serial %d is not 1 to %d", t.Serial, MaxSerial)
	case t.Outcome > Out:
		return fmt.Errorf("outcome %d is not known", t.Outcome)
	case t.Inspected.IsZero() != (t.Outcome == NoOutcome):
		return fmt.Errorf("an inspection date and an outcome go together")
	case t.Inspected.IsZero() && !t.Due.IsZero():
		return fmt.Errorf("due %s without an inspection", t.Due)
	case !t.Inspected.IsZero() && (t.Inspected.Before(epoch) || t.Inspected.DaysSince(epoch) > 1<<16-1):
		return fmt.Errorf("inspection date %s is outside 2000-01-01 to 2179-06-06", t.Inspected)
	case !t.Due.IsZero() && (t.Due.DaysSince(t.Inspected) < 1 || t.Due.DaysSince(t.Inspected) > 1<<9-1):
		return fmt.Errorf("due %s is not 1 to 511 days after the inspection of %s", t.Due, t.Inspected)
	case t.Grade < 1 || t.Grade > 3:
		return fmt.Errorf("grade code %d is not 1 to 3", t.Grade)
	case int(t.Size) >= sizes:
		return fmt.Errorf("size code %d is not 0 to %d", t.Size, sizes-1)
	case t.Legs < 1 || t.Legs > 4:
		return fmt.Errorf("%d legs are not 1 to 4", t.Legs)
	case t.Reach < 0 || t.Reach%quantity.Millimetre != 0 || t.Reach/quantity.Millimetre > 1<<17-1:
		return fmt.Errorf("reach of %d µm is not 0 to 131,071 whole mm", int64(t.Reach))
	case t.Basis > 6 || t.Basis >= 2 && (t.Basis >= 5) != t.EN:
		return fmt.Errorf("basis code %d does not belong to the system", t.Basis)
	case t.Load > 1<<18-1:
		return fmt.Errorf("load of %d is over 262,143", t.Load)
	case (t.Basis == 0) != (t.Load == 0):
		return fmt.Errorf("a load and its basis go together")
	case t.Basis == 0 && t.Kilograms:
		return fmt.Errorf("a unit without a load")
	}
	return nil
}
