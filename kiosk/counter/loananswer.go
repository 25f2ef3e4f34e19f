package counter

import (
	"bytes"
	"context"
	"fmt"

	"cribgate/core/event"
	"cribgate/core/strict"
	"cribgate/store"
)

// loanBegins is how the stored answer of a loan begins, and that of no other act.
const loanBegins = `{"loan":`

func isLoan(answer []byte) bool { return bytes.HasPrefix(answer, []byte(loanBegins)) }

// encode keeps the outcome of a loan under its idempotency key.
func (l LoanOutcome) encode() ([]byte, error) {
	var w strict.Writer
	w.Begin()
	w.Str("loan", l.Loan.String())
	w.List("lines")
	for _, o := range l.Lines {
		line, err := o.encode()
		if err != nil {
			return nil, err
		}
		w.ItemRaw(line)
	}
	w.End()
	w.End()
	return w.Bytes()
}

// decodeLoan is the way back; the slings are shown as they are now.
func decodeLoan(ctx context.Context, r store.Reader, answer []byte) (LoanOutcome, error) {
	v, err := strict.Parse(answer)
	if err != nil {
		return LoanOutcome{}, fmt.Errorf("counter: a stored answer: %w", err)
	}
	f := strict.Open("answer", v)
	var l LoanOutcome
	if l.Loan, err = event.ParseLoanID(f.Str("loan")); err != nil {
		f.Fail("loan", "not a loan's id")
	}
	lines := f.Arr("lines")
	if err := f.Done(); err != nil {
		return LoanOutcome{}, fmt.Errorf("counter: a stored answer: %w", err)
	}
	for _, line := range lines {
		o, err := readOutcome(ctx, r, line)
		if err != nil {
			return LoanOutcome{}, err
		}
		l.Lines = append(l.Lines, o)
	}
	return l, nil
}
