package web

import (
	"fmt"
	"strconv"

	"cribgate/core/gate"
	"cribgate/core/lift"
	"cribgate/core/quantity"
)

// The ways to say where the picks are, besides an angle: how far apart they are, and
// where each of them is.
const (
	bySpan   = "span"
	byPlaces = "places"
)

// placeFields are the fields of the picks and of the centre of gravity.
func placeFields() []string {
	var list []string
	for n := 1; n <= 4; n++ {
		for _, axis := range [...]string{"x", "y", "z"} {
			list = append(list, pickField(n, axis))
		}
	}
	return append(list, "cx", "cy", "cz")
}

func pickField(n int, axis string) string { return "p" + strconv.Itoa(n) + axis }

// mostLong is the longest that a load of this crib is measured to be (site policy, no
// source): what is longer was more likely typed in another unit.
const mostLong = 100 * quantity.Metre

// readLength reads a length of the lift, in micrometres; one below zero only where
// that can be.
func (f liftForm) readLength(field, missing string, below bool) (l quantity.Length, complaint string) {
	text := f[field]
	if text == "" {
		return 0, missing
	}
	size, known := reachUnits[f["length-unit"]]
	if !known {
		return 0, "Choose the unit of the lengths."
	}
	sign := quantity.Length(1)
	if first := []rune(text)[0]; below && (first == '-' || first == '−') {
		sign, text = -1, string([]rune(text)[1:])
	}
	l, ok := readLong(text, size)
	switch {
	case !ok && below:
		return 0, "Type it in digits, like 6, 2.4, 6 1/2 or 6 ft 6 in, with a point for the fraction, and a minus sign for the other way."
	case !ok:
		return 0, reachHelp
	case l > mostLong:
		return 0, "This is more than " + quantity.Metric.Length(mostLong) + " (" + quantity.Imperial.Length(mostLong) + "): look at the number and the unit again."
	}
	return sign * l, ""
}

// readSpan reads how far apart the picks are. The angle then follows from the reach of
// each sling.
func (f liftForm) readSpan(c complaints, s *statedLift) {
	l := &s.Lift
	if l.Hitch != gate.Straight || l.Legs < 2 {
		c.add("angle", "Round a choked load, and under one in a basket, goes a part of each leg that nobody has measured: answer by the drawings, or in degrees.")
		return
	}
	far := func(field, missing string) quantity.Length {
		n, complaint := f.readLength(field, missing, false)
		if complaint == "" && n < quantity.Millimetre {
			complaint = "The pick points are on one spot: nothing holds a load upright so."
		}
		c.add(field, complaint)
		return n
	}
	span := far("span", "Type how far apart the pick points are.")
	switch l.Legs {
	case 2:
		s.Span = upTo(span)
	case 3:
		s.Span = lift.Triangle(span)
	case 4:
		width := far("width", "Type how far apart they are the other way.")
		s.Span = lift.Rectangle(span, width)
	}
	room, complaint := f.readLength("headroom", "", false)
	c.add("headroom", complaint)
	s.Headroom = room / quantity.Millimetre * quantity.Millimetre
	if f["headroom"] != "" && complaint == "" && s.Headroom == 0 {
		c.add("headroom", "No room at all is no lift. Leave it empty where there is room enough.")
	}
	reach, complaint := f.readLength("reach", "", false)
	if complaint == "" && f["reach"] != "" && s.Span > 0 {
		if _, ok := lift.Lean(s.Span, reach); !ok {
			complaint = "Legs of this length are no longer than half the way across: they do not meet over the load. " + gate.ReachTooShort.Text(gate.Answer{}, gate.Speech{}).Next
		}
	}
	c.add("reach", complaint)
	f.closes(c, s.Span, reach)
	if c["span"]+c["width"]+c["headroom"] != "" {
		s.Span, s.Headroom = 0, 0
	}
}

