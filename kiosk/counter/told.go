package counter

import (
	"fmt"

	"cribgate/core/strict"
	"cribgate/store"
)

// mostTold is more slings than anybody brings back.
const mostTold = 1 << 20

// encode keeps what came of asking under its idempotency key; err goes before it.
func (t Told) encode(err error) ([]byte, error) {
	if err != nil {
		return nil, err
	}
	var w strict.Writer
	w.Begin()
	w.Int("slings", int64(t.Slings))
	w.Int("held", int64(t.Held))
	writeCodes(&w, t.Codes)
	w.End()
	return w.Bytes()
}

// decodeTold is the way back. What cannot be read has been done all the same.
func decodeTold(text []byte) (Told, error) {
	v, err := strict.Parse(text)
	if err != nil {
		return Told{}, fmt.Errorf("%w: it was done, and then: counter: a stored answer: %w", store.ErrUnknownOutcome, err)
	}
	f := strict.Open("answer", v)
	t := Told{Slings: int(f.Int("slings", 0, mostTold)), Held: int(f.Int("held", 0, mostTold))}
	t.Codes = readCodes(f)
	if err := f.Done(); err != nil {
		return Told{}, fmt.Errorf("%w: it was done, and then: counter: a stored answer: %w", store.ErrUnknownOutcome, err)
	}
	return t, nil
}
