package web

import (
	"fmt"
	"math"

	"cribgate/core/gate"
	"cribgate/core/lift"
	"cribgate/core/quantity"
)

// A Drawing is a picture of lines and short texts, worked out here so that a
// template or a script only has to write it down.
type Drawing struct {
	Words  string // what it shows, for those who cannot see it
	Wide   int
	High   int
	Paths  []DrawnPath
	Labels []DrawnLabel
}

// A DrawnPath is one line or outline.
type DrawnPath struct {
	Class string // "leg", "leg behind", "leg over", "load", "hook", "mark", "dash", "dot"
	D     string // as an SVG path has it
}

// A DrawnLabel is a short text at the thing it measures.
type DrawnLabel struct {
	X, Y   int
	Anchor string // "start", "middle", "end"
	Text   string
}

type spot struct{ x, y float64 }

func (d *Drawing) path(class, format string, args ...any) {
	d.Paths = append(d.Paths, DrawnPath{Class: class, D: fmt.Sprintf(format, args...)})
}

func (d *Drawing) line(class string, a, b spot) {
	d.path(class, "M%.1f %.1fL%.1f %.1f", a.x, a.y, b.x, b.y)
}

func (d *Drawing) box(class string, a, b spot) {
	d.path(class, "M%.1f %.1fH%.1fV%.1fH%.1fZ", a.x, a.y, b.x, b.y, a.x)
}

func (d *Drawing) circle(class string, at spot, r float64) {
	d.path(class, "M%.1f %.1fa%.1f %.1f 0 1 0 %.1f 0a%.1f %.1f 0 1 0 %.1f 0Z", at.x-r, at.y, r, r, 2*r, r, r, -2*r)
}

// arc is part of a circle, from one direction to another, in degrees from the
// right, upwards.
func (d *Drawing) arc(at spot, r, from, to float64) {
	a, b := at.towards(from, r), at.towards(to, r)
	d.path("mark", "M%.1f %.1fA%.1f %.1f 0 0 0 %.1f %.1f", a.x, a.y, r, r, b.x, b.y)
}

func (s spot) towards(degrees, far float64) spot {
	sin, cos := math.Sincos(degrees * math.Pi / 180)
	return spot{s.x + far*cos, s.y - far*sin}
}

func (d *Drawing) label(at spot, anchor, text string) {
	d.Labels = append(d.Labels, DrawnLabel{X: int(math.Round(at.x)), Y: int(math.Round(at.y)), Anchor: anchor, Text: text})
}

// steepness is the angle of a leg from horizontal in degrees, for drawing only.
func steepness(a gate.Angle) float64 {
	switch size := a.Size.Degrees(); a.From {
	case gate.FromVertical:
		return 90 - size
	case gate.BetweenLegs:
		return 90 - size/2
	default:
		return size
	}
}

// The lift is drawn on this sheet with legs of this length; everything else
// follows from the stated angle, to scale.
const (
	drawnWide = 340
	drawnLeg  = 128
)

