package web

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"cribgate/core/fit"
	"cribgate/core/lift"
	"cribgate/core/quantity"
)

// A load as it hangs is drawn on a sheet of this width, to scale, from the side and
// from above: both by the same scale, so that they can be laid one under the other.
const (
	hangWide = 340
	hangHigh = 330 // at the most, of what is to scale
	hangSide = 66  // at either side, for what stands at a leg
	hangTop  = 40
	hangFoot = 46
)

// view is one way to look at a picture, to scale.
type view struct {
	Drawing
	across, up func(lift.Point) quantity.Length
	scale      float64 // px for each micrometre
	left, top  float64 // of what is drawn, in micrometres
}

// drawHanging draws a picture from the side and from above. carried tells what stands
// at each leg, empty where it is not known.
func drawHanging(p fit.Picture, u quantity.Units, carried []string) (side, plan Drawing) {
	x := func(at lift.Point) quantity.Length { return at.X }
	y := func(at lift.Point) quantity.Length { return at.Y }
	z := func(at lift.Point) quantity.Length { return at.Z }
	roof := p.Hook
	if p.Room != nil && *p.Room > -p.Hook.Z {
		roof.Z = max(roof.Z, p.Hook.Z+*p.Room)
		roof.Z = min(roof.Z, p.Hook.Z*5/4) // a roof far above is not drawn
	}
	from := view{across: x, up: z}
	over := view{across: x, up: y}
	all := append(append([]lift.Point{p.Hook, p.CG, roof}, p.Picks...), p.Box[:]...)
	from.scale = min(from.fits(all), over.fits(all))
	over.scale = from.scale
	from.place(all)
	over.place(all)
	from.side(p, u, roof, carried)
	over.plan(p)
	return from.Drawing, over.Drawing
}

// bounds are those of what is seen of some points.
func (v *view) bounds(points []lift.Point) (left, right, low, high quantity.Length) {
	left, right, low, high = v.across(points[0]), v.across(points[0]), v.up(points[0]), v.up(points[0])
	for _, p := range points {
		left, right = min(left, v.across(p)), max(right, v.across(p))
		low, high = min(low, v.up(p)), max(high, v.up(p))
	}
	return left, right, low, high
}

// fits is the largest scale by which all of some points are on the sheet.
func (v *view) fits(points []lift.Point) float64 {
	left, right, low, high := v.bounds(points)
	const least = float64(200 * quantity.Millimetre) // a single leg has no width
	return min((hangWide-2*hangSide)/max(float64(right-left), least), hangHigh/max(float64(high-low), least))
}

// place puts what is seen of some points in the middle of the sheet.
func (v *view) place(points []lift.Point) {
	left, right, low, high := v.bounds(points)
	v.left = float64(left+right)/2 - hangWide/2/v.scale
	v.top = float64(high) + hangTop/v.scale
	v.Wide, v.High = hangWide, int(math.Ceil(float64(high-low)*v.scale))+hangTop+hangFoot
}

func (v *view) at(p lift.Point) spot {
	return spot{(float64(v.across(p)) - v.left) * v.scale, (v.top - float64(v.up(p))) * v.scale}
}

// shareClass is how a leg is drawn by the share of its rating that it carries: by
// colour, by how thick it is, and broken where it is too much. A fault line is drawn
// where nothing is known.
func shareClass(p fit.Picture, leg int) string {
	if leg >= len(p.Shares) {
		return "leg unknown"
	}
	switch s := p.Shares[leg]; {
	case s > 1+lift.Tolerance:
		return "leg over"
	case s > 0.8:
		return "leg full"
	case s > 0.5:
		return "leg half"
	}
	return "leg light"
}