// closes holds what was measured against itself: how long the legs are, how far apart
// the picks, and how high the hook stands over them.
func (f liftForm) closes(c complaints, span, reach quantity.Length) {
	if f["hook"] == "" {
		return
	}
	height, complaint := f.readLength("hook", "", false)
	switch {
	case complaint != "" || c["reach"] != "" || span == 0:
	case reach == 0:
		complaint = "The height of the hook says nothing without the length of the legs: type that too, or leave both empty."
	case !lift.Closes(reach, span/2, height):
		rise, _ := lift.Rise(span, reach)
		complaint = "This cannot be one lift: over this distance the hook of such legs stands " + quantity.Imperial.Long(rise) + " (" + quantity.Metric.Long(rise) + ") over the pick points. Measure again."
	}
	c.add("hook", complaint)
}

// upTo is a length rounded up to a millimetre: further apart is the harder lift.
func upTo(l quantity.Length) quantity.Length {
	return (l + quantity.Millimetre - 1) / quantity.Millimetre * quantity.Millimetre
}

// readPlaces reads where each pick and the centre of gravity are. Across is not asked
// of two picks: along is the way from one to the other.
func (f liftForm) readPlaces(c complaints, s *statedLift) {
	l := &s.Lift
	if l.Hitch != gate.Straight || l.Legs < 2 {
		c.add("angle", "Places are for a straight lift on two to four legs. Answer by the drawings, or in degrees.")
		return
	}
	at := func(field, missing string) quantity.Length {
		n, complaint := f.readLength(field, missing, true)
		c.add(field, complaint)
		return (n + quantity.Millimetre/2).Floor(quantity.Millimetre) // finer than any tape is read
	}
	before := len(c)
	point := func(name, field string, across bool) (p lift.Point) {
		p.X = at(field+"x", "Type how far along "+name+" is.")
		if across {
			p.Y = at(field+"y", "Type how far across "+name+" is.")
		}
		p.Z = at(field+"z", "Type how high "+name+" is.")
		return p
	}
	for n := 1; n <= l.Legs; n++ {
		l.Picks = append(l.Picks, point("pick point "+strconv.Itoa(n), "p"+strconv.Itoa(n), l.Legs > 2))
	}
	cg := point("the centre of gravity", "c", true)
	l.CG = &cg
	high := l.Picks[0].Z
	for _, p := range l.Picks {
		high = max(high, p.Z)
	}
	l.Hook, l.HookMax = f.over(c, "hook", high), f.over(c, "headroom", high)
	if len(c) == before {
		holds(c, l.Picks, cg)
	}
	if len(c) > before {
		l.Picks, l.CG, l.Hook, l.HookMax = nil, nil, nil, nil
	}
}

// over reads a height over the highest pick, nil where none was typed, and gives it in
// the drawing of the load.
func (f liftForm) over(c complaints, field string, high quantity.Length) *quantity.Length {
	if f[field] == "" {
		return nil
	}
	over, complaint := f.readLength(field, "", false)
	if over = over.Floor(quantity.Millimetre); complaint == "" && over == 0 {
		complaint = "The hook is over the pick points. Leave it empty where nobody knows how high."
	}
	c.add(field, complaint)
	at := high + over
	return &at
}

// holds says at its field why a load could hang from no sling at these picks, however
// long its legs: tried with legs that can be set, and a hook far above.
func holds(c complaints, picks []lift.Point, cg lift.Point) {
	for i, p := range picks {
		for j, other := range picks[:i] {
			if p == other {
				c.add(pickField(i+1, "x"), fmt.Sprintf("Pick point %d is on the spot of pick point %d.", i+1, j+1))
				return
			}
		}
	}
	hook := cg.Z
	for _, p := range picks {
		hook = max(hook, p.Z)
	}
	hook += mostLong
	h := lift.Hang(lift.Rig{Picks: picks, CG: cg, Reach: 1000 * quantity.Metre, Adjustable: true, Hook: &hook})
	says := func(r gate.Reason) string {
		t := r.Text(gate.Answer{}, gate.Speech{})
		return t.Sentence + " " + t.Next
	}
	switch h.Fault {
	case lift.Hangs:
	case lift.WouldRoll:
		c.add("cz", says(gate.WouldRoll))
	case lift.WouldTip:
		c.add("cx", says(gate.WouldTip))
	default:
		c.add("p1x", "Nothing can hang from these pick points. Look at the numbers again.")
	}
}