// drawLift draws the lift as it will hang. load stands at the load, leg at each of
// two legs where it is known what they carry; over says that the legs would carry
// more than they may.
func drawLift(l gate.Lift, load, leg string, over bool) Drawing {
	d := Drawing{Wide: drawnWide, Words: l.Words()}
	hook := spot{drawnWide / 2, 38}
	d.path("hook", "M%.1f 4V%.1f", hook.x, hook.y-9)
	class := "leg"
	if over {
		class = "leg over"
	}
	const boxHigh = 48
	if l.Angle == nil { // one leg, straight or choked
		end := hook.towards(-90, drawnLeg*0.72)
		d.line(class, hook, end)
		top := end.y
		d.box("load", spot{end.x - 74, top}, spot{end.x + 74, top + boxHigh})
		if l.Hitch == gate.Choked {
			d.loop(class, end.x, top, boxHigh)
		}
		d.circle("hook", hook, 8)
		d.finish(l, hook.x, top, boxHigh, 74, load)
		return d
	}
	h := steepness(*l.Angle)
	half := drawnLeg * math.Cos(h*math.Pi/180)
	if half < 5 {
		half = 5 // legs that hang side by side are still two
	}
	top := hook.y + drawnLeg*math.Sin(h*math.Pi/180)
	left, right := spot{hook.x - half, top}, spot{hook.x + half, top}
	wide := max(half+22, 74)
	if l.Hitch == gate.Basket {
		wide = max(half-2, 4)
	}
	for _, x := range behind(l) {
		d.line("leg behind", hook, spot{hook.x + x*half, top})
	}
	d.box("load", spot{hook.x - wide, top}, spot{hook.x + wide, top + boxHigh})
	d.line(class, hook, left)
	d.line(class, hook, right)
	switch l.Hitch {
	case gate.Choked:
		d.loop(class, left.x, top, boxHigh)
		d.loop(class, right.x, top, boxHigh)
	case gate.Basket:
		d.path(class, "M%.1f %.1fV%.1fH%.1fV%.1f", left.x, top, top+boxHigh+3, right.x, top)
	}
	d.circle("hook", hook, 8)
	d.angle(*l.Angle, h, hook, left, right, len(behind(l)) > 0)
	if leg != "" {
		d.tension(leg, h, hook, left, right)
	}
	d.finish(l, hook.x, top, boxHigh, wide, load)
	return d
}

// behind gives where further legs stand between the outer two, as parts of half
// the span.
func behind(l gate.Lift) []float64 {
	switch {
	case l.Legs == 3:
		return []float64{0}
	case l.Legs == 4, l.Legs == 2 && l.Hitch == gate.Basket:
		return []float64{-0.45, 0.45}
	}
	return nil
}

// loop is a leg choked around the load.
func (d *Drawing) loop(class string, x, top, high float64) {
	d.box(class, spot{x - 6, top - 3}, spot{x + 6, top + high + 3})
}

// angle marks the stated angle with what it is measured from. Legs behind leave no
// room between the outer two.
func (d *Drawing) angle(a gate.Angle, h float64, hook, left, right spot, full bool) {
	const r = 34
	text := a.Size.String()
	switch a.From {
	case gate.FromHorizontal:
		d.line("dash", left, spot{left.x + 44, left.y})
		d.arc(left, r, 0, h)
		if h < 12 {
			d.label(spot{left.x - 4, left.y - 18}, "start", text)
			return
		}
		if full || right.x-left.x < 110 {
			d.label(spot{left.x - 10, left.y - 12}, "end", text)
			return
		}
		at := left.towards(h/2, r+6)
		d.label(spot{at.x, at.y + 5}, "start", text)
	case gate.FromVertical:
		d.line("dash", hook, spot{hook.x, hook.y + 54})
		d.arc(hook, r, -90, -h)
		if h < steep && !full {
			d.label(spot{hook.x + 8, hook.y + 56}, "start", text)
			return
		}
		d.label(besideLeg(hook, h, r), "start", text)
	case gate.BetweenLegs:
		d.arc(hook, r, -180+h, -h)
		if h < steep && !full {
			d.label(spot{hook.x, hook.y + 58}, "middle", text)
			return
		}
		d.label(besideLeg(hook, h, r), "start", text)
	}
}

// steep is the angle from horizontal from which on there is more room beside the
// legs than between them.
const steep = 50

// tension writes at each leg what it carries.
func (d *Drawing) tension(text string, h float64, hook, left, right spot) {
	const along = 0.55
	for _, leg := range []struct {
		foot   spot
		anchor string
		side   float64
	}{{left, "end", -1}, {right, "start", 1}} {
		at := spot{hook.x + along*(leg.foot.x-hook.x), hook.y + along*(leg.foot.y-hook.y)}
		if h < steep {
			d.label(spot{at.x + 8*leg.side, at.y - 8}, leg.anchor, text)
		} else {
			d.label(spot{at.x + 13*leg.side, at.y + 8}, leg.anchor, text)
		}
	}
	d.Words += ", each leg carries " + text
}

