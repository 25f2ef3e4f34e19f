package event

import (
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/strict"
)

// Use is what a lift asks of the sling that goes out for it, so that whoever tells the
// story need not read again what the gate was asked. The zero value is not known:
// nobody stated a lift, or it was not written down.
type Use struct {
	Stated    bool
	Share     int  // of what it may carry, whole per cent, rounded up; of a leg where that is more; 0 not known
	Hot       bool // the chain was to get warm: see warm
	Edge      bool // what it bore on was sharp enough to lower its rating
	Choked    bool
	Shortened bool
}

// warm is from where on a chain is looked at for heat: half of the 400 °F at which
// B30.9 table 9-1.8.1-1 begins to lower ratings, since what was stated may have been
// exceeded (site policy, no source).
const warm = 200 // °F

// mostShare is where a share is cut off.
const mostShare = 999

// UseOf reads what a verdict says of the lift.
func UseOf(v Verdict) Use {
	if v.Question == "" {
		return Use{}
	}
	q, err := gate.ParseQuestion([]byte(v.Question))
	if err != nil || q.Lift == nil {
		return Use{}
	}
	l := q.Lift
	u := Use{Stated: true, Choked: l.Hitch == gate.Choked, Shortened: l.Shortened != gate.Unshortened}
	u.Hot = l.Heat != nil && *l.Heat >= quantity.Fahrenheit(warm)
	u.Edge = l.Edge != nil && *l.Edge <= 2*q.Sling.Size.Nominal() // EN 818-6 through trade instructions: no reduction above 2 × chain size
	if a, err := strict.Parse([]byte(v.Answer)); err == nil {
		o := strict.Open("answer", a)
		u.Share = max(share(o, "required_g", "allowed_g"), share(o, "leg_g", "leg_allowed_g"))
	}
	return u
}

// share is what is needed of what is allowed, in per cent; 0 where either is missing.
func share(o *strict.Object, needs, may string) int {
	if !o.Has(needs) || !o.Has(may) {
		return 0
	}
	n, m := o.Int(needs, 0, quantity.MaxGrams), o.Int(may, 0, quantity.MaxGrams)
	switch {
	case m <= 0 || n > m*mostShare/100:
		return mostShare
	default:
		return int((n*100 + m - 1) / m)
	}
}

// ReadUse reads what Write writes, and nothing from no object.
func ReadUse(o *strict.Object) Use {
	if o == nil {
		return Use{}
	}
	return Use{
		Stated: o.Bool("stated"), Share: int(o.Int("share_pct", 0, mostShare)), Hot: o.Bool("hot"),
		Edge: o.Bool("edge"), Choked: o.Bool("choked"), Shortened: o.Bool("shortened"),
	}
}

// Write writes the member "use", where anything is known.
func (u Use) Write(w *strict.Writer) {
	if u == (Use{}) {
		return
	}
	w.Obj("use")
	w.Bool("stated", u.Stated)
	w.Int("share_pct", int64(u.Share))
	w.Bool("hot", u.Hot)
	w.Bool("edge", u.Edge)
	w.Bool("choked", u.Choked)
	w.Bool("shortened", u.Shortened)
	w.End()
}
