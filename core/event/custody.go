package event

import "cribgate/core/strict"

// Impounded keeps a sling as it is after an accident: nothing is done with it but
// looking, and who has it is written down, until two people free it.
type Impounded struct {
	Reason string
	Second PersonID // who signed beside whoever recorded it
	Holder string   // who has it now: a name or an office
	Lies   string   // where it is kept, locked
}

// Kind is KindImpounded.
func (Impounded) Kind() Kind { return KindImpounded }

// ReadImpounded reads an Impounded body. o may hold other names for its caller, who
// also calls o.Done.
func ReadImpounded(o *strict.Object) Impounded {
	return Impounded{Reason: o.Str("reason"), Second: ReadPerson(o, "second"), Holder: o.Str("holder"), Lies: o.Str("lies")}
}

func (i Impounded) write(w *strict.Writer) {
	w.Str("reason", i.Reason)
	w.Str("second", i.Second.String())
	w.Str("holder", i.Holder)
	w.Str("lies", i.Lies)
}

// Custody says that an impounded sling went from one holder to another: a link in
// the chain that says who had it at every moment.
type Custody struct {
	Holder string // who has it from now on
	Lies   string // and where
	Note   string // why: taken to a laboratory, shown to an inspector of the authority
}

// Kind is KindCustody.
func (Custody) Kind() Kind { return KindCustody }

func readCustody(o *strict.Object) Custody {
	return Custody{Holder: o.Str("holder"), Lies: o.Str("lies"), Note: o.Str("note")}
}

func (c Custody) write(w *strict.Writer) {
	w.Str("holder", c.Holder)
	w.Str("lies", c.Lies)
	w.Str("note", c.Note)
}

// Freed ends what Impounded began. The sling stays held.
type Freed struct {
	Reason string
	Second PersonID // who signed beside whoever recorded it
}

// Kind is KindFreed.
func (Freed) Kind() Kind { return KindFreed }

func readFreed(o *strict.Object) Freed {
	return Freed{Reason: o.Str("reason"), Second: ReadPerson(o, "second")}
}

func (f Freed) write(w *strict.Writer) {
	w.Str("reason", f.Reason)
	w.Str("second", f.Second.String())
}
