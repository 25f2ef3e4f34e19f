package counter

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/store"
)

// LoanAsk is the question about everything that one rigger takes at one time.
type LoanAsk struct {
	Loan        event.LoanID // drawn for it beforehand
	Rigger      event.PersonID
	Lifts       []event.StatedLift
	For         []event.LiftID // of each of Lifts, the planned lift that it is; zero for none, nil for none at all
	Lines       []LoanLine
	ShiftBack   quantity.Date  // by which gear for a shift is back
	Countersign event.PersonID // who signed for a learner, by PIN; zero for none
}

// A LoanLine is one sling of a loan.
type LoanLine struct {
	Reading Reading
	Lift    int // place of its lift in Lifts, from 1; 0: gear for a shift
	Part    Part
	Seat    Seat
	Aside   event.LiftID // see Ask
}

// LoanOutcome is what a loan came to: an outcome for each line, in their order.
type LoanOutcome struct {
	Loan  event.LoanID
	Lines []Outcome
}

// Went counts the slings that went out.
func (l LoanOutcome) Went() (n int) {
	for _, o := range l.Lines {
		if o.May {
			n++
		}
	}
	return n
}

func (l LoanOutcome) first() Outcome {
	if i := slices.IndexFunc(l.Lines, func(o Outcome) bool { return o.May }); i >= 0 {
		return l.Lines[i]
	}
	if len(l.Lines) > 0 {
		return l.Lines[0]
	}
	return Outcome{}
}

// mostLines is more than anybody carries away at one time.
const mostLines = 200

// ErrLoan reports a loan that cannot be asked about: without an id, without lines,
// with a line for a lift that was not stated, or with a lift that nobody could state.
var ErrLoan = errors.New("counter: a loan has an id, lines, and a lift for each of them that can be")

// IssueLoan decides again about every line, in one transaction, and hands over what
// may go. Each line is decided for itself, as by [Counter.Issue], in their order;
// but of slings that share a lift all go or none. What stays is recorded as refused.
// A request repeated with its key gives the first answer.
func (c *Counter) IssueLoan(ctx context.Context, who Who, ask LoanAsk) (LoanOutcome, error) {
	request, err := ask.spelled()
	if err != nil {
		return LoanOutcome{}, fmt.Errorf("counter: issue a loan: %w", err)
	}
	answer, err := c.store.Do(ctx, who.act("loan", request...), func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		crib, err := tx.Crib(ctx)
		if err != nil {
			return nil, err
		}
		l := lending{c: c, tx: tx, who: who, ask: ask, units: crib.Founded.Units, out: make([]Outcome, len(ask.Lines)), twice: map[int]bool{}}
		for i := range ask.Lines {
			if err := l.line(ctx, i); err != nil {
				return nil, err
			}
		}
		if err := l.drawn(ctx); err != nil {
			return nil, err
		}
		return LoanOutcome{Loan: ask.Loan, Lines: l.out}.encode()
	})
	if err != nil {
		return LoanOutcome{}, fmt.Errorf("counter: issue a loan: %w", err)
	}
	out, err := decodeLoan(ctx, c.store.Reader, answer)
	if err != nil {
		return LoanOutcome{}, fmt.Errorf("%w: it was done, and then: %w", store.ErrUnknownOutcome, err)
	}
	return out, nil
}

// lending is a loan while it is decided.
type lending struct {
	c     *Counter
	tx    *store.Tx
	who   Who
	ask   LoanAsk
	units quantity.Units
	out   []Outcome
	done  []int        // lines of shared lifts that were decided with an earlier one
	twice map[int]bool // lines whose sling is on an earlier line of the same lift
}

// line decides one line, with all others of its lift where they share it.
func (l *lending) line(ctx context.Context, i int) error {
	if slices.Contains(l.done, i) {
		return nil
	}
	group := []int{i}
	if lift, ok := l.ask.lift(l.ask.Lines[i]); ok && lift.Many() > 0 {
		group = l.ask.sharing(l.ask.Lines[i].Lift)
		l.done = append(l.done, group...)
	}
	asks, err := l.judge(ctx, group)
	if err != nil {
		return err
	}
	for k, n := range group {
		if l.twice[n] {
			continue // it is recorded with the line before
		}
		l.tx.As(l.who.Person, l.who.Station, string(l.ask.Lines[n].Reading.Way))
		if l.out[n], err = l.c.write(ctx, l.tx, asks[k], l.out[n], true); err != nil {
			return err
		}
	}
	return nil
}