// eachLeg is what each of two legs carries, false where that does not follow from
// what was stated.
func eachLeg(l gate.Lift, required quantity.Mass) (quantity.Mass, bool) {
	if l.Legs != 2 || l.Hitch == gate.Basket || !l.Centred || l.Angle == nil {
		return 0, false
	}
	h := l.Angle.Size
	switch l.Angle.From {
	case gate.FromVertical:
		h = 90*quantity.Degree - h
	case gate.BetweenLegs:
		h = (180*quantity.Degree - h) / 2
	}
	m := lift.EvenLeg(required, h)
	return m, m > 0
}

// besideLeg is a place to the right of the right leg, where its angle is marked.
func besideLeg(hook spot, h, r float64) spot {
	at := hook.towards(-h, r)
	return spot{at.x + 14, at.y + 2}
}

// finish writes the load where it is and marks its centre of gravity where
// somebody has said that it is in the middle.
func (d *Drawing) finish(l gate.Lift, x, top, high, wide float64, load string) {
	d.High = int(top+high) + 10
	centred := l.Centred && l.Legs > 1
	if centred {
		d.circle("dot", spot{x, top + 13}, 5)
	}
	switch {
	case wide < 54, l.Hitch == gate.Choked && l.Legs == 1: // no room in the load
		d.High += 22
		d.label(spot{x, float64(d.High) - 6}, "middle", load)
	case centred:
		d.label(spot{x, top + high - 8}, "middle", load)
	default:
		d.label(spot{x, top + high/2 + 7}, "middle", load)
	}
}

// The small drawings of the answers on the lift page.

func iconSheet(words string) Drawing { return Drawing{Wide: 96, High: 76, Words: words} }

func drawHitch(h gate.Hitch) Drawing {
	d := iconSheet("")
	hook := spot{48, 8}
	switch h {
	case gate.Straight:
		d.line("leg", hook, spot{48, 44})
		d.box("load", spot{18, 44}, spot{78, 70})
	case gate.Choked:
		d.line("leg", hook, spot{48, 34})
		d.circle("load", spot{48, 51}, 16)
		d.path("leg", "M48 34L33 42A19 19 0 1 0 63 42Z")
	case gate.Basket:
		d.circle("load", spot{48, 48}, 17)
		d.path("leg", "M48 8L28 48A20 20 0 0 0 68 48Z")
	}
	d.circle("hook", hook, 4)
	return d
}

func drawLegs(n int) Drawing {
	d := iconSheet("")
	hook := spot{48, 8}
	ends := map[int][]float64{1: {0}, 2: {-26, 26}, 3: {-32, 0, 32}, 4: {-34, -12, 12, 34}}[n]
	d.box("load", spot{8, 56}, spot{88, 72})
	for _, x := range ends {
		d.line("leg", hook, spot{48 + x, 56})
	}
	d.circle("hook", hook, 4)
	return d
}

// drawSpread shows two legs of one length with their ends so many leg lengths
// apart.
func drawSpread(apart float64) Drawing {
	d := Drawing{Wide: 120, High: 78} // one sheet for all, so that the legs are as long in each
	const leg = 56
	half := min(leg*apart/2, leg*0.97)
	hook := spot{60, 10}
	top := hook.y + math.Sqrt(leg*leg-half*half)
	d.line("leg", hook, spot{60 - half, top})
	d.line("leg", hook, spot{60 + half, top})
	d.line("dash", spot{60 - half, top + 9}, spot{60 + half, top + 9})
	d.circle("hook", hook, 4)
	return d
}

// drawChoke shows a leg choked around a round load at an angle of choke: between
// the leg above the eye and the chain as it leaves the eye around the load.
func drawChoke(degrees float64) Drawing {
	d := Drawing{Wide: 96, High: 84}
	const ring = 19
	load := spot{48, 60}
	eye := load.towards(degrees, ring)
	d.circle("load", load, ring-3)
	d.circle("leg", load, ring)
	d.line("leg", eye, spot{eye.x, 3})
	d.line("dash", eye, eye.towards(degrees+90, 26))
	d.arc(eye, 17, 90, 90+degrees)
	return d
}
