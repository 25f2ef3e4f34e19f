package counter

import (
	"context"
	"errors"
	"fmt"

	"cribgate/core/event"
	"cribgate/core/fit"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/core/strict"
	"cribgate/store"
)

// A Keep is a sling that is to be set aside for a planned lift.
type Keep struct {
	Lift  event.LiftID
	Sling event.SlingID
}

// mostKept is how many slings are set aside in one act at the most: a day of 500 lifts
// of several slings (site policy, no source).
const mostKept = 2000

// ErrKeep reports that nothing is to be set aside, or more than can be at once.
var ErrKeep = errors.New("counter: one to 2,000 slings are set aside at once")

// SetAside keeps slings for planned lifts, in one act, and gives an outcome for each in
// their order: each is decided for itself, so that of two clerks who want one sling for
// two lifts the first gets it and the other is told ([gate.SetAside]). One is kept only
// where it would go out for the lift as the register stands; whether it does is decided
// when it is handed over, as if nobody had set it aside. Setting aside once more for the
// same lift changes nothing.
func (c *Counter) SetAside(ctx context.Context, who Who, keeps []Keep) ([]Outcome, error) {
	if len(keeps) == 0 || len(keeps) > mostKept {
		return nil, ErrKeep
	}
	request := make([]string, 0, 2*len(keeps))
	for _, k := range keeps {
		request = append(request, k.Lift.String(), k.Sling.String())
	}
	answer, err := c.store.Do(ctx, who.act("set aside", request...), func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		k := keeping{tx: tx, who: who, lifts: map[event.LiftID]*kept{}}
		var err error
		if k.crib, err = tx.Crib(ctx); err != nil {
			return nil, err
		}
		var w strict.Writer
		w.Begin()
		w.List("kept")
		for _, one := range keeps {
			o, err := k.keep(ctx, one)
			if err != nil {
				return nil, err
			}
			text, err := o.encode()
			if err != nil {
				return nil, err
			}
			w.ItemRaw(text)
		}
		w.End()
		w.End()
		return w.Bytes()
	})
	if err != nil {
		return nil, fmt.Errorf("counter: set aside: %w", err)
	}
	list, err := decodeKept(ctx, c.store.Reader, answer)
	if err != nil {
		return nil, fmt.Errorf("%w: it was done, and then: %w", store.ErrUnknownOutcome, err)
	}
	return list, nil
}

func decodeKept(ctx context.Context, r store.Reader, answer []byte) ([]Outcome, error) {
	v, err := strict.Parse(answer)
	if err != nil {
		return nil, fmt.Errorf("counter: a stored answer: %w", err)
	}
	f := strict.Open("answer", v)
	lines := f.Arr("kept")
	if err := f.Done(); err != nil {
		return nil, fmt.Errorf("counter: a stored answer: %w", err)
	}
	list := make([]Outcome, len(lines))
	for i, line := range lines {
		if list[i], err = readOutcome(ctx, r, line); err != nil {
			return nil, err
		}
	}
	return list, nil
}

// keeping sets slings aside within one act.
type keeping struct {
	tx    *store.Tx
	who   Who
	crib  state.Crib
	lifts map[event.LiftID]*kept
}

// kept is a lift while slings are set aside for it.
type kept struct {
	state.Planned
	ask   fit.Ask
	ended bool
	has   int // slings that are set aside for it
}

func (k *keeping) lift(ctx context.Context, id event.LiftID) (*kept, error) {
	if l, ok := k.lifts[id]; ok {
		return l, nil
	}
	l := &kept{}
	var err error
	l.Planned, err = open(ctx, k.tx, id)
	if errors.Is(err, ErrLiftEnded) || errors.Is(err, store.ErrNotFound) {
		l.ended, err = true, nil
	}
	if err == nil && !l.ended {
		err = mayPlan(ctx, k.tx, k.who, l.Rigger)
	}
	if err != nil {
		return nil, err
	}
	if !l.ended {
		l.ask = AskFor(k.crib, l.Stated, k.tx.Today())
		list, err := k.tx.SetAsideFor(ctx, l.Day, id)
		if err != nil {
			return nil, err
		}
		l.has = len(list)
	}
	k.lifts[id] = l
	return l, nil
}

