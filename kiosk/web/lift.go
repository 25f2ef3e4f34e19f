package web

import (
	"fmt"
	"math"

	"cribgate/core/quantity"
)

// A Hitch is how the chain holds the load.
type Hitch string

// The hitches that can be drawn. The zero value is drawn as straight.
const (
	Straight Hitch = "straight"
	Choke    Hitch = "choke"
	Basket   Hitch = "basket"
)

// A Lift is what [DrawLift] draws: the angle is to scale, every text is as it
// will stand there.
type Lift struct {
	Hitch  Hitch
	Legs   int            // that carry, 1 to 4
	Slope  quantity.Angle // of a leg from horizontal; not used for one straight or choked leg
	Angle  string         // the angle in words, with from what it is measured
	Leg    string         // what each leg carries; empty if it is not known
	Load   string
	Over   bool // a leg is too heavily loaded
	Uneven bool // nobody has said that the centre of gravity is in the middle
	Words  string
}

// A Drawing is a lift as strokes and texts in a frame, for the part "lift".
type Drawing struct {
	Width, Height int
	Words         string // for who cannot see it
	Strokes       []Stroke
	Dots          []Dot
	Labels        []Label
}

// A Stroke is one line; D is an SVG path.
type Stroke struct{ Class, D string }

// A Dot is a filled circle.
type Dot struct{ X, Y, R float64 }

// A Label is text at a point.
type Label struct {
	X, Y                float64
	Anchor, Class, Text string
}

// The frame and what has a fixed size in it.
const (
	frameWidth = 330
	middle     = frameWidth / 2
	hookTop    = 6.0
	apex       = 44.0  // where the legs meet
	legRoom    = 150.0 // most height that legs take
	loadHeight = 62.0
	overhang   = 26.0 // of the load beyond its picks
	sideRoom   = 92.0 // left beside a leg for what it carries
)

// DrawLift draws a lift. The angle of the legs is true; the load's size is not
// known, so its box only reaches a little beyond its picks.
func DrawLift(l Lift) Drawing {
	d := Drawing{Width: frameWidth, Words: l.Words}
	d.hook()
	slope := l.Slope.Radians()
	if l.Legs == 1 && l.Hitch != Basket || slope <= 0 {
		slope = math.Pi / 2
	}
	reach := legRoom / math.Sin(slope)
	if half := reach * math.Cos(slope); half > middle-overhang-4 {
		reach *= (middle - overhang - 4) / half
	}
	spread, top := reach*math.Cos(slope), apex+reach*math.Sin(slope)
	half := math.Max(spread+overhang, 70)

	class := "leg"
	if l.Over {
		class = "leg over"
	}
	switch l.Hitch {
	case Basket:
		d.basket(class, spread, top, l.Legs)
	case Choke:
		d.legs(class, spread, top+loadHeight/2, l.Legs)
	default:
		d.legs(class, spread, top, l.Legs)
	}
	d.stroke("load", "M%.1f %.1fh%.1fv%.1fh%.1fz", middle-half, top, 2*half, loadHeight, -2*half)
	switch l.Hitch {
	case Basket:
		d.under(class, spread, top, l.Legs)
	case Choke:
		d.loops(class, spread, top, l.Legs)
	}
	d.label(l, spread, top, slope)
	d.Height = int(top + loadHeight + 36)
	return d
}

func (d *Drawing) stroke(class, format string, args ...any) {
	d.Strokes = append(d.Strokes, Stroke{Class: class, D: fmt.Sprintf(format, args...)})
}

func (d *Drawing) text(x, y float64, anchor, class, text string) {
	if text != "" {
		d.Labels = append(d.Labels, Label{X: round(x), Y: round(y), Anchor: anchor, Class: class, Text: text})
	}
}

// round keeps drawings short; a tenth of a unit is less than a pixel.
func round(x float64) float64 { return math.Round(x*10) / 10 }

