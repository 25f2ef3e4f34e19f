package gate

import (
	"fmt"

	"cribgate/core/lift"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/strict"
)

// MarshalJSON is the question as one line of the machine surface, with its
// defaults spelled out; [ParseQuestion] reads it back exactly. It fails where a
// figure is no whole number of the units the line can carry, which [Decide]
// refuses too, and otherwise does not judge the question.
func (q Question) MarshalJSON() ([]byte, error) {
	w := writer{new(strict.Writer)}
	w.Begin()
	w.Str("id", q.ID)
	w.Str("now", q.Now.String())
	w.Obj("policy")
	w.Str("angles", q.Policy.Angles.String())
	w.Str("choke", q.Policy.Choke.String())
	w.Int("max_months", int64(q.Policy.MaxMonths))
	w.angle("max_tilt_mdeg", q.Policy.MaxTilt)
	w.End()
	w.Obj("sling")
	w.sling(q.Sling)
	w.End()
	if q.Lift != nil {
		q.Lift.Write(w.Writer, "lift")
	}
	w.End()
	line, err := w.Bytes()
	if err != nil {
		return nil, fmt.Errorf("gate: write a question: %w", err)
	}
	return line, nil
}

// Write writes the sling object of the machine surface under a name;
// [ReadSling] reads it back exactly. Where a figure is no whole number of the
// units it can be spelled in, w's Bytes gives the error.
func (s Sling) Write(w *strict.Writer, name string) {
	w.Obj(name)
	writer{w}.sling(s)
	w.End()
}

// Write writes the lift object of the machine surface under a name; [ReadLift] reads
// it back exactly. Where a figure is no whole number of the units it can be spelled
// in, w's Bytes gives the error.
func (l Lift) Write(w *strict.Writer, name string) {
	w.Obj(name)
	writer{w}.lift(&l)
	w.End()
}

// writer spells quantities in the units of the machine surface.
type writer struct{ *strict.Writer }

func (w writer) cannot(name string) { w.Fail(fmt.Errorf("%s is no whole number of its unit", name)) }

func (w writer) sling(s Sling) {
	w.Str("system", s.System.String())
	w.Int("grade", int64(s.Grade))
	w.Str("size", s.Size.String())
	w.Int("legs", int64(s.Legs))
	if s.Reach != 0 {
		w.length("reach_mm", s.Reach)
	}
	w.Bool("adjustable", s.Adjustable)
	w.List("stamped")
	for _, stamp := range s.Stamped {
		w.stamp(stamp)
	}
	w.End()
	w.optMass("chart", s.Chart)
	w.optMass("weakest", s.Weakest)
	w.optMass("master", s.Master)
	w.temperature("hottest", s.Hottest)
	w.Str("rating_tag", s.RatingTag.String())
	w.Str("state", s.State.String())
	w.date("inspected", s.Inspected)
	w.date("due", s.Due)
}

func (w writer) stamp(s rating.Stamp) {
	w.Begin()
	w.Int("legs", int64(s.Legs))
	w.Str("basis", s.Basis.String())
	w.mass("load", s.Load)
	w.End()
}

func (w writer) lift(l *Lift) {
	w.Str("use", l.Use.String())
	w.mass("load", l.Load)
	w.Int("margin_pct", int64(l.Margin))
	w.Str("hitch", l.Hitch.String())
	w.Int("legs", int64(l.Legs))
	w.Bool("singles", l.Singles)
	if l.Angle != nil {
		w.Obj("angle")
		w.Str("from", l.Angle.From.String())
		w.angle("mdeg", l.Angle.Size)
		w.End()
	}
	w.Bool("centred", l.Centred)
	if l.Shortened != Unshortened {
		w.Str("shortened", l.Shortened.String())
	}
	w.temperature("temp", l.Heat)
	w.optLength("edge_radius_mm", l.Edge)
	if l.Choke != nil {
		w.angle("choke_mdeg", *l.Choke)
	}
	w.date("return_by", l.ReturnBy)
	if l.Picks != nil {
		w.List("picks")
		for _, p := range l.Picks {
			w.Begin()
			w.point(p)
			w.End()
		}
		w.End()
	}
	if l.CG != nil {
		w.Obj("cg")
		w.point(*l.CG)
		w.End()
	}
	w.optLength("hook_mm", l.Hook)
	w.optLength("hook_max_mm", l.HookMax)
}

func (w writer) point(p lift.Point) {
	w.length("x_mm", p.X)
	w.length("y_mm", p.Y)
	w.length("z_mm", p.Z)
}

// mass is written in grams where it is whole grams, else in pounds.
func (w writer) mass(name string, m quantity.Mass) {
	if n, ok := m.Whole(quantity.Gram); ok {
		w.Int(name+"_g", n)
	} else if n, ok := m.Whole(quantity.Pound); ok {
		w.Int(name+"_lb", n)
	} else {
		w.cannot(name)
	}
}

func (w writer) optMass(name string, m quantity.Mass) {
	if m != 0 {
		w.mass(name, m)
	}
}

func (w writer) temperature(name string, t *quantity.Temperature) {
	if t == nil {
		return
	}
	if n, ok := t.WholeCelsius(); ok {
		w.Int(name+"_c", n)
	} else if n, ok := t.WholeFahrenheit(); ok {
		w.Int(name+"_f", n)
	} else {
		w.cannot(name)
	}
}

func (w writer) length(name string, l quantity.Length) {
	if l%quantity.Millimetre != 0 {
		w.cannot(name)
	}
	w.Int(name, int64(l/quantity.Millimetre))
}

func (w writer) optLength(name string, l *quantity.Length) {
	if l != nil {
		w.length(name, *l)
	}
}

func (w writer) angle(name string, a quantity.Angle) {
	if a%quantity.MilliDegree != 0 {
		w.cannot(name)
	}
	w.Int(name, int64(a/quantity.MilliDegree))
}

func (w writer) date(name string, d quantity.Date) {
	if !d.IsZero() {
		w.Str(name, d.String())
	}
}