// judge decides about the lines of a group as they stand now. In a shared lift none
// goes unless all do.
func (l *lending) judge(ctx context.Context, group []int) ([]Ask, error) {
	var first *Placed
	var parts []Part
	asks := make([]Ask, len(group))
	stays := false
	for k, n := range group {
		line := l.ask.Lines[n]
		o, a, err := l.one(ctx, line, first, k)
		if err != nil {
			return nil, err
		}
		if o.Known && slices.ContainsFunc(group[:k], func(m int) bool { return l.out[m].Sling.ID == o.Sling.ID && l.out[m].Known }) {
			o.May, o.Codes, l.twice[n] = false, append(o.Codes, gate.AlreadyOut), true // one sling cannot carry twice
		}
		if first == nil && o.Known {
			first = &Placed{o.Sling.Details.Sling.Plate, line.Part.Shortened}
		}
		parts = append(parts, line.Part)
		l.out[n], asks[k], stays = o, a, stays || !o.May
	}
	lift, shared := l.ask.lift(l.ask.Lines[group[0]])
	if !shared || lift.Many() == 0 {
		return asks, nil
	}
	all := short(lift, parts)
	for _, n := range group {
		o := &l.out[n]
		o.Codes = append(o.Codes, all...)
		if stays && o.May {
			o.Codes = append(o.Codes, gate.NotTogether)
		}
		o.May = o.May && len(o.Codes) == 0
	}
	return asks, nil
}

// one asks about a single line. already is how many slings are on its lift before it.
func (l *lending) one(ctx context.Context, line LoanLine, first *Placed, already int) (Outcome, Ask, error) {
	a := Ask{Reading: line.Reading, Rigger: l.ask.Rigger, Countersign: l.ask.Countersign, Aside: line.Aside,
		line: event.Line{Loan: l.ask.Loan, Lift: line.Lift, Countersign: l.ask.Countersign}}
	lift, stated := l.ask.lift(line)
	if stated {
		f, err := l.c.find(ctx, l.tx.Reader, line.Reading, l.tx.Today())
		if err != nil {
			return Outcome{}, Ask{}, err
		}
		a.Lift, a.Against = Of(lift, f.Sling.Details.Sling, line.Part, l.units)
		a.Ends = Ends{Crane: lift.Crane, Lower: lift.Lower, Seat: line.Seat}
		a.line = onLine(lift, a.line, line.Seat)
		if lift.Many() > 0 && f.Known {
			a.Beside = Beside(lift, f.Sling.Details.Sling, line.Part.Shortened, first, already)
		}
	} else {
		a.Shift, a.Lift.ReturnBy = true, l.ask.ShiftBack
	}
	o, err := l.c.judge(ctx, l.tx.Reader, l.who, a, l.tx.Clock())
	if err == nil {
		o, err = l.c.signs(ctx, l.tx, l.who, a, o)
	}
	return o, a, err
}

// onLine writes down what was stated of the lift beyond what the gate is asked.
func onLine(l event.StatedLift, line event.Line, seat Seat) event.Line {
	line.Share, line.Crane, line.Lower = l.Share, l.Crane, l.Lower
	line.Seats = l.Crane != "" && seat == SeatsWell
	line.Weighed, line.Drawn, line.Slings = l.Weighed, l.Drawn, l.Many()
	line.Span, line.Headroom = l.Span, l.Headroom
	if l.Share == event.Beam {
		line.Whole, line.Beam = l.Lift.Load, l.Beam
	}
	return line
}

// lift is the lift of a line, false for gear for a shift.
func (a LoanAsk) lift(line LoanLine) (event.StatedLift, bool) {
	if line.Lift == 0 {
		return event.StatedLift{}, false
	}
	return a.Lifts[line.Lift-1], true
}

// sharing gives the places of the lines of one lift.
func (a LoanAsk) sharing(lift int) (list []int) {
	for i, line := range a.Lines {
		if line.Lift == lift {
			list = append(list, i)
		}
	}
	return list
}

// spelled gives all that is asked, for the digest of the request.
func (a LoanAsk) spelled() ([]string, error) {
	if a.Loan.IsZero() || len(a.Lines) == 0 || len(a.Lines) > mostLines || len(a.For) > len(a.Lifts) {
		return nil, ErrLoan
	}
	list := []string{a.Loan.String(), a.Rigger.String(), a.ShiftBack.String(), a.Countersign.String(), strconv.Itoa(len(a.Lifts))}
	for _, l := range a.Lifts {
		if l.Check() != nil {
			return nil, ErrLoan
		}
		text, err := l.MarshalJSON()
		if err != nil {
			return nil, err
		}
		list = append(list, string(text))
	}
	for _, id := range a.For {
		list = append(list, id.String())
	}
	for _, line := range a.Lines {
		if line.Lift < 0 || line.Lift > len(a.Lifts) || line.Lift == 0 && a.ShiftBack.IsZero() || line.Part.Carries < 0 {
			return nil, ErrLoan
		}
		list = append(list, line.Reading.Text, string(line.Reading.Way), line.Reading.Typed, line.Aside.String(),
			fmt.Sprint(line.Lift, line.Part.Shortened, int64(line.Part.Carries), line.Seat))
	}
	return list, nil
}