// side is the load as one sees it who stands before it.
func (v *view) side(p fit.Picture, u quantity.Units, roof lift.Point, carried []string) {
	hook := v.at(p.Hook)
	v.load(p)
	if p.Room != nil {
		class, text := "dash", "room for the hook"
		at := v.at(roof).y
		if *p.Room < 0 {
			class, at = "dash over", v.at(lift.Point{Z: p.Hook.Z + *p.Room}).y
			text = "no room above this"
		}
		v.line(class, spot{8, at}, spot{hangWide - 8, at})
		v.label(spot{8, at - 6}, "start", text)
	}
	if p.Tilt >= 0.05 && len(p.Picks) > 1 {
		low := v.at(lowest(p.Picks))
		v.line("dash", spot{12, low.y}, spot{hangWide - 12, low.y})
		v.label(spot{hangWide - 4, low.y + 24}, "end", "level")
	}
	for i, pick := range p.Picks {
		foot := v.at(pick)
		v.line(shareClass(p, i), hook, foot)
		if len(p.Picks) <= 2 {
			v.atLeg(i, p, hook, foot, carried)
		}
	}
	v.picks(p)
	v.circle("hook", hook, 8)
	v.path("hook", "M%.1f %.1fV%.1f", hook.x, hook.y-9, max(hook.y-30, 2))
	v.scaleBar(u)
	v.Words = sideWords(p, u, carried)
}

// plan is the load as one sees it from above.
func (v *view) plan(p fit.Picture) {
	hook := v.at(p.Hook)
	v.load(p)
	for i, pick := range p.Picks {
		v.line(shareClass(p, i), hook, v.at(pick))
	}
	v.picks(p)
	v.circle("hook", hook, 8)
	v.Words = "The same from above, by the same scale."
}

// load is the outline of the box around picks and centre of gravity.
func (v *view) load(p fit.Picture) {
	var corners []spot
	for _, c := range p.Box {
		corners = append(corners, v.at(c))
	}
	if hull := outline(corners); len(hull) > 1 {
		var d strings.Builder
		for i, c := range hull {
			fmt.Fprintf(&d, "%c%.1f %.1f", "ML"[min(i, 1)], c.x, c.y)
		}
		v.path("load", "%sZ", d.String())
	}
	if len(p.Picks) == 1 { // nobody said how large it is
		foot := v.at(p.Picks[0])
		v.box("load", foot.towards(180, 44), spot{foot.x + 44, foot.y + 26})
	} else {
		cg := v.at(p.CG)
		v.circle("dot", cg, 5)
		v.label(spot{cg.x + 9, cg.y - 8}, "start", "CG")
	}
}

// picks marks the picks with the numbers of their legs; of picks that are seen one
// behind the other the numbers stand together.
func (v *view) picks(p fit.Picture) {
	const apart = 24 // px between two numbers that can be told apart
	said := map[int]bool{}
	for i, pick := range p.Picks {
		foot := v.at(pick)
		v.circle("end", foot, 4)
		if said[i] || len(p.Picks) < 2 {
			continue
		}
		text := strconv.Itoa(i + 1)
		for j := i + 1; j < len(p.Picks); j++ {
			if o := v.at(p.Picks[j]); math.Hypot(o.x-foot.x, o.y-foot.y) < apart {
				text, said[j] = text+", "+strconv.Itoa(j+1), true
			}
		}
		anchor, x := "start", foot.x+9
		if foot.x < hangWide/2 {
			anchor, x = "end", foot.x-9
		}
		v.label(spot{x, foot.y + 7}, anchor, text)
	}
}

