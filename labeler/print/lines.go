package print

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"

	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/core/strict"
	"cribgate/core/tagcode"
)

// maxLine is the longest line that is read; a sling's has some 400 bytes.
const maxLine = 64 << 10

// A LineError says which line of the input cannot be printed, and why.
type LineError struct {
	Line int // from 1
	Err  error
}

// Error puts the line in front of the reason.
func (e *LineError) Error() string { return fmt.Sprintf("line %d: %v", e.Line, e.Err) }

// Unwrap returns the reason.
func (e *LineError) Unwrap() error { return e.Err }

// ErrTwice is what a LineError wraps where an earlier line has the same tag, badge
// or slip: a serial is never used twice.
var ErrTwice = errors.New("the same is there already")

// ReadLines makes a tag of each line: a sling object of the machine surface,
// and in it "id", the owner's identification, "serial", the tag's, and
// "outcome", what the last thorough inspection came to: fit, hold, out, or null
// where there was none. Blank lines are skipped.
//
// All lines are read; the error joins a [*LineError] for each that is not a
// tag, and then no tag is returned.
func ReadLines(r io.Reader, key tagcode.Key, prefix string) ([]Tag, error) {
	return readEach(r, func(line []byte) (Tag, string, error) {
		tag, err := readLine(line, key, prefix)
		return tag, fmt.Sprintf("serial %d of %s", tag.Sealed.Serial, tag.Ident), err
	})
}

// readEach makes a T of each line that is not blank. one also names what it made,
// so that no two are the same.
func readEach[T any](r io.Reader, one func(line []byte) (made T, name string, err error)) ([]T, error) {
	var list []T
	var bad []error
	seen := map[string]int{}
	scanner := bufio.NewScanner(r)
	scanner.Buffer(nil, maxLine)
	n := 0
	for scanner.Scan() {
		n++
		if len(bytes.TrimSpace(scanner.Bytes())) == 0 {
			continue
		}
		made, name, err := one(scanner.Bytes())
		if first, there := seen[name]; err == nil && there {
			err = fmt.Errorf("%w: %s is on line %d", ErrTwice, name, first)
		}
		if err != nil {
			bad = append(bad, &LineError{Line: n, Err: err})
			continue
		}
		seen[name] = n
		list = append(list, made)
	}
	if err := scanner.Err(); errors.Is(err, bufio.ErrTooLong) {
		bad = append(bad, &LineError{Line: n + 1, Err: fmt.Errorf("longer than %d bytes", maxLine)})
	} else if err != nil {
		return nil, fmt.Errorf("print: read lines: %w", err)
	}
	if len(bad) > 0 {
		return nil, errors.Join(bad...)
	}
	return list, nil
}

func readLine(line []byte, key tagcode.Key, prefix string) (Tag, error) {
	v, err := strict.Parse(line)
	if err != nil {
		return Tag{}, err
	}
	o := strict.Open("sling", v)
	ident := o.Str("id")
	if err := tagcode.CheckIdent(ident); err != nil {
		o.Fail("id", "%v", err)
	}
	serial := tagcode.Serial(o.Int("serial", 1, int64(tagcode.MaxSerial)))
	outcome := readOutcome(o)
	sling := gate.ReadSling(o)
	switch {
	case sling.Inspected.IsZero() && outcome != tagcode.NoOutcome:
		o.Fail("outcome", "given without inspected")
	case sling.Inspected.IsZero() && !sling.Due.IsZero():
		o.Fail("due", "given without inspected")
	case sling.State == gate.StateRetired || sling.State == gate.StateLost:
		o.Fail("state", "a sling that is %s gets no tag", sling.State)
	}
	if err := o.Done(); err != nil {
		return Tag{}, err
	}
	says, err := state.TagOf(key.Fingerprint(), ident, serial, sling.Inspected, sling.Due, outcome, sling.TagFacts())
	if err != nil {
		return Tag{}, err
	}
	tag, err := Make(ident, says, key, prefix)
	tag.doubt = sling.TagDoubt()
	return tag, err
}

// readOutcome takes what an inspection comes to; null, and no word, is for none.
func readOutcome(o *strict.Object) tagcode.Outcome {
	if !o.Has("outcome") {
		return tagcode.NoOutcome
	}
	outcome, err := tagcode.ParseOutcome(o.Str("outcome"))
	if err != nil || outcome == tagcode.NoOutcome {
		o.Fail("outcome", "%q is not fit, hold or out", o.Str("outcome"))
	}
	return outcome
}
