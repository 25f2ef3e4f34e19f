package counter

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"slices"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/store"
)

// Ask is the question at the counter: may this sling go out, with this rigger,
// for this lift? The return date is the lift's.
type Ask struct {
	Reading     Reading
	Rigger      event.PersonID
	Lift        gate.Lift
	Shift       bool           // gear for a shift: no lift is stated, and of Lift only ReturnBy counts
	Against     gate.Reason    // why the lift cannot be asked of the sling, or stands against it; see [Of]
	Ends        Ends           // what the lift asks of the sling's ends
	Countersign event.PersonID // who signed for a learner; zero for none
	Aside       event.LiftID   // the planned lift that it is set aside for, where it goes to somebody else all the same
	Beside      []gate.Reason  // found against it beside the other slings of its loan

	line event.Line
}

// Outcome is what an act came to. The zero Outcome refuses.
type Outcome struct {
	May      bool          // may go, or was done
	AskPlate bool          // the last characters of the plate are needed first
	AskSeat  bool          // somebody has to look whether the upper link seats in the crane's hook
	AskAside bool          // somebody has to say that it goes although it is set aside for another
	AskSign  bool          // another attendant has to sign for the learner who hands over
	Codes    []gate.Reason // why not: tag, record and people first, then the gate's reasons in their order
	Answer   gate.Answer   // of the gate, where it could be asked
	Asked    bool          // Answer counts
	Question gate.Question // what the gate was asked
	Sling    state.Sling   // as it was found; zero where Known is false
	Known    bool
	Marked   string // why the keeper will see it
	At       int64  // position of the event that records it, 0 where none does

	serial tagcode.Serial  // of the tag that was read
	ahead  *event.TagAhead // see Found
}

// Look answers without writing anything. Whether a learner has a countersign is
// asked when the sling is handed over.
func (c *Counter) Look(ctx context.Context, who Who, ask Ask) (Outcome, error) {
	clock, err := c.store.Clock(ctx)
	if err != nil {
		return Outcome{}, fmt.Errorf("counter: look: %w", err)
	}
	return c.judge(ctx, c.store.Reader, who, ask, clock)
}

// signed gives what is still to be asked of a learner who hands over.
func (c *Counter) signed(ctx context.Context, r store.Reader, who Who, ask Ask, on quantity.Date) (bool, error) {
	p, err := r.Person(ctx, who.Person)
	if err != nil {
		return false, fmt.Errorf("counter: who acts: %w", err)
	}
	if !p.Terms.Learner {
		return true, nil
	}
	if ask.Countersign.IsZero() || ask.Countersign == who.Person || ask.Countersign == ask.Rigger {
		return false, nil
	}
	other, err := r.Person(ctx, ask.Countersign)
	if errors.Is(err, store.ErrNotFound) {
		return false, nil
	}
	if err != nil {
		return false, fmt.Errorf("counter: who countersigns: %w", err)
	}
	return MayCountersign(other, on), nil
}

// MayCountersign tells whether a person may sign for a learner on that day: an
// attendant who is none.
func MayCountersign(p state.Person, on quantity.Date) bool {
	return p.May(event.Attendant, on) && !p.Terms.Learner
}

// Issue decides again, in the transaction that records the answer: issued, or
// refused. A refusal without a known sling, and a question for the plate's
// characters, leave no record. A request repeated with its key gives the first
// answer.
func (c *Counter) Issue(ctx context.Context, who Who, ask Ask) (Outcome, error) {
	return c.record(ctx, who, ask, true)
}

// Refuse does what Issue does, except that a sling that may go stays: it records
// refusals only. It is what a page calls when a sling is scanned.
func (c *Counter) Refuse(ctx context.Context, who Who, ask Ask) (Outcome, error) {
	return c.record(ctx, who, ask, false)
}

func (c *Counter) record(ctx context.Context, who Who, ask Ask, handOver bool) (Outcome, error) {
	what := "ask"
	if handOver {
		what = "issue"
	}
	request, err := ask.spelled()
	if err != nil {
		return Outcome{}, fmt.Errorf("counter: %s: %w", what, err)
	}
	answer, err := c.store.Do(ctx, who.act(what, request...), func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		o, err := c.judge(ctx, tx.Reader, who, ask, tx.Clock())
		if err == nil && handOver {
			o, err = c.signs(ctx, tx, who, ask, o)
		}
		if err == nil {
			o, err = c.write(ctx, tx, ask, o, handOver)
		}
		if err != nil {
			return nil, err
		}
		return o.encode()
	})
	if err != nil {
		return Outcome{}, fmt.Errorf("counter: %s: %w", what, err)
	}
	return c.told(ctx, answer)
}

