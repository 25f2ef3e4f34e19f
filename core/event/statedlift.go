package event

import (
	"fmt"

	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/strict"
)

// StatedLift is a lift as somebody stated it, for one sling or for several that share
// it, before any sling is chosen. [ParseStatedLift] and MarshalJSON are its one
// spelling; [ReadStatedLift] and Write put it into another object. The zero StatedLift
// is none.
type StatedLift struct {
	// Lift is what each sling is asked about, but for what only some slings are asked
	// (Singles, Shortened). Its Load is what hangs below, all of it; with OneHook,
	// Legs is how many slings hang on the hook.
	Lift gate.Lift

	// Span is how far apart the picks are, instead of an angle or of Lift.Picks: of
	// two legs from pick to pick, of three or four the diameter of the circle through
	// the picks. The angle then follows from each sling's own reach. Headroom is the
	// most that the hook can stand over them. 0 where it is not stated.
	Span     quantity.Length
	Headroom quantity.Length

	Share Share

	// Under a beam.
	Slings int           // that carry it together
	Beam   quantity.Mass // its own mass, counted
	Stated bool          // each sling's part is stated; else they are equal

	Crane   string       // name of the crane whose hook the upper link goes on; empty: not said
	Lower   LowerFitting // that is to hang below; zero: any
	Weighed bool         // the load was weighed
	Drawn   bool         // the angle was answered by drawings
}

// Many is how many slings share the lift, 0 where one carries it alone.
func (l StatedLift) Many() int {
	switch l.Share {
	case OneHook:
		return l.Lift.Legs
	case Beam:
		return l.Slings
	}
	return 0
}

// Equal is the equal part of each sling under a beam, rounded up to whole units of the
// crib, so that the parts never come to less than the whole.
func (l StatedLift) Equal(units quantity.Units) quantity.Mass {
	n := quantity.Mass(max(l.Slings, 1))
	return ((l.Lift.Load + l.Beam + n - 1) / n).Ceil(units.MassUnit())
}

// Under is the lift under a site's policy of today: what is added to a load that was
// not weighed is what the policy adds, whatever it added when the lift was stated.
func (l StatedLift) Under(p Policy) StatedLift {
	l.Lift.Margin = 0
	if !l.Weighed {
		l.Lift.Margin = p.MarginPct
	}
	return l
}

// Check tells whether slings can share the lift so, and whether its picks are stated
// in one way. What the gate is asked is not judged. The error names the member.
func (l StatedLift) Check() error {
	if field, reason := l.wrong(); field != "" {
		return fmt.Errorf("event: a stated lift: %s: %s", field, reason)
	}
	return nil
}

// farthest is as long as a length of the machine surface can be.
const farthest = 1_000_000 * quantity.Millimetre

func (l StatedLift) wrong() (field, reason string) {
	switch {
	case l.Lift.Singles || l.Lift.Shortened != gate.Unshortened:
		return "lift", "says what is asked of a sling only"
	case l.Share != "" && l.Share != OneHook && l.Share != Beam:
		return "share", "not one-hook or beam"
	case l.Share == OneHook && l.Lift.Legs < 2:
		return "share", "one sling is none that shares"
	case l.Share == Beam && (l.Slings < 2 || l.Slings > maxSlings):
		return "slings", "not two or more"
	case l.Share != Beam && (l.Slings != 0 || l.Beam != 0 || l.Stated):
		return "slings", "of a beam that is not there"
	case l.Beam < 0 || l.Beam > maxMass:
		return "beam_10ug", "out of range"
	case l.Span < 0 || l.Span > farthest || l.Span%quantity.Millimetre != 0:
		return "span_mm", "not 0 to 1,000,000 whole millimetres"
	case l.Headroom < 0 || l.Headroom > farthest || l.Headroom%quantity.Millimetre != 0:
		return "headroom_mm", "not 0 to 1,000,000 whole millimetres"
	case l.Span > 0 && (l.Lift.Angle != nil || l.Lift.Picks != nil || l.Lift.Legs < 2):
		return "span_mm", "given beside an angle or picks, or for one leg"
	case l.Headroom > 0 && l.Span == 0:
		return "headroom_mm", "given without a span"
	}
	return "", ""
}

