package event

import (
	"slices"

	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/strict"
)

// LowerFitting is what hangs at the lower ends of a sling's legs. The zero value
// is not recorded. The words are the trade's (common practice, no source).
type LowerFitting string

// The lower fittings.
const (
	LatchHook   LowerFitting = "latch-hook"   // sling hook with a latch
	LockingHook LowerFitting = "locking-hook" // closes and locks under load
	FoundryHook LowerFitting = "foundry-hook" // wide throat, no latch
	GrabHook    LowerFitting = "grab-hook"    // holds a link of chain
	Shackle     LowerFitting = "shackle"
	EndLink     LowerFitting = "end-link" // a ring or link, no hook
)

var lowerFittings = []LowerFitting{LatchHook, LockingHook, FoundryHook, GrabHook, Shackle, EndLink}

// LowerFittings gives the closed list in its order.
func LowerFittings() []LowerFitting { return slices.Clone(lowerFittings) }

// ParseLowerFitting reads a lower fitting; known is false for any other word.
func ParseLowerFitting(word string) (l LowerFitting, known bool) {
	return LowerFitting(word), slices.Contains(lowerFittings, LowerFitting(word))
}

// Fittings is what a sling has at its ends, as far as it was recorded. The zero
// value is a sling of which nobody recorded any.
type Fittings struct {
	Inside quantity.Length // clear width inside the upper link or ring, across; 0 not measured
	Lower  LowerFitting
}

func readFittings(o *strict.Object) Fittings {
	if o == nil {
		return Fittings{}
	}
	f := Fittings{Inside: readWidth(o, "inside_um")}
	if word := o.Str("lower"); word != "" {
		var known bool
		if f.Lower, known = ParseLowerFitting(word); !known {
			o.Fail("lower", "not a lower fitting")
		}
	}
	return f
}

func (f Fittings) write(w *strict.Writer) {
	if f == (Fittings{}) {
		return
	}
	w.Obj("fittings")
	w.Int("inside_um", int64(f.Inside))
	w.Str("lower", string(f.Lower))
	w.End()
}

// readWidth reads a width in µm, up to ten metres.
func readWidth(o *strict.Object, name string) quantity.Length {
	return quantity.Length(o.Int(name, 0, int64(10*quantity.Metre)))
}

// A Crane is a hook that slings of this crib are hung on.
type Crane struct {
	Name string
	Hook quantity.Length // thickness of the hook where the upper link lies, across; 0 not measured
}

// Hangs gives what stands against a sling whose lower ends are to be of a kind;
// [gate.NotDecided] for nothing. The zero LowerFitting asks for none in particular.
func (f Fittings) Hangs(lower LowerFitting) gate.Reason {
	switch {
	case lower == "" || f.Lower == lower:
		return gate.NotDecided
	case f.Lower == "":
		return gate.FittingUnknown
	}
	return gate.WrongFitting
}

// Seats gives what stands against hanging the upper link on a crane's hook, which
// must go into it with room to spare (common practice, no source); [gate.NotDecided]
// for nothing. Where one of the two was not measured it is [gate.SeatUnknown]:
// somebody has to look. A crane without a name is none and asks nothing.
func (f Fittings) Seats(c Crane) gate.Reason {
	switch {
	case c == Crane{}:
		return gate.NotDecided
	case c.Hook <= 0 || f.Inside <= 0:
		return gate.SeatUnknown
	case c.Hook >= f.Inside:
		return gate.RingTooSmall
	}
	return gate.NotDecided
}

func readCranes(o *strict.Object) (list []Crane) {
	for _, c := range o.OptObjs("cranes") {
		list = append(list, Crane{Name: readName(c), Hook: readWidth(c, "hook_um")})
	}
	return list
}

func writeCranes(w *strict.Writer, list []Crane) {
	if len(list) == 0 {
		return
	}
	w.List("cranes")
	for _, c := range list {
		w.Begin()
		w.Str("name", c.Name)
		w.Int("hook_um", int64(c.Hook))
		w.End()
	}
	w.End()
}