// signs asks for a countersign where there is none yet and nothing else stands
// against the sling.
func (c *Counter) signs(ctx context.Context, tx *store.Tx, who Who, ask Ask, o Outcome) (Outcome, error) {
	if !o.May {
		return o, nil
	}
	signed, err := c.signed(ctx, tx.Reader, who, ask, tx.Today())
	if err != nil || signed {
		return o, err
	}
	o.May, o.AskSign, o.Codes = false, true, []gate.Reason{gate.CountersignNeeded}
	return o, nil
}

// write records an outcome.
func (c *Counter) write(ctx context.Context, tx *store.Tx, ask Ask, o Outcome, handOver bool) (Outcome, error) {
	body, err := o.event(ask, handOver)
	if err != nil {
		return Outcome{}, err
	}
	if err := c.noteAhead(ctx, tx, o.ahead); err != nil {
		return Outcome{}, err
	}
	if body == nil {
		return o, nil
	}
	rec, err := tx.Append(ctx, event.Sling(o.Sling.ID), o.Sling.Heads, body)
	if err != nil {
		return Outcome{}, err
	}
	o.At = rec.Envelope.At
	return o, nil
}

// event gives what is to be written of the outcome, nil for nothing.
func (o Outcome) event(ask Ask, handOver bool) (event.Body, error) {
	verdict := event.Verdict{Edition: gate.RulesEdition}
	if o.Asked {
		var err error
		if verdict.Question, verdict.Answer, err = o.lines(); err != nil {
			return nil, err
		}
	}
	switch {
	case o.May && handOver:
		return event.Issued{
			Rigger: ask.Rigger, ReturnBy: ask.Lift.ReturnBy, Serial: o.serial,
			Typed: ask.Reading.Typed, Marked: o.Marked, Verdict: verdict, Line: ask.line, Use: event.UseOf(verdict),
		}, nil
	case o.May || o.asks() || !o.Known:
		return nil, nil
	}
	codes := make([]string, len(o.Codes))
	for i, r := range o.Codes {
		codes[i] = r.String()
	}
	return event.Refused{Rigger: ask.Rigger, Reasons: codes, Verdict: verdict}, nil
}

// asks tells whether something has to be answered before the sling may go, and
// nothing else stands against it.
func (o Outcome) asks() bool {
	asked := func(r gate.Reason) bool {
		return r == gate.PlateNeeded || r == gate.SeatUnknown || r == gate.SetAside || r == gate.CountersignNeeded
	}
	return len(o.Codes) > 0 && !slices.ContainsFunc(o.Codes, func(r gate.Reason) bool { return !asked(r) })
}

// judge answers the question from what r reads: one state of the register within
// an act.
func (c *Counter) judge(ctx context.Context, r store.Reader, who Who, ask Ask, clock store.Clock) (Outcome, error) {
	today := clock.Today()
	f, err := c.find(ctx, r, ask.Reading, today)
	if err != nil {
		return Outcome{}, err
	}
	if !f.Known {
		return Outcome{Codes: f.Codes, ahead: f.ahead}, nil
	}
	crib, err := r.Crib(ctx)
	if err != nil {
		return Outcome{}, fmt.Errorf("counter: policy: %w", err)
	}
	policy := crib.Founded.Policy
	o := Outcome{Known: true, Sling: f.Sling, serial: f.Serial, Codes: f.Codes, ahead: f.ahead}
	o.Codes = append(o.Codes, Doubts(f.Sling.Doubt|crib.Doubt)...) // policy may have become stricter in a way not understood
	o.Codes = append(o.Codes, Uncompared(crib, f.Sling)...)
	o.Codes = append(o.Codes, Kept(f.Sling, today, ask.Lift.ReturnBy)...)
	people, err := c.people(ctx, r, who, ask, today)
	if err != nil {
		return Outcome{}, err
	}
	o.Codes = append(o.Codes, people...)
	if by := f.Sling.PassedBy; !by.IsZero() && (by == who.Person || by == ask.Countersign) {
		if policy.OnePerson {
			o.Marked = "issued by the inspector who passed it: crib of one person"
		} else {
			o.Codes = append(o.Codes, gate.InspectorIssuesOwn)
		}
	}
	o.Codes = append(o.Codes, Clocked(clock.Doubt)...)
	o.Codes = append(o.Codes, c.audited()...)
	if ask.Against != gate.NotDecided {
		o.Codes = append(o.Codes, ask.Against)
	}
	if o.Question = Question(f.Sling, policy, today, nil); !ask.Shift && (ask.Against == gate.NotDecided || ask.Against == gate.ReachTooLong) {
		lift := ask.Lift
		o.Question.Lift = &lift
	}
	if o.Answer, err = gate.Decide(o.Question); err != nil {
		return Outcome{}, fmt.Errorf("counter: decide: %w", err)
	}
	o.Asked = true
	o.Codes = append(o.Codes, o.Answer.Reasons...)
	if ask.Shift && !o.Answer.Due.IsZero() && o.Answer.Due.Before(ask.Lift.ReturnBy) && !slices.Contains(o.Codes, gate.Overdue) {
		o.Codes = append(o.Codes, gate.DueBeforeReturn) // the gate knows of no return without a lift
	}
	o.Codes = append(o.Codes, ask.Beside...)
	o.ends(ask.Ends, policy)
	o.aside(ask, today)
	o.plate(c, ask, policy)
	o.May = len(o.Codes) == 0 && o.Answer.May()
	return o, nil
}