// ParseStatedLift reads what MarshalJSON writes, and no other spelling. On error the
// lift is none.
func ParseStatedLift(text []byte) (StatedLift, error) {
	v, err := strict.Parse(text)
	if err != nil {
		return StatedLift{}, fmt.Errorf("event: read a stated lift: %w", err)
	}
	o := strict.Open("stated", v)
	l := ReadStatedLift(o)
	if err := o.Done(); err != nil {
		return StatedLift{}, fmt.Errorf("event: read a stated lift: %w", err)
	}
	return l, nil
}

// ReadStatedLift reads a stated lift that is an object of its own, whose caller also
// calls o.Done.
func ReadStatedLift(o *strict.Object) StatedLift {
	if o == nil {
		return StatedLift{}
	}
	l := StatedLift{
		Lift: gate.ReadLift(o.Obj("lift")), Span: readFar(o, "span_mm"), Headroom: readFar(o, "headroom_mm"),
		Share: Share(o.OptStr("share", "")), Slings: int(o.OptInt("slings", 0, maxSlings, 0)),
		Beam: quantity.Mass(o.OptInt("beam_10ug", 0, int64(maxMass), 0)), Stated: o.OptBool("stated", false),
		Crane: o.OptStr("crane", ""), Lower: readLower(o),
		Weighed: o.OptBool("weighed", false), Drawn: o.OptBool("drawn", false),
	}
	if field, reason := l.wrong(); field != "" {
		o.Fail(field, "%s", reason)
	}
	return l
}

// Write writes the lift as the member name; [ReadStatedLift] reads it back exactly.
func (l StatedLift) Write(w *strict.Writer, name string) {
	w.Obj(name)
	l.members(w)
	w.End()
}

// MarshalJSON is the lift as one JSON object. It fails where a figure of it cannot be
// spelled.
func (l StatedLift) MarshalJSON() ([]byte, error) {
	var w strict.Writer
	w.Begin()
	l.members(&w)
	w.End()
	text, err := w.Bytes()
	if err != nil {
		return nil, fmt.Errorf("event: write a stated lift: %w", err)
	}
	return text, nil
}

func (l StatedLift) members(w *strict.Writer) {
	if err := l.Check(); err != nil {
		w.Fail(err)
	}
	l.Lift.Write(w, "lift")
	for _, text := range [...]struct{ name, value string }{{"share", string(l.Share)}, {"crane", l.Crane}, {"lower", string(l.Lower)}} {
		if text.value != "" {
			w.Str(text.name, text.value)
		}
	}
	for _, n := range [...]struct {
		name  string
		value int64
	}{{"span_mm", l.Span.Millimetres()}, {"headroom_mm", l.Headroom.Millimetres()}, {"slings", int64(l.Slings)}, {"beam_10ug", int64(l.Beam)}} {
		if n.value != 0 {
			w.Int(n.name, n.value)
		}
	}
	for _, b := range [...]struct {
		name  string
		value bool
	}{{"stated", l.Stated}, {"weighed", l.Weighed}, {"drawn", l.Drawn}} {
		if b.value {
			w.Bool(b.name, true)
		}
	}
}

// readFar reads a length in whole millimetres that may be left out.
func readFar(o *strict.Object, name string) quantity.Length {
	return quantity.Millimetre * quantity.Length(o.OptInt(name, 0, int64(farthest/quantity.Millimetre), 0))
}

// readLower reads a lower fitting that may be left out.
func readLower(o *strict.Object) LowerFitting {
	word := o.OptStr("lower", "")
	if word == "" {
		return ""
	}
	lower, known := ParseLowerFitting(word)
	if !known {
		o.Fail("lower", "not a lower fitting")
	}
	return lower
}