// hook draws the hook and the link that the legs hang from.
func (d *Drawing) hook() {
	d.stroke("", "M%d %.1fV%.1f", middle, hookTop, apex-24)
	d.stroke("", "M%.1f %.1fa9 9 0 1 1 18 0a9 9 0 1 1 -18 0", middle-9.0, apex-14)
}

// picks are the places of the legs as parts of the spread; those behind come
// first, so that those in front cover them.
func picks(legs int) (behind, front []float64) {
	switch legs {
	case 1:
		return nil, []float64{0}
	case 2:
		return nil, []float64{-1, 1}
	case 3:
		return []float64{0}, []float64{-1, 1}
	default:
		return []float64{-0.45, 0.45}, []float64{-1, 1}
	}
}

func (d *Drawing) legs(class string, spread, end float64, legs int) {
	behind, front := picks(legs)
	for _, x := range behind {
		d.stroke(class+" behind", "M%d %.1fL%.1f %.1f", middle, apex-4, middle+x*spread, end)
	}
	for _, x := range front {
		d.stroke(class, "M%d %.1fL%.1f %.1f", middle, apex-4, middle+x*spread, end)
	}
}

// loops draw the chain around the load, and the choking hook.
func (d *Drawing) loops(class string, spread, top float64, legs int) {
	_, front := picks(legs)
	for _, x := range front {
		at := middle + x*spread
		d.stroke(class, "M%.1f %.1fc-20 12 -20 %.1f 0 %.1fc20 -12 20 %.1f 0 %.1f",
			at, top-6, loadHeight, loadHeight+12, -loadHeight, -loadHeight-12)
	}
}

func (d *Drawing) basket(class string, spread, top float64, legs int) {
	if legs > 1 {
		d.legs(class+" behind", spread*0.7, top, 2)
	}
	d.legs(class, spread, top, 2)
}

// under draws the chain of a basket where it passes under the load.
func (d *Drawing) under(class string, spread, top float64, legs int) {
	draw := func(class string, s float64) {
		d.stroke(class, "M%.1f %.1fV%.1fQ%.1f %.1f %.1f %.1fH%.1fQ%.1f %.1f %.1f %.1fV%.1f",
			middle-s, top, top+loadHeight-8, middle-s, top+loadHeight+6, middle-s+14, top+loadHeight+6,
			middle+s-14, middle+s, top+loadHeight+6, middle+s, top+loadHeight-8, top)
	}
	if legs > 1 && spread > 40 {
		draw(class+" behind", spread*0.7)
	}
	draw(class, spread)
}

// label writes the numbers at what they measure.
func (d *Drawing) label(l Lift, spread, top, slope float64) {
	class := "strong"
	if l.Over {
		class = "heavy"
	}
	middleOfLeg := (apex + top) / 2
	switch {
	case spread == 0:
		d.text(middle+14, middleOfLeg, "start", class, l.Leg)
	case middle-spread/2 > sideRoom+8:
		d.text(middle-spread/2-12, middleOfLeg-4, "end", class, l.Leg)
		d.text(middle+spread/2+12, middleOfLeg-4, "start", class, l.Leg)
	default: // no room beside the legs
		d.text(8, apex+4, "start", class, l.Leg)
		d.text(frameWidth-8, apex+4, "end", class, l.Leg)
	}
	if l.Angle != "" && spread > 0 {
		r := math.Min(34, spread*0.8)
		x, y := middle-spread, top
		d.stroke("thin", "M%.1f %.1fA%.1f %.1f 0 0 0 %.1f %.1f", x+r, y, r, r, x+r*math.Cos(slope), y-r*math.Sin(slope))
		d.text(middle, top+loadHeight+28, "middle", "", "legs at "+l.Angle)
	}
	centre := top + loadHeight/2
	if l.Uneven {
		d.text(middle, centre+7, "middle", "strong", l.Load+", centre not known")
		return
	}
	d.Dots = append(d.Dots, Dot{X: middle, Y: round(centre - 14), R: 5})
	d.text(middle, centre+17, "middle", "strong", l.Load)
}