// Question is what the gate is asked about a sling of the register.
func Question(s state.Sling, p event.Policy, today quantity.Date, lift *gate.Lift) gate.Question {
	return gate.Question{ID: s.Details.Ident, Now: today, Sling: s.Details.Sling, Lift: lift, Policy: Policy(p)}
}

// Policy is the site's policy as far as the gate goes by it.
func Policy(p event.Policy) gate.Policy {
	choke := gate.ChokeListed
	if p.StrictChoke {
		choke = gate.ChokeStrict
	}
	return gate.Policy{Angles: gate.AnglesBands, Choke: choke, MaxMonths: p.MaxMonths, MaxTilt: p.MaxTilt}
}

// people judges who hands over and who takes.
func (c *Counter) people(ctx context.Context, r store.Reader, who Who, ask Ask, on quantity.Date) ([]gate.Reason, error) {
	codes, err := allowed(ctx, r, who.Person, event.Attendant, on)
	if err != nil {
		return nil, err
	}
	rigger, err := r.Person(ctx, ask.Rigger)
	switch {
	case errors.Is(err, store.ErrNotFound):
		return append(codes, gate.RiggerUnknown), nil
	case err != nil:
		return nil, fmt.Errorf("counter: the rigger: %w", err)
	case !rigger.May(event.Rigger, on):
		return append(codes, gate.RiggerNotCleared), nil
	case ask.Shift && !rigger.Terms.ShiftGear:
		return append(codes, gate.ShiftNotAllowed), nil
	}
	return codes, nil
}

// plate asks for the last characters of the plate's identification where a
// reading alone is not enough, and judges them where they were typed.
func (o *Outcome) plate(c *Counter, ask Ask, p event.Policy) {
	typed := strings.TrimSpace(ask.Reading.Typed)
	switch {
	case typed != "" && !PlateMatches(o.Sling.Details.Ident, typed):
		o.Codes = append(o.Codes, gate.PlateMismatch)
	case typed == "" && (len(o.Codes) == 0 || o.AskSeat || o.AskAside) && (ask.Reading.Way.AsksPlate() || ask.Reading.Doubtful || c.drawn(o.Sling, p)):
		o.AskPlate = true
		o.Codes = append(o.Codes, gate.PlateNeeded)
	}
}

// drawn says whether this issue is one of those in which the plate is asked
// for at random. It gives the same answer when the question is repeated, and
// nobody without the key can foresee it.
func (c *Counter) drawn(s state.Sling, p event.Policy) bool {
	if p.AskEvery < 1 {
		return false
	}
	key, err := c.keys.Current(s.ID.Key)
	if err != nil {
		return true // without the key, ask every time
	}
	text, err := key.MarshalText()
	if err != nil {
		return true
	}
	h := hmac.New(sha256.New, text)
	h.Write([]byte("plate draw"))
	h.Write([]byte(s.ID.String()))
	var n [8]byte
	binary.BigEndian.PutUint64(n[:], uint64(s.Issues))
	h.Write(n[:])
	return binary.BigEndian.Uint64(h.Sum(nil))%uint64(p.AskEvery) == 0
}
