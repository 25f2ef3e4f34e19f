package web

import (
	"strconv"
	"time"

	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
)

// facts list the lift for those who look at the verdict.
func (s statedLift) facts(u quantity.Units) []Fact {
	l := s.Lift
	if s.Shift {
		return []Fact{{Label: "Gear for a shift", Value: "no lift is stated"}, {Label: "Needed back by", Value: Day(l.ReturnBy)}}
	}
	load := Fact{Label: "Load, weighed", Value: u.Mass(l.Load), Small: otherMass(u, l.Load)}
	if !s.Weighed {
		load.Label = "Load, not weighed"
		if l.Margin > 0 {
			load.Label += ": the site adds " + strconv.Itoa(l.Margin) + " %"
		}
	}
	list := append([]Fact{load}, s.sharedFacts(u)...)
	list = append(list, Fact{Label: "Carried by", Value: rating.LegsWords(l.Legs) + ", " + l.Hitch.Words()})
	if l.Angle != nil {
		f := Fact{Label: "Leg angle", Value: l.Angle.Words()}
		if l.Angle.From == gate.BetweenLegs {
			f.Label = "Angle"
		}
		if s.Drawn {
			f.Small = "or steeper, by the drawing"
		}
		list = append(list, f)
	}
	list = append(list, s.pickFacts(u)...)
	if l.Legs > 1 && l.Picks == nil {
		list = append(list, Fact{Label: "Centre of gravity in the middle", Value: map[bool]string{true: "yes", false: "not known to be"}[l.Centred]})
	}
	if l.Choke != nil {
		list = append(list, Fact{Label: "Angle of choke", Value: chokeWords(*l.Choke)})
	}
	if l.Edge != nil {
		list = append(list, s.bearsOn())
	}
	if l.Heat != nil {
		list = append(list, Fact{Label: "Chain reaches", Value: u.Temperature(*l.Heat)})
	}
	if l.Use != gate.UseOrdinary {
		list = append(list, Fact{Label: "Use", Value: useWords(l.Use), Over: true})
	}
	list = append(list, s.endFacts()...)
	return append(list, Fact{Label: "Needed back by", Value: Day(l.ReturnBy)})
}

// pickFacts say where the picks are, where that was stated and no angle.
func (s statedLift) pickFacts(u quantity.Units) (list []Fact) {
	long := func(label string, l quantity.Length) {
		list = append(list, Fact{Label: label, Value: u.Long(l), Small: u.Other().Long(l)})
	}
	l := s.Lift
	high := quantity.Length(0)
	switch {
	case s.Span > 0 && l.Legs == 2:
		long("Pick points apart", s.Span)
	case s.Span > 0:
		long("Circle through the pick points, across", s.Span)
	case l.Picks != nil:
		high = l.Picks[0].Z
		for _, p := range l.Picks {
			high = max(high, p.Z)
		}
		list = append(list, Fact{Label: "Pick points and centre of gravity", Value: "each by its place"})
	}
	if s.Headroom > 0 {
		long("Room for the hook over them", s.Headroom)
	}
	if l.HookMax != nil {
		long("Room for the hook over the highest", *l.HookMax-high)
	}
	if l.Hook != nil {
		long("Hook over the highest, for legs that can be set", *l.Hook-high)
	}
	return list
}

// bearsOn says the radius as it was typed, and as what it counts.
func (s statedLift) bearsOn() Fact {
	f := Fact{Label: "Chain bears on", Value: "a sharp edge"}
	if r := *s.Lift.Edge; r > 0 {
		f.Value, f.Small = "radius "+s.Radius, "counts as "+r.String()
	}
	return f
}

// otherMass gives a load in the units that the crib does not lead with, rounded up.
func otherMass(u quantity.Units, m quantity.Mass) string {
	if u == quantity.Metric {
		return m.Ceil(quantity.Pound).InPounds()
	}
	return m.Ceil(quantity.Kilogram).InKilograms()
}

func chokeWords(a quantity.Angle) string {
	for _, o := range chokeOptions() {
		if *chokeAngles()[o.Value] == a {
			return o.Label
		}
	}
	return a.String()
}

func useWords(u gate.Use) string {
	for _, o := range useOptions() {
		if o.Value == u.String() {
			return o.Label
		}
	}
	return u.String()
}

func chokeOptions() []Option {
	return []Option{
		{Value: "120", Label: "Over 120°", Sub: "pulls tight by itself"},
		{Value: "90", Label: "90° to 120°"},
		{Value: "60", Label: "60° to 90°"},
		{Value: "30", Label: "30° to 60°"},
		{Value: "less", Label: "Under 30°"},
	}
}

func useOptions() []Option {
	return []Option{
		{Value: "ordinary", Label: "A load", Sub: "nothing special"},
		{Value: "people", Label: "People"},
		{Value: "molten", Label: "Molten metal"},
		{Value: "chemical", Label: "Acid or the like", Sub: "pickling, galvanising"},
		{Value: "other", Label: "Something else", Sub: "that the rules do not cover"},
	}
}

// nextDays are the days that have a button of their own: today, tomorrow, and
// the first Friday after that.
func nextDays(today quantity.Date) []Option {
	friday := today.AddDays(2)
	for weekday(friday) != time.Friday {
		friday = friday.AddDays(1)
	}
	list := []Option{
		{Value: today.String(), Label: "Today"},
		{Value: today.AddDays(1).String(), Label: "Tomorrow"},
		{Value: friday.String(), Label: "Friday"},
	}
	for i, d := range []quantity.Date{today, today.AddDays(1), friday} {
		list[i].Sub = Day(d)
	}
	return list
}

func weekday(d quantity.Date) time.Weekday {
	y, m, day := d.YMD()
	return time.Date(y, time.Month(m), day, 0, 0, 0, 0, time.UTC).Weekday()
}

// apart is how far apart the ends of legs of a reach may be, in tenths of it, to
// the half inch or the millimetre below. Of more legs than two it is said how far
// they may be from their middle, which is half of it (see spreads).
func (w words) apart(reach quantity.Length, tenths int64, legs int) Fact {
	f := Fact{Label: "Pick points apart, at most"}
	parts := quantity.Length(10)
	if legs > 2 {
		f.Label, parts = "Pick points from their middle, at most", 20
	}
	const half = quantity.Inch / 2
	inches := (reach.HalfInch() * quantity.Length(tenths) / parts / half * half).InFeet()
	metric := (reach * quantity.Length(tenths) / parts / quantity.Millimetre * quantity.Millimetre).InMetres()
	f.Value, f.Small = inches, metric
	if w.lead == quantity.Metric {
		f.Value, f.Small = metric, inches
	}
	return f
}

// held are what the lift needs, rounded up, and what the sling may carry, rounded
// down. Where that would turn one that may go round, both are exact.
func (w words) held(a gate.Answer) (needs, may Fact) {
	needs, may = w.needs("The lift needs", a.Required), w.may("This sling may carry", a.Allowed)
	if unit := w.lead.MassUnit(); a.Required <= a.Allowed && a.Required.Ceil(unit) > a.Allowed.Floor(unit) {
		needs.Value, may.Value = a.Required.String(), a.Allowed.String()
	}
	may.Over = a.Required > a.Allowed
	return needs, may
}
