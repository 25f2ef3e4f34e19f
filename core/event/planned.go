package event

import (
	"cribgate/core/quantity"
	"cribgate/core/strict"
)

// LiftID names a lift that is planned for a day. The zero value names none.
type LiftID [16]byte

// ParseLiftID reads 32 lower-case hex digits.
func ParseLiftID(text string) (LiftID, error) {
	b, err := parse16(text)
	return LiftID(b), err
}

// String gives 32 lower-case hex digits.
func (l LiftID) String() string { return PersonID(l).String() }

// IsZero reports whether l names no lift.
func (l LiftID) IsZero() bool { return l == LiftID{} }

// ReadLiftID reads a planned lift's id as bodies spell it, which names one.
func ReadLiftID(o *strict.Object, name string) LiftID {
	l, err := ParseLiftID(o.Str(name))
	if err != nil || l.IsZero() {
		o.Fail(name, "not a planned lift's id")
	}
	return l
}

// readDay reads a day that has to be there.
func readDay(o *strict.Object, name string) quantity.Date {
	d := ReadDate(o, name)
	if d.IsZero() {
		o.Fail(name, "no day")
	}
	return d
}

// LiftPlanned says that the rigger whose story it is in wants slings for a lift on a
// day. It lapses by itself when its day is over.
type LiftPlanned struct {
	Lift   LiftID
	Day    quantity.Date
	What   string     // is lifted, and where, in words; may be empty
	Stated StatedLift // its day of return is that of the slings
}

// Kind is KindLiftPlanned.
func (LiftPlanned) Kind() Kind { return KindLiftPlanned }

func readLiftPlanned(o *strict.Object) LiftPlanned {
	return LiftPlanned{Lift: ReadLiftID(o, "lift"), Day: readDay(o, "day"), What: o.Str("what"), Stated: ReadStatedLift(o.Obj("stated"))}
}

func (l LiftPlanned) write(w *strict.Writer) {
	w.Str("lift", l.Lift.String())
	w.Str("day", l.Day.String())
	w.Str("what", l.What)
	l.Stated.Write(w, "stated")
}

// LiftGivenUp says that a planned lift is not to be: nothing is set aside for it any
// more.
type LiftGivenUp struct {
	Lift LiftID
	Day  quantity.Date // for which it was planned
	Why  string
}

// Kind is KindLiftGivenUp.
func (LiftGivenUp) Kind() Kind { return KindLiftGivenUp }

func readLiftGivenUp(o *strict.Object) LiftGivenUp {
	return LiftGivenUp{Lift: ReadLiftID(o, "lift"), Day: readDay(o, "day"), Why: o.Str("why")}
}

func (l LiftGivenUp) write(w *strict.Writer) {
	w.Str("lift", l.Lift.String())
	w.Str("day", l.Day.String())
	w.Str("why", l.Why)
}

// LiftDrawn says that slings went out for a planned lift, and with which loan.
type LiftDrawn struct {
	Lift LiftID
	Day  quantity.Date // for which it was planned
	Loan LoanID
}

// Kind is KindLiftDrawn.
func (LiftDrawn) Kind() Kind { return KindLiftDrawn }

func readLiftDrawn(o *strict.Object) LiftDrawn {
	l := LiftDrawn{Lift: ReadLiftID(o, "lift"), Day: readDay(o, "day")}
	var err error
	if l.Loan, err = ParseLoanID(o.Str("loan")); err != nil || l.Loan.IsZero() {
		o.Fail("loan", "not a loan's id")
	}
	return l
}

func (l LiftDrawn) write(w *strict.Writer) {
	w.Str("lift", l.Lift.String())
	w.Str("day", l.Day.String())
	w.Str("loan", l.Loan.String())
}

// SetAside says that a sling is kept for a planned lift, up to the end of its day or
// until it goes out. It makes no sling go that would not go without it.
type SetAside struct {
	Lift   LiftID
	Rigger PersonID // who is to have it
	Day    quantity.Date
}

// Kind is KindSetAside.
func (SetAside) Kind() Kind { return KindSetAside }

// ReadSetAside reads a SetAside body. o may hold other names for its caller, who also
// calls o.Done.
func ReadSetAside(o *strict.Object) SetAside {
	s := SetAside{Lift: ReadLiftID(o, "lift"), Rigger: ReadPerson(o, "rigger"), Day: readDay(o, "day")}
	if s.Rigger.IsZero() {
		o.Fail("rigger", "nobody")
	}
	return s
}

func (s SetAside) write(w *strict.Writer) {
	w.Str("lift", s.Lift.String())
	w.Str("rigger", s.Rigger.String())
	w.Str("day", s.Day.String())
}

// PutBack says that a sling is kept for a planned lift no more.
type PutBack struct {
	Lift LiftID
	Why  string
}

// Kind is KindPutBack.
func (PutBack) Kind() Kind { return KindPutBack }

func readPutBack(o *strict.Object) PutBack {
	return PutBack{Lift: ReadLiftID(o, "lift"), Why: o.Str("why")}
}

func (p PutBack) write(w *strict.Writer) {
	w.Str("lift", p.Lift.String())
	w.Str("why", p.Why)
}
