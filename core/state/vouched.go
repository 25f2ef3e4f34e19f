package state

import (
	"time"

	"cribgate/core/event"
)

// Vouched says when keeper and inspector last vouched for the date, and how. The
// zero value is a crib in which they never had to.
type Vouched struct {
	At        time.Time // UTC: what they found right
	Floor     time.Time // UTC: the least it had to be by the register until then
	Corrected bool      // the register was ahead, and At is before Floor
	event.Signed
}

func (c Crib) vouched(floor time.Time, by event.Signed, corrected bool, e Event) Crib {
	c.Vouched = Vouched{At: e.UTC, Floor: floor, Corrected: corrected, Signed: by}
	return c
}

func (w writer) vouched(v Vouched) {
	w.Obj("vouched")
	w.time("at", v.At)
	w.time("floor", v.Floor)
	w.Bool("corrected", v.Corrected)
	w.Str("keeper", v.Keeper.String())
	w.Str("inspector", v.Inspector.String())
	w.End()
}

func (r *reader) vouched() Vouched {
	v := Vouched{At: r.time("at"), Floor: r.time("floor"), Corrected: r.Bool("corrected")}
	v.Keeper, v.Inspector = r.person("keeper"), r.person("inspector")
	return v
}
