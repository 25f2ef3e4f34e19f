package event

import "cribgate/core/strict"

// Erased says that bodies were taken out of the register because of what they
// say of a person. Their envelopes stay, and with them the chain. What is left of
// each is given here, in the words of its kind and without what was to go; it
// counts in place of the body from now on.
type Erased struct {
	What   string // in a word or two: name, note
	Why    string
	Bodies []ErasedBody
}

// ErasedBody is what is left of one body.
type ErasedBody struct {
	At     int64 // position in the log, before that of the Erased itself
	Kind   Kind  // as its envelope has it
	Schema int
	Left   string // the body without what was to go, in its one spelling
}

// Kind is KindErased.
func (Erased) Kind() Kind { return KindErased }

func readErased(o *strict.Object) Erased {
	e := Erased{What: o.Str("what"), Why: o.Str("why")}
	for _, b := range o.Objs("bodies") {
		one := ErasedBody{
			At: b.Int("at", 1, 1<<62), Kind: Kind(b.Str("kind")), Schema: int(b.Int("schema", 1, 1<<30)), Left: b.Str("left"),
		}
		if n := len(e.Bodies); n > 0 && e.Bodies[n-1].At >= one.At {
			b.Fail("at", "not after the one before it")
		}
		e.Bodies = append(e.Bodies, one)
	}
	if len(e.Bodies) == 0 {
		o.Fail("bodies", "none")
	}
	return e
}

func (e Erased) write(w *strict.Writer) {
	w.Str("what", e.What)
	w.Str("why", e.Why)
	w.List("bodies")
	for _, b := range e.Bodies {
		w.Begin()
		w.Int("at", b.At)
		w.Str("kind", string(b.Kind))
		w.Int("schema", int64(b.Schema))
		w.Str("left", b.Left)
		w.End()
	}
	w.End()
}
