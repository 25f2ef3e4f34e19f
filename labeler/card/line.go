package card

import (
	"bytes"
	"errors"
	"fmt"
	"io"

	"cribgate/core/gate"
	"cribgate/core/strict"
	"cribgate/core/tagcode"
)

// maxLine is the longest line that is read; a sling's has some 400 bytes.
const maxLine = 64 << 10

// ErrOneLine is what ReadLine wraps where there is no line, or more than one.
var ErrOneLine = errors.New("a pocket card is made from one line")

// ReadLine reads one sling object of the machine surface, and in it "id", the
// owner's identification, and "outcome", what the last thorough inspection came
// to. A "serial", as a line to print a tag from has it, is taken and not used.
// Policy, units and days are the caller's to fill in.
func ReadLine(r io.Reader) (Record, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxLine+1))
	if err != nil {
		return Record{}, fmt.Errorf("card: read a line: %w", err)
	}
	if len(data) > maxLine { // before the end of it, which is cut, is looked at
		return Record{}, fmt.Errorf("card: read a line: longer than %d bytes", maxLine)
	}
	data = bytes.TrimSpace(data)
	if len(data) == 0 || bytes.ContainsRune(data, '\n') {
		return Record{}, fmt.Errorf("card: %w", ErrOneLine)
	}
	v, err := strict.Parse(data)
	if err != nil {
		return Record{}, fmt.Errorf("card: read a line: %w", err)
	}
	o := strict.Open("sling", v)
	rec := Record{Ident: o.Str("id")}
	if err := tagcode.CheckIdent(rec.Ident); err != nil {
		o.Fail("id", "%v", err)
	}
	o.OptInt("serial", 1, int64(tagcode.MaxSerial), 0)
	if o.Has("outcome") {
		if rec.Outcome, err = tagcode.ParseOutcome(o.Str("outcome")); err != nil || rec.Outcome == tagcode.NoOutcome {
			o.Fail("outcome", "not fit, hold or out")
		}
	}
	rec.Sling = gate.ReadSling(o)
	if err := o.Done(); err != nil {
		return Record{}, fmt.Errorf("card: read a line: %w", err)
	}
	return rec, nil
}