func (k *keeping) keep(ctx context.Context, one Keep) (Outcome, error) {
	l, err := k.lift(ctx, one.Lift)
	if err != nil {
		return Outcome{}, err
	}
	s, err := k.tx.Sling(ctx, one.Sling)
	if errors.Is(err, store.ErrNotFound) {
		return Outcome{Codes: []gate.Reason{gate.UnknownSling}}, nil
	}
	if err != nil {
		return Outcome{}, err
	}
	o := Outcome{Known: true, Sling: s}
	today := k.tx.Today()
	switch {
	case l.ended:
		o.Codes = []gate.Reason{gate.NotNow}
	case s.Aside.On(today) && s.Aside.Lift == one.Lift:
		o.May = true
		return o, nil
	case s.Aside.On(today):
		o.Codes = []gate.Reason{gate.SetAside}
	case l.has >= l.ask.Lift.Takes():
		o.Codes = []gate.Reason{gate.TooManyTogether}
	default:
		if o.Codes, err = Unfit(k.crib, s, l.ask); err != nil {
			return Outcome{}, err
		}
	}
	if len(o.Codes) > 0 {
		return o, nil
	}
	rec, err := k.tx.Append(ctx, event.Sling(s.ID), s.Heads, event.SetAside{Lift: one.Lift, Rigger: l.Rigger, Day: l.Day})
	if err != nil {
		return Outcome{}, err
	}
	l.has++
	o.May, o.At = true, rec.Envelope.At
	return o, nil
}

// Unfit gives what stands against a sling for a lift as the register stands, whoever
// takes it: nothing is decided by it.
func Unfit(crib state.Crib, s state.Sling, ask fit.Ask) (codes []gate.Reason, err error) {
	x := Choosable(s, crib, ask.Now)
	codes = append(codes, Doubts(s.Doubt|crib.Doubt)...)
	codes = append(codes, Uncompared(crib, s)...)
	codes = append(codes, Kept(s, ask.Now, ask.Lift.ReturnBy)...)
	if _, live := s.Live(); !live {
		codes = append(codes, gate.TagUnconfirmed)
	}
	for _, r := range [...]gate.Reason{x.Fittings.Hangs(ask.Lift.Lower), x.Fittings.Seats(ask.Lift.Crane)} {
		if r != gate.NotDecided && r != gate.SeatUnknown { // that somebody looks at when it goes out
			codes = append(codes, r)
		}
	}
	q, against := ask.Question(&x)
	if against != gate.NotDecided {
		codes = append(codes, against)
	}
	a, err := gate.Decide(q)
	if err != nil {
		return nil, err
	}
	return append(codes, a.Reasons...), nil
}

// PutBack ends that a sling is set aside.
func (c *Counter) PutBack(ctx context.Context, who Who, id event.SlingID, lift event.LiftID, why string) (Outcome, error) {
	return c.do(ctx, who.act("put back", id.String(), lift.String(), why), func(ctx context.Context, tx *store.Tx) (Outcome, error) {
		s, err := tx.Sling(ctx, id)
		if err != nil {
			return Outcome{}, err
		}
		o := Outcome{Known: true, Sling: s}
		if lift.IsZero() || s.Aside.Lift != lift {
			o.Codes = []gate.Reason{gate.NotNow}
			return o, nil
		}
		if err := mayPlan(ctx, tx, who, s.Aside.Rigger); err != nil {
			return Outcome{}, err
		}
		return c.append(ctx, tx, o, event.PutBack{Lift: lift, Why: why})
	})
}
