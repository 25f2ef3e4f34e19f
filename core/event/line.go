package event

import (
	"cribgate/core/quantity"
	"cribgate/core/strict"
)

// LoanID names what one rigger was handed at one time. The zero value names none.
type LoanID [16]byte

// ParseLoanID reads 32 lower-case hex digits.
func ParseLoanID(text string) (LoanID, error) {
	b, err := parse16(text)
	return LoanID(b), err
}

// String gives 32 lower-case hex digits.
func (l LoanID) String() string { return PersonID(l).String() }

// IsZero reports whether l names no loan.
func (l LoanID) IsZero() bool { return l == LoanID{} }

// Share says how slings of one lift carry it together. The zero value is a sling
// that carries its lift alone.
type Share string

// The ways to share a lift.
const (
	OneHook Share = "one-hook" // like one-leg slings on one hook: they work as one sling
	Beam    Share = "beam"     // each carries its own stated part under a beam, whose weight is counted
)

// Line is what a sling's issue is within a loan. The zero value is a sling that was
// issued by itself, before there were loans.
type Line struct {
	Loan        LoanID
	Lift        int      // number of the lift within the loan, from 1; 0: gear for a shift, without a stated lift
	Share       Share    // how the slings of that lift carry it together
	Countersign PersonID // the attendant who signed for a learner; zero for none
	Crane       string   // name of the crane whose hook the upper link goes on; empty: not said
	Seats       bool     // someone looked: the link seats in the bowl of that hook

	// Of the lift as it was stated, beyond what the gate was asked.
	Weighed bool          // the load was weighed
	Drawn   bool          // the angle was answered by drawings, not in degrees
	Lower   LowerFitting  // that the lift asked for; zero: any
	Slings  int           // that share the lift; 0 where this one carries it alone
	Whole   quantity.Mass // under a beam: what hangs from it, margin and beam left out
	Beam    quantity.Mass // under a beam: its own mass

	// With any of these: schema 4 of [Issued].
	Span     quantity.Length // see [StatedLift]; the question beside it has the angle that follows from the sling's reach
	Headroom quantity.Length
}

// Shift reports whether the sling went out as gear for a shift, without a stated lift.
func (l Line) Shift() bool { return !l.Loan.IsZero() && l.Lift == 0 }

// ReadLine reads a loan's line, the zero Line of a nil o, whose caller also calls o.Done.
func ReadLine(o *strict.Object) Line {
	if o == nil {
		return Line{}
	}
	l := Line{Lift: int(o.Int("lift", 0, 1000)), Share: Share(o.Str("share"))}
	var err error
	if l.Loan, err = ParseLoanID(o.Str("loan")); err != nil {
		o.Fail("loan", "not a loan's id")
	}
	if l.Share != "" && l.Share != OneHook && l.Share != Beam {
		o.Fail("share", "not one-hook or beam")
	}
	l.Countersign = ReadPerson(o, "countersign")
	l.Crane, l.Seats = o.Str("crane"), o.Bool("seats")
	l.Weighed, l.Drawn = o.OptBool("weighed", false), o.OptBool("drawn", false)
	l.Slings = int(o.OptInt("slings", 0, maxSlings, 0))
	l.Whole = quantity.Mass(o.OptInt("whole_10ug", 0, int64(maxMass), 0))
	l.Beam = quantity.Mass(o.OptInt("beam_10ug", 0, int64(maxMass), 0))
	l.Lower = readLower(o)
	l.Span, l.Headroom = readFar(o, "span_mm"), readFar(o, "headroom_mm")
	return l
}

const (
	maxSlings = 1000
	maxMass   = 1_000_000 * quantity.Tonne // as the machine surface has it
)

// Write writes the line as the member "line", nothing where it is zero.
func (l Line) Write(w *strict.Writer) {
	if l == (Line{}) {
		return
	}
	w.Obj("line")
	w.Int("lift", int64(l.Lift))
	w.Str("share", string(l.Share))
	w.Str("loan", l.Loan.String())
	w.Str("countersign", l.Countersign.String())
	w.Str("crane", l.Crane)
	w.Bool("seats", l.Seats)
	l.writeStated(w)
	w.End()
}

func (l Line) writeStated(w *strict.Writer) {
	if l.Weighed {
		w.Bool("weighed", true)
	}
	if l.Drawn {
		w.Bool("drawn", true)
	}
	if l.Lower != "" {
		w.Str("lower", string(l.Lower))
	}
	for _, n := range []struct {
		name  string
		value int64
	}{{"slings", int64(l.Slings)}, {"whole_10ug", int64(l.Whole)}, {"beam_10ug", int64(l.Beam)},
		{"span_mm", l.Span.Millimetres()}, {"headroom_mm", l.Headroom.Millimetres()}} {
		if n.value != 0 {
			w.Int(n.name, n.value)
		}
	}
}