// atLeg writes what one of two legs carries, and marks its angle from horizontal.
func (v *view) atLeg(i int, p fit.Picture, hook, foot spot, carried []string) {
	if i >= len(p.Legs) {
		return
	}
	toRight := foot.x >= hook.x && len(p.Picks) > 1
	angle := p.Legs[i].Angle
	anchor, beside := "end", -12.0
	if toRight {
		anchor, beside = "start", 12
	}
	if i < len(carried) && carried[i] != "" {
		middle := spot{(hook.x+foot.x)/2 + beside, (hook.y + foot.y) / 2}
		if angle < steep {
			middle.y -= 10
		}
		v.label(middle, anchor, carried[i])
	}
	if len(p.Picks) < 2 || angle > 85 {
		return
	}
	if toRight {
		v.line("dash", foot, spot{foot.x - 40, foot.y})
		v.arc(foot, 30, 180-angle, 180)
	} else {
		v.line("dash", foot, spot{foot.x + 40, foot.y})
		v.arc(foot, 30, 0, angle)
	}
	under := -14.0
	if angle < steep { // over the foot stands what the leg carries
		under = 30
	}
	v.label(spot{foot.x + beside, foot.y + under}, anchor, angleText(angle))
}

// angleText is an angle from horizontal in tenths of a degree, rounded down: flatter is
// the harder lift.
func angleText(degrees float64) string {
	return fmt.Sprintf("%.1f°", math.Floor(degrees*10+1e-6)/10)
}

// scaleBar shows how long a round length is on the sheet.
func (v *view) scaleBar(u quantity.Units) {
	lengths := []quantity.Length{quantity.Metre / 10, quantity.Metre / 5, quantity.Metre / 2, quantity.Metre, 2 * quantity.Metre, 5 * quantity.Metre, 10 * quantity.Metre, 20 * quantity.Metre, 50 * quantity.Metre}
	if u == quantity.Imperial {
		lengths = []quantity.Length{6 * quantity.Inch, quantity.Foot, 2 * quantity.Foot, 5 * quantity.Foot, 10 * quantity.Foot, 20 * quantity.Foot, 50 * quantity.Foot, 100 * quantity.Foot}
	}
	best := lengths[0]
	for _, l := range lengths {
		if float64(l)*v.scale <= hangWide/3 {
			best = l
		}
	}
	y, long := float64(v.High)-10, float64(best)*v.scale
	v.line("mark", spot{12, y}, spot{12 + long, y})
	v.line("mark", spot{12, y - 5}, spot{12, y + 5})
	v.line("mark", spot{12 + long, y - 5}, spot{12 + long, y + 5})
	v.label(spot{12 + long + 8, y + 5}, "start", u.Long(best))
}

func lowest(points []lift.Point) lift.Point {
	low := points[0]
	for _, p := range points {
		if p.Z < low.Z {
			low = p
		}
	}
	return low
}

// sideWords say what the drawing shows.
func sideWords(p fit.Picture, u quantity.Units, carried []string) string {
	text := "The load as it will hang, from the side, to scale: the hook " + u.Long(p.Rise) + " over the lowest pick point"
	if p.Tilt >= 0.05 {
		text += fmt.Sprintf(", the load %.1f° from level", p.Tilt)
	}
	for i, leg := range p.Legs {
		text += fmt.Sprintf("; leg %d %s from horizontal", i+1, angleText(leg.Angle))
		if i < len(carried) && carried[i] != "" {
			text += ", carries " + carried[i]
		}
	}
	return text + "."
}

// outline is the convex hull of some spots (Andrew's monotone chain).
func outline(list []spot) []spot {
	sorted := slices.Clone(list)
	slices.SortFunc(sorted, func(a, b spot) int { return cmp.Or(cmp.Compare(a.x, b.x), cmp.Compare(a.y, b.y)) })
	var hull []spot
	for _, half := range [2]int{0, 1} {
		from := len(hull)
		for i := range sorted {
			p := sorted[i]
			if half == 1 {
				p = sorted[len(sorted)-1-i]
			}
			for len(hull) >= from+2 && turns(hull[len(hull)-2], hull[len(hull)-1], p) <= 0 {
				hull = hull[:len(hull)-1]
			}
			hull = append(hull, p)
		}
		hull = hull[:len(hull)-1]
	}
	return hull
}

func turns(a, b, c spot) float64 { return (b.x-a.x)*(c.y-a.y) - (b.y-a.y)*(c.x-a.x) }
