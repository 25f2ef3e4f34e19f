package scan

import "math"

// A Sighting is a symbol that was read, and where it lies in its picture. Places on
// the symbol are counted in modules from the outer corner of the finder at the top
// left, x to the right and y downward as the symbol is meant to be seen, whichever
// way it lies in the picture: the module in the first column and row covers 0 to 1.
// Places in the picture are counted in pixels from its top left corner: the first
// pixel covers 0 to 1.
//
// A Sighting of [Locate] is fitted to the edges between the modules. It holds the
// picture's brightness, up to 40 MB of it, and is never changed. The zero value has
// no text and no picture.
type Sighting struct {
	text               string
	modules            int
	mirrored, inverted bool
	grid               projection // of a flat plate
	bent               *sheet     // how it differs from that; nil where it is flat
	picture            plane
}

// Text is what the symbol says.
func (s Sighting) Text() string { return s.text }

// Modules is the number of modules on each side, without the margin.
func (s Sighting) Modules() int { return s.modules }

// Mirrored tells whether the picture shows the symbol as a mirror does.
func (s Sighting) Mirrored() bool { return s.mirrored }

// Inverted tells whether the symbol was read as light on dark.
func (s Sighting) Inverted() bool { return s.inverted }

// At takes a place on the symbol to the picture, also where the plate is bent; outside
// the symbol it goes on in the same plane, as far off that as at the symbol's edge.
func (s Sighting) At(x, y float64) (px, py float64) {
	p := point{x, y}
	if s.bent != nil {
		p = s.bent.at(p)
	}
	p = s.grid.at(p)
	return p.x, p.y
}

// Light is how much light the picture shows at a place in it, 0 black and 1 white:
// what the file has is turned into light pixel by pixel (by the curve of sRGB, which
// the camera is taken to have used), and between the middles of pixels it is drawn
// straight. It is NaN outside the picture.
func (s Sighting) Light(px, py float64) float64 { return s.picture.light(px, py) }

// light is the light between the middles of pixels.
func (p plane) light(x, y float64) float64 {
	if !(x >= 0 && y >= 0 && x <= float64(p.width) && y <= float64(p.height)) || len(p.pix) == 0 {
		return math.NaN()
	}
	x, y = min(max(x-0.5, 0), float64(p.width-1)), min(max(y-0.5, 0), float64(p.height-1))
	x0, y0 := int(x), int(y)
	x1, y1 := min(x0+1, p.width-1), min(y0+1, p.height-1)
	fx, fy := x-float64(x0), y-float64(y0)
	above, below := p.pix[y0*p.width:], p.pix[y1*p.width:]
	return (lights[above[x0]]*(1-fx)+lights[above[x1]]*fx)*(1-fy) +
		(lights[below[x0]]*(1-fx)+lights[below[x1]]*fx)*fy
}

// lights is the light that each brightness of a file stands for (sRGB, IEC
// 61966-2-1, from memory, not seen).
var lights = func() (all [256]float64) {
	for i := range all {
		if v := float64(i) / 255; v <= 0.04045 {
			all[i] = v / 12.92
		} else {
			all[i] = math.Pow((v+0.055)/1.055, 2.4)
		}
	}
	return all
}()
