package counter

import (
	"context"
	"errors"
	"fmt"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/strict"
	"cribgate/store"
)

// lines gives question and answer in the words of the machine surface.
func (o Outcome) lines() (question, answer string, err error) {
	q, err := o.Question.MarshalJSON()
	if err != nil {
		return "", "", fmt.Errorf("counter: spell the question: %w", err)
	}
	a, err := o.Answer.MarshalJSON()
	if err != nil {
		return "", "", fmt.Errorf("counter: spell the answer: %w", err)
	}
	return string(q), string(a), nil
}

// encode keeps an outcome under its idempotency key. The answer of the gate is
// not kept: it follows from the question.
func (o Outcome) encode() ([]byte, error) {
	var w strict.Writer
	w.Begin()
	w.Bool("may", o.May)
	w.Bool("ask_plate", o.AskPlate)
	w.Bool("ask_seat", o.AskSeat)
	if o.AskAside {
		w.Bool("ask_aside", true)
	}
	w.Bool("ask_sign", o.AskSign)
	writeCodes(&w, o.Codes)
	question := ""
	if o.Asked {
		q, _, err := o.lines()
		if err != nil {
			return nil, err
		}
		question = q
	}
	w.Str("question", question)
	id := ""
	if o.Known {
		id = o.Sling.ID.String()
	}
	w.Str("sling", id)
	w.Str("marked", o.Marked)
	w.Int("at", o.At)
	w.End()
	return w.Bytes()
}

// writeCodes and readCodes keep reasons with a stored answer.
func writeCodes(w *strict.Writer, codes []gate.Reason) {
	w.List("codes")
	for _, r := range codes {
		w.ItemStr(r.String())
	}
	w.End()
}

func readCodes(f *strict.Object) (codes []gate.Reason) {
	for _, code := range f.Strs("codes") {
		reason, err := gate.ParseReason(code)
		if err != nil {
			f.Fail("codes", "unknown reason %q", code)
		}
		codes = append(codes, reason)
	}
	return codes
}

// told gives the outcome of an act that was done. Where it cannot be read, nobody
// may hear an error that says that nothing was recorded.
func (c *Counter) told(ctx context.Context, answer []byte) (Outcome, error) {
	o, err := decodeOutcome(ctx, c.store.Reader, answer)
	if err != nil {
		return Outcome{}, fmt.Errorf("%w: it was done, and then: %w", store.ErrUnknownOutcome, err)
	}
	return o, nil
}

// decodeOutcome is the way back; the sling is shown as it is now.
func decodeOutcome(ctx context.Context, r store.Reader, answer []byte) (Outcome, error) {
	v, err := strict.Parse(answer)
	if err != nil {
		return Outcome{}, fmt.Errorf("counter: a stored answer: %w", err)
	}
	return readOutcome(ctx, r, v)
}

func readOutcome(ctx context.Context, r store.Reader, v strict.Value) (Outcome, error) {
	var err error
	f := strict.Open("answer", v)
	o := Outcome{May: f.Bool("may"), AskPlate: f.Bool("ask_plate"), AskSeat: f.OptBool("ask_seat", false), AskAside: f.OptBool("ask_aside", false), AskSign: f.OptBool("ask_sign", false), Marked: f.Str("marked"), At: f.Int("at", 0, 1<<62)}
	o.Codes = readCodes(f)
	question, sling := f.Str("question"), f.Str("sling")
	if err := f.Done(); err != nil {
		return Outcome{}, fmt.Errorf("counter: a stored answer: %w", err)
	}
	if question != "" {
		if o.Question, err = gate.ParseQuestion([]byte(question)); err != nil {
			return Outcome{}, fmt.Errorf("counter: a stored question: %w", err)
		}
		if o.Answer, err = gate.Decide(o.Question); err != nil {
			return Outcome{}, fmt.Errorf("counter: a stored question: %w", err)
		}
		o.Asked = true
	}
	if sling != "" {
		id, err := event.ParseSlingID(sling)
		if err != nil {
			return Outcome{}, fmt.Errorf("counter: a stored answer: %w", err)
		}
		if o.Sling, err = r.Sling(ctx, id); err != nil && !errors.Is(err, store.ErrNotFound) {
			return Outcome{}, fmt.Errorf("counter: the sling of a stored answer: %w", err)
		}
		o.Known = err == nil
	}
	return o, nil
}

// Before gives the outcome of an act whose key was used before, whatever was asked;
// false where there was none. The key must be one of an act that has an outcome. Of a
// loan it is that of the first sling that went, or of the first.
func (c *Counter) Before(ctx context.Context, key string) (Outcome, bool, error) {
	answer, known, err := c.store.Answered(ctx, key)
	if err != nil || !known {
		return Outcome{}, false, err
	}
	if isLoan(answer) {
		l, err := decodeLoan(ctx, c.store.Reader, answer)
		return l.first(), err == nil, err
	}
	o, err := decodeOutcome(ctx, c.store.Reader, answer)
	return o, err == nil, err
}

// spelled gives all that is asked, for the digest of a request.
func (a Ask) spelled() ([]string, error) {
	lift, err := liftText(a.Lift)
	if err != nil {
		return nil, err
	}
	list := append([]string{a.Reading.Text, a.Reading.Typed, a.Rigger.String(), lift, fmt.Sprint(a.Shift), a.Countersign.String(), a.Aside.String()}, a.Ends.spelled()...)
	for _, code := range append([]gate.Reason{a.Against}, a.Beside...) {
		list = append(list, code.String())
	}
	return list, nil
}

// liftText spells a lift, so that a repeated request can be told from another.
func liftText(l gate.Lift) (string, error) {
	b, err := gate.Question{Lift: &l}.MarshalJSON()
	if err != nil {
		return "", fmt.Errorf("spell the lift: %w", err)
	}
	return string(b), nil
}
