package event

import (
	"cribgate/core/quantity"
	"cribgate/core/strict"
	"cribgate/core/tagcode"
)

// Restored begins a new log where a copy of the register was brought back. It is
// the only event whose envelope names another log than the one before it; what
// the old log went on to say after At is not in this register, and nobody knows
// it here.
type Restored struct {
	From LogID // the log that the copy was of
	At   int64 // position of the last event that was brought back
	Head Hash  // of that event's envelope
	Why  string
}

// Kind is KindRestored.
func (Restored) Kind() Kind { return KindRestored }

func readRestored(o *strict.Object) Restored {
	r := Restored{From: ReadLog(o, "from"), At: o.Int("at", 1, 1<<62), Why: o.Str("why")}
	var err error
	if r.Head, err = ParseHash(o.Str("head")); err != nil {
		o.Fail("head", "not a hash")
	}
	return r
}

func (r Restored) write(w *strict.Writer) {
	w.Str("from", r.From.String())
	w.Int("at", r.At)
	w.Str("head", r.Head.String())
	w.Str("why", r.Why)
}

// ReadLog reads a log's id as bodies spell it.
func ReadLog(o *strict.Object, name string) LogID {
	id, err := parse16(o.Str(name))
	if err != nil {
		o.Fail(name, "not a log's id")
	}
	return id
}

// Compared says that tag, plate and record of a sling were held against each
// other after the register was restored, and were of one sling.
type Compared struct {
	Serial tagcode.Serial // of the live tag, scanned on the sling; 0 where it was known by its plate alone
	Typed  string         // last characters of the plate; all of it where no tag was scanned
}

// Kind is KindCompared.
func (Compared) Kind() Kind { return KindCompared }

func readCompared(o *strict.Object) Compared {
	return Compared{Serial: tagcode.Serial(o.Int("serial", 0, int64(tagcode.MaxSerial))), Typed: o.Str("typed")}
}

func (c Compared) write(w *strict.Writer) {
	w.Int("serial", int64(c.Serial))
	w.Str("typed", c.Typed)
}

// TagAhead says that a tag was read which this crib's key sealed and which says
// more than the register knows: the register is behind it. It is kept so that a
// keeper sees which slings the register has to be told of again.
type TagAhead struct {
	Key       tagcode.Fingerprint
	Number    tagcode.Number
	Serial    tagcode.Serial
	Inspected quantity.Date // as the tag says; zero for never
}

// Kind is KindTagAhead.
func (TagAhead) Kind() Kind { return KindTagAhead }

// ReadTagAhead reads a TagAhead body. o may hold other names for its caller, who
// also calls o.Done.
func ReadTagAhead(o *strict.Object) TagAhead {
	t := TagAhead{Key: readFingerprint(o, "key"), Serial: readSerial(o), Inspected: ReadDate(o, "inspected")}
	var err error
	if t.Number, err = tagcode.ParseNumber(o.Str("number")); err != nil {
		o.Fail("number", "not a sling's number")
	}
	return t
}

func (t TagAhead) write(w *strict.Writer) {
	w.Str("key", t.Key.String())
	w.Str("number", t.Number.String())
	w.Int("serial", int64(t.Serial))
	w.Str("inspected", t.Inspected.String())
}
