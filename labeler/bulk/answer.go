package bulk

import (
	"bytes"
	"errors"
	"fmt"

	"cribgate/core/strict"
)

// errAnswer says that what the register keeps of a part is not ours.
var errAnswer = errors.New("bulk: the register's answer for a part of the run cannot be read")

// spellAnswer is what the register keeps of a part: what of it was left out and
// why. All else of it was recorded, with the serials of the plan.
func spellAnswer(left map[int]string, n int) ([]byte, error) {
	var w strict.Writer
	w.Begin()
	w.List("left")
	for i := range n {
		if why, ok := left[i]; ok {
			w.Begin()
			w.Int("n", int64(i))
			w.Str("why", why)
			w.End()
		}
	}
	w.End()
	w.End()
	return w.Bytes()
}

// leaveOut marks the items that the answer leaves out; the others are recorded.
func leaveOut(items []item, answer []byte) error {
	v, err := strict.Parse(answer)
	if err != nil {
		return fmt.Errorf("%w: %w", errAnswer, err)
	}
	o := strict.Open("answer", v)
	left := map[int]string{}
	for _, l := range o.Objs("left") {
		why := l.Str("why")
		if why == "" {
			l.Fail("why", "empty")
		}
		left[int(l.Int("n", 0, int64(len(items)-1)))] = why
	}
	if err := o.Done(); err != nil {
		return fmt.Errorf("%w: %w", errAnswer, err)
	}
	if again, err := spellAnswer(left, len(items)); err != nil || !bytes.Equal(again, answer) {
		return errAnswer
	}
	for i := range items {
		items[i].why = left[i]
		items[i].recorded = left[i] == ""
	}
	return nil
}
